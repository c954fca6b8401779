//! The lint of a fleet on one core, beside only reading its bytes, parsing them, and checking them against a schema.

use std::path::Path;
use std::process::{Command, Stdio};

use super::common::machines::Size;
use super::process::{best, per_second, wayledger};
use super::{BYTES, TODAY, fleet, other};

/// Checks JSON files, each named in a line of its input, against a schema.
const VALIDATOR: &str = "
import json, sys, jsonschema
check = jsonschema.Draft202012Validator(json.load(open(sys.argv[1]))).is_valid
for path in open(sys.argv[2]):
    check(json.load(open(path.strip())))
";

pub(crate) fn table(ledgers: u64) {
    let folder = tempfile::tempdir().expect("a folder");
    let bytes = fleet(folder.path(), ledgers, Size::of_bytes(BYTES));
    println!("{ledgers} ledgers, {:.1} MB, one thread each\n", bytes as f64 / 1e6);
    println!("| work | rate | beside the lint |\n|---|---|---|");
    let all = other::files(folder.path()).len();
    let lint = best(3, || wayledger(folder.path(), 1, &["lint", "--quiet", "--today", TODAY]));
    let lint_rate = bytes as f64 / lint.time.as_secs_f64();
    let row = |work: &str, bytes: u64, time: std::time::Duration| {
        let times = bytes as f64 / time.as_secs_f64() / lint_rate;
        println!("| {work} | {} | {times:.3} |", per_second(bytes, time));
    };
    row("lint, all rules", bytes, lint.time);
    row("reading the bytes only", bytes, best(3, || again("only-read", folder.path(), all)).time);
    // What is slow is given a part of the fleet.
    let part = (all / 50).max(50);
    row(
        "parsing with the kdl crate",
        size(folder.path(), part),
        best(1, || again("kdl-crate", folder.path(), part)).time,
    );
    if !python_has_validator() {
        println!("| a general schema validator (Python, jsonschema) | not installed here | |");
        return;
    }
    best(1, || again("as-json", folder.path(), part));
    let list: String = other::files(folder.path())
        .iter()
        .take(part)
        .map(|path| format!("{}\n", path.with_extension("json").display()))
        .collect();
    let list_at = folder.path().join("list");
    std::fs::write(&list_at, list).expect("the list can be written");
    let validate = || {
        let mut command = Command::new("python3");
        command.args(["-c", VALIDATOR]).arg(folder.path().join("schema.json")).arg(&list_at);
        command
    };
    let time = best(1, validate).time;
    row("a general schema validator (Python, jsonschema) on the same as JSON", size(folder.path(), part), time);
}

/// This program itself, for other work.
fn again(work: &str, folder: &Path, most: usize) -> Command {
    let mut command = Command::new(std::env::current_exe().expect("this program has a path"));
    command.arg(work).arg(folder).arg(most.to_string());
    command
}

fn size(folder: &Path, most: usize) -> u64 {
    other::files(folder).iter().take(most).map(|path| path.metadata().map_or(0, |about| about.len())).sum()
}

fn python_has_validator() -> bool {
    let mut python = Command::new("python3");
    python.args(["-c", "import jsonschema"]).stderr(Stdio::null()).status().is_ok_and(|status| status.success())
}
