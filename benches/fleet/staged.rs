//! The pre-commit hook's work: one staged ledger in a repository of many, beside what git itself takes to name it.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use super::common::machines::Size;
use super::process::{best, milliseconds, wayledger};
use super::{BYTES, TODAY, fleet, other};

pub(crate) fn table(ledgers: u64) {
    let folder = tempfile::tempdir().expect("a folder");
    fleet(folder.path(), ledgers, Size::of_bytes(BYTES));
    for arguments in [&["init", "-q"][..], &["add", "-A"], &["commit", "-q", "-m", "the fleet"]] {
        git(folder.path(), arguments);
    }
    let file = record(folder.path());
    let mut text = fs::read_to_string(&file).expect("a record");
    text.push_str("// Looked through again.\n");
    fs::write(&file, text).expect("the record can be written");
    git(folder.path(), &["add", "-A"]);
    let read = ["sh", "-c", "git diff --cached --name-only && cat \"$0\"/*.kdl"];
    let own = file.parent().expect("its folder");
    let git_alone = best(20, || {
        let mut command = Command::new(read[0]);
        command.args(&read[1..]).arg(own).current_dir(folder.path());
        command
    });
    let lint =
        best(20, || wayledger(folder.path(), 2, &["lint", "--staged", "--touched", "--quiet", "--today", TODAY]));
    println!("{ledgers} ledgers, one of them staged\n\n| work | time | times git |\n|---|---|---|");
    let times = lint.time.as_secs_f64() / git_alone.time.as_secs_f64();
    println!("| `git diff --cached --name-only` and reading that ledger | {} | 1 |", milliseconds(git_alone.time));
    println!("| `wayledger lint --staged --touched` | {} | {times:.2} |", milliseconds(lint.time));
}

/// A file of records somewhere in the middle.
fn record(folder: &Path) -> PathBuf {
    let files = other::files(folder);
    let from = files.len() / 2;
    let at =
        files[from..].iter().find(|path| path.file_name().is_some_and(|name| name.to_string_lossy().starts_with("20")));
    at.expect("a file of records").clone()
}

fn git(folder: &Path, arguments: &[&str]) {
    let identity =
        ["-c", "user.name=fitter-2", "-c", "user.email=fitter-2@localhost", "-c", "core.hooksPath=/dev/null"];
    let status = Command::new("git").args(identity).args(arguments).current_dir(folder).status().expect("git starts");
    assert!(status.success(), "git {arguments:?}");
}
