//! Findings as one types. The witness is the lint itself, run on the same text saved.

use serde_json::{Value, json};

use super::super::common::program::run;
use super::{Editor, able, place, plain, yard};

const JOINTS: &str = "hull-gantry/2026-04-15-inspector-1.kdl";

/// What the lint finds in one file on the disk: rule, and line and column from 0.
fn linted(folder: &std::path::Path, ledger: &str, file: &str) -> Vec<(String, u64, u64)> {
    let (out, ..) = run(folder, &["lint", ledger, "--format", "json", "--today", "2026-11-01"]);
    let out: Value = serde_json::from_str(&out).expect("JSON");
    let mut all = Vec::new();
    for ledger in out["ledgers"].as_array().expect("a list") {
        for finding in ledger["findings"].as_array().expect("a list") {
            if finding["at"]["file"] == file {
                let number = |name: &str| finding["at"][name].as_u64().expect("a number") - 1;
                all.push((finding["rule"].as_str().expect("text").into(), number("line"), number("column")));
            }
        }
    }
    all.sort();
    all
}

fn shown(findings: &[Value]) -> Vec<(String, u64, u64)> {
    let start = |it: &Value, name: &str| it["range"]["start"][name].as_u64().expect("a number");
    let one = |it: &Value| (it["code"].as_str().expect("text").into(), start(it, "line"), start(it, "character"));
    let mut all: Vec<_> = findings.iter().map(one).collect();
    all.sort();
    all
}

#[test]
fn what_is_typed_is_found_before_it_is_saved_as_the_lint_finds_it_afterwards() {
    let yard = yard();
    let mut editor = Editor::start(yard.path(), able());
    assert_eq!(editor.capabilities["diagnosticProvider"]["interFileDependencies"], true);
    let text = editor.open(JOINTS);
    assert_eq!(shown(&editor.findings(JOINTS)), linted(yard.path(), "hull-gantry", JOINTS));
    // A step of 0.5 mm, an unknown word, a gauge that the shop has not.
    for (was, is) in
        [("-0.040 -> -0.028", "-0.540 -> -0.028"), ("light none", "ligth none"), ("gauge=DI-4", "gauge=DI-9")]
    {
        let typed = text.replacen(was, is, 1);
        assert_ne!(typed, text);
        editor.change(JOINTS, &typed);
        let found = shown(&editor.findings(JOINTS));
        std::fs::write(yard.path().join(JOINTS), &typed).expect("written");
        assert_eq!(found, linted(yard.path(), "hull-gantry", JOINTS), "{is}");
        assert!(!found.is_empty(), "{is}");
        std::fs::write(yard.path().join(JOINTS), &text).expect("written");
    }
    editor.change(JOINTS, &text);
    assert_eq!(shown(&editor.findings(JOINTS)), linted(yard.path(), "hull-gantry", JOINTS));
    assert!(!editor.has_heard("textDocument/publishDiagnostics"), "an editor that asks is not told as well");
    assert_eq!(editor.leave(), (Some(0), String::new()));
}

#[test]
fn a_finding_has_its_grade_its_page_and_its_other_places() {
    let yard = yard();
    let mut editor = Editor::start(yard.path(), able());
    let text = editor.open(JOINTS).replacen("gauge=DI-4", "gauge=LA-1", 1);
    let text = text.replacen("-0.040 -> -0.028", "-0.540 -> -0.028", 1);
    editor.change(JOINTS, &text);
    let findings = editor.findings(JOINTS);
    let of =
        |rule: &str| findings.iter().find(|it| it["code"] == rule).unwrap_or_else(|| panic!("{rule}: {findings:?}"));
    let unsuited = of("instrument-unsuited");
    assert_eq!((&unsuited["severity"], &of("joint-step")["severity"]), (&json!(3), &json!(1)));
    assert_eq!(unsuited["source"], "wayledger");
    let related = unsuited["relatedInformation"].as_array().expect("other places");
    let shop = editor.uri("shop.kdl");
    let there = related.iter().find(|it| it["location"]["uri"] == json!(shop)).expect("a place in the shop file");
    let (line, _) = place(&editor.on_disk("shop.kdl"), "gauge LA-1", 0);
    assert_eq!(there["location"]["range"]["start"]["line"], line);
    // Its page is a document of ours.
    let page = unsuited["codeDescription"]["href"].clone();
    let content = editor.ask("workspace/textDocumentContent", json!({ "uri": page }));
    let (page, ..) = run(yard.path(), &["rules", "instrument-unsuited"]);
    assert_eq!(content["text"].as_str().map(str::trim_end), Some(page.trim_end()));
    let none = editor.try_ask("workspace/textDocumentContent", json!({ "uri": "wayledger-rule:/no-rule.txt" }));
    assert_eq!(none.expect_err("no such rule")["code"], -32602);
    // Observations are hints, what is not recorded yet is no mistake.
    editor.open("mast-router/machine.kdl");
    let grades: Vec<(Value, bool)> = editor
        .findings("mast-router/machine.kdl")
        .iter()
        .map(|it| (it["severity"].clone(), it["message"].as_str().expect("text").starts_with("outstanding: ")))
        .collect();
    assert!(grades.contains(&(json!(3), true)), "{grades:?}");
    assert!(grades.iter().all(|(severity, outstanding)| !outstanding || *severity == 3), "{grades:?}");
}

#[test]
fn an_editor_that_does_not_ask_is_told() {
    let yard = yard();
    let mut editor = Editor::start(yard.path(), plain());
    assert_eq!(editor.capabilities["diagnosticProvider"], Value::Null);
    assert_eq!(editor.capabilities["positionEncoding"], "utf-16");
    let text = editor.open(JOINTS);
    let first = editor.heard("textDocument/publishDiagnostics");
    assert_eq!((&first["uri"], &first["version"]), (&json!(editor.uri(JOINTS)), &json!(1)));
    editor.change(JOINTS, &text.replacen("light none", "ligth none", 1));
    let told = editor.heard("textDocument/publishDiagnostics");
    assert_eq!(told["version"], 2);
    assert_eq!(told["diagnostics"][0]["code"], "unknown-node");
    assert_eq!(told["diagnostics"][0]["codeDescription"], Value::Null, "it cannot show the page");
    editor.tell("textDocument/didClose", json!({ "textDocument": { "uri": editor.uri(JOINTS) } }));
    let closed = editor.heard("textDocument/publishDiagnostics");
    assert_eq!(closed["diagnostics"], json!([]), "what was told of it is taken back");
    assert_eq!(editor.leave().0, Some(0));
}

#[test]
fn a_change_of_the_shop_file_judges_the_ledgers_that_are_open() {
    let yard = yard();
    let mut editor = Editor::start(yard.path(), able());
    editor.open(JOINTS);
    let shop = editor.open("shop.kdl");
    let rules = |editor: &mut Editor| -> Vec<String> {
        shown(&editor.findings(JOINTS)).into_iter().map(|(rule, ..)| rule).collect()
    };
    assert!(!rules(&mut editor).contains(&"unknown-reference".to_string()));
    editor.change("shop.kdl", &shop.replacen("gauge DI-4", "gauge DI-5", 1));
    assert!(rules(&mut editor).contains(&"unknown-reference".to_string()));
    // What is wrong with the shop file itself is told there.
    editor.change("shop.kdl", &shop.replacen("graduation=0.002", "graduatoin=0.002", 1));
    let own = editor.findings("shop.kdl");
    assert!(own.iter().any(|it| it["code"] == "unknown-property"), "{own:?}");
    // On the disk it is as it was.
    editor.tell("textDocument/didClose", json!({ "textDocument": { "uri": editor.uri("shop.kdl") } }));
    assert!(!rules(&mut editor).contains(&"unknown-reference".to_string()));
    // And a change on the disk alone is seen once the editor says so.
    std::fs::write(yard.path().join("shop.kdl"), shop.replacen("gauge DI-4", "gauge DI-5", 1)).expect("written");
    editor
        .tell("workspace/didChangeWatchedFiles", json!({ "changes": [{ "uri": editor.uri("shop.kdl"), "type": 2 }] }));
    editor.heard("workspace/diagnostic/refresh");
    assert!(rules(&mut editor).contains(&"unknown-reference".to_string()));
    let watched = editor.heard("client/registerCapability");
    assert_eq!(watched["registrations"][0]["method"], "workspace/didChangeWatchedFiles");
}

#[test]
fn text_that_lies_in_no_ledger_is_judged_as_text() {
    let yard = yard();
    let mut editor = Editor::start(yard.path(), able());
    editor.open_with("loose.kdl", "fasten X.port {");
    assert!(editor.findings("loose.kdl").iter().any(|it| it["code"] == "unreadable"));
    // Another language that is written in KDL.
    editor.open_with("settings.kdl", "keybinds { normal { bind \"q\" } }\n");
    assert!(editor.findings("settings.kdl").is_empty());
    let unsaved = "untitled:Untitled-1";
    editor.tell(
        "textDocument/didOpen",
        json!({ "textDocument": { "uri": unsaved, "languageId": "kdl", "version": 1, "text": "hold \"" } }),
    );
    let report = editor.ask("textDocument/diagnostic", json!({ "textDocument": { "uri": unsaved } }));
    assert_eq!(report["items"][0]["code"], "unreadable");
    // A ledger that was never saved is one all the same.
    editor.open_with("new/machine.kdl", "machine new { axis X { rail left { segmnt 2400 } } }");
    let found = shown(&editor.findings("new/machine.kdl"));
    assert!(found.contains(&("unknown-node".into(), 0, 35)), "{found:?}");
}

#[test]
fn columns_are_counted_as_was_agreed() {
    let yard = yard();
    // `𝄞` is one character, two units of UTF-16, four bytes.
    let text = "machine new { title \"𝄞µ\"; axis X { rail left { segmnt 2400 } } }";
    let bytes = text.find("segmnt").expect("there");
    for (able, encoding, column) in [(able(), "utf-8", bytes), (plain(), "utf-16", bytes - 3)] {
        let pulls = able["textDocument"]["diagnostic"].is_object();
        let mut editor = Editor::start(yard.path(), able);
        assert_eq!(editor.capabilities["positionEncoding"], encoding);
        editor.open_with("new/machine.kdl", text);
        let found = match pulls {
            true => editor.findings("new/machine.kdl"),
            false => editor.heard("textDocument/publishDiagnostics")["diagnostics"].as_array().expect("a list").clone(),
        };
        assert!(shown(&found).contains(&("unknown-node".into(), 0, column as u64)), "{encoding}: {found:?}");
        // And a change is put where it was meant.
        let change = json!({
            "range": { "start": { "line": 0, "character": column }, "end": { "line": 0, "character": column + 6 } },
            "text": "segment"
        });
        let uri = editor.uri("new/machine.kdl");
        editor.tell(
            "textDocument/didChange",
            json!({ "textDocument": { "uri": uri, "version": 2 }, "contentChanges": [change] }),
        );
        let found = match pulls {
            true => editor.findings("new/machine.kdl"),
            false => editor.heard("textDocument/publishDiagnostics")["diagnostics"].as_array().expect("a list").clone(),
        };
        assert!(found.iter().all(|it| it["code"] != "unknown-node"), "{encoding}: {found:?}");
    }
}

/// What a nearer shop file hides of the one above is told in it, as the lint tells it.
#[test]
fn a_shop_file_is_judged_below_those_above() {
    let yard = yard();
    let text = "shop { gauge DI-4 range=3 }\n";
    std::fs::create_dir(yard.path().join("slip")).expect("a folder");
    std::fs::write(yard.path().join("slip/shop.kdl"), text).expect("written");
    std::fs::create_dir(yard.path().join("slip/saw")).expect("a folder");
    let machine = "machine saw { axis X { rail a { segment 1200 } } }\n";
    std::fs::write(yard.path().join("slip/saw/machine.kdl"), machine).expect("written");
    let mut editor = Editor::start(yard.path(), able());
    editor.open("slip/shop.kdl");
    let hides = |editor: &mut Editor| {
        editor.findings("slip/shop.kdl").iter().filter(|it| it["code"] == "duplicate-name").count()
    };
    assert_eq!(hides(&mut editor), 1, "the file above says 0.8");
    editor.change("slip/shop.kdl", "shop { gauge DI-4 range=0.8 }\n");
    assert_eq!(hides(&mut editor), 0);
}
