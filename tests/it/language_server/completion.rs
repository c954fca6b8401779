//! Completion: what is offered is what the language and the ledger know, the likeliest first.

use std::collections::BTreeSet;

use serde_json::Value;
use wayledger::schema::language;

use super::super::common::cited::{BUILT_TO, DESIGN, LEDGER, cited_in, of_language};
use super::super::common::program::run;
use super::{Editor, able, edited, place, plain, texts, yard};

const RECORDS: &str = "mast-router/2026-10-27-fitter-3.kdl";

/// What is offered at `|` in a file of the mast router.
fn offered(editor: &mut Editor, file: &str, text: &str) -> Vec<Value> {
    let at = place(text, "|", 0);
    let text = text.replacen('|', "", 1);
    editor.open_with(file, &text);
    editor.at("textDocument/completion", file, at).as_array().expect("a list").clone()
}

fn labels(items: &[Value]) -> Vec<&str> {
    items.iter().map(|it| it["label"].as_str().expect("text")).collect()
}

/// The text with one of the offers taken.
fn taken(text: &str, items: &[Value], label: &str) -> String {
    let text = text.replacen('|', "", 1);
    let item = items.iter().find(|it| it["label"] == label).unwrap_or_else(|| panic!("{label}: {:?}", labels(items)));
    edited(&text, &Value::Array(vec![item["textEdit"].clone()]))
}

#[test]
fn words_of_the_language_are_offered_with_their_help() {
    let yard = yard();
    let mut editor = Editor::start(yard.path(), able());
    let text = "fasten X.left by=fitter-3 |";
    let items = offered(&mut editor, RECORDS, text);
    let names = labels(&items);
    for name in ["date", "wrench", "stage", "interface", "setting"] {
        assert!(names.contains(&name), "{name}: {names:?}");
    }
    assert!(!names.contains(&"by"), "it is written already: {names:?}");
    assert_eq!(taken(text, &items, "stage"), "fasten X.left by=fitter-3 stage=");
    let stage = items.iter().find(|it| it["label"] == "stage").expect("there");
    assert!(stage["documentation"]["value"].as_str().expect("text").contains("final torque"), "{stage}");
    let items = offered(&mut editor, RECORDS, "fasten X.left stage=|");
    assert_eq!(labels(&items)[..2], ["snug", "full"]);
    // Nodes, and not one more than there may be.
    let items = offered(&mut editor, RECORDS, "inspect X.left.J1 {\n    light none\n    |\n}");
    let names = labels(&items);
    assert!(names.contains(&"feeler") && !names.contains(&"light"), "{names:?}");
    // Units.
    let text = "survey gap X.right { at S1 (|";
    let items = offered(&mut editor, RECORDS, text);
    assert!(labels(&items).contains(&"um"), "{items:?}");
    assert_eq!(taken(text, &items, "um"), "survey gap X.right { at S1 (um)");
    // In the machine's file and the shop's, what belongs there.
    let machine = "machine m {\n    axis X {\n        rail left profile=|\n";
    assert_eq!(labels(&offered(&mut editor, "mast-router/machine.kdl", machine)), ["R20"]);
    let items = offered(&mut editor, "shop.kdl", "shop \"Slip 2\" {\n    gau|\n}");
    assert!(labels(&items).contains(&"gauge") && !labels(&items).contains(&"inspect"), "{items:?}");
    assert!(offered(&mut editor, RECORDS, "// fas|").is_empty(), "nothing in a comment");
}

#[test]
fn names_are_offered_by_what_is_outstanding_and_in_calibration() {
    let yard = yard();
    let mut editor = Editor::start(yard.path(), able());
    // At J1 of the left rail two bolts are still to be done; the right rail has none.
    let text = "fasten X.left date=\"2026-10-27\" by=fitter-3 wrench=TW-2 stage=full {\n    at |\n}";
    let names = offered(&mut editor, RECORDS, text);
    assert_eq!(labels(&names)[..3], ["J1", "S4", "S3"], "in the order of tightening");
    assert!(names[0]["detail"].as_str().expect("text").starts_with("outstanding"), "{}", names[0]);
    // Of snug none is outstanding there: they are offered by their places.
    let snug = text.replace("stage=full", "stage=snug");
    assert_eq!(labels(&offered(&mut editor, RECORDS, &snug))[..2], ["S1", "S2"]);
    // A wrench for full torque is not the one that ends at 5 N·m.
    let wrench = "fasten X.left date=\"2026-10-27\" stage=full wrench=|";
    let items = offered(&mut editor, RECORDS, wrench);
    assert_eq!(labels(&items), ["TW-2", "TW-1"]);
    assert!(items[1]["detail"].as_str().expect("text").contains("range"), "{}", items[1]);
    // A groove is read by an indicator whose plus is outward, and on a day when it was in calibration.
    let gauge = "inspect X.left.J1 date=\"2026-10-27\" gauge=|";
    assert_eq!(labels(&offered(&mut editor, RECORDS, gauge))[0], "DI-4");
    let late = offered(&mut editor, RECORDS, &gauge.replace("2026-10-27", "2027-10-27"));
    assert!(late.iter().all(|it| it["detail"] != "suited, in calibration"), "all have run out: {late:?}");
    // In quotes the quotes are kept.
    let quoted = "inspect X.left.J1 gauge=\"DI|\"";
    let items = offered(&mut editor, RECORDS, quoted);
    assert_eq!(taken(quoted, &items, "DI-4"), "inspect X.left.J1 gauge=\"DI-4\"");
    // Joints without an inspection first; a range's second end; persons.
    assert_eq!(labels(&offered(&mut editor, RECORDS, "inspect |"))[..2], ["X.left.J1", "X.right.J1"]);
    let range = "fasten X.left stage=snug { clicked S4..|";
    let items = offered(&mut editor, RECORDS, range);
    assert_eq!(taken(range, &items, "S1"), "fasten X.left stage=snug { clicked S4..S1");
    assert!(labels(&offered(&mut editor, RECORDS, "inspect X.left.J1 by=|")).contains(&"fitter-3"));
}

#[test]
fn names_stay_known_where_the_text_is_broken() {
    let yard = yard();
    let mut editor = Editor::start(yard.path(), able());
    let text = "inspect X.left.J1 date=\"2026-10-27\" { light { UL \"\n}\nfasten X.left stage=full {\n    at |\n";
    assert!(labels(&offered(&mut editor, RECORDS, text)).contains(&"J1"));
}

/// What a new user does: takes the records that are offered, and fills in what was read.
#[test]
fn missing_records_are_written_from_an_empty_file_without_a_supports_name_typed() {
    let yard = yard();
    // Without jumps, places to fill hold what stands there first.
    let mut able = able();
    able["textDocument"]["completion"]["completionItem"]["snippetSupport"] = false.into();
    let mut editor = Editor::start(yard.path(), able);
    let items = offered(&mut editor, RECORDS, "|");
    let names: Vec<String> = labels(&items).into_iter().map(str::to_owned).collect();
    for label in ["fasten X.left full", "fasten X.right snug", "inspect X.left.J1", "survey gap X.right as-fitted"] {
        assert!(names.contains(&label.to_string()), "{label}: {names:?}");
    }
    let keep = |label: &str| taken("|", &items, label) + "\n";
    let full = keep("fasten X.left full");
    assert!(full.starts_with("fasten X.left date=\"2026-10-27\" by=fitter-3 wrench=TW-2 stage=full {\n    at J1 #null #null #null #null\n    at S4 #null #null\n"), "{full}");
    let snug = keep("fasten X.right snug").replace("setting=0", "setting=1.5");
    assert!(snug.contains("wrench=TW-1") && snug.contains("clicked J1 S9..S1 S12..S15"), "{snug}");
    let filled = full.replace("#null", "10.5");
    let joint = keep("inspect X.left.J1").replace("reach=reach travel=travel", "reach=40 travel=15");
    let joint = joint.replace("light seen", "light none").replace("before -> after", "0.002 -> 0.004");
    let survey = keep("survey gap X.right as-fitted").replace("#null", "0").replace("reading", "0");
    let text = [filled, snug, joint, survey].concat();
    std::fs::write(yard.path().join(RECORDS), &text).expect("written");
    let (out, err, _) = run(yard.path(), &["lint", "mast-router", "--today", "2026-11-01", "--format", "json"]);
    for rule in [
        "unreadable",
        "unknown-node",
        "missing-part",
        "wrong-value",
        "unknown-reference",
        "instrument-unsuited",
        "instrument-missing",
    ] {
        assert!(!out.contains(&format!("\"{rule}\"")), "{rule}: {out}{err}\n{text}");
    }
    assert!(!out.contains("\"torque-missing\",\"grade\":\"outstanding\",\"address\":\"X.left"), "{out}");
}

#[test]
fn an_editor_that_can_jump_gets_places_to_jump_through() {
    let yard = yard();
    let mut editor = Editor::start(yard.path(), able());
    let items = offered(&mut editor, RECORDS, "|");
    let item = items.iter().find(|it| it["label"] == "inspect X.left.J1").expect("it is offered");
    assert_eq!(item["insertTextFormat"], 2);
    let text = item["textEdit"]["newText"].as_str().expect("text");
    assert!(text.contains("date=\"${1:2026-10-27}\" by=${2:fitter-3} gauge=${3:DI-4}"), "{text}");
    let mut editor = Editor::start(yard.path(), plain());
    let items = offered(&mut editor, RECORDS, "|");
    let item = items.iter().find(|it| it["label"] == "inspect X.left.J1").expect("it is offered");
    assert_eq!(item["insertTextFormat"], Value::Null);
    assert!(!item["textEdit"]["newText"].as_str().expect("text").contains('$'));
}

#[test]
fn rows_that_are_outstanding_are_offered_in_a_record() {
    let yard = yard();
    let mut editor = Editor::start(yard.path(), able());
    let text = "fasten X.left date=\"2026-10-27\" by=fitter-3 wrench=TW-2 stage=full {\n    at J1 10.5 10.5 10.5 10.5\n    |\n}";
    let items = offered(&mut editor, RECORDS, text);
    assert_eq!(labels(&items)[..2], ["all outstanding rows", "at S4"], "J1 is there already");
    let grooves = "inspect X.left.J1 date=\"2026-10-27\" by=fitter-3 gauge=DI-4 {\n    UL 0 -> 0\n    |\n}";
    let items = offered(&mut editor, RECORDS, grooves);
    assert_eq!(texts(&Value::Array(items[..4].to_vec()), "label"), ["all outstanding rows", "UR", "LL", "LR"]);
}

/// Wherever the schema says that a part refers to something, what it refers to is offered: designs, holds and persons too.
#[test]
fn whatever_a_part_refers_to_is_offered() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut editor = Editor::start(folder.path(), able());
    let mut asked = BTreeSet::new();
    for (file, text, beside) in [
        ("m/machine.kdl", LEDGER, None),
        ("built/machine.kdl", BUILT_TO, Some(("built/design.kdl", DESIGN))),
        ("built/design.kdl", DESIGN, Some(("built/machine.kdl", BUILT_TO))),
    ] {
        for cited in cited_in(text) {
            if let Some((file, text)) = beside {
                editor.open_with(file, text);
            }
            // Of a range the second end.
            let begun = cited.name.find("..").map_or(0, |at| at + 2);
            let mut open = text.to_owned();
            open.replace_range(cited.written.range(), &format!("{}|", &cited.name[..begun]));
            let items = offered(&mut editor, file, &open);
            let names = labels(&items);
            let name = cited.name[begun..].trim_matches('"');
            let (path, sort, node) = (&cited.path, cited.refers.word(), &text[cited.node.range()]);
            assert!(names.contains(&name), "{name}, a {sort} at {path} of {node}: {names:?}");
            assert_eq!(taken(&open, &items, name), text, "{name} at {path}");
            asked.insert(cited.path);
        }
    }
    let mut known = std::collections::BTreeMap::new();
    language().top.iter().for_each(|shape| of_language(shape, "", &mut known));
    let known: BTreeSet<String> = known.into_keys().collect();
    assert_eq!(
        known.difference(&asked).collect::<Vec<_>>(),
        Vec::<&String>::new(),
        "each part with `ref=` was asked for"
    );
    // Who signs is a person of the shop, or signed before; of several revisions the last one comes first.
    let persons = "shop { person planner-1 }
machine m { axis slide }
hold slide date=\"2026-04-17\" by=| reason=\"r\"
";
    let names = offered(&mut editor, "persons/machine.kdl", persons);
    assert!(labels(&names).contains(&"planner-1"), "{names:?}");
    let two = format!("{DESIGN}{}", DESIGN.replace("revision=1", "revision=2"));
    editor.open_with("built/design.kdl", &two);
    let names = offered(&mut editor, "built/machine.kdl", "machine m { built-to slide-bridge revision=| }");
    assert_eq!(labels(&names)[..2], ["2", "1"]);
}
