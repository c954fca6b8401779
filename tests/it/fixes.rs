//! The fixes that findings carry: what has one and what has none, and that each keeps its promise.

use std::collections::BTreeSet;

use serde_json::Value;
use wayledger::format::{FINDINGS_FORMATS, FindingsWriter, OutputOptions, OutputTotals};
use wayledger::kdl::apply;
use wayledger::lint::{Judged, rules};

use super::hand_mistakes::mistaken;
use crate::common::fixes::{found, hold, hold_with, judge};

#[test]
fn every_fix_of_a_mistake_by_hand_keeps_its_promise() {
    // Their ledger conforms but for the mistake: nothing at all may come.
    let titles: Vec<String> = mistaken().iter().flat_map(|files| hold_with(files, |_| true)).collect();
    let kinds: BTreeSet<&str> = titles.iter().map(String::as_str).collect();
    for title in ["write `segment`", "write `date`", "close the block of `axis`", "put the text in quotes"] {
        assert!(kinds.contains(title), "{title} is not among {kinds:?}");
    }
    assert!(titles.len() > 55, "{}: {kinds:?}", titles.len());
}

#[test]
fn every_fix_of_a_wrong_example_keeps_its_promise() {
    let mut titles = 0;
    for rule in rules() {
        titles += hold(&vec![("m/machine.kdl".into(), rule.wrong.into())]).len();
    }
    assert!(titles > 0);
}

/// What a machine file says, with the one wrong line; nothing where there is no fix.
fn fixed(text: &str) -> Option<String> {
    let files = vec![("m/machine.kdl".to_owned(), text.to_owned())];
    assert!(hold(&files).len() <= 1, "{text}");
    let changed = found(&files).into_iter().find_map(|found| found.changed.into_values().next())?;
    Some(apply(text, &changed).expect("the edits fit"))
}

#[test]
fn what_can_mean_one_thing_only_has_a_fix() {
    for (wrong, right) in [
        ("machine m {\n    axis X\n    title Two words\n}\n", "machine m {\n    axis X\n    title \"Two words\"\n}\n"),
        ("machine m {\n    axis X\n    title \"Gantry\n}\n", "machine m {\n    axis X\n    title \"Gantry\"\n}\n"),
        ("machine m { axis X; title a(b }\n", "machine m { axis X; title \"a(b\" }\n"),
        ("machine m { axis X { run to=2400,5 } }\n", "machine m { axis X { run to=2400.5 } }\n"),
        ("machine m { axis X { run to=0,125 } }\n", "machine m { axis X { run to=0.125 } }\n"),
        ("machine m { axis X { run to=(inch)90 } }\n", "machine m { axis X { run to=(in)90 } }\n"),
        ("machine m { axis X { rail a datum=lef } }\n", "machine m { axis X { rail a datum=left } }\n"),
        ("machine m { axis X { rail a datm=left } }\n", "machine m { axis X { rail a datum=left } }\n"),
        ("machine m {\n    axis X {\n        rail a\n}\n", "machine m {\n    axis X {\n        rail a\n    }\n}\n"),
        ("machine m {\n    axis X\n", "machine m {\n    axis X\n}\n"),
        ("machine m {\r\n    axis X\r\n", "machine m {\r\n    axis X\r\n}\r\n"),
        (
            "machine m { axis X { rail a { segment 9 since=2026-04-14 } } }\n",
            "machine m { axis X { rail a { segment 9 since=\"2026-04-14\" } } }\n",
        ),
        // A word of the language is one in a record too.
        (
            "machine m { axis X }\nservice X dat=\"2026-04-14\" by=f task=lubricate\n",
            "machine m { axis X }\nservice X date=\"2026-04-14\" by=f task=lubricate\n",
        ),
    ] {
        assert_eq!(fixed(wrong).as_deref(), Some(right), "{wrong}");
    }
}

#[test]
fn what_can_mean_more_and_what_a_record_says_has_none() {
    let record = |line: &str| format!("machine m {{ axis X {{ rail a {{ segment 1200 }} }} }}\n{line}\n");
    for text in [
        "machine m {\n    axis X\n    title Two  words\n}\n".into(),
        "machine m {\n    axis X\n    title Two /* or three */ words\n}\n".into(),
        // One and a fifth, or twelve hundred.
        "machine m { axis X { run to=1,200 } }\n".to_owned(),
        "machine m {\n    axis X\n    title \"Two words\n}\n".into(),
        "machine m { axis X { rail a { segment 9 since=2026-14-04 } } }\n".into(),
        "machine m {\naxis X {\nrail a\n}\n".into(),
        record("service X date=2026-04-14 by=f task=lubricate"),
        record("service X date=\"2026-04-14\" by=f task=lubricat"),
        record("loosen X.a date=\"2026-04-14\" by=f reason=a(b"),
        record("loosen X.a date=\"2026-04-14\" by=f { note two words }"),
        record("running-force X date=\"2026-04-14\" by=f { at 600 14,5 }"),
        record("running-force X date=\"2026-04-14\" by=f { at (inch)600 14 }"),
        record("loosen X.b date=\"2026-04-14\" by=f"),
        // Swallowed by the machine, whose brace is missing: a record all the same.
        "machine m {\naxis X\nservice X date=2026-04-14 by=f task=lubricate\n".into(),
    ] {
        assert_eq!(fixed(&text), None, "{text}");
    }
}

/// Each fix is tried on the whole file, so there is a bound to how many there are.
#[test]
fn a_file_with_very_much_wrong_has_no_fixes() {
    let with = |rails: usize| format!("machine m {{ axis X {{ {} }} }}\n", "rial a; ".repeat(rails));
    let count = |text: String| {
        found(&vec![("m/machine.kdl".to_owned(), text)]).iter().filter(|it| it.finding.fix.is_some()).count()
    };
    assert_eq!((count(with(1)), count(with(40)), count(with(41))), (1, 40, 0));
    assert_eq!(count(with(1) + &"// much\n".repeat(40_000)), 0);
}

/// What a format for programs prints of a ledger.
fn written(name: &str, judged: &Judged) -> Value {
    let mut out = Vec::new();
    let format = *FINDINGS_FORMATS.iter().find(|it| it.name() == name).expect("a format");
    let mut writer = FindingsWriter::new(&mut out, format).expect("it begins");
    writer.ledger(&format.ledger(judged, &OutputOptions::default()).expect("the ledger")).expect("it is taken");
    writer.finish(&OutputTotals::default()).expect("it ends");
    serde_json::from_slice(&out).expect("it is JSON")
}

/// Programs see it: JSON with bytes, SARIF with lines and columns.
#[test]
fn a_fix_is_told_to_programs() {
    let files = vec![("m/machine.kdl".to_owned(), "machine m {\n    axis \"µ\" { rial a }\n}\n".to_owned())];
    let mut seen = 0;
    judge(&files, |judged| {
        if judged.findings.is_empty() {
            return;
        }
        seen += 1;
        let json = written("json", &judged);
        let all = json["ledgers"][0]["findings"].as_array().expect("a list");
        let with: Vec<_> = all.iter().filter_map(|finding| finding.get("fix")).collect();
        let edits = serde_json::json!([{ "file": "m/machine.kdl", "start": 28, "end": 32, "new_text": "rail" }]);
        assert_eq!(with, [&serde_json::json!({ "title": "write `rail`", "edits": edits })]);
        let log = written("sarif", &judged);
        let fixes: Vec<_> =
            log["runs"][0]["results"].as_array().expect("a list").iter().filter_map(|it| it.get("fixes")).collect();
        let region = serde_json::json!({ "startLine": 2, "startColumn": 16, "endLine": 2, "endColumn": 20 });
        let change = &fixes[0][0]["artifactChanges"][0];
        assert_eq!(fixes.len(), 1);
        assert_eq!(fixes[0][0]["description"]["text"], "write `rail`");
        assert_eq!(change["artifactLocation"]["uri"], "m/machine.kdl");
        assert_eq!(change["replacements"][0]["deletedRegion"], region);
        assert_eq!(change["replacements"][0]["insertedContent"]["text"], "rail");
    });
    assert_eq!(seen, 1);
}
