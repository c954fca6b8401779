//! A new ledger may be incomplete, but nothing in it is wrong.

use std::fs;
use std::path::Path;
use std::process::Output;

use assert_cmd::Command;

use super::common::program::{LAID_OUT, START_SAW};
use super::common::terminal::Terminal;

fn run(folder: &Path, arguments: &[&str], answers: &str) -> Output {
    Command::cargo_bin("wayledger")
        .expect("the program is built")
        .current_dir(folder)
        .args(arguments)
        .write_stdin(answers)
        .output()
        .expect("it runs")
}

/// How many rules the lint sees broken, how much it calls outstanding, and what it says.
fn counts(folder: &Path, ledger: &str) -> (usize, usize, String) {
    let output = run(folder, &["lint", ledger, "--today", "2026-11-01", "--format", "json"], "");
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    let grade = |name: &str| text.matches(&format!("\"grade\":\"{name}\"")).count();
    // That stagger costs a joint is an observation, not a fault.
    (grade("nonconformity"), grade("outstanding"), text)
}

const LIKE: &str = "// The first of its kind.
machine saw-1 {
    title \"Saw 1\"
    not-applicable joint-meeting X date=\"2026-04-02\" by=engineer-1 reason=\"no carriage\"
    axis X {
        run to=2400
        rail left profile=R20 { // the reference
            segment 1200 serial=K-1 lot=\"7\" mark=A until=\"2026-05-02\"
            segment 1200 serial=K-3 lot=\"8\" mark=A since=\"2026-05-02\"
            segment 1200 serial=K-2
            supports S first=240 pitch=240 count=9 length=80 { omit S5 since=\"2026-05-02\" }
            joint-support J1 at=1200 length=200
        }
    }
}
fasten X.left date=\"2026-04-14\" by=fitter-2 stage=full { at S1 10.4 10.5 }
";

#[test]
fn a_second_machine_begins_with_the_description_of_another_and_nothing_of_its_own() {
    let folder = tempfile::tempdir().expect("a folder");
    fs::create_dir(folder.path().join("saw-1")).expect("a folder");
    fs::write(folder.path().join("shop.kdl"), "shop { profile R20 hole-pitch=60 end-distance=30 }\n").expect("written");
    fs::write(folder.path().join("saw-1/machine.kdl"), LIKE).expect("written");
    let output = run(folder.path(), &["start", "saw-2", "--like", "saw-1"], "");
    assert!(output.status.success(), "{output:?}");
    let text = fs::read_to_string(folder.path().join("saw-2/machine.kdl")).expect("read");
    let expected = "// The first of its kind.
machine saw-2 {
    axis X {
        run to=2400
        rail left profile=R20 { // the reference
            segment 1200
            segment 1200
            supports S first=240 pitch=240 count=9 length=80 { omit S5 }
            joint-support J1 at=1200 length=200
        }
    }
}
";
    assert_eq!(text, expected);
    assert_eq!(fs::read_to_string(folder.path().join("saw-1/machine.kdl")).expect("read"), LIKE, "untouched");
    let output = run(folder.path(), &["start", "saw-3", "--like", "saw-1", "--title", "Saw 3"], "");
    assert!(output.status.success(), "{output:?}");
    assert!(fs::read_to_string(folder.path().join("saw-3/machine.kdl")).expect("read").contains("title \"Saw 3\""));
    // A machine without a name and a title of its own gets both.
    fs::write(
        folder.path().join("saw-1/machine.kdl"),
        LIKE.replace("machine saw-1", "machine").replace("    title", "    // title"),
    )
    .expect("written");
    let output = run(folder.path(), &["start", "saw-5", "--like", "saw-1", "--title", "Saw 5"], "");
    assert!(output.status.success(), "{output:?}");
    let text = fs::read_to_string(folder.path().join("saw-5/machine.kdl")).expect("read");
    assert!(text.contains("machine saw-5 {\n    title \"Saw 5\"\n"), "{text}");
    let nowhere = run(folder.path(), &["start", "saw-4", "--like", "saw-9"], "");
    assert_eq!(nowhere.status.code(), Some(2));
    assert!(!folder.path().join("saw-4").exists());
}

/// What describes a machine is not said beside the machine that is taken over: no option is passed over in silence.
#[test]
fn no_option_that_describes_is_taken_beside_like() {
    let folder = tempfile::tempdir().expect("a folder");
    let help = String::from_utf8(run(folder.path(), &["start", "--help"], "").stdout).expect("text");
    let options = help.lines().filter_map(|line| line.strip_prefix("      --"));
    let options: Vec<&str> = options.filter(|line| !["like", "name", "title"].contains(&word(line))).collect();
    assert!(options.len() > 12, "{options:?}");
    for option in options {
        let value = if option.contains('<') { &["1200"][..] } else { &[] };
        let name = format!("--{}", word(option));
        let output = run(folder.path(), &[&["start", "saw-2", "--like", "saw-1", name.as_str()], value].concat(), "");
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(output.status.code() == Some(2) && said.contains("cannot be used with"), "{name}: {said}");
    }
}

/// The first word of a line.
fn word(line: &str) -> &str {
    line.split(' ').next().unwrap_or_default()
}

#[test]
fn every_new_ledger_lints_with_outstanding_items_only() {
    let options: &[&[&str]] = &[
        &["--rail", "left", "--rail", "right", "--pieces", "6000", "--carriage", "none"],
        &[
            "--rail",
            "left",
            "--rail",
            "right",
            "--pieces",
            "6000",
            "--carriage",
            "none",
            "--joint-support-length",
            "200",
            "--plan",
        ],
        &[
            "--rail",
            "only",
            "--pieces",
            "3000 3000",
            "--carriage",
            "400",
            "--blocks",
            "-150 150",
            "--block-length",
            "80",
            "--joint-support-length",
            "200",
            "--plan",
        ],
        &["--rail", "a b", "--pieces", "6000", "--carriage", "none"],
        &[
            "--rail",
            "port",
            "--rail",
            "star-board",
            "--pieces",
            "3500 2500",
            "--pieces",
            "2600 3400",
            "--carriage",
            "400",
            "--blocks",
            "-150 150",
            "--block-length",
            "80",
            "--joint-support-length",
            "200",
            "--plan",
            "--title",
            "Quarry \"saw\" // 7",
            "--axis",
            "Y",
        ],
    ];
    for (number, more) in options.iter().enumerate() {
        let folder = tempfile::tempdir().expect("a folder");
        let arguments: Vec<&str> = START_SAW.iter().chain(*more).copied().collect();
        let output = run(folder.path(), &arguments, "");
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        if number == 3 {
            assert_eq!(output.status.code(), Some(2), "a name with a blank is none: {told}");
            assert!(!folder.path().join("saw").exists());
            continue;
        }
        assert!(output.status.success(), "{more:?}: {told}");
        let (wrong, outstanding, text) = counts(folder.path(), "saw");
        assert_eq!(wrong, 0, "{more:?}: {text}");
        assert!(outstanding > 0, "{more:?}");
    }
}

#[test]
fn the_planner_lays_the_ledger_out_by_hand_checked_figures() {
    let folder = tempfile::tempdir().expect("a folder");
    let more = ["--rail", "only", "--pieces", "6000", "--carriage", "none"];
    let output = run(folder.path(), &[&START_SAW[..], &more, &LAID_OUT].concat(), "");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let text = fs::read_to_string(folder.path().join("saw/machine.kdl")).expect("there");
    // 6000 of bars up to 3000: two bars at the least, so one joint, at 3000.
    assert_eq!(text.matches("segment 3000\n").count(), 2, "{text}");
    assert!(text.contains("joint-support J1 at=3000 length=200"), "{text}");
    // S12 stands at 240 × 12 = 2880, its end at 2920; the joint support begins at 2900: it goes. S13 at 3120 goes too.
    assert!(text.contains("{ omit S12 S13 }"), "{text}");
}

#[test]
fn an_existing_ledger_is_never_touched() {
    let folder = tempfile::tempdir().expect("a folder");
    let saw = folder.path().join("saw");
    fs::create_dir(&saw).expect("made");
    fs::write(saw.join("machine.kdl"), "machine old {\n").expect("written");
    let arguments: Vec<&str> =
        START_SAW.iter().copied().chain(["--rail", "a", "--pieces", "6000", "--carriage", "none"]).collect();
    let output = run(folder.path(), &arguments, "");
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stderr).contains("is a ledger already"));
    assert_eq!(fs::read_to_string(saw.join("machine.kdl")).expect("there"), "machine old {\n");
    assert_eq!(fs::read_dir(&saw).expect("listed").count(), 1);
}

#[test]
fn what_cannot_be_is_said_and_nothing_is_written() {
    for (more, says) in [
        (&["--length", "6,5"][..], "write 6.5"),
        (&["--length", "0"], "no length of a machine part"),
        (&["--pieces", "1000"], "the pieces make 1000 mm, the rails are 6000 mm long"),
        // 6000 is no sum of bars of 2500: two make 5000, three 7500.
        (&["--stock", "2520", "--joint-support-length", "200", "--plan"], "segment-stock"),
        (&["--joint-support-length", "200"], "--plan"),
        (&["--rail", "r"], "two rails are called `r`"),
        (&["--carriage", "7000"], "no shorter than the rails"),
        (&["--carriage", "400", "--blocks", "x", "--block-length", "80"], "`x` is no number"),
    ] {
        let folder = tempfile::tempdir().expect("a folder");
        let mut arguments: Vec<&str> = vec!["start", "saw"];
        let usual = [
            ("--length", "6000"),
            ("--profile", "R25"),
            ("--pitch", "60"),
            ("--end-distance", "30"),
            ("--stock", "1200 2400 3000"),
            ("--support-pitch", "240"),
            ("--support-length", "80"),
            ("--pieces", "6000"),
            ("--carriage", "none"),
        ];
        for (name, value) in usual {
            if !more.contains(&name) {
                arguments.extend([name, value]);
            }
        }
        arguments.extend(["--rail", "r"]);
        arguments.extend(more);
        let output = run(folder.path(), &arguments, "");
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(2), "{more:?}: {told}");
        assert!(told.contains(says), "{more:?}: {told}");
        assert!(!folder.path().join("saw").exists(), "{more:?}");
    }
}

#[test]
fn a_pipe_answers_the_questions_in_turn() {
    let folder = tempfile::tempdir().expect("a folder");
    let output = run(folder.path(), &["start", "saw"], "3600\n\n\n\nR25\n60\n\n1200 2400\n\n\nnone\n");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    assert_eq!(counts(folder.path(), "saw").0, 0);
    let text = fs::read_to_string(folder.path().join("saw/machine.kdl")).expect("there");
    assert!(text.contains("rail left beam=under-left profile=R25 datum=left {"), "{text}");
    // Half-way through, nothing is there yet.
    let output = run(folder.path(), &["start", "mill"], "3600\n\n");
    assert_eq!(output.status.code(), Some(2));
    assert!(!folder.path().join("mill").exists());
}

/// Who asks for help learns beforehand what will be asked: each question that comes is in it, in its order.
#[test]
fn the_help_says_what_is_asked() {
    const ASKED: [(&str, &str); 12] = [
        ("Length of the rails", "the length of the rails"),
        ("Names of the rails", "their names"),
        ("Pieces of the beam", "the pieces of the beam under each"),
        ("Rail profile", "the rail profile"),
        ("Hole pitch", "its hole pitch"),
        ("From a bar's end", "its end distance"),
        ("Bar lengths", "the bar lengths"),
        ("From one support", "how far the supports stand apart"),
        ("Length of rail that one support covers", "how much rail one covers"),
        ("Length of rail that a joint support", "a joint support"),
        ("Length of the carriage", "the length of the carriage"),
        ("Middles of the blocks", "the middles of its blocks"),
    ];
    let folder = tempfile::tempdir().expect("a folder");
    let help = run(folder.path(), &["start", "--help"], "");
    let help = String::from_utf8_lossy(&help.stdout).split_whitespace().collect::<Vec<_>>().join(" ");
    let mut terminal = Terminal::start(folder.path(), &["start", "saw", "--plan"]);
    let answers = ["2400", "", "", "", "R20", "60", "30", "1200 2400", "", "", "", "480", "-180 180", "80"];
    for answer in answers {
        terminal.wait_for(": ").key(&format!("{answer}\n"));
    }
    let (code, questions) = terminal.end();
    assert_eq!(code, Some(0), "{questions}");
    let last = ("Effective length of a block", "the effective length of one");
    let (mut read, mut told) = (0, 0);
    for (question, word) in ASKED.into_iter().chain([last]) {
        read += questions[read..].find(question).unwrap_or_else(|| panic!("{question} is not asked: {questions}"));
        told += help[told..].find(word).unwrap_or_else(|| panic!("`{word}` is not in the help: {help}"));
    }
}

/// The length of a joint support that `start` was told is the one that it plans with, and `layout` after it. Without a
/// plan there is no joint support to hold it: it is not asked for, and `layout` has a length of its own.
#[test]
fn layout_plans_with_the_joint_supports_that_start_was_told_of() {
    let folder = tempfile::tempdir().expect("a folder");
    let text = || fs::read_to_string(folder.path().join("saw/machine.kdl")).expect("there");
    let layout = || {
        let again = ["layout", "X", "--ledger", "saw", "--write", "--replace", "--today", "2026-11-01"];
        let output = run(folder.path(), &again, "");
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    };
    let one_rail = ["--rail", "only", "--pieces", "6000", "--carriage", "none"];
    let plan = ["--joint-support-length", "280", "--plan"];
    let output = run(folder.path(), &[&START_SAW[..], &one_rail, &plan].concat(), "");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    assert!(text().contains("joint-support J1 at=3000 length=280"), "{}", text());
    layout();
    assert_eq!(text().matches("joint-support J1 at=3000 length=280").count(), 1, "{}", text());

    fs::remove_dir_all(folder.path().join("saw")).expect("there");
    let output = run(folder.path(), &[&START_SAW[..], &one_rail].concat(), "");
    let asked = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success() && !asked.contains("joint support"), "{asked}");
    assert!(!text().contains("length=200"), "{}", text());
    layout();
    // The bars' end distance is 30 and the pitch 60, bolts keep 10 from an edge: 2 × (30 + 60 + 10).
    assert_eq!(text().matches("joint-support J1 at=3000 length=200").count(), 1, "{}", text());
}
