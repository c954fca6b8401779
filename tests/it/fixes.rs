//! The fixes that findings carry: with each made, its finding is gone, no other came, and nothing else in the document
//! changed. In a record no value is touched.

use std::collections::{BTreeMap, BTreeSet};

use wayledger::finding::{Finding, Fix};
use wayledger::formats::{Root, json, sarif};
use wayledger::rules::{self, Group};
use wayledger::text::{Document, Edit, NodeRef, Span, apply};

use super::hand_mistakes::{Files, judge, mistaken};

/// A finding with its fix, and each file that the fix changes with its edits.
struct Found {
    finding: Finding,
    changed: BTreeMap<String, Vec<Edit>>,
}

fn found(files: &Files) -> Vec<Found> {
    let mut all = Vec::new();
    judge(files, |judged| {
        for finding in judged.findings {
            let mut changed: BTreeMap<String, Vec<Edit>> = BTreeMap::new();
            for (source, edit) in finding.fix.iter().flat_map(|fix| &fix.edits) {
                changed.entry(judged.ledger.sources.get(*source).path.0.clone()).or_default().push(edit.clone());
            }
            all.push(Found { finding, changed });
        }
    });
    all
}

/// What is said, and how often.
fn said(found: &[Found]) -> BTreeMap<(&'static str, String, String), usize> {
    let mut said = BTreeMap::new();
    for Found { finding, .. } in found {
        *said.entry((finding.rule.as_str(), finding.address.clone(), finding.message.clone())).or_default() += 1;
    }
    said
}

fn document(text: &str) -> Document {
    wayledger::text::read(text.to_owned(), &wayledger::text::Limits::default()).document
}

fn touches(edits: &[Span], span: Span) -> bool {
    edits.iter().any(|edit| edit.start < span.end && span.start < edit.end)
}

/// All that a document says outside of some stretches.
fn facts(document: &Document, edits: &[Span]) -> Vec<String> {
    let mut facts = Vec::new();
    for node in (0..document.len()).filter_map(|index| document.node(index)) {
        let name = if touches(edits, node.name_span()) { "…" } else { node.name() };
        facts.push(format!("{} {:?} {name}", node.depth(), node.ty().map(|(ty, _)| ty)));
        for entry in node.entries() {
            let name =
                entry.name_span().map(|span| if touches(edits, span) { "…" } else { entry.name().unwrap_or("") });
            let ty = entry.ty().filter(|(_, span)| !touches(edits, *span)).map(|(ty, _)| ty);
            // Where an annotation is changed, the value behind it stays.
            match (touches(edits, entry.value_span()), name, entry.value()) {
                (true, Some(name), _) => facts.push(format!("  {name}=")),
                (true, None, _) => {}
                (false, name, value) => facts.push(format!("  {name:?} {ty:?} {value:?}")),
            }
        }
    }
    facts
}

/// Where the new stretches lie in the changed text that stand in the place of others. What is only put in, a brace or a
/// quotation mark, must leave all that is said as it was read.
fn moved(edits: &[Edit]) -> Vec<Span> {
    let mut sorted: Vec<&Edit> = edits.iter().collect();
    sorted.sort_by_key(|edit| edit.span.start);
    let mut grown = 0;
    let place = |edit: &Edit| {
        let start = (i64::from(edit.span.start) + grown) as u32;
        grown += edit.text.len() as i64 - edit.span.len() as i64;
        (!edit.span.is_empty()).then_some(Span { start, end: start + edit.text.len() as u32 })
    };
    sorted.into_iter().filter_map(place).collect()
}

/// The values of records in a document.
fn values_of_records(document: &Document) -> Vec<Span> {
    let is_record = |node: &NodeRef| !matches!(node.name(), "machine" | "shop");
    let below = |node: NodeRef| (node.index()..node.after()).collect::<Vec<_>>();
    let nodes = document.nodes().filter(is_record).flat_map(below).filter_map(|index| document.node(index));
    nodes.flat_map(|node| node.entries().map(|entry| entry.value_span()).collect::<Vec<_>>()).collect()
}

/// Makes each fix in turn and holds it to its promise; gives what the fixes say they do. Of a text that could not be read
/// nothing was judged but the text: so what is new may be told by rules of another group, once it can be.
pub fn hold(files: &Files) -> Vec<String> {
    let of_text = |rule: &str| rules::all().any(|it| it.name.as_str() == rule && it.group == Group::Text);
    hold_with(files, of_text)
}

/// The same; `never` says of which rules nothing new may be found.
fn hold_with(files: &Files, never: impl Fn(&str) -> bool) -> Vec<String> {
    let before = found(files);
    let said_before = said(&before);
    let mut titles = Vec::new();
    for Found { finding, changed } in &before {
        let Some(Fix { title, .. }) = &finding.fix else { continue };
        titles.push(title.clone());
        assert!(!title.is_empty() && !title.ends_with('.') && !changed.is_empty(), "{finding:?}");
        let mut fixed = files.clone();
        for (name, edits) in changed {
            let text = &mut fixed.iter_mut().find(|(file, _)| file == name).expect("one of the files").1;
            let new = apply(text, edits).expect("the edits fit");
            let (was, is) = (document(text), document(&new));
            let spans: Vec<Span> = edits.iter().map(|edit| edit.span).collect();
            assert_eq!(facts(&was, &spans), facts(&is, &moved(edits)), "{title}: {edits:?} of\n{text}");
            let values = values_of_records(&was);
            assert!(!values.iter().any(|value| touches(&spans, *value)), "a value of a record: {finding:?}");
            *text = new;
        }
        let said_after = said(&found(&fixed));
        let own = (finding.rule.as_str(), finding.address.clone(), finding.message.clone());
        let count = |said: &BTreeMap<_, usize>| said.get(&own).copied().unwrap_or(0);
        assert_eq!(count(&said_after) + 1, count(&said_before), "{title} leaves {finding:?}");
        for (it, count) in said_after.iter().filter(|(it, _)| never(it.0)) {
            assert!(said_before.get(it).is_some_and(|was| count <= was), "{title} brings {it:?} to {:?}", changed);
        }
    }
    titles
}

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
    for rule in rules::all() {
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
        record("run-force X date=\"2026-04-14\" by=f { at 600 14,5 }"),
        record("run-force X date=\"2026-04-14\" by=f { at (inch)600 14 }"),
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
        let json = serde_json::to_value(json::ledger(&judged)).expect("it is JSON");
        let all = json["findings"].as_array().expect("a list");
        let with: Vec<_> = all.iter().filter_map(|finding| finding.get("fix")).collect();
        let edits = serde_json::json!([{ "file": "m/machine.kdl", "start": 28, "end": 32, "new_text": "rail" }]);
        assert_eq!(with, [&serde_json::json!({ "title": "write `rail`", "edits": edits })]);
        let root = Root::default();
        let results = serde_json::to_value(sarif::results(&judged, &root)).expect("it is JSON");
        let fixes: Vec<_> = results.as_array().expect("a list").iter().filter_map(|it| it.get("fixes")).collect();
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
