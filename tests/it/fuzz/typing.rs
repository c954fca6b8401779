//! Whatever is typed and asked for, the language server answers, and no answer is a fault of its own; what it would change is
//! read again.
//!
//! The parts of the input, each ended by the byte 0x1F, are a machine's file, a file of records, a shop file, and what the
//! editor does: six bytes each.

use std::path::PathBuf;

use serde_json::{Value, json};
use wayledger::files::Disk;
use wayledger::language_server::converse;

/// A long text says no more than a short one, and each change reads it all again.
const MOST: usize = 6000;
/// So many acts of the editor.
const MOST_ACTS: usize = 24;

const FILES: [&str; 3] = ["m/machine.kdl", "m/2026-04-14-fitter-2.kdl", "shop.kdl"];

const ASKED: [&str; 15] = [
    "textDocument/diagnostic",
    "textDocument/completion",
    "textDocument/hover",
    "textDocument/inlayHint",
    "textDocument/definition",
    "textDocument/references",
    "textDocument/prepareRename",
    "textDocument/rename",
    "textDocument/codeAction",
    "textDocument/documentSymbol",
    "workspace/symbol",
    "textDocument/foldingRange",
    "textDocument/documentLink",
    "textDocument/formatting",
    "textDocument/rangeFormatting",
];

const PIECES: [&str; 16] =
    ["\"", "{", "}", "(", "=", "\n", "#null", "/*", "//", "-", "..", "𝄞", "\r", "at S1 ", "9e999", "X.left.J1 "];

/// A folder that is there while an input is tried.
struct Folder(PathBuf);

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir(&self.0);
    }
}

pub(crate) fn check(bytes: &[u8]) {
    let mut parts = bytes.splitn(4, |byte| *byte == 0x1F);
    let texts: Vec<String> = parts.by_ref().take(3).map(|part| String::from_utf8_lossy(part).into_owned()).collect();
    let acts = parts.next().unwrap_or_default();
    if texts.iter().map(String::len).sum::<usize>() > MOST {
        return;
    }
    let folder = Folder(std::env::temp_dir().join(format!("typing-{}", std::process::id())));
    std::fs::create_dir_all(&folder.0).expect("a folder");
    let disk = Disk::at(&folder.0).expect("it is there").on(jiff::civil::date(2026, 11, 1));
    let real = folder.0.canonicalize().expect("it is there");
    let uri = |file: &str| format!("file://{}/{file}", real.display());
    let mut messages = Vec::new();
    let mut asked = 0_i64;
    let mut ask = |method: &str, params: Value| {
        asked += 1;
        json!({ "jsonrpc": "2.0", "id": asked, "method": method, "params": params })
    };
    let tell = |method: &str, params: Value| json!({ "jsonrpc": "2.0", "method": method, "params": params });
    messages.push(ask("initialize", json!({ "processId": null, "rootUri": uri(""), "capabilities": {} })));
    messages.push(tell("initialized", json!({})));
    for (file, text) in FILES.iter().zip(&texts) {
        let document = json!({ "uri": uri(file), "languageId": "kdl", "version": 1, "text": text });
        messages.push(tell("textDocument/didOpen", json!({ "textDocument": document })));
    }
    for (version, act) in acts.chunks_exact(6).take(MOST_ACTS).enumerate() {
        let &[file, what, line, column, further, piece] = act else { continue };
        let file = uri(FILES[usize::from(file) % FILES.len()]);
        let at = json!({ "line": line, "character": column });
        let end =
            json!({ "line": u16::from(line) + u16::from(further / 64), "character": column.wrapping_add(further) });
        let range = json!({ "start": at, "end": end });
        match usize::from(what) % (ASKED.len() + 6) {
            which if which < ASKED.len() => messages.push(ask(
                ASKED[which],
                json!({
                    "textDocument": { "uri": file }, "position": at, "range": range, "query": PIECES[usize::from(piece) % 16],
                    "newName": PIECES[usize::from(piece) % 16], "options": { "tabSize": 4, "insertSpaces": true },
                    "context": { "diagnostics": [], "includeDeclaration": true }
                }),
            )),
            _ => {
                let change = json!({ "range": range, "text": PIECES[usize::from(piece) % 16] });
                let document = json!({ "uri": file, "version": version + 2 });
                messages.push(tell(
                    "textDocument/didChange",
                    json!({ "textDocument": document, "contentChanges": [change] }),
                ));
            }
        }
    }
    let count = asked;
    let answers = converse(disk, messages);
    let answered = |id: i64| answers.iter().find(|it| it["id"] == id && it.get("method").is_none());
    for id in 1..=count {
        let answer = answered(id).expect("each request is answered");
        assert_ne!(answer["error"]["code"], -32603, "{answer}");
    }
}
