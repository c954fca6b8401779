//! What an editor may offer to do: fixes that findings carry, and text for a person to complete.

use serde_json::{Value, json};

use super::super::common::program::run;
use super::{Editor, able, edited, place, yard};

/// What is offered at a place: titles, and the text of the file with each.
fn offered(
    editor: &mut Editor,
    file: &str,
    text: &str,
    at: (usize, usize),
    only: Option<&str>,
) -> Vec<(String, String)> {
    let position = json!({ "line": at.0, "character": at.1 });
    let mut context = json!({ "diagnostics": [] });
    if let Some(only) = only {
        context["only"] = json!([only]);
    }
    let uri = editor.uri(file);
    let range = json!({ "start": position, "end": position });
    let params = json!({ "textDocument": { "uri": uri }, "range": range, "context": context });
    let actions = editor.ask("textDocument/codeAction", params);
    let becomes = |action: &Value| {
        let changes = action["edit"]["documentChanges"].as_array().expect("changes");
        assert_eq!(changes[0]["textDocument"]["uri"], json!(uri));
        (action["title"].as_str().expect("text").to_owned(), edited(text, &changes[0]["edits"]))
    };
    actions.as_array().expect("a list").iter().map(becomes).collect()
}

#[track_caller]
fn named<'o>(offers: &'o [(String, String)], wanted: &str) -> &'o str {
    let found = offers.iter().find(|(title, _)| title.starts_with(wanted));
    let titles: Vec<&String> = offers.iter().map(|(title, _)| title).collect();
    found.map(|(_, text)| text.as_str()).unwrap_or_else(|| panic!("{wanted}: {titles:?}"))
}

#[test]
fn what_can_mean_one_thing_is_mended() {
    let yard = yard();
    let mut editor = Editor::start(yard.path(), able());
    let file = "hull-gantry/2026-04-15-inspector-1.kdl";
    let right = editor.on_disk(file);
    let wrong = right.replacen("light none", "ligth none", 1);
    editor.open_with(file, &wrong);
    let offers = offered(&mut editor, file, &wrong, place(&wrong, "ligth", 2), Some("quickfix"));
    assert!(offers.iter().any(|(_, text)| *text == right), "{offers:?}");
    assert!(!offers.iter().any(|(title, _)| title.starts_with("Void")), "only fixes were asked for");
}

#[test]
fn a_record_is_withdrawn_and_a_finding_accepted_by_text_that_lacks_its_reason() {
    let yard = yard();
    let mut editor = Editor::start(yard.path(), able());
    let file = "hull-gantry/2026-04-15-inspector-1.kdl";
    let text = editor.on_disk(file).replacen("-0.040 -> -0.028", "-0.540 -> -0.028", 1);
    editor.open_with(file, &text);
    let offers = offered(&mut editor, file, &text, place(&text, "UL -0.540", 1), None);
    let voided = named(&offers, "Void this inspect record");
    assert!(voided.starts_with(&text), "all else stays");
    assert_eq!(
        voided[text.len()..].trim(),
        "void inspect X.port.J1 of=\"2026-04-15T09:00\" date=\"2026-11-01\" by=inspector-1 reason=\"\""
    );
    let conceded = named(&offers, "Concede joint-step at X.port.J1");
    assert!(
        conceded.trim_end().ends_with("concession joint-step X.port.J1 date=\"2026-11-01\" by=inspector-1 reason=\"\"")
    );
    // The lint asks for the reason.
    std::fs::write(yard.path().join(file), conceded).expect("written");
    let (out, ..) = run(yard.path(), &["lint", "hull-gantry", "--today", "2026-11-01"]);
    assert!(out.contains("concession-unreasoned") || out.contains("reason-wordless"), "{out}");
}

#[test]
fn outstanding_rows_and_the_shim_plan_are_put_in() {
    let yard = yard();
    let mut editor = Editor::start(yard.path(), able());
    let file = "mast-router/2026-10-26-fitter-3.kdl";
    let text = editor.open(file);
    let offers = offered(&mut editor, file, &text, place(&text, "T13:00", 0), None);
    let rows = named(&offers, "Add ");
    assert!(rows.contains("    at J1 10.4 10.5 #null #null\n    at S4 #null #null\n    at S3 #null #null\n"), "{rows}");
    let (with, without) = (rows.matches("at S").count(), text.matches("at S").count());
    assert_eq!((with, without), (13, 0), "every support but the one that has its row");
    // The plan of `wayledger shims`, as its record has it.
    let survey = "mast-router/2026-10-27-inspector-1.kdl";
    let stations = |at: &str| -> String {
        let low = ["S1", "S2", "S3", "S4", "S5", "S6", "S7", "S8", "S9", "J1", "S12", "S13", "S14", "S15"];
        low.iter().map(|name| format!("    at {name} {}\n", if *name == at { "0" } else { "-0.02" })).collect()
    };
    let text = format!(
        "survey gap X.right date=\"2026-10-27\" by=inspector-1 gauge=DI-6 stage=as-fitted {{\n{}    closure S1 -0.02\n}}\n",
        stations("J1")
    );
    let text = text.replace("at S9 -0.02", "at S9 -0.07");
    editor.open_with(survey, &text);
    let offers = offered(&mut editor, survey, &text, (0, 3), Some("refactor"));
    let shimmed = named(&offers, "Put in the shims of the plan");
    std::fs::write(yard.path().join(survey), &text).expect("written");
    let (out, err, _) = run(yard.path(), &["shims", "X.right", "--ledger", "mast-router", "--today", "2026-11-01"]);
    let added = shimmed[text.len()..].trim();
    assert!(added.starts_with("shim X.right date=\"2026-11-01\" by=inspector-1 {"), "{added}");
    assert!(out.contains("S9"), "{out}{err}");
    assert!(added.contains("at S9"), "{added}\n{out}");
}

#[test]
fn nothing_is_offered_for_a_text_that_cannot_be_proven() {
    let yard = yard();
    let mut editor = Editor::start(yard.path(), able());
    let file = "mast-router/2026-10-26-fitter-3.kdl";
    let text = editor.on_disk(file).replacen("stage=full {", "stage=full { at \"", 1);
    editor.open_with(file, &text);
    let offers = offered(&mut editor, file, &text, (0, 0), Some("refactor"));
    assert!(offers.is_empty(), "{offers:?}");
}
