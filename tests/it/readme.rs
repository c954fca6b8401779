//! The README shows what the program prints, and its ledger reads without a fault.
//!
//! A block fenced as `console` begins with `$ wayledger …`; the rest is the output of that command, run among the
//! examples. `UPDATE_PAGES=1 cargo test readme` writes the outputs anew.

use std::path::Path;

use assert_cmd::Command;

use crate::common::judge;

const FENCE: &str = "```";

#[test]
fn commands_print_what_the_readme_shows() {
    let top = Path::new(env!("CARGO_MANIFEST_DIR"));
    let readme = std::fs::read_to_string(top.join("README.md")).expect("the README is there");
    let opening = format!("{FENCE}console\n$ wayledger ");
    let mut now = String::new();
    let mut rest = readme.as_str();
    let mut shown = 0;
    while let Some(at) = rest.find(&opening) {
        let (before, block) = rest.split_at(at + opening.len());
        let line = block.lines().next().unwrap_or("");
        let end = block.find(&format!("\n{FENCE}")).expect("the block is closed");
        let output = Command::cargo_bin("wayledger")
            .expect("the program is built")
            .current_dir(top.join("example-ledgers"))
            .args(line.split_whitespace())
            .args(["--today", "2026-11-01"])
            .output()
            .expect("it runs");
        now += &format!("{before}{line}\n{}", String::from_utf8_lossy(&output.stdout).trim_end());
        rest = &block[end..];
        shown += 1;
    }
    now += rest;
    assert!(shown > 0, "the README shows a finding");
    if std::env::var_os("UPDATE_PAGES").is_some() {
        std::fs::write(top.join("README.md"), &now).expect("the README can be written");
    }
    assert!(
        now == readme || std::env::var_os("UPDATE_PAGES").is_some(),
        "the README shows other output than the program: run UPDATE_PAGES=1 cargo test readme"
    );
}

#[test]
fn the_ledger_in_the_readme_reads_without_a_fault() {
    let readme = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md")).expect("there");
    let blocks: Vec<&str> =
        readme.split(&format!("{FENCE}kdl\n")).skip(1).filter_map(|rest| rest.split(FENCE).next()).collect();
    let shop = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers/boatyard/shop.kdl"))
        .expect("there");
    assert_eq!(blocks.len(), 3, "a machine, a record and a hold");
    let files = [("machine.kdl", blocks[0]), ("2026-10-05-fitter-2.kdl", blocks[1]), ("hold.kdl", blocks[2])];
    let judged = judge(&files, &[&shop]);
    let broken: Vec<_> = judged
        .findings
        .iter()
        .filter(|finding| {
            finding.grade == wayledger::finding::Grade::Nonconformity && finding.rule != "snug-before-full"
        })
        .map(|finding| format!("{}: {}", finding.rule, finding.message))
        .collect();
    assert!(broken.is_empty(), "{broken:#?}");
}

#[test]
fn the_readme_names_every_command() {
    let readme = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md")).expect("there");
    let help = Command::cargo_bin("wayledger").expect("built").arg("--help").output().expect("it runs").stdout;
    let help = String::from_utf8_lossy(&help).into_owned();
    let listed =
        help.split("Commands:\n").nth(1).and_then(|rest| rest.split("\n\n").next()).expect("commands are listed");
    let names = listed
        .lines()
        .filter(|line| line.starts_with("  ") && !line.starts_with("   "))
        .map(|line| line.split_whitespace().next().unwrap_or(""));
    let missing: Vec<&str> = names.filter(|name| !readme.contains(&format!("wayledger {name}"))).collect();
    assert!(missing.is_empty(), "{missing:?}");
    assert!(listed.contains("  lint"), "{listed}");
}
