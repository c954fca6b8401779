//! A person at a terminal: what was typed is never lost, and only y and n mean yes and no.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::common::program::run;
use crate::common::terminal::{CTRL_C, CTRL_D, Terminal};

/// A copy of the mast router with its shop, in a repository or not.
struct Floor {
    folder: tempfile::TempDir,
}

impl Floor {
    fn new(repository: bool) -> Floor {
        let folder = tempfile::tempdir().expect("a folder");
        let examples = Path::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers/boatyard");
        let ledger = folder.path().join("mast-router");
        fs::create_dir(&ledger).expect("made");
        fs::copy(examples.join("shop.kdl"), folder.path().join("shop.kdl")).expect("copied");
        for name in ["machine.kdl", "2026-10-26-fitter-3.kdl"] {
            fs::copy(examples.join("mast-router").join(name), ledger.join(name)).expect("copied");
        }
        let floor = Floor { folder };
        if repository {
            floor.git(&["init", "-q"]);
            floor.git(&["add", "-A"]);
        }
        floor
    }

    fn path(&self) -> &Path {
        self.folder.path()
    }

    fn git(&self, arguments: &[&str]) -> String {
        let output = Command::new("git").args(arguments).current_dir(self.path()).output().expect("git runs");
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8_lossy(&output.stdout).into_owned()
    }

    fn record(&self, words: &[&str]) -> Terminal {
        let mut all = vec!["record"];
        all.extend(words);
        all.extend(["--ledger", "mast-router"]);
        Terminal::start(self.path(), &all)
    }

    /// The inspection that most tests begin, by the day of the example.
    fn inspect(&self) -> Terminal {
        self.record(&INSPECT)
    }

    fn day(&self) -> PathBuf {
        self.path().join("mast-router/2026-10-27-inspector-1.kdl")
    }

    fn drafts(&self) -> Vec<PathBuf> {
        let mut all: Vec<PathBuf> = [".git/wayledger", "mast-router"]
            .iter()
            .filter_map(|folder| fs::read_dir(self.path().join(folder)).ok())
            .flatten()
            .map(|entry| entry.expect("an entry").path())
            .filter(|path| path.to_string_lossy().contains(".draft"))
            .collect();
        all.sort();
        all
    }
}

const INSPECT: [&str; 7] = [
    "inspect",
    "X.left.J1",
    "--by=inspector-1",
    "--today=2026-10-27",
    "--date=2026-10-27T10:30",
    "--gauge=DI-4",
    "--note=n",
];

/// Questions and answers of a sound inspection.
const ANSWERS: [(&str, &str); 8] = [
    ("Rail temperature", "20.5"),
    ("stylus reach", "40"),
    ("block moved", "15"),
    ("Light through", "none"),
    ("UL: before", "0 0.010"),
    ("UR: before", "0 0.012"),
    ("LL: before", "0.000 0.006"),
    ("LR: before", "-0.010 -0.004"),
];

fn answer(terminal: &mut Terminal, answers: &[(&str, &str)]) {
    for (question, answer) in answers {
        terminal.answer(question, answer);
    }
}

/// The record of an undisturbed sitting.
fn undisturbed() -> String {
    let floor = Floor::new(false);
    let mut terminal = floor.inspect();
    answer(&mut terminal, &ANSWERS);
    terminal.answer("Write it to", "y");
    let (code, shown) = terminal.end();
    assert_eq!(code, Some(0), "{shown}");
    assert_eq!(floor.drafts(), Vec::<PathBuf>::new());
    fs::read_to_string(floor.day()).expect("written")
}

/// After every answer, in every way in which a sitting can end, in a repository and without one: nothing is written, Git
/// and the lint see nothing, and the next sitting goes on behind the last answer to the same record.
#[test]
fn what_was_typed_is_kept_however_the_sitting_ends() {
    let expected = undisturbed();
    assert!(expected.contains("LR -0.010 -> -0.004"), "{expected}");
    let ways = ["Ctrl-C", "Ctrl-D", "closed", "killed"];
    for (at, given) in [1, 4, 5, 7, 8].into_iter().enumerate() {
        for (number, way) in ways.iter().enumerate() {
            let repository = (at + number) % 2 == 0;
            let floor = Floor::new(repository);
            let before = run(floor.path(), &["lint", "--today", "2026-10-27"]);
            let mut terminal = floor.inspect();
            answer(&mut terminal, &ANSWERS[..given]);
            // The next question shows that the last answer was taken; half an answer is typed to it.
            terminal.wait_for(ANSWERS.get(given).map_or("Write it to", |(question, _)| question)).wait_for(": ");
            match *way {
                "Ctrl-C" => {
                    terminal.key("0 0.0").key(CTRL_C);
                    terminal.end();
                }
                "Ctrl-D" => {
                    terminal.key(CTRL_D);
                    let (code, shown) = terminal.end();
                    assert_eq!(code, Some(2), "{shown}");
                    assert!(shown.contains("nothing was written; what was typed is kept"), "{shown}");
                    assert!(shown.contains("`wayledger record inspect X.left.J1` offers it"), "{shown}");
                }
                "closed" => {
                    terminal.key("0 0.0");
                    terminal.close();
                }
                _ => terminal.kill(),
            }
            let what = format!("{way} after {given}");
            assert!(!floor.day().exists(), "{what}");
            let drafts = floor.drafts();
            assert_eq!(drafts.len(), 1, "{what}: {drafts:?}");
            assert_eq!(drafts[0].to_string_lossy().contains(".git/wayledger/record-1.draft"), repository, "{drafts:?}");
            if repository {
                assert_eq!(
                    floor
                        .git(&["status", "--porcelain", "--ignored"])
                        .lines()
                        .filter(|it| !it.starts_with("A "))
                        .count(),
                    0
                );
            }
            assert_eq!(run(floor.path(), &["lint", "--today", "2026-10-27"]), before, "{what}");

            let mut terminal = floor.inspect();
            terminal.answer("Go on with the draft of inspect X.left.J1, begun", "y");
            for (question, given) in &ANSWERS[..given] {
                terminal.wait_for(question).wait_for(given);
            }
            answer(&mut terminal, &ANSWERS[given..]);
            terminal.answer("Write it to", "y");
            let (code, shown) = terminal.end();
            assert_eq!(code, Some(0), "{what}: {shown}");
            assert_eq!(fs::read_to_string(floor.day()).expect("written"), expected, "{what}");
            assert_eq!(floor.drafts(), Vec::<PathBuf>::new(), "{what}");
        }
    }
}

/// Anything but y and n is asked again, wherever yes or no is asked.
#[test]
fn only_y_and_n_are_answers_to_yes_or_no() {
    let floor = Floor::new(true);
    let mut terminal = floor.inspect();
    answer(&mut terminal, &ANSWERS[..4]);
    // 0.03 is beyond the limit of 0.02.
    terminal.answer("UL: before", "0 0.03");
    for no_answer in ["", "yes", "no", "nope", "j", "N o"] {
        terminal.answer("UL: is that what it showed? [y/n]", no_answer).wait_for("answer y or n");
    }
    terminal.answer("UL: is that what it showed? [y/n]", "n");
    answer(&mut terminal, &ANSWERS[4..]);
    for no_answer in ["", "now", "yes please", "0"] {
        terminal.answer("Write it to", no_answer).wait_for("answer y or n");
    }
    assert!(!floor.day().exists());
    terminal.answer("Write it to", "n");
    let (code, shown) = terminal.end();
    assert_eq!(code, Some(2), "{shown}");
    assert!(shown.contains("nothing was written; what was typed is kept"), "{shown}");
    assert!(!floor.day().exists());

    let mut terminal = floor.inspect();
    terminal.answer("Go on with the draft", "perhaps").wait_for("answer y or n");
    // The reading that was taken back is not in it.
    terminal.answer("Go on with the draft", "Y").wait_for("UL: before and after, in mm: 0 0.010");
    terminal.answer("Write it to", "Y");
    let (code, shown) = terminal.end();
    assert_eq!(code, Some(0), "{shown}");
    assert!(!shown.contains("0 0.03"), "{shown}");
    let text = fs::read_to_string(floor.day()).expect("written");
    assert!(text.split_whitespace().collect::<Vec<_>>().join(" ").contains("UL 0 -> 0.010"), "{text}");
}

/// A draft is thrown away only when somebody says so, and offered to the record that it is of alone.
#[test]
fn a_draft_is_offered_to_its_own_record_alone() {
    let floor = Floor::new(true);
    let begin = || {
        let mut terminal = floor.inspect();
        terminal.wait_for("Rail temperature").wait_for(": ");
        terminal
    };
    let mut terminal = begin();
    answer(&mut terminal, &ANSWERS[1..1]);
    terminal.key("20.5\n").wait_for("stylus reach");
    // Somebody is at work on it: nobody else is offered it.
    let mut beside = begin();
    beside.key("21\n").wait_for("stylus reach");
    assert_eq!(floor.drafts().len(), 2);
    assert!(!beside.shown().contains("Go on"), "{}", beside.shown());
    beside.close();
    terminal.close();

    // Another kind, another address: not a word of it.
    for other in [
        &["fasten", "X.left", "--by=inspector-1", "--today=2026-10-27", "--date=2026-10-27T10:30"][..],
        &["inspect", "X.right.J1", "--by=inspector-1", "--today=2026-10-27", "--date=2026-10-27T10:30"],
    ] {
        let mut terminal = floor.record(other);
        terminal.wait_for("?").key(CTRL_D);
        let (code, shown) = terminal.end();
        assert_eq!(code, Some(2), "{shown}");
        assert!(!shown.contains("draft"), "{shown}");
    }
    // The same by somebody else: told, not offered.
    let mut terminal = floor.record(&["inspect", "X.left.J1", "--by=inspector-2", "--date=2026-10-27T10:30"]);
    terminal.wait_for("was begun with other options and stays kept").wait_for("Which gauge").key(CTRL_D);
    let (_, shown) = terminal.end();
    assert!(!shown.contains("Go on"), "{shown}");
    assert_eq!(floor.drafts().len(), 2);

    // Said no to, it stays; thrown away, it is gone.
    let mut terminal = floor.inspect();
    terminal.answer("Go on with the draft", "n").answer("Throw that draft away?", "n");
    terminal.answer("Go on with the draft", "n").answer("Throw that draft away?", "y");
    terminal.wait_for("Rail temperature").key(CTRL_D);
    let (code, shown) = terminal.end();
    assert_eq!(code, Some(2), "{shown}");
    assert_eq!(floor.drafts().len(), 1);
    // Nothing was typed this time, so nothing is said to be kept.
    assert!(!shown.contains("what was typed"), "{shown}");
}

/// A file that must not be written, and one that somebody else wrote to meanwhile.
#[test]
fn a_refused_write_keeps_what_was_typed() {
    let floor = Floor::new(true);
    let theirs = "// kept\n";
    fs::write(floor.day(), theirs).expect("written");
    let mut rights = fs::metadata(floor.day()).expect("there").permissions();
    rights.set_readonly(true);
    fs::set_permissions(floor.day(), rights).expect("set");
    let mut terminal = floor.inspect();
    answer(&mut terminal, &ANSWERS);
    terminal.answer("Write it to", "y");
    let (code, shown) = terminal.end();
    assert_eq!(code, Some(2), "{shown}");
    assert!(shown.contains("is write-protected; nothing was written; what was typed is kept"), "{shown}");
    fs::remove_file(floor.day()).expect("removed");

    let mut terminal = floor.inspect();
    terminal.answer("Go on with the draft", "y").wait_for("Write it to");
    // Somebody else makes the file while the question stands.
    fs::write(floor.day(), theirs).expect("written");
    terminal.wait_for(": ").key("y\n");
    let (code, shown) = terminal.end();
    assert_eq!(code, Some(2), "{shown}");
    assert!(shown.contains("was changed by somebody else meanwhile"), "{shown}");
    assert_eq!(fs::read_to_string(floor.day()).expect("there"), theirs);

    let mut terminal = floor.inspect();
    terminal.answer("Go on with the draft", "y").answer("Write it to", "y");
    assert_eq!(terminal.end().0, Some(0));
    let written = fs::read_to_string(floor.day()).expect("there");
    assert!(written.starts_with(theirs) && written.contains("LR -0.010 -> -0.004"), "{written}");
}

/// Killed behind the write and before the draft was taken away, a record is not written twice.
#[test]
fn a_record_that_is_written_already_is_not_written_again() {
    let floor = Floor::new(true);
    let mut terminal = floor.inspect();
    answer(&mut terminal, &ANSWERS);
    terminal.wait_for("Write it to");
    let draft = floor.drafts().remove(0);
    let text = fs::read_to_string(&draft).expect("there");
    terminal.key("y\n");
    assert_eq!(terminal.end().0, Some(0));
    let written = fs::read_to_string(floor.day()).expect("there");
    fs::write(&draft, text).expect("written");
    let mut terminal = floor.inspect();
    terminal.answer("Go on with the draft", "y").wait_for("already; nothing was written");
    assert_eq!(terminal.end().0, Some(0));
    assert_eq!(fs::read_to_string(floor.day()).expect("there"), written);
    assert_eq!(floor.drafts(), Vec::<PathBuf>::new());
}

/// Another file of the ledger, half saved by somebody else while the readings are typed, is not this record's doing.
#[test]
fn a_file_that_is_half_saved_meanwhile_is_not_told_of() {
    let floor = Floor::new(true);
    let mut terminal = floor.inspect();
    answer(&mut terminal, &ANSWERS[..7]);
    terminal.wait_for("LR: before");
    fs::write(floor.path().join("mast-router/notes.kdl"), "fasten X.left date=\"2026-10-2").expect("written");
    let other = floor.path().join("mast-router/2026-10-26-fitter-3.kdl");
    let half = fs::read_to_string(&other).expect("there");
    fs::write(&other, &half[..half.len() / 2]).expect("written");
    terminal.wait_for(": ").key("-0.010 -0.004\n");
    terminal.answer("Write it to", "y");
    let (code, shown) = terminal.end();
    assert_eq!(code, Some(0), "{shown}");
    assert!(!shown.contains("nonconformity") && !shown.contains("notes.kdl"), "{shown}");
    assert!(floor.day().exists());
}

/// Under a day that is said, the time is asked for; a person may take now.
#[test]
fn the_time_of_day_is_always_written() {
    let floor = Floor::new(true);
    let service = ["service", "X", "--by=fitter-3", "--task=lubricate", "--travelled=1"];
    let with = |more: &[&'static str]| floor.record(&[&service[..], more].concat());

    let mut terminal = with(&["--today=2026-10-27"]);
    terminal.wait_for("At what time on 2026-10-27, as 08:10? (Enter for ");
    terminal.answer("", "8:10").wait_for("`8:10` is no time of day; write it as 08:10");
    terminal.answer("At what time", "");
    terminal.answer("Write it to", "y");
    assert_eq!(terminal.end().0, Some(0));
    let text = fs::read_to_string(floor.path().join("mast-router/2026-10-27-fitter-3.kdl")).expect("written");
    let time = text.split("date=\"2026-10-27T").nth(1).and_then(|rest| rest.get(..6)).expect("a time");
    assert!(time.ends_with('"') && time.as_bytes()[2] == b':', "{text}");

    // A day gone by has no now.
    let mut terminal = with(&["--date=2026-10-20", "--today=2026-10-27"]);
    terminal.wait_for("At what time on 2026-10-20, as 08:10?").wait_for(": ");
    assert!(!terminal.shown().contains("Enter for"), "{}", terminal.shown());
    terminal.key("\n").wait_for("`` is no time of day");
    terminal.answer("At what time", "23:59").answer("Write it to", "y");
    assert_eq!(terminal.end().0, Some(0));
    let text = fs::read_to_string(floor.path().join("mast-router/2026-10-20-fitter-3.kdl")).expect("written");
    assert!(text.contains("date=\"2026-10-20T23:59\""), "{text}");

    // Nothing said: the machine's clock, and no question.
    let mut terminal = with(&["--note=by-the-clock"]);
    terminal.answer("Write it to", "y");
    let (code, shown) = terminal.end();
    assert_eq!(code, Some(0), "{shown}");
    assert!(!shown.contains("At what time"), "{shown}");
    let names = fs::read_dir(floor.path().join("mast-router")).expect("listed");
    let texts: Vec<String> =
        names.map(|entry| fs::read_to_string(entry.expect("an entry").path()).expect("text")).collect();
    let now = texts.iter().find(|text| text.contains("by-the-clock")).expect("written");
    let date = now.split("date=\"").nth(1).and_then(|rest| rest.split('"').next()).expect("a date");
    assert!(date.len() == 16 && date.as_bytes()[10] == b'T', "{now}");
}

/// A reading that breaks a rule is asked about: typed again, or held with a reason.
#[test]
fn a_reading_beyond_its_limit_is_typed_again_or_held() {
    let floor = Floor::new(true);
    let mut terminal = floor.inspect();
    answer(&mut terminal, &ANSWERS[..4]);
    terminal.answer("UL: before", "0 0.03").answer("UL: is that what it showed?", "y");
    answer(&mut terminal, &ANSWERS[5..]);
    // Light and step are held in one record; the person has confirmed the step already.
    terminal.wait_for("nonconformity X.left.J1: groove UL steps by 0.03 mm");
    terminal.answer("Reason, for the record", "").wait_for("a hold needs its reason");
    terminal.answer("Reason, for the record", "read twice, the step is there");
    terminal.wait_for("hold X.left.J1 date=\"2026-10-27T10:30\" by=inspector-1");
    terminal.answer("Write it to", "y");
    let (code, shown) = terminal.end();
    assert_eq!(code, Some(0), "{shown}");
    let text = fs::read_to_string(floor.day()).expect("written");
    assert!(
        text.ends_with(
            "\nhold X.left.J1 date=\"2026-10-27T10:30\" by=inspector-1 reason=\"read twice, the step is there\"\n"
        ),
        "{text}"
    );
    assert!(text.starts_with("inspect X.left.J1"), "{text}");

    // Light is nothing that is asked about at once: afterwards it is, and n asks that row again, that row alone.
    let floor = Floor::new(true);
    let mut terminal = floor.inspect();
    answer(&mut terminal, &ANSWERS[..3]);
    terminal.answer("Light through", "seen");
    answer(&mut terminal, &ANSWERS[4..]);
    terminal.answer("X.left.J1: is that what it showed? [y/n]", "n");
    terminal.answer("Light through", "none");
    let shown = terminal.wait_for("Write it to").shown();
    assert_eq!(shown.matches("UL: before").count(), 1, "{shown}");
    terminal.wait_for(": ").key("y\n");
    assert_eq!(terminal.end().0, Some(0));
    let text = fs::read_to_string(floor.day()).expect("written");
    assert!(text.contains("light none") && !text.contains("hold"), "{text}");
}
