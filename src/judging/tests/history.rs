//! What is growth and what is not: a table of edits over two revisions, each made in a small ledger and held against what it
//! was; and the examples of the rules of history.

use std::collections::BTreeMap;

use jiff::civil::date;

use crate::finding::Finding;
use crate::judging::lint::lint;
use crate::judging::stops::{LedgersBefore, Revision};
use crate::rules::{self, RuleGroup};
use crate::world::ledgers::{FoundLedger, find_all};
use crate::world::{Day, Memory, Path};

/// Files by their path.
type Files = BTreeMap<String, String>;

/// What is lost of a history: rule and address, in order.
fn lost(before: &Files, after: &Files) -> Vec<Finding> {
    let world = |files: &Files| {
        let empty = Memory::new(date(2026, 11, 1));
        files.iter().fold(empty, |world, (path, text)| world.with(path, text.as_bytes()))
    };
    let found = |world: &Memory| -> Vec<FoundLedger> {
        find_all(world, &[Path(String::new())]).map_or_else(|_| Vec::new(), |all| all.found)
    };
    let (was, now) = (world(before), world(after));
    let (old, new) = (found(&was), found(&now));
    let day = Day::stated(date(2026, 11, 1));
    let before = LedgersBefore::new(Box::new(was), old, (&now, &new), day, "main");
    let revision = Revision::new(before, &now, day);
    let mut all: Vec<Finding> = revision.gone(&new).into_iter().flat_map(|gone| gone.judged.findings).collect();
    let mut judged = Vec::new();
    lint(&now, &new, day, |one| judged.push(one));
    all.extend(judged.iter().flat_map(|one| revision.history(one)));
    all
}

fn named(findings: &[Finding]) -> Vec<String> {
    let mut all: Vec<String> =
        findings.iter().map(|finding| format!("{} {}", finding.rule, finding.address).trim_end().to_string()).collect();
    all.sort();
    all
}

const ENGINEER: &str = "person-altered engineer-1";

const SHOP: &str = r#"shop "Slip 2" {
    wrench TW-1 kind=setting least=0.5 most=5 { calibrated "2026-02-02" due="2027-02-02" }
    wrench TW-2 kind=indicating least=4 most=20 graduation=0.1 { calibrated "2026-02-02" due="2027-02-02" }
    gauge DI-4 kind=dial-indicator graduation=0.002 permissible-error=0.004 plus=outward { calibrated "2026-01-12" due="2027-01-12" }
    profile R20 hole-pitch=60 end-distance=30
    fastener rb thread=M6 class="10.9" head=socket-cap into=steel { friction 0.12 0.14 }
    person fitter-2
    person inspector-1
    person engineer-1 {
        may release void-release
        may concede until="2026-12-31"
        // The keys here are those of RFC 8032, section 7.1.
        key "ssh-ed25519 AAAAC3NzaC1lZDI1NTE5AAAAINdamAGCsQq31Uv+08lkBzoO4XLz2qYjJa8CGmj3B1Ea the office" from="2026-01-05"
    }
}
"#;

const MACHINE: &str = r#"machine slide {
    axis X {
        run from=0 to=1200
        rail left profile=R20 rail-bolt=rb {
            segment 600 serial=K-1
            segment 600 serial=K-2
            supports S first=120 pitch=180 count=6 length=80
            support E at=1160 length=60
        }
    }
}
"#;

const RECORDS: &str = r#"receive date="2026-05-01" by=inspector-1 { part serial=K-1 lot="77" length=600 }
fasten X.left date="2026-05-04" by=fitter-2 wrench=TW-1 stage=snug setting=1.5 { clicked S1..S3 }
fasten X.left date="2026-05-05" by=fitter-2 wrench=TW-2 stage=full {
    at S1 10.4 10.5
    at S2 10.4 #null
}
inspect X.left.J1 date="2026-05-06" by=inspector-1 {
    light none
    UL 0 -> 0.01
    UR 0 -> 0
    note "by lamp"
}
survey straightness X.left date="2026-05-07" by=inspector-1 stage=as-fitted { at S1 0; at S2 0.01; at S3 #null }
shim X.left date="2026-05-08" by=fitter-2 { at S2 0.02 }
loosen X.left date="2026-05-09" by=fitter-2 reason="seat cleaned" { at S3 S4 }
concession joint-step X.left.J1 date="2026-05-10" by=engineer-1 accepts=0.03 reason="a slide without load"
hold X.left date="2026-05-11" by=engineer-1 reason="a chip at S2"
lift X.left date="2026-05-12" by=engineer-1 disposition=repair reason="blended"
release X date="2026-06-01" by=engineer-1
"#;

/// A step over the limit of 0.02 mm, and what makes it so.
const BAD: &str = r#"inspect X.left.J1 date="2026-05-06" by=inspector-1 gauge=DI-4 {
    light none
    UL 0 -> 0.024
    UR 0 -> 0
    LL 0 -> 0
    LR 0 -> 0
}
"#;

fn yard(records: &str) -> Files {
    [("shop.kdl", SHOP), ("slide/machine.kdl", MACHINE), ("slide/records.kdl", records)]
        .map(|(name, text)| (name.to_string(), text.to_string()))
        .into()
}

/// One edit of the table.
enum Edit {
    /// In the records: this for that.
    In(&'static str, &'static str),
    /// In a file: this for that.
    File(&'static str, &'static str, &'static str),
    /// A file has another path.
    Moved(&'static str, &'static str),
    /// A text goes from the records to another file.
    Split(&'static str, &'static str),
    /// A text stands behind the records.
    Added(&'static str),
    /// A whole folder has another name.
    Folder(&'static str, &'static str),
    /// A file goes.
    Gone(&'static str),
    All(Vec<Edit>),
}

use Edit::{Added, All, File, Folder, Gone, In, Moved, Split};

const RECORD_FILE: &str = "slide/records.kdl";

impl Edit {
    fn make(&self, files: &mut Files) {
        let text = |files: &mut Files, file: &str| files.remove(file).unwrap_or_else(|| panic!("there is no {file}"));
        match self {
            In(old, new) => File(RECORD_FILE, old, new).make(files),
            File(file, old, new) => {
                let was = text(files, file);
                assert_eq!(was.matches(old).count(), 1, "{old}");
                files.insert((*file).into(), was.replace(old, new));
            }
            Moved(from, to) => {
                let was = text(files, from);
                files.insert((*to).into(), was);
            }
            Split(what, to) => {
                In(what, "").make(files);
                let there = files.remove(*to).unwrap_or_default();
                files.insert((*to).into(), there + what);
            }
            Added(what) => {
                let was = text(files, RECORD_FILE);
                files.insert(RECORD_FILE.into(), was + what + "\n");
            }
            Folder(from, to) => {
                *files = std::mem::take(files)
                    .into_iter()
                    .map(|(path, text)| match path.strip_prefix(&format!("{from}/")) {
                        Some(rest) => (format!("{to}/{rest}"), text),
                        None => (path, text),
                    })
                    .collect();
            }
            Gone(file) => drop(text(files, file)),
            All(edits) => edits.iter().for_each(|edit| edit.make(files)),
        }
    }
}

const LOOSEN: &str = "loosen X.left date=\"2026-05-09\" by=fitter-2 reason=\"seat cleaned\" { at S3 S4 }\n";
const RELEASE: &str = "release X date=\"2026-06-01\" by=engineer-1\n";
const SHIM: &str = "shim X.left date=\"2026-05-08\" by=fitter-2 { at S2 0.02 }\n";
const ALTERED: &str = "record-altered X.left";
const JOINT: &str = "record-altered X.left.J1";

/// Each edit and what is lost by it: nothing where it is growth.
fn table() -> Vec<(&'static str, Edit, &'static [&'static str])> {
    vec![
        // Moved, tidied, split, renamed.
        ("the file of records has another name", Moved(RECORD_FILE, "slide/2026.kdl"), &[]),
        ("it lies in a folder", Moved(RECORD_FILE, "slide/2026/may.kdl"), &[]),
        ("a record lies in a file of its own", Split(LOOSEN, "slide/loosened.kdl"), &[]),
        ("the release lies in machine.kdl", Split(RELEASE, "slide/machine.kdl"), &[]),
        ("two records changed places", All(vec![Split(SHIM, "slide/x.kdl"), Split(LOOSEN, "slide/x.kdl")]), &[]),
        ("the ledger has another folder", Folder("slide", "slip-2/slide"), &[]),
        (
            "it has another folder and another name",
            All(vec![File("slide/machine.kdl", "machine slide", "machine slide-2"), Folder("slide", "slip-2")]),
            &[],
        ),
        ("another name for the machine alone", File("slide/machine.kdl", "machine slide", "machine slide-2"), &[]),
        ("spaces", In("at S1 10.4 10.5", "at  S1   10.4  10.5"), &[]),
        ("a comment", In("at S1 10.4 10.5", "at S1 10.4 10.5 // warm"), &[]),
        ("a number spelt otherwise", In("at S1 10.4 10.5", "at S1 10.40 1.05e1"), &[]),
        ("another unit", In("UL 0 -> 0.01", "UL 0 -> (um)10"), &[]),
        ("the order of properties", In("by=fitter-2 wrench=TW-1", "wrench=TW-1 by=fitter-2"), &[]),
        ("a range written out", In("clicked S1..S3", "clicked S1 S2 S3"), &[]),
        ("a row in two", In("at S3 S4", "at S3; at S4"), &[]),
        ("the order of grooves", In("UL 0 -> 0.01\n    UR 0 -> 0\n", "UR 0 -> 0\n    UL 0 -> 0.01\n"), &[]),
        // Grown.
        ("a blank filled", In("at S2 10.4 #null", "at S2 10.4 10.6"), &[]),
        ("a blank station read", In("at S3 #null", "at S3 0.01"), &[]),
        ("a row added", In("at S2 10.4 #null", "at S2 10.4 #null; at S3 10.4 10.4"), &[]),
        ("a row added above", In("    at S1 10.4", "    at S4 10.4 10.4\n    at S1 10.4"), &[]),
        ("a support that clicked too", In("clicked S1..S3", "clicked S1..S4"), &[]),
        ("a groove more", In("UR 0 -> 0\n", "UR 0 -> 0\n    LL 0 -> 0\n"), &[]),
        ("a repeat", In("UL 0 -> 0.01", "UL 0 -> 0.01 0 -> 0.012"), &[]),
        ("a station read again", In("at S2 0.01", "at S2 0.01 0.012"), &[]),
        ("a note", In("note \"by lamp\"", "note \"by lamp\"; note \"by day\""), &[]),
        ("a gauge", In("by=inspector-1 {\n    light", "by=inspector-1 gauge=DI-4 {\n    light"), &[]),
        ("a carrier", In("note \"by lamp\"", "note \"by lamp\"; carrier reach=40 travel=15"), &[]),
        ("a temperature", In("stage=as-fitted {", "stage=as-fitted temperature=20 {"), &[]),
        ("which way plus is", In("stage=as-fitted {", "stage=as-fitted plus=left {"), &[]),
        ("a part's mark", In("lot=\"77\"", "lot=\"77\" near-mark=\"7\""), &[]),
        ("a part more", In("length=600 }", "length=600; part serial=K-2 }"), &[]),
        ("the last day of a concession", In("accepts=0.03", "accepts=0.03 until=\"2026-12-31\""), &[]),
        ("what it meant where nothing was said", In("stage=snug setting", "stage=snug interface=rail setting"), &[]),
        // Given a time.
        (
            "a reading is given its time",
            In("X.left.J1 date=\"2026-05-06\"", "X.left.J1 date=\"2026-05-06T09:10\""),
            &[],
        ),
        (
            "a hold is given its time",
            In("hold X.left date=\"2026-05-11\"", "hold X.left date=\"2026-05-11T07:00\""),
            &[],
        ),
        // Withdrawn and corrected.
        (
            "voided",
            Added("void shim X.left of=\"2026-05-08\" date=\"2026-05-20\" by=engineer-1 reason=\"on the other rail\""),
            &[],
        ),
        (
            "corrected",
            Added("shim X.left replaces=\"2026-05-08\" date=\"2026-05-20\" by=engineer-1 { at S2 0.05 }"),
            &[],
        ),
        (
            "a release withdrawn",
            Added("void release X of=\"2026-06-01\" date=\"2026-06-20\" by=engineer-1 reason=\"a wrong drawing\""),
            &[],
        ),
        ("a record added", Added("loosen X.left date=\"2026-06-09\" by=fitter-2 reason=\"a noise\" { at S1 }"), &[]),
        ("a person added", File("shop.kdl", "person fitter-2", "person fitter-2; person fitter-3"), &[]),
        // Altered: a stated value.
        ("a torque", In("at S1 10.4 10.5", "at S1 10.4 10.6"), &[ALTERED]),
        ("a reading", In("UL 0 -> 0.01", "UL 0 -> 0.012"), &[JOINT]),
        ("a reading made a blank", In("at S1 10.4 10.5", "at S1 10.4 #null"), &[ALTERED]),
        ("a row removed", In("    UR 0 -> 0\n", ""), &[JOINT]),
        ("a support that did not click", In("clicked S1..S3", "clicked S1..S2"), &[ALTERED]),
        (
            "another author",
            In("X.left date=\"2026-05-08\" by=fitter-2", "X.left date=\"2026-05-08\" by=engineer-1"),
            &[ALTERED],
        ),
        ("another wrench", In("wrench=TW-1", "wrench=TW-2"), &[ALTERED]),
        ("its wrench removed", In(" wrench=TW-1", ""), &[ALTERED]),
        ("another day", In("X.left date=\"2026-05-08\"", "X.left date=\"2026-05-18\""), &[ALTERED]),
        ("another joint", In("inspect X.left.J1", "inspect X.left.J2"), &[JOINT]),
        ("another stage", In("stage=snug setting=1.5", "stage=full setting=1.5"), &[ALTERED]),
        ("a leaf added where one lay", In("at S2 0.02 }", "at S2 0.02 0.05 }"), &[ALTERED]),
        (
            "the order of tightening",
            In("    at S1 10.4 10.5\n    at S2 10.4 #null\n", "    at S2 10.4 #null\n    at S1 10.4 10.5\n"),
            &[JOINT],
        ),
        ("a note rewritten", In("by lamp", "by day"), &[JOINT]),
        ("other bolts than were meant", In("stage=snug setting", "stage=snug interface=base setting"), &[ALTERED]),
        ("a hold's reason", In("a chip at S2", "nothing"), &[ALTERED]),
        ("what was done about it", In("disposition=repair", "disposition=rework"), &[ALTERED]),
        ("a wider concession", In("accepts=0.03", "accepts=0.3"), &[JOINT]),
        (
            "a record made a correction of another",
            In("X.left date=\"2026-05-08\"", "X.left replaces=\"2026-05-04\" date=\"2026-05-08\""),
            &[ALTERED],
        ),
        (
            "who released",
            In("release X date=\"2026-06-01\" by=engineer-1", "release X date=\"2026-06-01\" by=fitter-2"),
            &["release-gone X"],
        ),
        // Gone.
        ("a record", In(LOOSEN, ""), &["record-gone X.left"]),
        (
            "a hold",
            In("hold X.left date=\"2026-05-11\" by=engineer-1 reason=\"a chip at S2\"\n", ""),
            &["record-gone X.left"],
        ),
        ("a release", In(RELEASE, ""), &["release-gone X"]),
        ("a file of records", Gone(RECORD_FILE), &["record-gone", "record-gone X.left.J1", "release-gone X"]),
        ("machine.kdl", Gone("slide/machine.kdl"), &["ledger-gone"]),
        ("machine.kdl in capitals", Moved("slide/machine.kdl", "slide/MACHINE.kdl"), &["ledger-gone"]),
        ("the folder behind a dot", Folder("slide", ".slide"), &["ledger-gone"]),
        ("a record taken by a ledger inside", Split(LOOSEN, "slide/sub/machine.kdl"), &["record-gone X.left"]),
        ("a person", File("shop.kdl", "    person fitter-2\n", ""), &["person-altered fitter-2"]),
        // Who may what, and by which key.
        ("a right given", File("shop.kdl", "person fitter-2", "person fitter-2 { may lift }"), &[]),
        (
            "a right that ends",
            File("shop.kdl", "may release void-release", "may release void-release until=\"2026-12-31\""),
            &[],
        ),
        (
            "rights on rows of their own",
            File("shop.kdl", "may release void-release", "may void-release; may release"),
            &[],
        ),
        ("a right taken away", File("shop.kdl", "may release void-release", "may void-release"), &[ENGINEER]),
        (
            "a right that begins later",
            File("shop.kdl", "may release void-release", "may release void-release from=\"2026-05-01\""),
            &[ENGINEER],
        ),
        (
            "a right that no longer ends",
            File("shop.kdl", "may concede until=\"2026-12-31\"", "may concede"),
            &[ENGINEER],
        ),
        (
            "a right of another",
            File(
                "shop.kdl",
                "    person inspector-1\n    person engineer-1 {",
                "    person engineer-1\n    person inspector-1 {",
            ),
            &[ENGINEER],
        ),
        ("a key that ends", File("shop.kdl", "from=\"2026-01-05\"", "from=\"2026-01-05\" until=\"2026-05-31\""), &[]),
        ("another remark at a key", File("shop.kdl", " the office", " the hall"), &[]),
        (
            "a further key",
            File(
                "shop.kdl",
                "        // The keys",
                "        key \"ssh-ed25519 AAAAC3NzaC1lZDI1NTE5AAAAID1AF8PoQ4lakrcKp00bfrycmCzPLsSWjMDNVfEq9GYM\"\n        // The keys",
            ),
            &[],
        ),
        (
            "another key",
            File(
                "shop.kdl",
                "AAAAC3NzaC1lZDI1NTE5AAAAINdamAGCsQq31Uv+08lkBzoO4XLz2qYjJa8CGmj3B1Ea",
                "AAAAC3NzaC1lZDI1NTE5AAAAID1AF8PoQ4lakrcKp00bfrycmCzPLsSWjMDNVfEq9GYM",
            ),
            &[ENGINEER],
        ),
        ("a key from an earlier day", File("shop.kdl", "from=\"2026-01-05\"", "from=\"2026-01-04\""), &[ENGINEER]),
    ]
}

#[test]
fn each_edit_of_the_table_is_growth_or_not() {
    let before = yard(RECORDS);
    let mut wrong = Vec::new();
    let rows = table();
    assert!(rows.len() >= 60, "{}", rows.len());
    for (what, edit, expected) in rows {
        let mut after = before.clone();
        edit.make(&mut after);
        assert_ne!(before, after, "{what}");
        let found = lost(&before, &after);
        let names = named(&found);
        let expected: Vec<&str> = expected.to_vec();
        if names != expected {
            let words: Vec<&str> = found.iter().map(|it| it.message.as_str()).collect();
            wrong.push(format!("{what}: {names:?} and not {expected:?}: {words:?}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn nothing_is_lost_where_nothing_changed() {
    let before = yard(RECORDS);
    assert_eq!(named(&lost(&before, &before)), Vec::<String>::new());
}

/// What speaks against an instrument can be taken back in words, and not out of the text.
#[test]
fn what_was_stated_of_instruments_is_held() {
    const DOUBT: &str = "    doubt DI-4 date=\"2026-06-01\" by=inspector-1 from=\"2026-05-01\" error=0.006 reason=\"stylus found bent\"\n";
    const FAILED: &str = "calibrated \"2026-08-30\" result=failed";
    const FOUND: &str = "calibrated \"2026-07-30\" as-found=outside error=(%)6";
    let shop = SHOP
        .replace("due=\"2027-01-12\" }", &format!("due=\"2027-01-12\"; {FAILED} }}"))
        .replacen("due=\"2027-02-02\" }", &format!("due=\"2027-02-02\"; {FOUND}; cycles 400 on=\"2026-07-01\" }}"), 1)
        .replace("    person fitter-2\n", &format!("{DOUBT}    person fitter-2\n"))
        .replacen("gauge DI-4 ", "gauge DI-4 since=\"2025-01-01\" ", 1)
        .replacen("TW-1 kind=setting", "TW-1 kind=setting until=\"2029-12-31\"", 1);
    let mut before = yard(RECORDS);
    before.insert("shop.kdl".into(), shop.clone());
    const GAUGE: &str = "instrument-altered DI-4";
    const WRENCH: &str = "instrument-altered TW-1";
    let twice = DOUBT.repeat(2).replacen("06-01", "06-02", 1);
    let rows: Vec<(&str, &str, &str, &[&str])> = vec![
        ("a doubt", DOUBT, "", &[GAUGE]),
        ("an earlier end", "from=\"2026-05-01\"", "from=\"2026-05-01\" to=\"2026-05-02\"", &[GAUGE]),
        ("a later beginning", "from=\"2026-05-01\"", "from=\"2026-05-20\"", &[GAUGE]),
        ("a smaller error", "error=0.006", "error=0.0006", &[GAUGE]),
        // Its kind of amount hangs on the instrument, so that the text alone does not say that both are one.
        ("an error in another unit", "error=0.006", "error=(um)6", &[GAUGE]),
        ("an error that is gone", " error=0.006", "", &[GAUGE]),
        ("another reason", "stylus found bent", "nothing", &[GAUGE]),
        (
            "taken back in words",
            "reason=\"stylus found bent\"\n",
            "reason=\"stylus found bent\" { void date=\"2026-06-08\" by=inspector-1 reason=\"it was DI-5\" }\n",
            &[],
        ),
        ("a failed calibration", "; calibrated \"2026-08-30\" result=failed", "", &[GAUGE]),
        ("one that passed now", "result=failed", "result=passed", &[GAUGE]),
        ("one that was found in order now", "result=failed", "result=failed as-found=within", &[GAUGE]),
        ("one that has a certificate now", "result=failed", "result=failed certificate=\"C-9\"", &[]),
        // It is told, and stops nothing.
        ("one that says by how much", "result=failed", "result=failed error=0.004", &[GAUGE]),
        ("one found outside, in order since", "as-found=outside", "as-found=outside result=passed", &[WRENCH]),
        ("one found outside by less", "error=(%)6", "error=(%)3", &[WRENCH]),
        ("one of another day", "calibrated \"2026-07-30\"", "calibrated \"2026-04-30\"", &[WRENCH]),
        ("a count of cycles", "cycles 400", "cycles 40", &[WRENCH]),
        (
            "a calibration in order, longer",
            "due=\"2027-02-02\"; calibrated",
            "due=\"2028-02-02\"; calibrated",
            &[WRENCH],
        ),
        (
            "a last day that is another one",
            "TW-1 kind=setting until=\"2029-12-31\"",
            "TW-1 kind=setting until=\"2028-12-31\"",
            &[WRENCH],
        ),
        ("a last day that is gone", "TW-1 kind=setting until=\"2029-12-31\"", "TW-1 kind=setting", &[WRENCH]),
        ("a first day that is gone", " since=\"2025-01-01\"", "", &[GAUGE]),
        ("an earlier first day", "since=\"2025-01-01\"", "since=\"2024-01-01\"", &[GAUGE]),
        ("a last day that was not said", "since=\"2025-01-01\"", "since=\"2025-01-01\" until=\"2029-12-31\"", &[]),
        ("a first day that was not said", "TW-1 kind=setting", "TW-1 kind=setting since=\"2024-01-01\"", &[]),
        ("a further calibration", "; cycles 400", "; calibrated \"2026-09-01\"; cycles 400", &[]),
        ("a further doubt", DOUBT, &twice, &[]),
        (
            "an instrument that nothing speaks against",
            &SHOP[SHOP.find("    wrench TW-2").expect("it")..SHOP.find("    gauge").expect("it")],
            "",
            &[],
        ),
    ];
    let mut wrong = Vec::new();
    for (what, from, to, expected) in rows {
        assert!(shop.contains(from), "{what}");
        let mut after = before.clone();
        after.insert("shop.kdl".into(), shop.replacen(from, to, 1));
        let found = lost(&before, &after);
        let found: Vec<&Finding> = found.iter().filter(|it| it.rule.as_str() != "limit-loosened").collect();
        let names: Vec<String> = found.iter().map(|it| format!("{} {}", it.rule, it.address)).collect();
        if names != expected {
            wrong.push(format!("{what}: {names:?} and not {expected:?}"));
        }
        let told = found.iter().any(|it| it.grade == crate::finding::Grade::Observation);
        assert_eq!(told, what == "one that says by how much", "{what}");
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    // What a machine's own file states is held too, and may move to the shop file above it.
    let (failed, doubt) = (FAILED.replace("08-30", "08-29"), DOUBT.replace("06-01", "06-03"));
    let mut there = before.clone();
    there.insert("slide/machine.kdl".into(), format!("shop {{\n    gauge DI-4 {{ {failed} }}\n{doubt}}}\n{MACHINE}"));
    let mut gone = there.clone();
    gone.insert("slide/machine.kdl".into(), MACHINE.into());
    assert_eq!(named(&lost(&there, &gone)), [GAUGE, GAUGE]);
    let above = shop.replace(FAILED, &format!("{FAILED}; {failed}")).replace(DOUBT, &format!("{DOUBT}{doubt}"));
    gone.insert("shop.kdl".into(), above);
    assert_eq!(named(&lost(&there, &gone)), Vec::<String>::new());
}

/// A part may not change under records that rest on it; on a released axis its seal says so.
#[test]
fn parts_are_held_where_records_rest_on_them() {
    let before = yard(&RECORDS.replace(RELEASE, ""));
    let rows: Vec<(&str, Edit, &[&str])> = vec![
        (
            "a support that was tightened, and one that was shimmed",
            File("slide/machine.kdl", "supports S first=120", "supports S first=130"),
            &["part-altered X.left.S1", "part-altered X.left.S2"],
        ),
        ("a serial number", File("slide/machine.kdl", "serial=K-1", "serial=K-3"), &["part-altered X.left.seg1"]),
        ("a support that nobody tightened", File("slide/machine.kdl", "at=1160", "at=1150"), &[]),
        ("a serial number of a rail that nobody tightened", File("slide/machine.kdl", "serial=K-2", "serial=K-4"), &[]),
        (
            "moved after it was slackened",
            All(vec![
                File("slide/machine.kdl", "supports S first=120", "supports S first=130"),
                Added("loosen X.left date=\"2026-06-09\" by=fitter-2 reason=\"moved\""),
            ]),
            &[],
        ),
        (
            "it says since when",
            File(
                "slide/machine.kdl",
                "serial=K-1",
                "until=\"2026-06-09\" serial=K-1; segment 1200 serial=K-3 since=\"2026-06-09\"",
            ),
            &[],
        ),
        (
            "described wrong",
            All(vec![
                File("slide/machine.kdl", "serial=K-1", "serial=K-3"),
                File(
                    "slide/machine.kdl",
                    "    axis X",
                    "    corrected X.left.seg1 was=K-1 date=\"2026-06-09\" by=engineer-1 reason=\"misread\"\n    axis X",
                ),
            ]),
            &[],
        ),
        (
            "another thing described wrong",
            All(vec![
                File("slide/machine.kdl", "serial=K-1", "serial=K-3"),
                File(
                    "slide/machine.kdl",
                    "    axis X",
                    "    corrected X.left.seg1 was=K-7 date=\"2026-06-09\" by=engineer-1 reason=\"misread\"\n    axis X",
                ),
            ]),
            &["part-altered X.left.seg1"],
        ),
    ];
    for (what, edit, expected) in rows {
        let mut after = before.clone();
        edit.make(&mut after);
        assert_eq!(named(&lost(&before, &after)), expected, "{what}");
    }
    let mut after = before.clone();
    File("slide/machine.kdl", "supports S first=120", "supports S first=130").make(&mut after);
    let found = lost(&before, &after);
    assert!(found[0].message.starts_with("S1 moved 120 -> 130 mm under "), "{}", found[0].message);
    assert!(found[0].next.contains("`support S1 at=120 length=80"), "{}", found[0].next);
    let (released, mut after) = (yard(RECORDS), yard(RECORDS));
    File("slide/machine.kdl", "serial=K-1", "serial=K-3").make(&mut after);
    assert_eq!(named(&lost(&released, &after)), Vec::<String>::new());
}

/// Readings and shims speak of the place where a support stood, whether or not anybody tightened it.
#[test]
fn a_support_does_not_move_under_what_was_read_or_laid_there() {
    let survey = "survey straightness X.left date=\"2026-05-07\" by=inspector-1 stage=as-fitted { at S1 0; at S2 0.01; at S5 #null }\n";
    let shim = "shim X.left date=\"2026-05-08\" by=fitter-2 { at S4 0.02 }\n";
    let loosen = "loosen X.left date=\"2026-05-09\" by=fitter-2 reason=\"moved\"\n";
    for (records, expected) in [
        ("", vec![]),
        (survey, vec!["part-altered X.left.S1", "part-altered X.left.S2", "part-altered X.left.S5"]),
        (shim, vec!["part-altered X.left.S4"]),
        (&format!("{survey}{loosen}"), vec![]),
    ] {
        let (before, mut after) = (yard(records), yard(records));
        File("slide/machine.kdl", "supports S first=120", "supports S first=130").make(&mut after);
        let mut found = named(&lost(&before, &after));
        found.sort();
        assert_eq!(found, expected, "{records}");
    }
}

/// Growth may only answer what was open: not turn what was broken.
#[test]
fn growth_by_which_a_broken_verdict_is_gone_is_none() {
    let bad = yard(BAD);
    let rows = [
        ("a note", In("light none", "light none; note \"twice\""), false),
        ("repeats that make its mean smaller", In("UL 0 -> 0.024", "UL 0 -> 0.024 0 -> 0.01 0 -> 0.01"), true),
        ("repeats that leave it broken", In("UL 0 -> 0.024", "UL 0 -> 0.024 0 -> 0.025"), false),
        ("the time of day", In("date=\"2026-05-06\"", "date=\"2026-05-06T09:00\""), false),
    ];
    for (what, edit, is_lost) in rows {
        let mut after = bad.clone();
        edit.make(&mut after);
        let found = lost(&bad, &after);
        let said = found.iter().any(|it| it.message.contains("was added to, and with it joint-step"));
        assert_eq!((found.len(), said), (usize::from(is_lost), is_lost), "{what}: {found:#?}");
    }
    // A time that puts a bad reading before a good one of the same day.
    let good = BAD.replace("0.024", "0.01").replace("05-06", "05-06T10:00");
    let day = yard(&format!("{good}{}", BAD.replace("05-06", "05-06T11:00")));
    let mut later = day.clone();
    In("T11:00", "T09:00").make(&mut later);
    assert_eq!(named(&lost(&day, &later)), [JOINT]);
}

/// What could not be read may be mended, and nothing beside it.
#[test]
fn what_could_not_be_read_may_be_mended() {
    let rows = [
        ("a value that is none", "wrench=TW-1 stage=snug setting=1,5", "wrench=TW-1 stage=snug setting=1.5", true),
        ("a word that nobody knows", "wrench=TW-1 stage=snugg setting=1.5", "wrench=TW-1 stage=snug setting=1.5", true),
        ("an author beside it", "wrench=TW-1 stage=snugg setting=1.5", "wrench=TW-2 stage=snug setting=1.5", false),
        ("a kind that nobody knows", "", "", true),
    ];
    for (what, then, now, is_growth) in rows {
        let (mut before, mut after) = (yard(RECORDS), yard(RECORDS));
        if then.is_empty() {
            In("loosen X.left", "losen X.left").make(&mut before);
        } else {
            In("wrench=TW-1 stage=snug setting=1.5", then).make(&mut before);
            In("wrench=TW-1 stage=snug setting=1.5", now).make(&mut after);
        }
        let found = lost(&before, &after);
        assert_eq!(found.is_empty(), is_growth, "{what}: {found:#?}");
    }
}

/// Of identical records, as a squash leaves them beside its branch, one may go; of different ones none.
#[test]
fn of_identical_records_one_may_go() {
    let twice = yard(&format!("{RECORDS}{LOOSEN}"));
    assert_eq!(named(&lost(&twice, &yard(RECORDS))), Vec::<String>::new());
    let none = yard(&RECORDS.replace(LOOSEN, ""));
    assert_eq!(named(&lost(&twice, &none)), ["record-gone X.left"]);
    let other = LOOSEN.replace("S3 S4", "S3");
    let both = yard(&format!("{RECORDS}{other}"));
    assert_eq!(named(&lost(&both, &yard(RECORDS))), ["record-gone X.left"]);
}

/// A record that stands in another ledger too may go from one of them, and not from both.
#[test]
fn a_copy_in_another_ledger_may_go() {
    let mut both = yard(RECORDS);
    for name in ["machine", "records"] {
        let text = both[&format!("slide/{name}.kdl")].replace("machine slide", "machine saw");
        both.insert(format!("saw/{name}.kdl"), text);
    }
    let (mut one, mut none) = (both.clone(), both.clone());
    In(LOOSEN, "").make(&mut one);
    assert_eq!(named(&lost(&both, &one)), Vec::<String>::new());
    In(LOOSEN, "").make(&mut none);
    File("saw/records.kdl", LOOSEN, "").make(&mut none);
    assert_eq!(named(&lost(&both, &none)), ["record-gone X.left", "record-gone X.left"]);
}

/// A new ledger inside another takes no record away from it, whether the file moves or lies there already.
#[test]
fn a_new_ledger_inside_takes_no_record() {
    let unreleased = yard(&RECORDS.replace(RELEASE, ""));
    let inner =
        |files: &mut Files| drop(files.insert("slide/inner/machine.kdl".into(), MACHINE.replace("slide", "inner")));
    let mut moved = unreleased.clone();
    Split(LOOSEN, "slide/inner/loosened.kdl").make(&mut moved);
    inner(&mut moved);
    assert_eq!(named(&lost(&unreleased, &moved)), ["record-gone X.left"]);
    let mut there = unreleased.clone();
    Split(LOOSEN, "slide/inner/loosened.kdl").make(&mut there);
    let mut taken = there.clone();
    inner(&mut taken);
    assert_eq!(named(&lost(&there, &taken)), ["record-gone X.left"]);
    assert_eq!(named(&lost(&taken, &there)), ["ledger-gone"]);
}

/// A limit that lets more pass than at the revision is told and breaks nothing; a tighter one is not.
#[test]
fn a_limit_that_was_widened_is_told() {
    let stated = |entry: &str| {
        let mut files = yard(RECORDS);
        if !entry.is_empty() {
            let book = format!("rulebook {{ {entry} }}\n    person fitter-2");
            files.insert("shop.kdl".into(), SHOP.replacen("person fitter-2", &book, 1));
        }
        files
    };
    let told = |was: &str, is: &str| -> Vec<String> {
        let found = lost(&stated(was), &stated(is));
        let of_limits =
            |it: &&Finding| it.rule.as_str() == "limit-loosened" && it.grade == crate::finding::Grade::Observation;
        assert!(found.iter().all(|it| of_limits(&it)), "{found:#?}");
        found.into_iter().map(|it| it.message).collect()
    };
    let (step, wider) = ("joint-step most=0.02 reason=\"r\"", "joint-step most=0.021 reason=\"r\"");
    assert_eq!(told(step, wider).len(), 1, "{:?}", told(step, wider));
    assert_eq!((told(wider, step).len(), told(step, step).len()), (0, 0));
    assert_eq!(told("joint-step most=0.01 reason=\"r\"", "").len(), 1, "stated no more");
    assert_eq!(told("straightness most=0.02 reason=\"r\"", "").len(), 1, "required no more");
    assert_eq!(told("", "straightness most=0.02 reason=\"r\"").len(), 0, "required now");
    let window = |least: &str| format!("full-torque least={least} most=11 reason=\"r\"");
    assert_eq!((told(&window("10"), &window("9")).len(), told(&window("9"), &window("10")).len()), (1, 0));
    assert_eq!(told("", "self-release is=allowed reason=\"r\"").len(), 1, "another word");
}

/// Very many records that go are told in one line.
#[test]
fn a_file_that_goes_is_told_once() {
    let day = |day: usize| LOOSEN.replace("05-09", &format!("06-{day:02}"));
    let many: String = (1..=20).map(day).collect();
    let before = yard(&format!("{RECORDS}{many}"));
    let found = lost(&before, &yard(RECORDS));
    assert_eq!(found.len(), 1, "{found:#?}");
    assert!(found[0].message.starts_with("20 records of slide/records.kdl in main are gone"), "{found:#?}");
}

/// A finding says what was, what is, where, and what to do.
#[test]
fn a_finding_says_what_was_and_what_is() {
    let (before, mut after) = (yard(RECORDS), yard(RECORDS));
    In("UL 0 -> 0.01", "UL 0 -> 0.012").make(&mut after);
    let found = lost(&before, &after).remove(0);
    assert_eq!(
        found.message,
        "`inspect X.left.J1 2026-05-06` is not as in main: `UL` was `0 -> 0.01` and is `0 -> 0.012`"
    );
    assert!(found.next.starts_with("put it back as main has it, in slide/records.kdl"), "{}", found.next);
}

/// The examples of the rules of history: from the state before to the wrong one it is found, to the right one nothing is.
#[test]
fn the_examples_of_the_rules_of_history_are_found() {
    let files = |text: &str| -> Files {
        let text = text.trim_start();
        let name = text.strip_prefix("// file: ").and_then(|rest| rest.lines().next()).unwrap_or("machine.kdl");
        [(format!("m/{name}"), text.to_string())].into()
    };
    let mut count = 0;
    for rule in rules::all().filter(|rule| rule.group == RuleGroup::History) {
        let names = |now: &str| -> Vec<String> {
            lost(&files(rule.before), &files(now)).iter().map(|it| it.rule.to_string()).collect()
        };
        assert_eq!(names(rule.wrong), [rule.name.to_string()], "{}: wrong", rule.name);
        assert_eq!(names(rule.right), Vec::<String>::new(), "{}: right", rule.name);
        count += 1;
    }
    assert_eq!(count, 8);
}

/// The row to be kept that is proposed says of a support all that was said of it.
#[test]
fn the_row_that_is_kept_says_all_that_was_said_of_a_support() {
    let rail = crate::language::schema::language().node("machine").and_then(|it| it.child("axis")?.child("rail"));
    let support = rail.and_then(|rail| rail.child("support")).expect("the language has it");
    let said: String = support
        .props
        .iter()
        .filter_map(|prop| match prop.name.as_str() {
            "at" | "until" => None,
            "length" => Some(" length=60"),
            "base-bolts" => Some(" base-bolts=2"),
            "stiffness" => Some(" stiffness=200"),
            "lateral-stiffness" => Some(" lateral-stiffness=100"),
            "since" => Some(" since=\"2026-01-01\""),
            new => panic!("`{new}` is said of a support too"),
        })
        .collect();
    let (row, single) = ("supports S first=120 pitch=180 count=6 length=80", "support E at=1160 length=60");
    let was = MACHINE
        .replace(row, &row.replace(" length=80", &said))
        .replace(single, &format!("support E at=1160{said} {{\n                bolts -10 10\n            }}"));
    // With a `since` of its own it would say when it changed.
    let moved = was
        .replace("E at=1160", "E at=1170")
        .replace("S first=120", "S first=121")
        .replace(" since=\"2026-01-01\"", "");
    let records = RECORDS.replace(RELEASE, "").replace("{ clicked S1..S3 }", "{ clicked S1..S3 E }");
    let files = |machine: &str| -> Files {
        [("shop.kdl", SHOP), ("slide/machine.kdl", machine), ("slide/records.kdl", &records)]
            .map(|(name, text)| (name.to_string(), text.to_string()))
            .into()
    };
    let lost = lost(&files(&was), &files(&moved));
    let kept = |address: &str| {
        let of = lost.iter().find(|it| it.address == address).unwrap_or_else(|| panic!("{address}: {lost:?}"));
        of.next.split('`').nth(3).unwrap_or_default().to_owned()
    };
    assert_eq!(kept("X.left.E"), format!("support E at=1160{said} until=\"…\" {{ bolts -10 10 }}"));
    assert_eq!(kept("X.left.S1"), format!("support S1 at=120{said} until=\"…\""));
}
