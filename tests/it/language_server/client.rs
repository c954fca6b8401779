//! A small editor: it speaks the protocol's own words, framed by hand, so that nothing of the server vouches for itself.

use std::collections::VecDeque;
use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

use serde_json::{Value, json};

/// No answer takes so long, however busy the machine is.
const PATIENCE: Duration = Duration::from_secs(120);

pub(super) struct Editor {
    child: Child,
    to: Option<ChildStdin>,
    from: Receiver<Value>,
    /// What came while something else was waited for.
    aside: VecDeque<Value>,
    last: i64,
    pub folder: PathBuf,
    pub capabilities: Value,
}

/// What an editor of today can do.
pub(super) fn able() -> Value {
    json!({
        "general": { "positionEncodings": ["utf-8", "utf-16"] },
        "workspace": {
            "didChangeWatchedFiles": { "dynamicRegistration": true },
            "diagnostics": { "refreshSupport": true },
            "inlayHint": { "refreshSupport": true },
            "textDocumentContent": {}
        },
        "textDocument": {
            "completion": { "completionItem": { "snippetSupport": true } },
            "publishDiagnostics": { "relatedInformation": true },
            "diagnostic": {}
        }
    })
}

/// What any editor can do.
pub(super) fn plain() -> Value {
    json!({ "textDocument": { "publishDiagnostics": { "relatedInformation": true } } })
}

impl Editor {
    /// Starts the server in a folder, not greeted yet.
    pub(super) fn silent(folder: &Path) -> Editor {
        let mut child = Command::new(env!("CARGO_BIN_EXE_wayledger"))
            .args(["language-server", "--today", "2026-11-01"])
            .current_dir(folder)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the program is built");
        let to = child.stdin.take();
        let mut from = BufReader::new(child.stdout.take().expect("a pipe"));
        let (send, receive) = channel();
        std::thread::spawn(move || {
            loop {
                let mut length = 0;
                loop {
                    let mut line = String::new();
                    if from.read_line(&mut line).unwrap_or(0) == 0 {
                        return;
                    }
                    match line.trim() {
                        "" => break,
                        line => {
                            if let Some(bytes) = line.strip_prefix("Content-Length: ") {
                                length = bytes.parse().expect("a length");
                            }
                        }
                    }
                }
                let mut bytes = vec![0; length];
                from.read_exact(&mut bytes).expect("a whole message");
                if send.send(serde_json::from_slice(&bytes).expect("JSON")).is_err() {
                    return;
                }
            }
        });
        let folder = folder.canonicalize().expect("a folder");
        Editor { child, to, from: receive, aside: VecDeque::new(), last: 0, folder, capabilities: Value::Null }
    }

    /// Starts and greets.
    pub(super) fn start(folder: &Path, able: Value) -> Editor {
        Editor::start_with(folder, able, Value::Null)
    }

    pub(super) fn start_with(folder: &Path, able: Value, options: Value) -> Editor {
        let mut editor = Editor::silent(folder);
        let root = editor.uri("");
        let result = editor.ask(
            "initialize",
            json!({
                "processId": null, "rootUri": root, "capabilities": able, "initializationOptions": options,
                "workspaceFolders": [{ "uri": root, "name": "yard" }]
            }),
        );
        editor.capabilities = result["capabilities"].clone();
        assert_eq!(result["serverInfo"]["name"], "wayledger");
        editor.tell("initialized", json!({}));
        editor
    }

    pub(super) fn uri(&self, file: &str) -> String {
        let path = self.folder.join(file).to_string_lossy().into_owned();
        format!("file://{}", path.trim_end_matches('/').replace(' ', "%20"))
    }

    pub(super) fn send(&mut self, message: &Value) {
        let text = message.to_string();
        self.send_bytes(format!("Content-Length: {}\r\n\r\n{text}", text.len()).as_bytes());
    }

    pub(super) fn send_bytes(&mut self, bytes: &[u8]) {
        let to = self.to.as_mut().expect("it is open");
        to.write_all(bytes).and_then(|()| to.flush()).expect("the server reads");
    }

    pub(super) fn tell(&mut self, method: &str, params: Value) {
        self.send(&json!({ "jsonrpc": "2.0", "method": method, "params": params }));
    }

    /// Sends a request; its number.
    pub(super) fn request(&mut self, method: &str, params: Value) -> i64 {
        self.last += 1;
        self.send(&json!({ "jsonrpc": "2.0", "id": self.last, "method": method, "params": params }));
        self.last
    }

    /// The answer to a request, or why there is none.
    pub(super) fn answer(&mut self, id: i64) -> Result<Value, Value> {
        let found = self.wait(|message| message["id"] == id && message.get("method").is_none());
        match found.get("error") {
            Some(error) => Err(error.clone()),
            None => Ok(found["result"].clone()),
        }
    }

    pub(super) fn try_ask(&mut self, method: &str, params: Value) -> Result<Value, Value> {
        let id = self.request(method, params);
        self.answer(id)
    }

    #[track_caller]
    pub(super) fn ask(&mut self, method: &str, params: Value) -> Value {
        self.try_ask(method, params).unwrap_or_else(|error| panic!("{method}: {error}"))
    }

    /// The next notification or request of that method.
    pub(super) fn heard(&mut self, method: &str) -> Value {
        self.wait(|message| message["method"] == method)["params"].clone()
    }

    /// Whether such a message has come by now: all that was sent before the answer to an idle request.
    pub(super) fn has_heard(&mut self, method: &str) -> bool {
        let _ = self.try_ask("wayledger/nothing", json!({}));
        self.aside.iter().any(|message| message["method"] == method)
    }

    fn wait(&mut self, wanted: impl Fn(&Value) -> bool) -> Value {
        if let Some(at) = self.aside.iter().position(&wanted) {
            return self.aside.remove(at).expect("it is there");
        }
        loop {
            let message = self.from.recv_timeout(PATIENCE).expect("the server answers");
            if wanted(&message) {
                return message;
            }
            self.aside.push_back(message);
        }
    }

    /// What the server takes of memory, in kB, where the system says so.
    pub(super) fn memory(&self) -> Option<u64> {
        let status = std::fs::read_to_string(format!("/proc/{}/status", self.child.id())).ok()?;
        status.lines().find_map(|line| line.strip_prefix("VmRSS:"))?.split_whitespace().next()?.parse().ok()
    }

    /// What the file says on the disk.
    pub(super) fn on_disk(&self, file: &str) -> String {
        std::fs::read_to_string(self.folder.join(file)).expect("a file")
    }

    /// Opens a file as it is on the disk; its text.
    pub(super) fn open(&mut self, file: &str) -> String {
        let text = self.on_disk(file);
        self.open_with(file, &text);
        text
    }

    pub(super) fn open_with(&mut self, file: &str, text: &str) {
        let uri = self.uri(file);
        self.tell(
            "textDocument/didOpen",
            json!({ "textDocument": { "uri": uri, "languageId": "wayledger", "version": 1, "text": text } }),
        );
    }

    /// Shows another text in the editor.
    pub(super) fn change(&mut self, file: &str, text: &str) {
        let uri = self.uri(file);
        self.tell(
            "textDocument/didChange",
            json!({ "textDocument": { "uri": uri, "version": 2 }, "contentChanges": [{ "text": text }] }),
        );
    }

    /// Asks something of a file.
    #[track_caller]
    pub(super) fn about(&mut self, method: &str, file: &str) -> Value {
        let params = json!({ "textDocument": { "uri": self.uri(file) } });
        self.ask(method, params)
    }

    /// Asks something of a place in a file, in columns of bytes.
    #[track_caller]
    pub(super) fn at(&mut self, method: &str, file: &str, (line, character): (usize, usize)) -> Value {
        let uri = self.uri(file);
        let position = json!({ "line": line, "character": character });
        let context = json!({ "includeDeclaration": true, "triggerKind": 1 });
        self.ask(method, json!({ "textDocument": { "uri": uri }, "position": position, "context": context }))
    }

    /// The findings of a file, asked for.
    #[track_caller]
    pub(super) fn findings(&mut self, file: &str) -> Vec<Value> {
        let report = self.about("textDocument/diagnostic", file);
        assert_eq!(report["kind"], "full");
        report["items"].as_array().expect("a list").clone()
    }

    /// Takes its leave; the exit code and what the server complained of.
    pub(super) fn leave(mut self) -> (Option<i32>, String) {
        assert_eq!(self.ask("shutdown", Value::Null), Value::Null);
        self.tell("exit", Value::Null);
        self.end()
    }

    /// Goes without a word.
    pub(super) fn end(mut self) -> (Option<i32>, String) {
        self.to = None;
        let code = self.child.wait().expect("it ends").code();
        let mut said = String::new();
        self.child.stderr.take().expect("a pipe").read_to_string(&mut said).expect("text");
        (code, said)
    }
}

/// Line and column in bytes of the first place where a text stands, behind its first `skip` bytes.
#[track_caller]
pub(super) fn place(text: &str, wanted: &str, skip: usize) -> (usize, usize) {
    let at = text.find(wanted).unwrap_or_else(|| panic!("`{wanted}` is not in:\n{text}")) + skip;
    let before = &text[..at];
    (before.matches('\n').count(), at - before.rfind('\n').map_or(0, |newline| newline + 1))
}

/// The strings below a name in a list.
pub(super) fn texts(list: &Value, name: &str) -> Vec<String> {
    let list = list.as_array().expect("a list");
    list.iter().map(|it| it[name].as_str().expect("text").to_owned()).collect()
}

/// A text with edits of the protocol applied, in columns of bytes.
pub(super) fn edited(text: &str, edits: &Value) -> String {
    let lines: Vec<usize> =
        std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)).chain([text.len()]).collect();
    let at = |place: &Value| {
        let line = place["line"].as_u64().expect("a line") as usize;
        (lines[line.min(lines.len() - 1)] + place["character"].as_u64().expect("a column") as usize).min(text.len())
    };
    let mut all: Vec<(usize, usize, &str)> = edits
        .as_array()
        .expect("edits")
        .iter()
        .map(|it| (at(&it["range"]["start"]), at(&it["range"]["end"]), it["newText"].as_str().expect("text")))
        .collect();
    all.sort_by_key(|it| std::cmp::Reverse(it.0));
    let mut text = text.to_owned();
    for (start, end, new) in all {
        text.replace_range(start..end, new);
    }
    text
}
