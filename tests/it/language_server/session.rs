//! The conversation: its beginning and its end, and whatever a client may send in between.

use serde_json::{Value, json};

use super::{Editor, able, held, yard};

#[test]
fn nothing_is_answered_before_the_greeting_and_after_the_farewell() {
    let yard = yard();
    let mut editor = Editor::silent(yard.path());
    let early = editor.try_ask("textDocument/hover", json!({})).expect_err("not greeted");
    assert_eq!(early["code"], -32002);
    editor.tell("textDocument/didOpen", json!({}));
    let greeting = json!({ "processId": null, "rootUri": null, "capabilities": {} });
    editor.ask("initialize", greeting.clone());
    assert_eq!(editor.try_ask("initialize", greeting).expect_err("twice")["code"], -32600);
    editor.ask("shutdown", Value::Null);
    assert_eq!(editor.try_ask("workspace/symbol", json!({ "query": "" })).expect_err("left")["code"], -32600);
    editor.tell("exit", Value::Null);
    assert_eq!(editor.end(), (Some(0), String::new()));
    // Without a farewell the exit code says so.
    let mut editor = Editor::start(yard.path(), able());
    editor.tell("exit", Value::Null);
    assert_eq!(editor.end().0, Some(1));
    assert_eq!(Editor::start(yard.path(), able()).end().0, Some(1), "an editor that is gone");
}

#[test]
fn whatever_is_sent_is_refused_or_passed_over() {
    let yard = yard();
    let before = held(yard.path());
    let mut editor = Editor::start(yard.path(), able());
    let file = "hull-gantry/2026-04-15-inspector-1.kdl";
    let text = editor.open(file);
    let uri = editor.uri(file);
    assert_eq!(editor.try_ask("textDocument/nonsense", json!({})).expect_err("unknown")["code"], -32601);
    editor.tell("textDocument/nonsense", json!({}));
    editor.tell("$/setTrace", json!({ "value": "verbose" }));
    let methods: Vec<&str> = ASKED.to_vec();
    for method in &methods {
        for params in
            [json!({}), json!([]), json!(null), json!({ "textDocument": { "uri": uri } }), json!({ "textDocument": 7 })]
        {
            // An error or an answer: never silence, never an end.
            let _ = editor.try_ask(method, params);
        }
        for (line, character) in
            [(-1, 0), (0, -1), (i64::from(u32::MAX), 0), (0, i64::from(u32::MAX)), (i64::MAX, 7), (3, 9999)]
        {
            let at = json!({ "line": line, "character": character });
            let range = json!({ "start": at, "end": { "line": 0, "character": 0 } });
            let params = json!({
                "textDocument": { "uri": uri }, "position": at, "range": range, "newName": "a",
                "context": { "diagnostics": [], "includeDeclaration": true }, "options": { "tabSize": 4, "insertSpaces": true }
            });
            let _ = editor.try_ask(method, params);
        }
        // A file that is not open, one that is none.
        for uri in ["file:///nowhere/x.kdl", "file://%", "", "http://x/y"] {
            let at = json!({ "line": 0, "character": 0 });
            let params = json!({
                "textDocument": { "uri": uri }, "position": at, "range": { "start": at, "end": at }, "newName": "a",
                "context": { "diagnostics": [], "includeDeclaration": true }, "options": { "tabSize": 4, "insertSpaces": true }
            });
            let _ = editor.try_ask(method, params);
        }
    }
    // Changes that make no sense, and of a file that is not open.
    for change in [
        json!({ "range": { "start": { "line": 99999, "character": 0 }, "end": { "line": 0, "character": 0 } }, "text": "" }),
        json!({ "range": { "start": { "line": -1, "character": 0 }, "end": { "line": 0, "character": 0 } }, "text": "x" }),
        json!({ "nothing": 1 }),
    ] {
        for uri in [&uri, "file:///nowhere/x.kdl"] {
            editor.tell(
                "textDocument/didChange",
                json!({ "textDocument": { "uri": uri, "version": 3 }, "contentChanges": [change] }),
            );
        }
    }
    editor.change(file, &text);
    assert_eq!(editor.findings(file), editor.findings(file));
    // The files vanish.
    std::fs::remove_dir_all(yard.path().join("hull-gantry")).expect("gone");
    editor.tell("workspace/didChangeWatchedFiles", json!({ "changes": [] }));
    let _ = editor.findings(file);
    let (code, said) = editor.leave();
    assert_eq!((code, said.as_str()), (Some(0), ""));
    let left: Vec<_> = before.into_iter().filter(|(path, _)| !path.contains("hull-gantry")).collect();
    assert_eq!(held(yard.path()), left, "the server writes no file");
}

/// Every request that the server may be sent.
const ASKED: [&str; 16] = [
    "textDocument/hover",
    "textDocument/inlayHint",
    "textDocument/definition",
    "textDocument/references",
    "textDocument/prepareRename",
    "textDocument/rename",
    "textDocument/codeAction",
    "textDocument/diagnostic",
    "workspace/textDocumentContent",
    "textDocument/completion",
    "textDocument/documentSymbol",
    "workspace/symbol",
    "textDocument/foldingRange",
    "textDocument/documentLink",
    "textDocument/formatting",
    "textDocument/rangeFormatting",
];

/// What is announced, each with the request that asks for it.
const ANNOUNCED: [(&str, &str); 14] = [
    ("hoverProvider", "textDocument/hover"),
    ("inlayHintProvider", "textDocument/inlayHint"),
    ("definitionProvider", "textDocument/definition"),
    ("referencesProvider", "textDocument/references"),
    ("renameProvider", "textDocument/prepareRename"),
    ("codeActionProvider", "textDocument/codeAction"),
    ("diagnosticProvider", "textDocument/diagnostic"),
    ("completionProvider", "textDocument/completion"),
    ("documentSymbolProvider", "textDocument/documentSymbol"),
    ("workspaceSymbolProvider", "workspace/symbol"),
    ("foldingRangeProvider", "textDocument/foldingRange"),
    ("documentLinkProvider", "textDocument/documentLink"),
    ("documentFormattingProvider", "textDocument/formatting"),
    ("documentRangeFormattingProvider", "textDocument/rangeFormatting"),
];

#[test]
fn what_is_announced_is_answered_and_nothing_else_is_announced() {
    let yard = yard();
    let mut editor = Editor::start(yard.path(), able());
    let announced: Vec<String> = editor.capabilities.as_object().expect("an object").keys().cloned().collect();
    let mut known: Vec<&str> = ANNOUNCED.iter().map(|(name, _)| *name).collect();
    known.extend(["positionEncoding", "textDocumentSync", "workspace"]);
    for name in &announced {
        assert!(known.contains(&name.as_str()), "`{name}` is announced, and no test asks for it");
    }
    let file = "hull-gantry/2026-04-15-inspector-1.kdl";
    editor.open(file);
    for (name, method) in ANNOUNCED {
        assert!(announced.iter().any(|it| it == name), "`{name}` is not announced");
        let at = json!({ "line": 1, "character": 1 });
        let params = json!({
            "textDocument": { "uri": editor.uri(file) }, "position": at, "range": { "start": at, "end": at },
            "query": "", "newName": "a", "context": { "diagnostics": [], "includeDeclaration": true },
            "options": { "tabSize": 4, "insertSpaces": true }
        });
        if let Err(why) = editor.try_ask(method, params) {
            assert_ne!(why["code"], -32601, "{method}");
            assert_ne!(why["code"], -32603, "{method}: {why}");
        }
    }
}

#[test]
fn a_cancelled_request_is_answered_as_such() {
    let yard = yard();
    let mut editor = Editor::start(yard.path(), able());
    let file = "plank-planer/2026-05-08-engineer-2.kdl";
    editor.open(file);
    // In one piece, so that the cancellation is there before the second request is looked at.
    let params = json!({ "textDocument": { "uri": editor.uri(file) } });
    let mut bytes = Vec::new();
    for message in [
        json!({ "jsonrpc": "2.0", "id": 901, "method": "textDocument/diagnostic", "params": params }),
        json!({ "jsonrpc": "2.0", "id": 902, "method": "textDocument/diagnostic", "params": params }),
        json!({ "jsonrpc": "2.0", "method": "$/cancelRequest", "params": { "id": 902 } }),
    ] {
        let text = message.to_string();
        bytes.extend(format!("Content-Length: {}\r\n\r\n{text}", text.len()).into_bytes());
    }
    editor.send_bytes(&bytes);
    assert!(editor.answer(901).is_ok());
    match editor.answer(902) {
        Err(why) => assert_eq!(why["code"], -32800),
        // It may have been answered before the word came.
        Ok(report) => assert_eq!(report["kind"], "full"),
    }
    assert_eq!(editor.leave().0, Some(0));
}

#[test]
fn a_message_that_is_none_ends_the_server_with_a_reason() {
    let yard = yard();
    let mut editor = Editor::start(yard.path(), able());
    editor.send_bytes(b"Content-Length: 5\r\n\r\n{\"a\":");
    let (code, _) = editor.end();
    assert!(matches!(code, Some(1 | 2)), "{code:?}");
}
