//! What the program prints of the example ledgers, whole, so that a review sees in words what a change does to what people
//! read and compare. Nothing here is from outside, and no line proves a result right.
//! `UPDATE_PAGES=1 cargo test snapshots` writes the pages anew.

use std::path::Path;

use crate::common::program::run;
use crate::common::same_page;

/// The page, what is typed for it below `example-ledgers`, and the exit code.
const PAGES: [(&str, &[&str], i32); 9] = [
    ("faults.txt", &["lint", "faults", "--complete", "--all"], 1),
    ("boatyard.txt", &["lint", "boatyard", "--complete"], 1),
    ("fleet.md", &["report", "boatyard", "--format", "markdown"], 0),
    ("report.md", &["report", "boatyard/hull-gantry", "--format", "markdown"], 0),
    ("traveler.md", &["traveler", "X", "--ledger", "boatyard/mast-router", "--format", "markdown"], 0),
    ("how.txt", &["how", "X.port.J1", "--ledger", "boatyard/hull-gantry"], 0),
    ("layout.txt", &["layout", "X", "--ledger", "boatyard/hull-gantry"], 0),
    ("shims.txt", &["shims", "X", "--ledger", "boatyard/hull-gantry"], 0),
    ("trace.txt", &["trace", "DI-4", "boatyard"], 0),
];

#[test]
fn what_is_printed_of_the_examples_is_what_was_reviewed() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers");
    for (page, typed, code) in PAGES {
        let dated = [typed, &["--today", "2026-11-01"]].concat();
        let (shown, complaint, ended) = run(&folder, &dated);
        assert_eq!(ended, Some(code), "{typed:?}: {complaint}");
        same_page(&format!("tests/it/snapshots/{page}"), &shown);
    }
}
