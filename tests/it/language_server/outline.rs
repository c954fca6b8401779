//! Outline, folding, links and layout.

use serde_json::{Value, json};

use super::super::common::program::run;
use super::{Editor, able, edited, texts, yard};

#[test]
fn the_outline_has_what_is_described_and_what_was_done() {
    let yard = yard();
    let mut editor = Editor::start(yard.path(), able());
    editor.open("mast-router/machine.kdl");
    let machine = editor.about("textDocument/documentSymbol", "mast-router/machine.kdl");
    assert_eq!(texts(&machine, "name"), ["machine mast-router"]);
    let axis = &machine[0]["children"][2];
    assert_eq!(axis["name"], "axis X");
    let rails: Vec<String> =
        texts(&axis["children"], "name").into_iter().filter(|it| it.starts_with("rail ")).collect();
    assert_eq!(rails, ["rail left", "rail right"]);
    let records = "mast-router/2026-10-26-fitter-3.kdl";
    let text = editor.open(records);
    let outline = editor.about("textDocument/documentSymbol", records);
    assert_eq!(texts(&outline, "name"), ["fasten X.left", "fasten X.left"]);
    assert_eq!(outline[1]["detail"], "2026-10-26T13:00 full fitter-3");
    assert_eq!(outline[0]["children"], Value::Null);
    // A break in the text hides nothing that stands around it.
    editor.change(records, &text.replacen("stage=full {", "stage=full { \"", 1));
    let broken = editor.about("textDocument/documentSymbol", records);
    assert_eq!(texts(&broken, "name"), ["fasten X.left", "fasten X.left"]);
}

#[test]
fn names_are_found_over_the_ledgers_that_are_open() {
    let yard = yard();
    let mut editor = Editor::start(yard.path(), able());
    editor.open("mast-router/machine.kdl");
    let found = editor.ask("workspace/symbol", json!({ "query": "di-" }));
    assert_eq!(texts(&found, "name"), ["DI-4", "DI-6"]);
    assert_eq!(found[0]["location"]["uri"], json!(editor.uri("shop.kdl")));
    let found = editor.ask("workspace/symbol", json!({ "query": "x.RIGHT" }));
    assert_eq!(texts(&found, "name"), ["X.right"]);
    assert_eq!(found[0]["containerName"], "mast-router");
}

#[test]
fn blocks_of_several_lines_can_be_folded() {
    let yard = yard();
    let mut editor = Editor::start(yard.path(), able());
    let text = editor.open("mast-router/2026-10-26-fitter-3.kdl");
    let folds = editor.about("textDocument/foldingRange", "mast-router/2026-10-26-fitter-3.kdl");
    let opening = |(at, line): (usize, &str)| line.ends_with('{').then_some(at as u64);
    let opened: Vec<u64> = text.lines().enumerate().filter_map(opening).collect();
    let starts: Vec<u64> =
        folds.as_array().expect("a list").iter().map(|it| it["startLine"].as_u64().expect("a line")).collect();
    assert_eq!(starts, opened);
}

#[test]
fn attached_files_are_links() {
    let yard = yard();
    let mut editor = Editor::start(yard.path(), able());
    let file = "mast-router/2026-10-27-fitter-3.kdl";
    std::fs::write(yard.path().join("mast-router/seat 1.txt"), "a seat").expect("written");
    let attach = |name: &str| format!("attach X.left date=\"2026-10-27\" by=fitter-3 file=\"{name}\" sha256=\"00\"\n");
    let text = attach("seat 1.txt") + &attach("gone.txt") + &attach("../shop.kdl");
    editor.open_with(file, &text);
    let links = editor.about("textDocument/documentLink", file);
    assert_eq!(texts(&links, "target"), [editor.uri("mast-router/seat 1.txt")], "what is not there is no link");
    assert_eq!(links[0]["range"]["start"]["line"], 0);
}

#[test]
fn a_file_is_laid_out_as_tidy_lays_it_out() {
    let yard = yard();
    let mut editor = Editor::start(yard.path(), able());
    let file = "hull-gantry/2026-04-15-inspector-1.kdl";
    let text = editor.open(file);
    let options = json!({ "tabSize": 4, "insertSpaces": true });
    let params = json!({ "textDocument": { "uri": editor.uri(file) }, "options": options });
    assert_eq!(editor.ask("textDocument/formatting", params.clone()), json!([]), "it is laid out already");
    let untidy = text.replace("    UL", "UL").replace(" by=", "    by=");
    assert_ne!(untidy, text);
    editor.change(file, &untidy);
    let edits = editor.ask("textDocument/formatting", params.clone());
    assert_eq!(edited(&untidy, &edits), text);
    std::fs::write(yard.path().join(file), &untidy).expect("written");
    run(yard.path(), &["tidy", file]);
    assert_eq!(editor.on_disk(file), text, "the witness: the command");
    // One record of it.
    let lines: Vec<&str> = untidy.lines().collect();
    let first = lines.iter().position(|line| line.starts_with("inspect")).expect("a record");
    let range = json!({ "start": { "line": first, "character": 3 }, "end": { "line": first, "character": 4 } });
    let mut one = params.clone();
    one["range"] = range;
    let edits = editor.ask("textDocument/rangeFormatting", one);
    let some = edited(&untidy, &edits);
    let end = text.find("\ninspect X.port.J2").expect("the second record");
    assert_eq!(some[..end], text[..end]);
    assert_eq!(some[end..], untidy[untidy.find("\ninspect X.port.J2").expect("it")..], "the rest is left alone");
    // A text with a mistake is left as it is, and why is said.
    editor.change(file, &untidy.replacen('{', "{ \"", 1));
    let refused = editor.try_ask("textDocument/formatting", params).expect_err("a mistake");
    assert!(refused["message"].as_str().expect("text").contains("it is left as it is"), "{refused}");
}
