//! Hover, hints, places and names: what an editor shows of what stands there. Numbers are held against `wayledger how`.

use serde_json::{Value, json};

use super::super::common::program::run;
use super::{Editor, able, edited, place, texts, yard};

const JOINTS: &str = "hull-gantry/2026-04-15-inspector-1.kdl";
const GAPS: &str = "hull-gantry/2026-04-16-inspector-1.kdl";

fn hovered(editor: &mut Editor, file: &str, at: (usize, usize)) -> String {
    editor.at("textDocument/hover", file, at)["contents"]["value"].as_str().unwrap_or_default().to_owned()
}

#[test]
fn a_word_tells_what_it_means_and_a_number_how_it_comes_about() {
    let yard = yard();
    let mut editor = Editor::start(yard.path(), able());
    let text = editor.open(JOINTS);
    let word = hovered(&mut editor, JOINTS, place(&text, "carrier reach", 1));
    assert!(word.contains("How the carrying block was held"), "{word}");
    let word = hovered(&mut editor, JOINTS, place(&text, "temperature=", 1));
    assert!(word.contains("Temperature of the rails"), "{word}");
    // A step, as `how` derives it, with its limit and links to what was read.
    let step = hovered(&mut editor, JOINTS, place(&text, "UL -0.040", 4));
    let how = ["how", "X.port.J1", "step-UL", "--ledger", "hull-gantry", "--today", "2026-11-01"];
    let (how, ..) = run(yard.path(), &how);
    let first = how.lines().next().expect("a line");
    assert!(step.contains(first), "{first}\n{step}");
    assert!(step.contains("limit: at most 0.02 mm"), "{step}");
    let (line, _) = place(&text, "UL -0.040", 0);
    assert!(step.contains(&format!("({}#L{})", editor.uri(JOINTS), line + 1)), "{step}");
    // A gauge on the day of the record.
    let gauge = hovered(&mut editor, JOINTS, place(&text, "gauge=DI-4", 7));
    assert!(gauge.contains("**DI-4**: gauge, dial-indicator, graduation 0.002 mm"), "{gauge}");
    assert!(
        gauge.contains("On 2026-04-15 calibrated: 2026-01-12, certificate C-2211, holds until 2027-01-12."),
        "{gauge}"
    );
    // An address: where the joint lies, and the numbers that are known of it.
    let joint = hovered(&mut editor, JOINTS, place(&text, "X.port.J1", 2));
    assert!(joint.contains("joint at 2400") && joint.contains("`step-LR`"), "{joint}");
    // Torque, and holes.
    let torques = "hull-gantry/2026-04-14-fitter-2.kdl";
    let text = editor.open(torques);
    let row = hovered(&mut editor, torques, place(&text, "at S9  10.3", 8));
    assert!(row.contains("holes seg1: ") && row.contains("preload"), "{row}");
    // A limit that the machine has changed.
    let text = editor.open("hull-gantry/machine.kdl");
    let limit = hovered(&mut editor, "hull-gantry/machine.kdl", place(&text, "straightness most", 2));
    assert!(limit.contains("in force: at most 0.05 mm") && limit.contains("default:"), "{limit}");
}

/// A row tells the number that it makes, and not that of a later record.
#[test]
fn a_row_that_counts_no_more_tells_no_number_of_another() {
    let yard = yard();
    let mut editor = Editor::start(yard.path(), able());
    let text = editor.open(JOINTS);
    let row = place(&text, "UL -0.040", 4);
    assert!(hovered(&mut editor, JOINTS, row).contains("limit: at most 0.02 mm"));
    let later = "hull-gantry/2026-10-30-inspector-1.kdl";
    let again =
        "inspect X.port.J1 date=\"2026-10-30\" by=inspector-1 gauge=DI-4 {\n    light none\n    UL 0 -> 0.007\n}\n";
    editor.open_with(later, again);
    let old = hovered(&mut editor, JOINTS, row);
    assert!(old.contains("another record counts here") && !old.contains("0.007"), "{old}");
    assert!(hovered(&mut editor, later, place(again, "UL 0", 1)).contains("0.007"));
    // Withdrawn, it tells none either, though no later one is there.
    let void = "void inspect X.port.J1 of=\"2026-04-15T09:00\" date=\"2026-10-30\" by=inspector-1 reason=\"a test\"\n";
    editor.change(later, void);
    let withdrawn = hovered(&mut editor, JOINTS, row);
    assert!(!withdrawn.contains("limit:"), "{withdrawn}");
}

#[test]
fn text_of_a_ledger_is_no_markup() {
    let yard = yard();
    let mut editor = Editor::start(yard.path(), able());
    let shop = editor.on_disk("shop.kdl").replace("certificate=\"C-2211\"", "certificate=\"[x](http://y) <b> `\"");
    std::fs::write(yard.path().join("shop.kdl"), shop).expect("written");
    let text = editor.open(JOINTS);
    let gauge = hovered(&mut editor, JOINTS, place(&text, "gauge=DI-4", 7));
    assert!(gauge.contains("certificate \\[x\\](http\\://y) \\<b\\> \\`"), "{gauge}");
}

#[test]
fn numbers_stand_beside_what_was_read_and_each_kind_can_be_switched_off() {
    let yard = yard();
    let range = json!({ "start": { "line": 0, "character": 0 }, "end": { "line": 9999, "character": 0 } });
    let shown = |editor: &mut Editor, file: &str| -> Vec<String> {
        let params = json!({ "textDocument": { "uri": editor.uri(file) }, "range": range });
        let hints = editor.ask("textDocument/inlayHint", params);
        texts(&hints, "label")
    };
    let mut editor = Editor::start(yard.path(), able());
    editor.open(JOINTS);
    let steps = shown(&mut editor, JOINTS);
    assert_eq!(steps.len(), 16, "{steps:?}");
    let (how, ..) = run(yard.path(), &["how", "X.port.J1", "--ledger", "hull-gantry", "--today", "2026-11-01"]);
    let told = how.lines().find(|line| line.starts_with("step-LR")).expect("a step");
    let number: Vec<&str> = told.split_whitespace().skip(1).take(2).collect();
    assert_eq!(steps[3], format!("step {}", number.join(" ")), "{told}");
    editor.open(GAPS);
    let gaps = shown(&mut editor, GAPS);
    assert!(gaps.contains(&"the widest place".to_string()), "{gaps:?}");
    assert!(gaps.iter().any(|it| it.starts_with("needs 0.0")), "{gaps:?}");
    assert!(gaps.contains(&"at 240 mm".to_string()), "{gaps:?}");
    // The first lines alone.
    let first = json!({ "start": { "line": 0, "character": 0 }, "end": { "line": 7, "character": 0 } });
    let params = json!({ "textDocument": { "uri": editor.uri(JOINTS) }, "range": first });
    assert!(editor.ask("textDocument/inlayHint", params).as_array().expect("a list").len() < 16);
    for (kind, file, gone) in [("step", JOINTS, "step "), ("position", GAPS, "at "), ("shim", GAPS, "needs ")] {
        let options = json!({ "inlayHints": { kind: false } });
        let mut editor = Editor::start_with(yard.path(), able(), options.clone());
        editor.open(file);
        assert!(shown(&mut editor, file).iter().all(|it| !it.starts_with(gone)), "{kind}");
        // And on again while it runs.
        editor.tell("workspace/didChangeConfiguration", json!({ "settings": { "wayledger": {} } }));
        editor.heard("workspace/inlayHint/refresh");
        assert!(shown(&mut editor, file).iter().any(|it| it.starts_with(gone)), "{kind}");
    }
}

/// The files and lines that are answered.
fn places(answer: &Value) -> Vec<(String, u64)> {
    let name = |uri: &Value| uri.as_str().expect("text").rsplit('/').next().expect("a name").to_owned();
    let one = |it: &Value| (name(&it["uri"]), it["range"]["start"]["line"].as_u64().expect("a line"));
    answer.as_array().expect("a list").iter().map(one).collect()
}

#[test]
fn from_a_name_to_what_it_names_and_back() {
    let yard = yard();
    let mut editor = Editor::start(yard.path(), able());
    let text = editor.open(JOINTS);
    let line = |editor: &Editor, file: &str, wanted: &str| place(&editor.on_disk(file), wanted, 0).0 as u64;
    let gauge = editor.at("textDocument/definition", JOINTS, place(&text, "gauge=DI-4", 8));
    assert_eq!(places(&gauge), [("shop.kdl".into(), line(&editor, "shop.kdl", "gauge DI-4"))]);
    // A joint: the segments that meet there, and its support.
    let joint = editor.at("textDocument/definition", JOINTS, place(&text, "X.port.J1", 8));
    let machine = "hull-gantry/machine.kdl";
    let expected: Vec<(String, u64)> =
        ["segment 2400 serial=K-118", "segment 2400 serial=K-121", "joint-support J1 at=2400"]
            .iter()
            .map(|it| ("machine.kdl".to_string(), line(&editor, machine, it)))
            .collect();
    assert_eq!(places(&joint), expected);
    // A support: its row; a range by each of its ends.
    let torques = "hull-gantry/2026-04-14-fitter-2.kdl";
    let text = editor.open(torques);
    let row = ("machine.kdl".to_string(), line(&editor, machine, "supports S first=240 pitch=240 count=29"));
    for wanted in ["at S9 ", "S9..S1"] {
        let found =
            editor.at("textDocument/definition", torques, place(&text, wanted, wanted.find('S').expect("it") + 1));
        assert_eq!(places(&found), std::slice::from_ref(&row), "{wanted}");
    }
    // Everywhere that S5 is named, within a range too.
    let found = editor.at("textDocument/references", torques, place(&text, "at S5 ", 4));
    let (range, own) = (place(&text, "clicked J1 S9..S1", 0).0 as u64, place(&text, "at S5 ", 0).0 as u64);
    let found = places(&found);
    assert!(found.contains(&("2026-04-14-fitter-2.kdl".into(), range)), "{found:?}");
    assert!(found.contains(&("2026-04-14-fitter-2.kdl".into(), own)), "{found:?}");
    // From a gauge of the shop file to the records.
    let shop = editor.open("shop.kdl");
    let found = places(&editor.at("textDocument/references", "shop.kdl", place(&shop, "gauge DI-4", 7)));
    assert!(found.iter().filter(|(file, _)| file == "2026-04-15-inspector-1.kdl").count() == 4, "{found:?}");
    // A void and what it withdraws, both ways; a finding that was accepted and its concession.
    let file = "hull-gantry/2026-10-30-inspector-1.kdl";
    let void = "void inspect X.port.J1 of=\"2026-04-15T09:00\" date=\"2026-10-30\" by=inspector-1 reason=\"a test\"\n";
    editor.open_with(file, void);
    let found = editor.at("textDocument/definition", file, place(void, "of=", 6));
    assert_eq!(places(&found), [("2026-04-15-inspector-1.kdl".into(), 1)]);
    let found = places(&editor.at("textDocument/references", JOINTS, (1, 2)));
    assert!(found.contains(&("2026-10-30-inspector-1.kdl".into(), 0)), "{found:?}");
    let text = editor.open("plank-planer/machine.kdl");
    let at = place(&text, "segment 1440 serial=K-402", 3);
    let found = places(&editor.at("textDocument/definition", "plank-planer/machine.kdl", at));
    assert!(found.iter().any(|(file, _)| file == "2026-05-06-engineer-1.kdl"), "{found:?}");
}

#[test]
fn a_name_is_changed_only_where_no_record_holds_it() {
    let yard = yard();
    let mut editor = Editor::start(yard.path(), able());
    let file = "mast-router/machine.kdl";
    let text = editor.open(file);
    let params = |editor: &Editor, at: (usize, usize), name: &str| {
        let position = json!({ "line": at.0, "character": at.1 });
        json!({ "textDocument": { "uri": editor.uri(file) }, "position": position, "newName": name })
    };
    let bed = place(&text, "beam=bed profile=R20 datum=left", 6);
    let range = editor.ask("textDocument/prepareRename", params(&editor, bed, ""));
    assert_eq!(range["start"]["character"], bed.1 - 1);
    let edit = editor.ask("textDocument/rename", params(&editor, bed, "base"));
    let changes = edit["documentChanges"].as_array().expect("changes");
    assert_eq!((changes.len(), &changes[0]["textDocument"]["version"]), (1, &json!(1)));
    let renamed = edited(&text, &changes[0]["edits"]);
    assert_eq!(renamed, text.replace("beam=bed", "beam=base").replace("beam bed", "beam base"));
    // The right rail is named by its carriage; no record names it. In an address only its own part changes.
    let right = place(&text, "block right", 7);
    let edit = editor.ask("textDocument/rename", params(&editor, right, "far"));
    let renamed = edited(&text, &edit["documentChanges"][0]["edits"]);
    assert_eq!(renamed, text.replace("rail right", "rail far").replace("block right", "block far"));
    // The left one is in records; a name that is taken; no name; a support.
    let refused = |editor: &mut Editor, at, name: &str| {
        let params = params(editor, at, name);
        editor.try_ask("textDocument/rename", params).expect_err(name)["message"].as_str().expect("text").to_owned()
    };
    let left = place(&text, "block left", 7);
    assert!(refused(&mut editor, left, "near").contains("2026-10-26-fitter-3.kdl, line 2"), "the record is named");
    assert!(refused(&mut editor, right, "left").contains("left"));
    assert!(refused(&mut editor, bed, "a b").contains("is no name"));
    assert!(refused(&mut editor, place(&text, "joint-support J1", 15), "J9").contains("named by where it lies"));
    // A gauge is held by records of another ledger of the shop, which is not open.
    let shop = editor.open("shop.kdl");
    let at = place(&shop, "gauge FG-1", 7);
    let position = json!({ "line": at.0, "character": at.1 });
    let asked = json!({ "textDocument": { "uri": editor.uri("shop.kdl") }, "position": position, "newName": "FG-2" });
    let held = editor.try_ask("textDocument/rename", asked).expect_err("records of the gantry name it");
    assert!(held["message"].as_str().expect("text").contains("a record holds this name"), "{held}");
}
