//! Readings typed in or piped in become one clean record, or nothing at all.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Output;

use assert_cmd::Command;

/// A copy of the mast router with its shop, to be written to.
struct Floor(tempfile::TempDir);

impl Floor {
    fn new() -> Floor {
        let folder = tempfile::tempdir().expect("a folder");
        let examples = Path::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers/boatyard");
        let ledger = folder.path().join("mast-router");
        fs::create_dir(&ledger).expect("made");
        fs::copy(examples.join("shop.kdl"), folder.path().join("shop.kdl")).expect("copied");
        for name in ["machine.kdl", "2026-10-26-fitter-3.kdl"] {
            fs::copy(examples.join("mast-router").join(name), ledger.join(name)).expect("copied");
        }
        Floor(folder)
    }

    fn file(&self, name: &str) -> PathBuf {
        self.0.path().join("mast-router").join(name)
    }

    fn text(&self, name: &str) -> String {
        fs::read_to_string(self.file(name)).expect("there")
    }

    fn record(&self, arguments: &[&str], answers: &str) -> Output {
        Command::cargo_bin("wayledger")
            .expect("the program is built")
            .current_dir(self.0.path())
            .arg("record")
            .args(arguments)
            .args(["--ledger", "mast-router", "--today", "2026-10-27"])
            .args(if arguments.contains(&"--date") { &[][..] } else { &["--date", "2026-10-27T10:30"] })
            .write_stdin(answers)
            .output()
            .expect("it runs")
    }

    /// All files of the ledger with their bytes.
    fn bytes(&self) -> Vec<(String, Vec<u8>)> {
        let mut all: Vec<_> = fs::read_dir(self.0.path().join("mast-router"))
            .expect("listed")
            .map(|entry| entry.expect("an entry"))
            .map(|entry| (entry.file_name().to_string_lossy().into_owned(), fs::read(entry.path()).expect("read")))
            .collect();
        all.sort();
        all
    }
}

/// The text in the one layout of ledger files, which has its own tests.
fn tidy(text: &str) -> String {
    wayledger::records::tidy(text).expect("it reads")
}

fn told(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

const FASTEN: [&str; 9] =
    ["fasten", "X.left", "--by", "fitter-3", "--wrench", "TW-2", "--stage", "full", "--temperature=20"];

#[test]
fn a_record_of_no_row_is_not_written() {
    let floor = Floor::new();
    let before = floor.bytes();
    let inspect = ["inspect", "X.left.J1", "--by", "fitter-3", "--gauge", "DI-4", "--temperature=20"];
    for (arguments, answers) in [(&FASTEN[..], ".\n"), (&inspect[..], "\n\n\n\n\n\n\n\n")] {
        let output = floor.record(arguments, answers);
        assert_eq!(output.status.code(), Some(2), "{}", told(&output));
        assert_eq!(floor.bytes(), before);
    }
    assert!(told(&floor.record(&FASTEN, ".\n")).contains("would hold no row"));
}

/// A service asks for it.
#[test]
fn a_pass_over_bolts_that_hold_already_asks_for_each() {
    let floor = Floor::new();
    let once = floor.record(&FASTEN, &"10.4 10.5\n".repeat(40).replacen("10.4 10.5", "10.4 10.5 10.5 10.4", 1));
    // A pipe tells how many there are by the first answer too many.
    assert_eq!(once.status.code(), Some(2));
    let supports = (1..40).find(|count| {
        let rows = "10.4 10.5\n".repeat(count - 1);
        floor.record(&FASTEN, &format!("10.4 10.5 10.5 10.4\n{rows}")).status.success()
    });
    let rest = "10.4 10.5\n".repeat(supports.expect("all of them were asked for") - 1);
    let again: Vec<&str> = FASTEN.iter().copied().chain(["--date", "2026-10-27T11:30"]).collect();
    let output = floor.record(&again, &format!("10.4 10.5 10.5 10.4\n{rest}"));
    assert!(output.status.success(), "{}", told(&output));
    assert!(told(&output).contains("All of them hold this already"), "{}", told(&output));
    assert_eq!(floor.text("2026-10-27-fitter-3.kdl").matches("at J1").count(), 2);
}

#[test]
fn torques_are_asked_from_the_joint_outward_and_told_of_when_they_are_off() {
    let floor = Floor::new();
    let output = floor.record(&FASTEN, "10.4 10.5 10.50 12\n- 10.3\n\n10.4 10.4\n.\n");
    assert!(output.status.success(), "{}", told(&output));
    // J1 is first, then S4, S3 (passed over), S2.
    let record = "fasten X.left date=\"2026-10-27T10:30\" by=fitter-3 wrench=TW-2 stage=full temperature=20 {
    at J1 10.4 10.5 10.50 12
    at S4 #null 10.3
    at S2 10.4 10.4
}
";
    assert_eq!(floor.text("2026-10-27-fitter-3.kdl"), tidy(record));
    assert_eq!(String::from_utf8_lossy(&output.stdout), tidy(record));
    assert!(told(&output).contains("12 N·m: 1 N·m over 10 to 11 N·m"), "{}", told(&output));
    assert!(told(&output).contains("bolt 4 of J1 was tightened to 12 N·m"));
}

#[test]
fn a_wrong_answer_in_a_pipe_writes_nothing_and_shows_the_right_spelling() {
    let floor = Floor::new();
    let before = floor.bytes();
    for (arguments, answers, says) in [
        (&FASTEN[..], "10.4 10,5 10.5 10.5\n", "`10,5` is no number; write 10.5"),
        (&FASTEN[..], "10.4 10.5Nm 10.5 10.5\n", "write (N.m)10.5"),
        (&FASTEN[..], "10.4 10.5 10.5\n", "J1 has 4 bolts, and these are 3"),
        (&["inspect", "X.left.J1", "--by", "i-1"], "DI-4\n\n\n\nnone\n0,02 0.03\n", "`0,02` is no number; write 0.02"),
        (&["inspect", "X.left.J1", "--by", "i-1"], "DI-9\n", "the shop has no gauge `DI-9`; it has DI-4"),
        (&["inspect", "X.left.J2", "--by", "i-1"], "", "there is no `X.left.J2`"),
        (&["fasten", "X.left", "--by", "a/../b", "--stage", "full"], "", "a/../b"),
        (&["fasten", "X.left"], "", "no answer to"),
        (&["service", "X", "--by", "f-1", "--task", "oil"], "", "`oil` is none of re-torque"),
        (&["shim", "X.right", "--by", "f-1", "--row", "at S99 0.02"], "", "S99"),
        (&["shim", "X.right", "--by", "f-1", "--row", "at S1 0,02"], "", "0.02"),
        (&["shim", "X.right", "--by", "f-1", "--row", "at S1 0.02 }\nservice X {"], "", ""),
        (&["shim", "X.right", "--by", "f-1", "--row", "at S1 0.02; /* "], "", ""),
        (&["survey", "X.right", "--by", "f-1", "--date", "27.10.2026"], "", "is no date"),
    ] {
        let output = floor.record(arguments, answers);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}: {}", told(&output));
        assert!(told(&output).contains(says), "{arguments:?}: {}", told(&output));
        assert_eq!(floor.bytes(), before, "{arguments:?} wrote something");
    }
}

#[test]
fn every_step_is_told_at_once_and_the_cause_after_the_fourth() {
    let floor = Floor::new();
    // All four far grooves 0.024 proud: the far profile is larger. 0.024 is 0.004 over 0.02.
    let answers = "DI-4\n20.5\n40\n15\nnone\n0 0.024\n0 -> 0.024\n0.000 0.024\n-0.010 0.014\n";
    let output = floor.record(&["inspect", "X.left.J1", "--by", "inspector-1"], answers);
    assert!(output.status.success(), "{}", told(&output));
    let lines = told(&output);
    assert!(lines.contains("UL: step 0.024 mm, 0.004 mm over at most 0.02 mm"), "{lines}");
    assert!(lines.contains("size 0.024 mm; mostly size"), "{lines}");
    assert_eq!(
        floor.text("2026-10-27-inspector-1.kdl"),
        tidy(
            "inspect X.left.J1 date=\"2026-10-27T10:30\" by=inspector-1 gauge=DI-4 temperature=20.5 position=1200 {
    carrier reach=40 travel=15
    light none
    UL 0 -> 0.024
    UR 0 -> 0.024
    LL 0.000 -> 0.024
    LR -0.010 -> 0.014
}
"
        )
    );
}

#[test]
fn a_second_record_leaves_every_byte_of_the_first() {
    let floor = Floor::new();
    let first = "// kept \u{b5}\r\nservice X date=\"2026-10-27\" by=fitter-3 task=lubricate // no line end";
    fs::write(floor.file("2026-10-27-fitter-3.kdl"), first).expect("written");
    let output = floor.record(
        &["loosen", "X.left", "--by", "fitter-3", "--reason", "seat \"S4\"", "--row", "at S4 J1", "--note", "a \\ b"],
        "",
    );
    assert!(output.status.success(), "{}", told(&output));
    let now = floor.text("2026-10-27-fitter-3.kdl");
    let rest = now.strip_prefix(first).expect("the first record is as it was");
    assert_eq!(
        rest.replace("\r\n", "\n").trim(),
        "loosen X.left date=\"2026-10-27T10:30\" by=fitter-3 reason=\"seat \\\"S4\\\"\" {\n    at S4 J1\n    note \"a \\\\ b\"\n}"
    );
}

#[test]
fn stations_are_asked_in_turn_and_the_first_one_again() {
    let floor = Floor::new();
    let stations = "0\n-0.01\n\n-0.02 -0.02\n.\n";
    let output =
        floor.record(&["survey", "X.right", "--by", "i-1", "--reads", "gap"], &format!("\nDI-6\n21\n{stations}0\n"));
    assert!(output.status.success(), "{}", told(&output));
    assert_eq!(
        floor.text("2026-10-27-i-1.kdl"),
        tidy(
            "survey gap X.right date=\"2026-10-27T10:30\" by=i-1 gauge=DI-6 temperature=21 stage=as-fitted {
    at S1 0
    at S2 -0.01
    at S4 -0.02 -0.02
    closure S1 0
}
"
        )
    );
    assert!(told(&output).contains("range 0.02 mm, within at most 0.05 mm"));
}

#[test]
fn clicking_wrenches_take_the_outstanding_supports_when_nothing_else_is_said() {
    let floor = Floor::new();
    let output = floor.record(&["fasten", "X.right", "--by", "fitter-3", "--wrench", "TW-1"], "\n1.5\n20\n\n");
    assert!(output.status.success(), "{}", told(&output));
    assert_eq!(
        floor.text("2026-10-27-fitter-3.kdl"),
        tidy(
            "fasten X.right date=\"2026-10-27T10:30\" by=fitter-3 wrench=TW-1 stage=snug setting=1.5 temperature=20 {
    clicked J1 S9..S1 S12..S15
}
"
        )
    );
}

#[test]
fn showing_writes_nothing() {
    let floor = Floor::new();
    let before = floor.bytes();
    let output =
        floor.record(&["service", "X", "--by", "f-1", "--task", "lubricate", "--travelled", "(m)1200", "--show"], "");
    assert_eq!(
        String::from_utf8_lossy(&output.stdout),
        "service X date=\"2026-10-27T10:30\" by=f-1 task=lubricate travelled=(m)1200\n"
    );
    assert_eq!(floor.bytes(), before);
}

/// What is read while a rail is set is said to be so; every other word is none of an inspection.
#[test]
fn a_joint_read_while_its_rail_is_set_is_recorded_as_such() {
    let floor = Floor::new();
    let inspect = |stage: &str| {
        floor.record(
            &["inspect", "X.left.J1", "--by", "i-1", "--gauge", "DI-4", "--temperature=20", "--stage", stage, "--show"],
            "40\n15\nnone\n0 0.09\n0 0.01\n0 0.01\n0 0.01\n",
        )
    };
    let shown = String::from_utf8_lossy(&inspect("aligning").stdout).into_owned();
    assert!(shown.contains(" stage=aligning") && shown.contains("UL 0 -> 0.09"), "{shown}");
    let wrong = inspect("full");
    assert!(!wrong.status.success() && told(&wrong).contains("`full` is none of aligning"), "{}", told(&wrong));
}

/// Sittings of every kind, with all the answers that they need.
const SITTINGS: [(&[&str], &str); 10] = [
    (&["fasten", "X.left", "--wrench", "TW-2"], "full\n20\n10.4 10.5 10.5 10.6\n.\n"),
    (
        &["fasten", "X.left", "--wrench", "TW-2", "--stage", "full", "--by", "f-2"],
        "20\n10.4 10.5 10.5 10.6\n10.4 -\n.\n",
    ),
    (&["fasten", "X.right", "--wrench", "TW-1"], "\n1.5\n20\n\n"),
    (&["inspect", "X.left.J1"], "DI-4\n20.5\n40\n15\nnone\n0 0.01\n0 0.01\n0 0.01\n0 0.01\n"),
    (&["survey", "X.right"], "gap\n\nDI-6\n21\n0\n-0.01\n\n.\n0\n"),
    (&["loosen", "X.left"], "wrong seat\nS1 S2\n"),
    (&["shim", "X.right"], "S2 0.05 0.02\nS3 0.02\n\n"),
    (&["running-force", "X"], "FG-1\nat 600 14\nat 900 15\n\n"),
    (&["receive"], "part serial=K-901 lot=\"7731\" length=2400\n\n"),
    (&["service", "X"], "lubricate\n12\n"),
];

/// After every answer and in the middle of it, in every kind of record: what was said so far is not all that was to be
/// said, so nothing is written.
#[test]
fn a_pipe_that_ends_early_writes_nothing() {
    for (arguments, answers) in SITTINGS {
        let mut arguments = arguments.to_vec();
        let by = if arguments.contains(&"--by") { "" } else { "f-1\n" };
        let answers = format!("{by}{answers}");
        let floor = Floor::new();
        let before = floor.bytes();
        let ends: Vec<usize> = answers.match_indices('\n').map(|(at, _)| at).collect();
        // Behind each line end but the last, in front of each, and in the middle of what is long enough.
        let last = *ends.last().expect("there are answers");
        let cuts = ends.iter().flat_map(|end| [end.saturating_sub(1), *end, end + 1]).filter(|cut| *cut <= last);
        for cut in cuts {
            let output = floor.record(&arguments, &answers[..cut]);
            assert_eq!(output.status.code(), Some(2), "{arguments:?} {:?}: {}", &answers[..cut], told(&output));
            assert!(told(&output).contains("no answer to `"), "{arguments:?}: {}", told(&output));
            assert!(told(&output).contains("nothing was written"), "{arguments:?}: {}", told(&output));
            assert_eq!(floor.bytes(), before, "{arguments:?} {:?}", &answers[..cut]);
        }
        // One answer too many stands somewhere: perhaps an empty line left out a row, and all behind it moved up.
        for more in ["0\n", "\n0.001 0.002\n", "y"] {
            let output = floor.record(&arguments, &format!("{answers}{more}"));
            assert_eq!(output.status.code(), Some(2), "{arguments:?} {more:?}: {}", told(&output));
            assert!(told(&output).contains("more answers than questions"), "{arguments:?}: {}", told(&output));
            assert_eq!(floor.bytes(), before, "{arguments:?} {more:?}");
        }
        let output = floor.record(&arguments, &format!("{answers}\n  \n"));
        assert_eq!(output.status.code(), Some(0), "{arguments:?}: {}", told(&output));
        assert_ne!(floor.bytes(), before, "{arguments:?}");

        // A day without a time: the pipe says it, and cannot say now by saying nothing.
        let floor = Floor::new();
        arguments.extend(["--date", "2026-10-27"]);
        let (first, rest) = if by.is_empty() { ("", answers.as_str()) } else { (by, &answers[by.len()..]) };
        for (time, code) in [("", 2), ("8:10", 2), ("now", 2), ("08:10", 0)] {
            let output = floor.record(&arguments, &format!("{first}{time}\n{rest}"));
            assert_eq!(output.status.code(), Some(code), "{arguments:?} {time}: {}", told(&output));
            assert_eq!(floor.bytes() == before, code == 2, "{arguments:?} {time}");
        }
        let written = floor.bytes().into_iter().find(|(name, _)| name.starts_with("2026-10-27")).expect("written").1;
        assert!(String::from_utf8_lossy(&written).contains("date=\"2026-10-27T08:10\""));
    }
}

/// A pipe never makes a draft and is never asked for one.
#[test]
fn a_pipe_leaves_no_draft() {
    let floor = Floor::new();
    let output = floor.record(&["inspect", "X.left.J1", "--by", "i-1"], "DI-4\n20\n");
    assert_eq!(output.status.code(), Some(2));
    let hidden = fs::read_dir(floor.0.path().join("mast-router"))
        .expect("listed")
        .filter(|entry| entry.as_ref().is_ok_and(|entry| entry.file_name().to_string_lossy().starts_with('.')));
    assert_eq!(hidden.count(), 0);
    assert!(!told(&output).contains("kept"), "{}", told(&output));
}

/// A file that says `{ at S1; /- at S2; }`, which KDL allows and one of the two readers refuses, can be added to.
#[test]
fn a_row_left_out_behind_a_semicolon_stops_no_record() {
    let floor = Floor::new();
    let first = "loosen X.left date=\"2026-10-27T08:00\" by=fitter-3 reason=r { at S1; /- at S2; }\n";
    fs::write(floor.file("2026-10-27-fitter-3.kdl"), first).expect("written");
    let output = floor.record(&["service", "X", "--by", "fitter-3", "--task", "lubricate", "--travelled", "1"], "");
    assert!(output.status.success(), "{}", told(&output));
    let now = floor.text("2026-10-27-fitter-3.kdl");
    assert!(now.starts_with(first) && now.contains("\nservice X date=\"2026-10-27T10:30\" by=fitter-3"), "{now}");
}
