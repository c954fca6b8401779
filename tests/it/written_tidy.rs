//! Whatever a command writes into a ledger is in the one layout, and leaves the text around it as it is. The commands are
//! those that the program itself names, and so are the kinds of record: one that is new must join.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use assert_cmd::Command;
use wayledger::text::{Limits, read};
use wayledger::writing::tidy;

use crate::common::program::START_SAW;

/// Commands that write no ledger.
const OTHERS: [&str; 12] = [
    "compare",
    "hook",
    "how",
    "lint",
    "report",
    "rules",
    "trace",
    "traveler",
    "export",
    "completions",
    "manual",
    "tidy",
];

/// One run of a command that writes.
struct Run {
    arguments: Vec<&'static str>,
    answers: &'static str,
    /// What is in the way of the run and is taken out of the examples first.
    without: &'static [&'static str],
}

fn of(arguments: &[&'static str], answers: &'static str) -> Run {
    Run { arguments: arguments.to_vec(), answers, without: &[] }
}

/// A sitting for each kind of record.
fn sitting(kind: &str) -> Run {
    let (rest, answers): (&[&str], &str) = match kind {
        "fasten" => (&["X.left", "--wrench", "TW-2"], "full\n20\n10.4 10.50 - 10.6\n9.5 10\n.\n"),
        "inspect" => (&["X.left.J1"], "DI-4\n20.5\n40\n15\nnone\n0 0.01\n-0.010 0\n0 0.01\n0 0.01\n"),
        "survey" => (&["X.right"], "gap\n\nDI-6\n21\n0\n-0.01\n\n.\n0\n"),
        "loosen" => (&["X.left", "--note", "a remark"], "wrong seat\nS1 S2\n"),
        "shim" => (&["X.right"], "S2 0.05 0.02\nS12 0.020\n\n"),
        "receive" => (&[], "part   length=2400 serial=K-901   lot=\"7731\"\n\n"),
        "running-force" => (&["X"], "FG-1\nat 600 14\nat 90 15.5\n\n"),
        "service" => (&["X"], "lubricate\n12\n"),
        other => panic!("`record {other}` needs a sitting here"),
    };
    let mut arguments = vec![
        "record",
        ["fasten", "inspect", "survey", "loosen", "shim", "receive", "running-force", "service"]
            .into_iter()
            .find(|known| *known == kind)
            .expect("known"),
    ];
    arguments.extend(rest);
    arguments.extend([
        "--ledger",
        "mast-router",
        "--by",
        "fitter-3",
        "--date",
        "2026-10-27T10:30",
        "--today",
        "2026-10-27",
    ]);
    Run { arguments, answers, without: &[] }
}

/// The runs of a command, by what the program calls it; none where it has no place here yet.
fn runs(command: &str) -> Vec<Run> {
    match command {
        "start" => vec![
            of(&[&START_SAW[..], &["--rail", "left", "--pieces", "6000", "--carriage", "none", "--plan"]].concat(), ""),
            of(
                &[
                    &START_SAW[..],
                    &["--rail", "left", "--rail", "right", "--pieces", "3000 3000", "--carriage", "480"],
                    &["--blocks=-180 180", "--block-length", "78", "--title", "A saw"],
                ]
                .concat(),
                "",
            ),
        ],
        "record" => words(&help(&["record", "--help"]), "Possible values:").iter().map(|kind| sitting(kind)).collect(),
        "import" => vec![of(
            &[
                "import",
                "out.csv",
                "--as",
                "bench",
                "--on",
                "X.port",
                "--by",
                "fitter-2",
                "--stage",
                "full",
                "--date",
                "2026-04-14T08:10",
                "--ledger",
                "saw",
                "--write",
                "--temperature=-3.50",
            ],
            "",
        )],
        "layout" => vec![of(&["layout", "X", "--ledger", "gantry", "--write", "--replace"], "")],
        "shims" => vec![Run {
            without: &["hull-gantry/2026-04-17", "hull-gantry/2026-04-18"],
            ..of(
                &[
                    "shims",
                    "--ledger",
                    "hull-gantry",
                    "--today",
                    "2026-04-17",
                    "--date",
                    "2026-04-17T15:05",
                    "--write",
                    "--by",
                    "fitter-2",
                ],
                "",
            )
        }],
        "release" => vec![Run {
            without: &["plank-planer/2026-05-08", "plank-planer/2026-10"],
            ..of(
                &[
                    "release",
                    "X",
                    "--by",
                    "engineer-2",
                    "--today",
                    "2026-05-08",
                    "--date",
                    "2026-05-08T16:40",
                    "--ledger",
                    "plank-planer",
                ],
                "",
            )
        }],
        _ => Vec::new(),
    }
}

fn help(arguments: &[&str]) -> String {
    let output = Command::cargo_bin("wayledger").expect("built").args(arguments).output().expect("it runs");
    String::from_utf8(output.stdout).expect("text")
}

/// The names listed below a heading of a help text: the first word of each item, up to the next heading.
fn words(help: &str, heading: &str) -> Vec<String> {
    let below = help.lines().skip_while(|line| line.trim() != heading).skip(1);
    let items = below.take_while(|line| line.starts_with("  ") || line.trim().is_empty());
    let mut names: Vec<String> = Vec::new();
    let mut depth = None;
    for line in items.take_while(|line| !line.trim().is_empty()) {
        let indent = line.len() - line.trim_start().len();
        if *depth.get_or_insert(indent) == indent {
            let word = line.trim().trim_start_matches("- ").split([' ', ':']).next().unwrap_or_default();
            names.push(word.to_owned());
        }
    }
    names
}

const MAPPING: &str = "shop \"Slip 2\" {
    wrench TW-2 kind=indicating least=4 most=20 { calibrated \"2026-02-02\" due=\"2027-02-02\" }
    profile R20 hole-pitch=60 end-distance=30 bolt-edge=10 contact=outward least-segment=240 {
        stock 1200 1440 2400 2880 3000
        cutting grid=60 kerf=3 ends=sawn
    }
    block B20 length=78
    readings-file bench record=fasten wrench=TW-2 separator=\";\" decimal=comma {
        column Pos holds=support
        column Wert holds=reading unit=N.m
    }
}
";
const SAW: &str = "machine saw {
    axis X {
        rail port profile=R20 {
            segment 1200
            segment 1200
            supports S first=120 pitch=240 count=9 length=80
            joint-support J1 at=1200 length=200
        }
    }
}
";
const GANTRY: &str = "// a gantry
machine gantry {
    axis X {
        run from=0 to=6600
        stroke from=360 to=6240 overtravel=40
        beam front material=steel { piece 3600; piece 3000 } // spliced in the middle
        rail port beam=front profile=R20 datum=left {
            segment 960 owned=#true // a rest
            supports S first=240 pitch=240 count=26 length=80 // cast feet
        }
        rail starboard beam=front profile=R20 datum=right follows=port {
            supports S first=240 pitch=240 count=26 length=80
        }
        carriage length=480 { block port at=-180 type=B20; block port at=180 type=B20 }
    }
}
";

/// The boatyard, a saw with an export of its wrench, and a gantry without segments.
fn yard(without: &[&str]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let examples = Path::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers/boatyard");
    for entry in walkdir::WalkDir::new(&examples).into_iter().map(|entry| entry.expect("an entry")) {
        let name = entry.path().strip_prefix(&examples).expect("inside").to_string_lossy().into_owned();
        if entry.file_type().is_file() && !without.iter().any(|start| name.starts_with(start)) {
            let to = folder.path().join(&name);
            fs::create_dir_all(to.parent().expect("a folder")).expect("made");
            fs::copy(entry.path(), to).expect("copied");
        }
    }
    for (name, text) in [
        ("saw/shop.kdl", MAPPING),
        ("saw/machine.kdl", SAW),
        ("gantry/machine.kdl", GANTRY),
        ("out.csv", "Pos;Wert\nS2;10,5\nS2;11,50\nS3;9,5\n"),
    ] {
        fs::create_dir_all(folder.path().join(name).parent().expect("a folder")).expect("made");
        fs::write(folder.path().join(name), text).expect("written");
    }
    // START_SAW begins a ledger of that name.
    folder
}

fn files(folder: &Path) -> BTreeMap<String, String> {
    let all = walkdir::WalkDir::new(folder).into_iter().map(|entry| entry.expect("an entry"));
    all.filter(|entry| entry.file_type().is_file())
        .map(|entry| {
            let name = entry.path().strip_prefix(folder).expect("inside").to_string_lossy().into_owned();
            (name, fs::read_to_string(entry.path()).expect("text"))
        })
        .collect()
}

/// What a run changed: by file the text before, where there was one, and after.
fn changed(run: &Run, prepare: impl Fn(&Path)) -> Vec<(String, Option<String>, String)> {
    let folder = yard(run.without);
    if run.arguments[0] == "start" {
        fs::remove_dir_all(folder.path().join("saw")).expect("taken away");
        fs::remove_file(folder.path().join("shop.kdl")).expect("taken away");
    }
    prepare(folder.path());
    let before = files(folder.path());
    let output = Command::cargo_bin("wayledger")
        .expect("built")
        .current_dir(folder.path())
        .args(&run.arguments)
        .write_stdin(run.answers)
        .output()
        .expect("it runs");
    let told = format!(
        "{:?}: {}{}",
        run.arguments,
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr)
    );
    assert!(output.status.code().is_some_and(|code| code < 2), "{told}");
    let after = files(folder.path());
    let changed: Vec<_> = after
        .into_iter()
        .filter(|(name, text)| before.get(name) != Some(text))
        .map(|(name, text)| (name.clone(), before.get(&name).cloned(), text))
        .collect();
    assert!(!changed.is_empty(), "nothing was written by {told}");
    changed
}

fn all_runs() -> Vec<Run> {
    words(&help(&["--help"]), "Commands:").iter().flat_map(|command| runs(command)).collect()
}

/// The day's file that a run adds to.
fn day_file(run: &Run) -> Option<&'static str> {
    Some(match run.arguments[0] {
        "record" => "mast-router/2026-10-27-fitter-3.kdl",
        "import" => "saw/2026-04-14-fitter-2.kdl",
        "shims" => "hull-gantry/2026-04-17-fitter-2.kdl",
        "release" => "plank-planer/2026-05-08-engineer-2.kdl",
        _ => return None,
    })
}

#[test]
fn every_command_of_the_program_is_known_here() {
    let all = words(&help(&["--help"]), "Commands:");
    assert!(all.len() > 10, "{all:?}");
    for command in &all {
        let writes = !runs(command).is_empty();
        assert!(writes != OTHERS.contains(&command.as_str()), "is `{command}` one that writes ledgers?");
        // What writes goes one of these ways; what is said to write nothing goes none. Layouts are `tidy`'s own work.
        let source = format!("{}/src/commands/{command}.rs", env!("CARGO_MANIFEST_DIR"));
        let Ok(source) = fs::read_to_string(source) else { continue };
        let ways = ["writing::files", "writing::records", "writing::described"];
        let goes = ways.iter().any(|way| source.contains(way));
        assert_eq!(goes, writes || command == "tidy", "`{command}`");
    }
    let kinds: BTreeSet<String> = words(&help(&["record", "--help"]), "Possible values:").into_iter().collect();
    assert!(kinds.len() > 5 && kinds.contains("fasten"), "{kinds:?}");
}

#[test]
fn what_is_written_is_tidy() {
    for run in all_runs() {
        for (name, _, text) in changed(&run, |_| {}) {
            assert_eq!(tidy::text(&text).as_deref(), Ok(text.as_str()), "{name} by {:?}", run.arguments);
        }
    }
}

#[test]
fn records_stay_tidy_beside_others_and_leave_every_byte_of_them() {
    let tidy_one = "// of the morning\nservice X date=\"2026-10-27T06:10\" by=fitter-3 task=lubricate\n";
    for (tidy_before, there) in [
        (true, tidy_one),
        (false, "service   X  date=\"2026-10-27T06:10\" by=fitter-3 task=lubricate // no line end"),
        (false, "\u{feff}// windows\r\nservice X by=fitter-3 date=\"2026-10-27T06:10\" task=lubricate;\r\n"),
    ] {
        for run in all_runs() {
            let Some(file) = day_file(&run) else { continue };
            let (_, name) = file.split_once('/').expect("a folder and a name");
            let there = there.replace("2026-10-27", &name[..10]);
            let now = changed(&run, |folder| fs::write(folder.join(file), &there).expect("written"));
            let [(_, before, after)] = &now[..] else { panic!("one file by {:?}: {now:?}", run.arguments) };
            assert_eq!(before.as_ref(), Some(&there), "{:?}", run.arguments);
            let added = after.strip_prefix(&there).unwrap_or_else(|| panic!("{:?} changed {there:?}", run.arguments));
            let added = added.replace("\r\n", "\n");
            let added = added.trim_start_matches('\n');
            assert_eq!(tidy::text(added).as_deref(), Ok(added), "{:?}", run.arguments);
            if tidy_before {
                assert_eq!(tidy::text(after).as_deref(), Ok(after.as_str()), "{:?}", run.arguments);
            }
        }
    }
}

/// Quotes stand only where KDL needs them, a date has the one shape, and a record says when to the minute.
#[test]
fn words_dates_and_numbers_are_spelt_one_way() {
    let mut records = 0;
    for run in all_runs() {
        for (name, before, text) in changed(&run, |_| {}) {
            let added = before.map_or(text.clone(), |before| text.strip_prefix(&before).unwrap_or_default().to_owned());
            let read = read(added, &Limits::default());
            assert!(read.faults.is_empty(), "{name}: {:?}", read.faults);
            let mut nodes: Vec<_> = read.document.nodes().collect();
            while let Some(node) = nodes.pop() {
                nodes.extend(node.children());
                for entry in node.entries() {
                    if let Some(text) = entry.text() {
                        // What was typed as a row stays as it was typed.
                        assert!(node.is("part") || entry.raw() == wayledger::text::quote(text), "{}", entry.raw());
                    }
                }
                if let Some(date) = node.prop("date").and_then(|date| date.text().map(str::to_owned)) {
                    let moment = wayledger::quantity::Moment::read(&date).expect("a moment");
                    assert!(moment.minute.is_some() && moment.to_string() == date, "{:?}", run.arguments);
                    records += 1;
                }
            }
        }
    }
    assert!(records >= 11, "{records} records");
}

/// Work recorded at the machine's clock follows in its file, whichever command writes it.
#[test]
fn all_commands_take_the_time_from_the_clock() {
    let now = jiff::ZonedDateTime::now();
    let run = |arguments: &[&str], without: &[&str]| {
        let folder = yard(without);
        let before = files(folder.path());
        let output = Command::cargo_bin("wayledger")
            .expect("built")
            .current_dir(folder.path())
            .args(arguments)
            .output()
            .expect("runs");
        assert!(
            output.status.code().is_some_and(|code| code < 2),
            "{arguments:?} {}",
            String::from_utf8_lossy(&output.stderr)
        );
        let after = files(folder.path());
        let new = after.into_iter().find(|(name, text)| before.get(name) != Some(text)).expect("written").1;
        let at = new.find("date=\"").expect("a date") + 6;
        let moment = wayledger::quantity::Moment::read(&new[at..at + 16]).expect("with its time");
        let since = moment.date.to_datetime(jiff::civil::Time::midnight())
            + jiff::Span::new().minutes(i64::from(moment.minute.expect("a time")));
        let passed = since.since(now.datetime()).expect("a span").total(jiff::Unit::Second).expect("seconds");
        assert!((-60.0..600.0).contains(&passed), "{arguments:?}: {moment} is not now");
    };
    run(
        &[
            "record",
            "service",
            "X",
            "--by",
            "f-1",
            "--task",
            "lubricate",
            "--travelled",
            "1",
            "--ledger",
            "mast-router",
        ],
        &[],
    );
    run(
        &["shims", "--write", "--by", "f-1", "--ledger", "hull-gantry"],
        &["hull-gantry/2026-04-17", "hull-gantry/2026-04-18"],
    );
}
