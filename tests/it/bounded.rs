//! No text within the size that is read takes more than its share of memory or time, whatever node of the language it
//! repeats: each is judged by a program that may use so much and no more, and ends with a word and never by a signal.
#![cfg(target_os = "linux")]

mod texts;

use std::process::Command;

use texts::LongText;

use crate::common::share;
use crate::common::yard::Yard;

/// All that a command may take, in kB of address space.
const MEMORY: u32 = 1 << 20;

/// And in seconds of both processors together.
const SECONDS: u32 = 10;

/// What is asked of each text, besides `lint`, in turn.
const COMMANDS: [&str; 8] = [
    "report m",
    "export m",
    "tidy --check m",
    "trace n1 m",
    "how X.a --ledger m",
    "traveler X --ledger m",
    "lint --complete --format json m",
    "release X --by f-9 --date 2026-11-01T10:00 --ledger m",
];

/// So many bytes of each node; 10 MB in the long run, which is made with a release build.
fn bytes(usual: usize) -> usize {
    std::env::var("WAYLEDGER_LONG").ok().and_then(|bytes| bytes.parse().ok()).unwrap_or(usual)
}

/// Runs the commands on a text of so many bytes; what was wrong, if something was.
fn wrong(yard: &Yard, long: &LongText, bytes: usize, also: &str) -> Vec<String> {
    yard.write("m/machine.kdl", long.text(bytes));
    let mut wrong = Vec::new();
    for command in ["lint m", also] {
        let line = format!(
            "ulimit -v {MEMORY}; ulimit -t {SECONDS}; exec '{}' {command} --today 2026-11-01 < /dev/null",
            env!("CARGO_BIN_EXE_wayledger")
        );
        let line = if command.starts_with("tidy") { line.replace(" --today 2026-11-01", "") } else { line };
        let ran = Command::new("bash").args(["-c", &line]).current_dir(&yard.root).output().expect("bash starts");
        let (out, err) = (String::from_utf8_lossy(&ran.stdout), String::from_utf8_lossy(&ran.stderr));
        // A list that was cut short is never clean, and whoever cannot do it says why.
        let well = match ran.status.code() {
            Some(0) => !out.contains("too-much"),
            Some(1) => !out.is_empty() || !err.is_empty(),
            Some(2) => !err.is_empty() && !err.contains("unexpected argument"),
            _ => false,
        };
        if !well || err.contains("panicked") || err.contains("memory allocation") {
            let head: String = err.chars().take(300).collect();
            wrong.push(format!("{} {command}: {:?} {head}", long.name(), ran.status));
        }
    }
    wrong
}

/// Each word at the top of a file, so that the bench itself is tried in every run.
#[test]
fn a_file_of_one_record_again_and_again_ends_with_a_word() {
    let yard = Yard::empty();
    let wrong: Vec<String> = texts::all()
        .iter()
        .filter(|long| long.depth() == 1 && long.way.full && !long.way.distinct)
        .zip(COMMANDS.iter().cycle())
        .flat_map(|(long, also)| wrong(&yard, long, bytes(30_000), also))
        .collect();
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// Every node of the language, written in two ways.
#[test]
#[ignore = "takes minutes"]
fn every_node_again_and_again_ends_with_a_word() {
    let yard = Yard::empty();
    let all = texts::all();
    let wrong: Vec<String> = share(&all, 3)
        .filter(|long| long.way.full == long.way.distinct)
        .zip(COMMANDS.iter().cycle())
        .flat_map(|(long, also)| wrong(&yard, long, bytes(30_000), also))
        .collect();
    assert!(wrong.is_empty(), "{wrong:#?}");
}
