//! The questions of `schema/analysis.md`, asked by DuckDB of the boatyard and of a fleet, each answer held against one that is
//! counted without SQL (`analysis/ask.py`).

use crate::common::fleet::Fleet;
use crate::common::machines::Size;
use crate::common::python::{PYTHON, install, run};

/// How many ledgers the fleet has; `.ci/run all` asks more.
fn ledgers() -> u64 {
    std::env::var("WAYLEDGER_FLEET").map_or(40, |count| count.parse().expect("a number"))
}

#[test]
#[ignore = "needs Python and PyPI; .ci/run runs it"]
fn five_questions_are_answered_as_they_are_counted() {
    let top = env!("CARGO_MANIFEST_DIR");
    let place = tempfile::tempdir().expect("a folder");
    let place = place.path();
    install("duckdb==2.0.1", place);
    let fleet = place.join("fleet");
    Fleet { ledgers: ledgers(), size: Size::of_bytes(14_000), faulty: 3, seed: 7 }.write(&fleet).expect("a fleet");
    let fleet = fleet.to_str().expect("a path");
    let boatyard = format!("{top}/example-ledgers/boatyard");
    for (name, ledgers) in [("boatyard", boatyard.as_str()), ("fleet", fleet)] {
        for format in ["csv", "jsonl"] {
            let folder = format!("{name}-{format}");
            let words = ["export", ledgers, "--today", "2026-11-01", "--format", format, "--output", &folder];
            run(env!("CARGO_BIN_EXE_wayledger"), &words, place);
        }
        let said = run(
            PYTHON,
            &[
                &format!("{top}/tests/it/analysis/ask.py"),
                &format!("{top}/schema/analysis.md"),
                &format!("{name}-csv"),
                &format!("{name}-jsonl"),
            ],
            place,
        );
        assert_eq!(said.matches("answered alike").count(), 5, "{said}");
        assert!(said.contains("parquet holds as many rows"), "{said}");
    }
}
