//! The README's commands run as they are written, in a copy of the project and in their order, and print what it shows;
//! its ledger reads without a fault.
//!
//! Run are the lines of blocks fenced as `sh`, the first line of those fenced as `console` after its `$`, and commands in
//! its sentences. A table or a heading names commands by one word; they are not run there. `UPDATE_PAGES=1 cargo test readme` writes
//! the outputs anew.

use std::ops::Range;
use std::path::Path;

use assert_cmd::Command;

use crate::common::judge;
use crate::common::yard::{GOOD, Ran, SAW, SHOP, Yard};

const FENCE: &str = "```";

const KDL: &str = "```kdl\n";

/// What takes too long to be run here, and is run by whoever runs the tests.
const CARGO: [&str; 2] = ["cargo test", "cargo install --path ."];

fn readme() -> String {
    std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md")).expect("the README is there")
}

/// A command that the README asks for, and where it shows what comes of it.
struct Asked {
    line: String,
    shown: Option<Range<usize>>,
}

/// The commands of the README in their order.
fn asked(readme: &str) -> Vec<Asked> {
    let mut all = Vec::new();
    let mut at = 0;
    while let Some(found) = readme[at..].find(FENCE) {
        said(&readme[at..at + found], &mut all);
        let open = at + found + FENCE.len();
        let body = open + readme[open..].find('\n').expect("a fence ends its line") + 1;
        let close = body + readme[body..].find(&format!("\n{FENCE}")).expect("the block is closed");
        let text = &readme[body..close];
        match &readme[open..body - 1] {
            "sh" => all.extend(text.lines().map(|line| Asked { line: line.to_string(), shown: None })),
            "console" => {
                let (first, _) = text.split_once('\n').expect("a command and what it prints");
                let line = first.strip_prefix("$ ").expect("a command").to_string();
                all.push(Asked { line, shown: Some(body + first.len() + 1..close) });
            }
            "kdl" => {}
            other => panic!("a block fenced as {other:?}"),
        }
        at = close + 1 + FENCE.len();
    }
    said(&readme[at..], &mut all);
    all
}

/// The commands within sentences.
fn said(text: &str, all: &mut Vec<Asked>) {
    let told: Vec<&str> = text.lines().filter(|line| !line.starts_with(['|', '#'])).collect();
    let commands = told.join(" ");
    let commands = commands.split('`').skip(1).step_by(2);
    let commands = commands.filter(|span| span.starts_with("wayledger ") || span.starts_with("cargo "));
    all.extend(commands.map(|line| Asked { line: line.to_string(), shown: None }));
    for row in text.lines().filter(|line| line.starts_with(['|', '#'])) {
        for command in row.split('`').skip(1).step_by(2).filter(|span| span.starts_with("wayledger ")) {
            let words = command.split(' ').count();
            assert_eq!(words, 2, "a table names a command by its word; `{command}` is to stand where it can be run");
        }
    }
}

/// Runs a line as a person would in a shell, with our program on the path.
fn run(yard: &Yard, line: &str) -> Ran {
    yard.run("sh", &["-c", &line.replacen("cargo run --release --", "wayledger", 1)])
}

fn copy(from: &Path, to: &Path) {
    if from.is_dir() {
        std::fs::create_dir_all(to).expect("a folder");
        for entry in std::fs::read_dir(from).expect("listed") {
            let name = entry.expect("listed").file_name();
            copy(&from.join(&name), &to.join(&name));
        }
    } else {
        std::fs::copy(from, to).expect("copied");
    }
}

/// A clone of what the README's commands look at.
fn clone() -> Yard {
    let yard = Yard::empty();
    for name in ["README.md", "DEVELOPERS.md", "LICENSE", "schema", "example-ledgers"] {
        copy(&Path::new(env!("CARGO_MANIFEST_DIR")).join(name), &yard.root.join(name));
    }
    yard.commit("begun");
    yard
}

#[test]
fn every_command_runs_as_written_and_prints_what_is_shown() {
    let readme = readme();
    let yard = clone();
    let mut now = readme.clone();
    let (mut ran, mut shown) = (0, 0);
    let mut failed = Vec::new();
    let all: Vec<Asked> = asked(&readme).into_iter().filter(|it| !CARGO.contains(&it.line.as_str())).collect();
    let mut outputs: Vec<(Range<usize>, String)> = Vec::new();
    for Asked { line, shown: place } in all {
        let Ran { code, out, err } = run(&yard, &line);
        let broken = place.as_ref().is_some_and(|place| readme[place.clone()].contains("nonconformity:"));
        if code != i32::from(broken) {
            failed.push(format!("{line}: {code}\n{out}{err}"));
        }
        ran += 1;
        if let Some(place) = place {
            outputs.push((place, out.trim_end().to_string()));
            shown += 1;
        }
    }
    assert!(failed.is_empty(), "{}", failed.join("\n"));
    assert!(ran > 10 && shown > 0, "{ran} commands, {shown} with what they print");
    // The last one first, so that the places of the others stay.
    for (place, output) in outputs.into_iter().rev() {
        now.replace_range(place, &output);
    }
    if std::env::var_os("UPDATE_PAGES").is_some() {
        std::fs::write(Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md"), &now).expect("it can be written");
        return;
    }
    assert!(
        now == readme,
        "the README shows other output than the program: run UPDATE_PAGES=1 cargo test readme\n{now}"
    );
}

/// The comparison for a pull request shows what the branch did, and not that it took back what others did meanwhile.
#[test]
fn the_comment_for_a_pull_request_is_about_the_branch_alone() {
    let readme = readme();
    let all = asked(&readme);
    let command = all.iter().find(|it| it.line.contains("merge-base")).expect("a comparison for a pull request");
    let yard = Yard::empty();
    yard.write("shop.kdl", SHOP);
    yard.write("saw/machine.kdl", SAW);
    yard.commit("begun");
    yard.git(&["checkout", "-q", "-b", "joint"]);
    yard.write("saw/2021-04-15-inspector-1.kdl", GOOD);
    yard.commit("inspected");
    yard.git(&["checkout", "-q", "main"]);
    yard.write(
        "saw/2021-04-14-fitter-2.kdl",
        "fasten X.left date=\"2021-04-14\" by=fitter-2 stage=full { at S1 10.5 10.5 }\n",
    );
    yard.commit("main has moved on");
    yard.git(&["checkout", "-q", "joint"]);
    let torques = "fasten X.left 2021-04-14";
    let Ran { code, out, err } = run(&yard, &command.line);
    assert_eq!(code, 0, "{err}");
    assert!(out.contains("inspect X.left.J1 2021-04-15 added") && !out.contains(torques), "{out}");
    // Compared with main itself, the branch would seem to take the torques away.
    let out = run(&yard, "wayledger compare main HEAD --format markdown").out;
    assert!(out.contains(torques), "{out}");
}

#[test]
fn the_ledger_in_the_readme_reads_without_a_fault() {
    let readme = readme();
    let releases =
        std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("schema/releases.md")).expect("there");
    let blocks: Vec<&str> = [readme.as_str(), &releases]
        .iter()
        .flat_map(|page| page.split(KDL).skip(1).filter_map(|rest| rest.split(FENCE).next()))
        .collect();
    let shop = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers/boatyard/shop.kdl"))
        .expect("there");
    assert_eq!(blocks.len(), 4, "a machine, a record, a hold, and a shop on the page of releases");
    let files = [("machine.kdl", blocks[0]), ("2026-10-05-fitter-2.kdl", blocks[1]), ("hold.kdl", blocks[2])];
    let alone = judge(&[("machine.kdl", "machine m { axis X { rail a { segment 600 } } }")], &[blocks[3]]);
    let broken = alone.findings.iter().find(|finding| finding.grade == wayledger::lint::Grade::Nonconformity);
    assert!(broken.is_none(), "{broken:?}");
    let judged = judge(&files, &[&shop]);
    let broken: Vec<_> = judged
        .findings
        .iter()
        .filter(|finding| {
            finding.grade == wayledger::lint::Grade::Nonconformity && finding.rule.as_str() != "snug-before-full"
        })
        .map(|finding| format!("{}: {}", finding.rule, finding.message))
        .collect();
    assert!(broken.is_empty(), "{broken:#?}");
}

/// Whoever opens it for the first time reads it to the end.
#[test]
fn the_readme_stays_short() {
    let lines = readme().lines().count();
    assert!(lines < 200, "{lines} lines");
}

#[test]
fn the_readme_names_every_command() {
    let readme = readme();
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
