//! `report` and `trace` as commands: what they write over, and many ledgers at once.

use assert_cmd::Command;

use crate::common::yard::Yard;

const MACHINE: &str = include_str!("../../src/views/tests/report/machine.kdl");
const RECORDS: &str = include_str!("../../src/views/tests/report/records.kdl");

fn wayledger(arguments: &[&str]) -> std::process::Output {
    let mut command = Command::cargo_bin("wayledger").expect("the program was built");
    command.args(arguments).current_dir(env!("CARGO_MANIFEST_DIR")).output().expect("it runs")
}

#[test]
fn a_file_that_is_not_ours_is_left_alone() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("page.html");
    let name = file.to_str().expect("text");
    let make = |format: &str| {
        wayledger(&[
            "report",
            "example-ledgers/boatyard/hull-gantry",
            "--today",
            "2026-11-01",
            "--format",
            format,
            "-o",
            name,
        ])
    };
    for format in ["html", "markdown", "json", "html"] {
        let made = make(format);
        assert_eq!(made.status.code(), Some(0), "{made:?}");
        assert!(made.stdout.is_empty());
    }
    let ours = std::fs::read(&file).expect("it was written");
    assert!(ours.starts_with(b"<!DOCTYPE html><!-- written by wayledger -->"));
    for theirs in [&b"<!DOCTYPE html><p>notes</p>"[..], b"", b"\xff\xfe"] {
        std::fs::write(&file, theirs).expect("it can be written");
        let made = make("html");
        assert_eq!(made.status.code(), Some(2), "{made:?}");
        assert!(String::from_utf8_lossy(&made.stderr).contains("no earlier paper of this tool"), "{made:?}");
        assert_eq!(std::fs::read(&file).expect("it is there"), theirs);
    }
    assert_eq!(std::fs::read_dir(folder.path()).expect("a folder").count(), 1, "no temporary file is left");
}

#[test]
fn many_ledgers_make_a_fleet_and_a_pipe_sees_no_bar() {
    let folder = tempfile::tempdir().expect("a folder");
    for number in 0..60 {
        let ledger = folder.path().join(format!("m{number:02}"));
        std::fs::create_dir(&ledger).expect("a folder");
        std::fs::write(ledger.join("machine.kdl"), MACHINE).expect("a file");
        std::fs::write(ledger.join("records.kdl"), RECORDS).expect("a file");
    }
    let top = folder.path().to_str().expect("text");
    let made = wayledger(&["report", top, "--today", "2026-11-01", "--format", "json"]);
    assert_eq!((made.status.code(), made.stderr.len()), (Some(0), 0), "{made:?}");
    let json: serde_json::Value = serde_json::from_slice(&made.stdout).expect("it is JSON");
    assert_eq!(json["machines"].as_array().map(Vec::len), Some(60));
    assert_eq!(json["first_pass"]["joints_inspected"], 60);
    let made = wayledger(&["trace", "DI-1", top, "--since", "2026-04-01"]);
    assert_eq!((made.status.code(), made.stderr.len()), (Some(0), 0), "{made:?}");
    assert!(
        String::from_utf8_lossy(&made.stdout).contains("\nOn DI-1 rest 60 records since 2026-04-01, in 60 machines."),
        "{made:?}"
    );
    let made = wayledger(&["trace", "DI-11", top]);
    assert_eq!(made.status.code(), Some(2), "{made:?}");
    assert!(String::from_utf8_lossy(&made.stderr).contains("did you mean `DI-1`?"), "{made:?}");
}

/// What is typed wrong is told with what would be right, and nothing is tried.
#[test]
fn a_limit_that_cannot_be_tried_is_refused() {
    let yard = crate::common::yard::Yard::with_saw();
    let said = |limit: &str| {
        let ran = yard.wayledger(&["report", "--try", limit]);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{limit}");
        ran.err
    };
    for (limit, why) in [
        ("joint-step", "is no limit with a value: write joint-step=0.015"),
        ("joint-stp=0.01", "there is no limit `joint-stp`; did you mean `joint-step`?"),
        ("joint-step=thin", "`thin` is no value of `joint-step`"),
        ("joint-step=(kg)1", "`(kg)1` is no value of `joint-step`"),
        ("full-torque=10", "`full-torque` has two ends: write full-torque=LEAST..MOST"),
        ("proof=maybe", "`proof` is one of"),
        // What a file may not state is not tried either.
        ("joint-step=-0.01", "`joint-step=-0.01`: "),
        ("full-torque=10.8..10.2", "`full-torque=10.8..10.2`: "),
        ("gauge-graduation=1.5", "`gauge-graduation=1.5`: "),
    ] {
        assert!(said(limit).contains(why), "{limit}: {}", said(limit));
    }
    // 0.01 was read: one thousandth less is not met, in whatever unit it is said.
    let tried = |limit: &str| {
        let ran = yard.wayledger(&["report", "--try", limit, "--today", "2021-05-02"]);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{limit}");
        ran.out
    };
    assert!(tried("joint-step=(um)9").contains("1 of 1 machine would not meet it, 0 with a released axis"));
    assert!(tried("joint-step=0.009").contains("X.left.J1: groove UL steps by 0.01 mm, 0.001 mm over the limit"));
    assert!(tried("joint-step=0.01").contains("0 of 1 machine would not meet it"));
    assert!(!tried("joint-step=0.01").contains("nothing is said to meet it"));
    // What no rule holds anything against is said, and not left to look like a machine that meets it.
    for unheld in ["due-soon=10", "limit-loosening=2", "temperature-jump=1", "beam-share=0.9", "received-length=0.1"] {
        let said = tried(unheld);
        let words = "In 1 machine no rule judges anything by it alone: of that nothing is said to meet it.";
        assert!(said.split_whitespace().collect::<Vec<_>>().join(" ").contains(words), "{unheld}: {said}");
    }
}

/// Every paper says which bytes it shows, by which day they are judged, and which tool made it.
#[test]
fn a_paper_tells_revision_day_and_tool() {
    let yard = Yard::with_saw();
    let commit = yard.git(&["rev-parse", "HEAD"]);
    let revision = format!("revision {}", &commit[..12]);
    let tool = concat!("made by wayledger ", env!("CARGO_PKG_VERSION"));
    let papers: [&[&str]; 4] = [
        &["report", "saw"],
        &["trace", "inspector-1", "saw"],
        &["traveler", "saw", "X"],
        &["traveler", "saw", "X", "--holds"],
    ];
    for paper in papers {
        for (source, shown) in
            [(&["--at", "HEAD"][..], revision.as_str()), (&["--staged"], "files as staged"), (&[], "files as they lie")]
        {
            for format in ["markdown", "html"] {
                let rest = [source, &["--today", "2026-10-30", "--format", format]].concat();
                let ran = yard.wayledger(&[paper, &rest].concat());
                let whole = ran.out.contains(shown) && ran.out.contains(", as of 2026-10-30; made by");
                assert!(whole && ran.out.contains(tool), "{paper:?} {rest:?}: {ran:?}");
            }
        }
    }
}
