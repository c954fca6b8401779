//! The program itself, started in a folder.

use std::path::Path;
use std::process::Command;

/// What it printed, what it complained of, and its exit code.
pub(crate) fn run(folder: &Path, arguments: &[&str]) -> (String, String, Option<i32>) {
    let output = assert_cmd::Command::cargo_bin("wayledger")
        .expect("the program is built")
        .current_dir(folder)
        .args(arguments)
        .output()
        .expect("it runs");
    let text = |bytes| String::from_utf8(bytes).expect("text");
    (text(output.stdout), text(output.stderr), output.status.code())
}

/// Copies the program, by a process of its own: a file that is still open for writing somewhere cannot be started, and every
/// test that starts another program at this moment would hold ours open.
pub(crate) fn copy_to(place: &Path) {
    let copied = Command::new("cp").arg(env!("CARGO_BIN_EXE_wayledger")).arg(place).status().expect("cp starts");
    assert!(copied.success());
}

/// The beginning of a ledger for a saw of 6 m; what is not said here is asked for.
pub(crate) const START_SAW: [&str; 16] = [
    "start",
    "saw",
    "--length",
    "6000",
    "--profile",
    "R25",
    "--pitch",
    "60",
    "--end-distance",
    "30",
    "--stock",
    "1200 1800 2400 3000",
    "--support-pitch",
    "240",
    "--support-length",
    "80",
];

/// What it takes besides for the planner to lay it out.
pub(crate) const LAID_OUT: [&str; 3] = ["--joint-support-length", "200", "--plan"];

/// The import of torques from `out.csv` in the words of the mapping `bench`; of when and into which ledger is said beside it.
pub(crate) const IMPORT_TORQUES: [&str; 10] =
    ["import", "out.csv", "--as", "bench", "--on", "X.port", "--by", "fitter-2", "--stage", "full"];
