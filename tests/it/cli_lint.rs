//! `wayledger lint` and `wayledger rules` as a person or a program runs them: exit codes, odd files, odd names, and
//! that nothing in a ledger can steer a terminal.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use assert_cmd::cargo::CommandCargoExt;
use tempfile::TempDir;

fn examples() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers")
}

fn wayledger(folder: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::cargo_bin("wayledger").expect("the program is built");
    command.current_dir(folder).args(arguments).env_remove("NO_COLOR").env_remove("CLICOLOR_FORCE");
    command
}

fn run(folder: &Path, arguments: &[&str]) -> Output {
    wayledger(folder, arguments).stdin(Stdio::null()).output().expect("it runs")
}

fn lint(folder: &Path, more: &[&str]) -> Output {
    run(folder, &[&["lint", "--today", "2026-11-01"], more].concat())
}

fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).expect("output is UTF-8")
}

fn err(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).expect("complaints are UTF-8")
}

fn code(output: &Output) -> i32 {
    output.status.code().expect("it ended by itself")
}

/// A folder with a ledger in `m` of these files.
fn ledger(files: &[(&str, &str)]) -> TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    fs::create_dir(folder.path().join("m")).expect("a folder in it");
    for (name, text) in files {
        fs::write(folder.path().join("m").join(name), text).expect("a file in it");
    }
    folder
}

const MACHINE: &str = "machine m { axis X { rail a { segment 1200; segment 1200; support S1 at=240; support S2 at=2160; joint-support J1 at=1200 length=200 } } }\nshop {\n    not-applicable joint-meeting date=\"2026-04-01\" by=office reason=\"a slide for this test\"\n    not-applicable torque-window date=\"2026-04-01\" by=office reason=\"a slide for this test\"\n    not-applicable snug-window date=\"2026-04-01\" by=office reason=\"a slide for this test\"\n    not-applicable overtravel date=\"2026-04-01\" by=office reason=\"a slide for this test\"\n    not-applicable bolt-off-hole date=\"2026-04-01\" by=office reason=\"a slide for this test\"\n    not-applicable hole-pitch-break date=\"2026-04-01\" by=office reason=\"a slide for this test\"\n    not-applicable joint-support date=\"2026-04-01\" by=office reason=\"a slide for this test\"\n    not-applicable joint-over-seam date=\"2026-04-01\" by=office reason=\"a slide for this test\"\n    not-applicable joint-end date=\"2026-04-01\" by=office reason=\"a slide for this test\"\n    not-applicable joint-needless date=\"2026-04-01\" by=office reason=\"a slide for this test\"\n    not-applicable segment-stock date=\"2026-04-01\" by=office reason=\"a slide for this test\"\n    not-applicable parts-mixed date=\"2026-04-01\" by=office reason=\"a slide for this test\"\n    not-applicable run-length date=\"2026-04-01\" by=office reason=\"a slide for this test\"\n    not-applicable support-overlap date=\"2026-04-01\" by=office reason=\"a slide for this test\"\n    not-applicable torque-window-fit date=\"2026-04-01\" by=office reason=\"a slide for this test\"\n    not-applicable joint-step-unproven date=\"2026-04-01\" by=office reason=\"a slide for this test\"\n    not-applicable gauge-range date=\"2026-04-01\" by=office reason=\"a slide for this test\"\n    not-applicable gauge-graduation date=\"2026-04-01\" by=office reason=\"a slide for this test\"\n    not-applicable wrench-range date=\"2026-04-01\" by=office reason=\"a slide for this test\"\n    gauge DI-4 kind=dial-indicator plus=outward { calibrated \"2026-01-12\" due=\"2027-01-12\" }\n    wrench TW-1 kind=setting { calibrated \"2026-01-12\" due=\"2027-01-12\" }\n}\nfasten X.a date=\"2026-04-14\" by=fitter-2 wrench=TW-1 stage=snug setting=1.5 { clicked J1 S1 S2 }\nfasten X.a date=\"2026-04-14\" by=fitter-2 wrench=TW-1 stage=full setting=10.5 { clicked J1 S1 S2 }\n";
const DONE: &str = "inspect X.a.J1 date=\"2026-04-15\" by=inspector-1 gauge=DI-4 { carrier reach=40 travel=15; light none; UL 0 -> 0.01; UR 0 -> 0; LL 0 -> 0.002; LR 0 -> 0 }\n";

#[test]
fn exit_codes_say_how_it_went() {
    let clean = ledger(&[("machine.kdl", MACHINE), ("joints.kdl", DONE)]);
    let open = ledger(&[("machine.kdl", MACHINE)]);
    let wrong = ledger(&[("machine.kdl", MACHINE), ("joints.kdl", &DONE.replace("0.01;", "0.021;"))]);
    for (folder, more, expected) in [
        (&clean, &[][..], 0),
        (&clean, &["--complete"], 0),
        (&open, &[], 0),
        (&open, &["--complete"], 1),
        (&wrong, &[], 1),
        (&wrong, &["--format", "json"], 1),
    ] {
        let output = lint(folder.path(), more);
        assert_eq!(code(&output), expected, "{more:?}: {}{}", out(&output), err(&output));
        assert_eq!(err(&output), "");
    }
}

#[test]
fn every_reason_that_a_rule_does_not_apply_is_shown_and_an_instrument_can_only_be_described() {
    let declared = |rule: &str, reason: &str| {
        format!("not-applicable {rule} X date=\"2026-04-01\" by=engineer-1 reason=\"{reason}\"\n")
    };
    // Both lack the carriage, and each does not apply for a reason of its own.
    let rows =
        declared("overtravel", "the maker fits the stops") + &declared("joint-meeting", "one short trolley rides");
    let folder = ledger(&[("machine.kdl", &MACHINE.replace("machine m { ", &format!("machine m {{ {rows}")))]);
    let shown = out(&lint(folder.path(), &[])).replace("\n  ", " ");
    for line in ["overtravel: the maker fits the stops", "joint-meeting: one short trolley rides"] {
        assert!(shown.contains(&format!("not applicable on X, says engineer-1: {line}")), "{shown}");
    }
    assert!(!shown.contains("not-applicable  "), "an empty address is no answer: {shown}");
}

#[test]
fn what_cannot_be_done_is_said_on_standard_error() {
    let empty = tempfile::tempdir().expect("a folder");
    for (arguments, words) in [
        (&["lint", "nowhere"][..], "nowhere"),
        (&["lint"], "machine.kdl"),
        (&["lint", "--bogus"], "--bogus"),
        (&["lint", "--format", "poem"], "poem"),
        (&["lint", "--today", "1.11.2026"], "2026-04-20"),
        (&["rules", "joint-setp"], "`joint-step`"),
        (&["rules", "poem"], "wayledger rules"),
        (&["lnit"], "lint"),
    ] {
        let output = run(empty.path(), arguments);
        assert_eq!(code(&output), 2, "{arguments:?}");
        assert_eq!(out(&output), "", "{arguments:?}");
        assert!(err(&output).contains(words), "{arguments:?}: {}", err(&output));
    }
}

#[test]
fn odd_files_are_refused_and_the_rest_is_judged() {
    let wrong = DONE.replace("0.01;", "0.021;");
    // 2 GB that take no room, a pipe nobody writes to, and bytes that are no text.
    let big = ledger(&[("machine.kdl", MACHINE), ("joints.kdl", &wrong)]);
    fs::File::create(big.path().join("m/huge.kdl")).and_then(|file| file.set_len(2 << 30)).expect("a sparse file");
    let pipe = ledger(&[("machine.kdl", MACHINE), ("joints.kdl", &wrong)]);
    let made = Command::new("mkfifo").arg(pipe.path().join("m/pipe.kdl")).status().expect("mkfifo runs");
    assert!(made.success());
    let link = ledger(&[("machine.kdl", MACHINE), ("joints.kdl", &wrong)]);
    std::os::unix::fs::symlink("gone.kdl", link.path().join("m/link.kdl")).expect("a link");
    for (folder, name) in [(&big, "huge.kdl"), (&pipe, "pipe.kdl"), (&link, "link.kdl")] {
        let output = lint(folder.path(), &[]);
        assert_eq!(code(&output), 2, "{name}: {}", out(&output));
        assert!(format!("{}{}", out(&output), err(&output)).contains(name), "{name}");
        assert!(out(&output).contains("joint-step"), "{name}: {}", out(&output));
    }
    let latin = ledger(&[("machine.kdl", MACHINE), ("joints.kdl", &wrong)]);
    fs::write(latin.path().join("m/old.kdl"), b"// \xfcber\n").expect("a file");
    let output = lint(latin.path(), &[]);
    assert_eq!(code(&output), 2, "what stands behind that byte was not read");
    assert!(out(&output).contains("0xFC") && out(&output).contains("old.kdl:1:4"), "{}", out(&output));
    assert!(out(&output).contains("joint-step"), "{}", out(&output));
}

#[test]
fn a_reader_that_stops_reading_is_no_failure() {
    let many: String = (0..3000).map(|n| format!("nonsense-{n} {n}\n")).collect();
    let folder = ledger(&[("machine.kdl", MACHINE), ("many.kdl", &many)]);
    let mut child =
        wayledger(folder.path(), &["lint"]).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("it runs");
    drop(child.stdout.take());
    let output = child.wait_with_output().expect("it ends");
    assert_eq!(err(&output), "");
    assert_eq!(code(&output), 1, "what was judged stays so, whoever reads on");
}

#[test]
fn two_runs_are_the_same_bytes() {
    for format in ["text", "json", "sarif", "github", "gitlab"] {
        let runs = [0; 2].map(|_| lint(&examples(), &["--format", format]));
        assert!(runs[0].stdout.len() > 2000, "{format}");
        assert!(runs[0].stdout == runs[1].stdout, "{format} differs from run to run");
    }
}

#[test]
fn json_is_json_and_says_what_the_terminal_says() {
    let output = lint(&examples(), &["--format", "json", "faults/joint-step", "faults/joint-stagger"]);
    let json: serde_json::Value = serde_json::from_str(&out(&output)).expect("it parses");
    assert_eq!(json["format"], "wayledger-findings-5");
    let ledgers = json["ledgers"].as_array().expect("a list");
    let rules: Vec<&str> = ledgers
        .iter()
        .flat_map(|ledger| ledger["findings"].as_array().expect("a list"))
        .map(|finding| finding["rule"].as_str().expect("a name"))
        .collect();
    assert!(rules.contains(&"joint-step") && rules.contains(&"joint-stagger"), "{rules:?}");
    let text = out(&lint(&examples(), &["faults/joint-step", "faults/joint-stagger"]));
    for rule in rules {
        assert!(text.contains(&format!(": {rule}")), "{rule} is not in {text}");
    }
}

#[test]
fn paths_may_be_ledgers_files_of_one_or_the_folder_one_is_in() {
    let inside = lint(&examples().join("boatyard/hull-gantry"), &[]);
    assert_eq!((code(&inside), err(&inside)), (0, String::new()), "{}", out(&inside));
    // The shop file above is found from inside; without it nobody would know the gauges.
    let copy = tempfile::tempdir().expect("a folder");
    for entry in fs::read_dir(examples().join("boatyard/hull-gantry")).expect("the example") {
        let entry = entry.expect("an entry");
        if entry.path().is_file() {
            fs::copy(entry.path(), copy.path().join(entry.file_name())).expect("a copy");
        }
    }
    assert!(out(&lint(copy.path(), &["--all"])).contains("there is no gauge `DI-4`"));
    let one = lint(&examples(), &["boatyard/hull-gantry/machine.kdl"]);
    assert_eq!(out(&one).lines().count(), 1, "{}", out(&one));
    let several = lint(&examples(), &["boatyard/hull-gantry", "faults/joint-step", "boatyard"]);
    assert_eq!(code(&several), 1);
    assert_eq!(out(&several).matches("boatyard/hull-gantry: ").count(), 1, "{}", out(&several));
}

#[test]
fn rules_are_listed_and_each_has_its_page() {
    let list = out(&run(&examples(), &["rules"]));
    for rule in wayledger::lint::rules() {
        assert!(list.contains(&format!("  {} ", rule.name)), "{}", rule.name);
    }
    let page = out(&run(&examples(), &["rules", "joint-step"]));
    for words in ["0.02 mm", "common practice, no source", "Wrong", "Right", "-0.04 -> -0.019"] {
        assert!(page.contains(words), "{words} is not in {page}");
    }
}

#[test]
fn colour_only_where_a_terminal_wants_it() {
    let folder = examples();
    let piped = lint(&folder, &["faults/joint-step"]);
    assert!(!piped.stdout.contains(&0x1b), "{}", out(&piped));
    let always = lint(&folder, &["faults/joint-step", "--colour", "always"]);
    assert!(always.stdout.contains(&0x1b));
    // `script` of util-linux gives the program a terminal.
    let program = wayledger(&folder, &[]).get_program().to_string_lossy().into_owned();
    let shell = format!("{program} lint --today 2026-11-01 faults/joint-step");
    for (variable, value, coloured) in
        [("TERM", "xterm-256color", true), ("NO_COLOR", "1", false), ("TERM", "dumb", false)]
    {
        let output = Command::new("script")
            .args(["-qec", &shell, "/dev/null"])
            .current_dir(&folder)
            .env("TERM", "xterm-256color")
            .env_remove("NO_COLOR")
            .env(variable, value)
            .stdin(Stdio::null())
            .output()
            .expect("script runs");
        assert_eq!(output.stdout.contains(&0x1b), coloured, "{variable}={value}");
    }
}

/// Characters that could steer a terminal or turn a line round.
const HOSTILE: [char; 7] = ['\u{1b}', '\u{7}', '\u{9b}', '\u{8}', '\u{202e}', '\u{2066}', '\u{7f}'];

#[test]
fn nothing_in_a_ledger_steers_the_terminal() {
    let escaped = "\\u{1b}[31m\\u{7}\\u{9b}\\u{8}\\u{202e}\\u{2066}\\u{7f}";
    let raw: String = HOSTILE.iter().collect();
    let machine = |s: &str| {
        format!(
            "machine \"m{s}\" {{ title \"t{s}\"; axis \"X{s}\" {{ run from=0 to=99; rail \"a{s}\" profile=\"p{s}\" beam=\"b{s}\" {{ \
             segment 1200 serial=\"k{s}\" lot=\"l{s}\"; segment 1200 serial=\"k{s}\"; support \"S{s}\" at=100 }} }} }}\n"
        )
    };
    let records = |s: &str| {
        format!(
            "inspect \"X.a.J1{s}\" date=\"2026{s}\" by=\"b{s}\" gauge=\"g{s}\" {{ note \"n{s}\"; light \"l{s}\" }}\n\
             \"node{s}\" \"prop{s}\"=1\nvoid inspect \"X.a{s}\" of=\"2026-04-01\" date=\"2026-04-02\" by=x reason=\"r{s}\"\n\
             concession \"c{s}\" \"X.a{s}\" date=\"2026-04-02\" by=x reason=\"r{s}\"\n"
        )
    };
    for (what, text) in [("escapes", escaped), ("the characters themselves", raw.as_str())] {
        let folder = ledger(&[("machine.kdl", &machine(text)), ("records.kdl", &records(text))]);
        // A file name too, as far as a file system takes it.
        fs::write(folder.path().join(format!("m/odd-{raw}.kdl")), records(text)).expect("a file");
        for format in ["text", "json", "sarif", "github", "gitlab"] {
            let output = lint(folder.path(), &["--format", format]);
            assert!(code(&output) > 0, "{what} as {format}: {}", out(&output));
            let printed = format!("{}{}", out(&output), err(&output));
            let harmful: Vec<char> = printed.chars().filter(|c| HOSTILE.contains(c)).collect();
            assert!(harmful.is_empty(), "{what} as {format} prints {harmful:?}");
        }
    }
}

#[test]
fn a_very_long_line_is_cut() {
    let long = format!("// {}\nnonsense \"{}\"\n", "x".repeat(2_000_000), "y".repeat(3_000_000));
    let folder = ledger(&[("machine.kdl", MACHINE), ("long.kdl", &long)]);
    let output = lint(folder.path(), &[]);
    assert_eq!(code(&output), 1);
    assert!(out(&output).contains("unknown-node"));
    let longest = out(&output).lines().map(|line| line.chars().count()).max();
    assert!(longest < Some(400), "{longest:?}");
}

#[test]
fn ten_thousand_findings_are_all_printed() {
    let many: String = (0..10_000).map(|n| format!("nonsense-{n} {n}\n")).collect();
    let folder = ledger(&[("machine.kdl", MACHINE), ("many.kdl", &many)]);
    let output = lint(folder.path(), &["--all"]);
    assert_eq!(out(&output).matches("nonconformity: unknown-node").count(), 10_000);
    let folded = out(&lint(folder.path(), &[]));
    assert!(folded.lines().count() < 40 && folded.contains("and 9999 more of this rule"), "{folded}");
    assert!(out(&output).contains("10000 nonconformities"), "{}", out(&output).lines().last().unwrap_or(""));
}

/// Limits at exactly their value conform; all of them common practice, no source.
#[test]
fn a_value_of_just_the_limit_conforms() {
    let machine = "shop { fastener rb thread=M6 class=\"10.9\" into=steel }\nmachine m { axis X { rail a { segment 1200; segment 1200 }; rail b follows=a shims=widen rail-bolt=rb { \
                   supports S first=100 pitch=240 count=3 } } }\n";
    let step = |after: &str| format!("inspect X.a.J1 date=\"2026-04-15\" by=i {{ light none; UL -0.04 -> {after} }}\n");
    let snug = |n: &str| format!("fasten X.b date=\"2026-04-15\" by=f stage=snug setting={n} {{ clicked S1..S3 }}\n");
    let full = |n: &str| format!("{}fasten X.b date=\"2026-04-15\" by=f stage=full {{ at S1 {n} }}\n", snug("1.5"));
    let gap = |n: &str| {
        format!("survey gap X.b date=\"2026-04-15\" by=i stage=verification {{ at S1 0; at S2 {n}; at S3 -0.02 }}\n")
    };
    for (records, rule, broken) in [
        (step("-0.02"), "joint-step", false),
        (step("-0.06"), "joint-step", false),
        (step("-0.019"), "joint-step", true),
        (step("-0.061"), "joint-step", true),
        (full("10"), "torque-window", false),
        (full("11"), "torque-window", false),
        (full("9.99"), "torque-window", true),
        (full("11.01"), "torque-window", true),
        (snug("1"), "snug-window", false),
        (snug("2"), "snug-window", false),
        (snug("0.99"), "snug-window", true),
        (snug("2.01"), "snug-window", true),
        (gap("-0.05"), "gap-range", false),
        (gap("-0.051"), "gap-range", true),
    ] {
        let folder = ledger(&[("machine.kdl", machine), ("records.kdl", &records)]);
        let output = lint(folder.path(), &[]);
        assert_eq!(out(&output).contains(&format!("nonconformity: {rule} ")), broken, "{records}{}", out(&output));
        assert_eq!(code(&output), i32::from(broken), "{records}{}", out(&output));
    }
}
