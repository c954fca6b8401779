//! Whatever a command writes into a ledger is in the one layout, and leaves the text around it as it is. The commands are
//! those that the program itself names, and so are the kinds of record: one that is new must join.

mod runs;

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use assert_cmd::Command;
use wayledger::kdl::{ReadLimits, read};
use wayledger::records::tidy;

use runs::{Run, help, runs, words, yard};

/// Commands that write no ledger.
const OTHERS: [&str; 14] = [
    "compare",
    "hook",
    "how",
    "language-server",
    "lint",
    "motion",
    "report",
    "rules",
    "trace",
    "traveler",
    "export",
    "completions",
    "manual",
    "tidy",
];

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
        let source = format!("{}/src/commands/{}.rs", env!("CARGO_MANIFEST_DIR"), command.replace('-', "_"));
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
            assert_eq!(tidy(&text).as_deref(), Ok(text.as_str()), "{name} by {:?}", run.arguments);
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
            assert_eq!(tidy(added).as_deref(), Ok(added), "{:?}", run.arguments);
            if tidy_before {
                assert_eq!(tidy(after).as_deref(), Ok(after.as_str()), "{:?}", run.arguments);
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
            let read = read(added, &ReadLimits::default());
            assert!(read.faults.is_empty(), "{name}: {:?}", read.faults);
            let mut nodes: Vec<_> = read.document.nodes().collect();
            while let Some(node) = nodes.pop() {
                nodes.extend(node.children());
                for entry in node.entries() {
                    if let Some(text) = entry.text() {
                        // What was typed as a row stays as it was typed.
                        assert!(node.is("part") || entry.raw() == wayledger::kdl::quote(text), "{}", entry.raw());
                    }
                }
                if let Some(date) = node.prop("date").and_then(|date| date.text().map(str::to_owned)) {
                    let moment = wayledger::amounts::Moment::read(&date).expect("a moment");
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
        let moment = wayledger::amounts::Moment::read(&new[at..at + 16]).expect("with its time");
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
