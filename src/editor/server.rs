//! The server itself: one message after the other. Nothing that a client sends brings it down: what cannot be read is
//! refused, and a fault of ours in one request is an answer like any other.

use std::collections::{BTreeMap, VecDeque};
use std::panic::{AssertUnwindSafe, catch_unwind};

use gen_lsp_types::{
    DidChangeTextDocumentParams, DidCloseTextDocumentParams, DidOpenTextDocumentParams, InitializeParams,
    InitializeResult, PublishDiagnosticsParams, ServerInfo,
};
use lsp_server::{Connection, ErrorCode, Message, Notification, Request, RequestId, Response};
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};

use super::desk::Desk;
use super::protocol::{Client, ClientOptions, RequestError};
use super::{actions, completion, findings, hints, hover, layout, outline, places};
use crate::world::Disk;

/// How a request is answered.
pub(super) type RequestAnswer = fn(&mut Desk, Value) -> Result<Value, RequestError>;

/// The requests that are answered, by their methods.
pub(super) const ANSWERS: &[(&str, RequestAnswer)] = &[
    ("textDocument/diagnostic", |desk, it| reply(it, |it| findings::pulled(desk, &it))),
    ("workspace/textDocumentContent", |_, it| reply(it, |it| findings::rule_page(&it))),
    ("textDocument/completion", |desk, it| reply(it, |it| completion::completion(desk, &it))),
    ("textDocument/hover", |desk, it| reply(it, |it| hover::hover(desk, &it))),
    ("textDocument/inlayHint", |desk, it| reply(it, |it| hints::hints(desk, &it))),
    ("textDocument/definition", |desk, it| reply(it, |it| places::definition(desk, &it))),
    ("textDocument/references", |desk, it| reply(it, |it| places::references(desk, &it))),
    ("textDocument/prepareRename", |desk, it| reply(it, |it| places::prepare_rename(desk, &it))),
    ("textDocument/rename", |desk, it| reply(it, |it| places::rename(desk, &it))),
    ("textDocument/codeAction", |desk, it| reply(it, |it| actions::actions(desk, &it))),
    ("textDocument/documentSymbol", |desk, it| reply(it, |it| outline::symbols(desk, &it))),
    ("workspace/symbol", |desk, it| reply(it, |it| Ok(outline::found_symbols(desk, &it)))),
    ("textDocument/foldingRange", |desk, it| reply(it, |it| outline::folds(desk, &it))),
    ("textDocument/documentLink", |desk, it| reply(it, |it| outline::links(desk, &it))),
    ("textDocument/formatting", |desk, it| reply(it, |it| layout::whole(desk, &it))),
    ("textDocument/rangeFormatting", |desk, it| reply(it, |it| layout::some(desk, &it))),
];

/// How findings are told.
const PUBLISH: &str = "textDocument/publishDiagnostics";

/// Reads what is asked for and gives what is answered.
fn reply<P: DeserializeOwned, R: Serialize>(
    params: Value,
    answer: impl FnOnce(P) -> Result<R, RequestError>,
) -> Result<Value, RequestError> {
    let params = serde_json::from_value(params).map_err(|why| RequestError::invalid(why.to_string()))?;
    serde_json::to_value(answer(params)?).map_err(|why| RequestError::new(ErrorCode::InternalError, why.to_string()))
}

/// Serves one editor over standard input and output, until it says that it goes. Whether it took its leave as the protocol
/// has it.
pub(crate) fn serve(disk: Disk) -> std::io::Result<bool> {
    let (connection, threads) = Connection::stdio();
    let in_order = Server::new(disk, ANSWERS).run(connection);
    threads.join()?;
    Ok(in_order)
}

/// What the server says to these messages, one after the other, without pipes: for tests that search for inputs. What is no
/// message of the protocol is left out, as nothing else can be made of it here.
pub fn converse(disk: Disk, messages: impl IntoIterator<Item = Value>) -> Vec<Value> {
    let (ours, Connection { sender, receiver }) = Connection::memory();
    let messages = messages.into_iter().filter_map(|it| serde_json::from_value::<Message>(it).ok());
    messages.for_each(|message| drop(sender.send(message)));
    drop(sender);
    Server::new(disk, ANSWERS).run(ours);
    receiver.try_iter().filter_map(|message| serde_json::to_value(message).ok()).collect()
}

/// Where the conversation stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Talk {
    Greeting,
    Serving,
    Leaving,
}

pub(super) struct Server {
    desk: Desk,
    answers: BTreeMap<&'static str, RequestAnswer>,
    stage: Talk,
    /// Messages that have come and were not looked at yet.
    waiting: VecDeque<Message>,
    /// Of the requests that we sent.
    last_sent: i32,
}

impl Server {
    pub(super) fn new(disk: Disk, answers: &[(&'static str, RequestAnswer)]) -> Server {
        let answers = answers.iter().copied().collect();
        Server { desk: Desk::new(disk), answers, stage: Talk::Greeting, waiting: VecDeque::new(), last_sent: 0 }
    }

    /// Answers until the client leaves or is gone.
    pub(super) fn run(mut self, connection: Connection) -> bool {
        loop {
            if self.waiting.is_empty() {
                self.tell_findings(&connection);
                let Ok(message) = connection.receiver.recv() else { return false };
                self.waiting.push_back(message);
            }
            // What was sent meanwhile may cancel what comes first.
            self.waiting.extend(connection.receiver.try_iter());
            let sent = match self.waiting.pop_front() {
                Some(Message::Request(request)) => {
                    let response = self.answer(request);
                    connection.sender.send(response.into())
                }
                Some(Message::Notification(notification)) if notification.method == "exit" => {
                    return self.stage == Talk::Leaving;
                }
                Some(Message::Notification(notification)) => {
                    self.take(&connection, notification);
                    Ok(())
                }
                // To a request of ours, none of which waits for an answer.
                Some(Message::Response(_)) | None => Ok(()),
            };
            if sent.is_err() {
                return false;
            }
        }
    }

    fn answer(&mut self, Request { id, method, params }: Request) -> Response {
        let result = match (self.stage, method.as_str()) {
            _ if self.cancels(&id) => Err(RequestError::new(ErrorCode::RequestCanceled, "cancelled")),
            (Talk::Greeting, "initialize") => self.greet(params),
            (Talk::Greeting, _) => Err(RequestError::new(ErrorCode::ServerNotInitialized, "`initialize` comes first")),
            (Talk::Serving, "shutdown") => {
                self.stage = Talk::Leaving;
                Ok(Value::Null)
            }
            (Talk::Serving, "initialize") => {
                Err(RequestError::new(ErrorCode::InvalidRequest, "`initialize` comes once"))
            }
            (Talk::Leaving, _) => Err(RequestError::new(ErrorCode::InvalidRequest, "after `shutdown` comes `exit`")),
            (Talk::Serving, _) => match self.answers.get(method.as_str()).copied() {
                Some(answer) => self.guarded(&method, |desk| answer(desk, params)),
                None => Err(RequestError::new(ErrorCode::MethodNotFound, format!("`{method}` is not answered here"))),
            },
        };
        match result {
            Ok(result) => Response::new_ok(id, result),
            Err(why) => Response::new_err(id, why.code, why.message),
        }
    }

    /// Does something with the desk. Should we fail in it, the desk is cleared of all but the open files, and the failure is
    /// said.
    fn guarded<T>(
        &mut self,
        what: &str,
        job: impl FnOnce(&mut Desk) -> Result<T, RequestError>,
    ) -> Result<T, RequestError> {
        let desk = &mut self.desk;
        catch_unwind(AssertUnwindSafe(|| job(desk))).unwrap_or_else(|_| {
            self.desk.take_disk_changed();
            let message = format!("a fault of this program in `{what}`; please report it");
            Err(RequestError::new(ErrorCode::InternalError, message))
        })
    }

    /// Whether a message that waits cancels a request.
    fn cancels(&self, id: &RequestId) -> bool {
        let cancelled = |message: &Message| match message {
            Message::Notification(it) if it.method == "$/cancelRequest" => {
                it.params.get("id").is_some_and(|of| serde_json::to_value(id).is_ok_and(|id| id == *of))
            }
            _ => false,
        };
        self.waiting.iter().any(cancelled)
    }

    fn greet(&mut self, params: Value) -> Result<Value, RequestError> {
        let params: InitializeParams =
            serde_json::from_value(params).map_err(|why| RequestError::invalid(why.to_string()))?;
        let options = params.initialization_options.and_then(|it| ClientOptions::read(serde_json::to_value(it).ok()?));
        self.desk.client = Client::new(&params.capabilities, options.unwrap_or_default());
        self.stage = Talk::Serving;
        let info = ServerInfo { name: "wayledger".into(), version: Some(env!("CARGO_PKG_VERSION").into()) };
        let result = InitializeResult { capabilities: self.desk.client.capabilities(), server_info: Some(info) };
        serde_json::to_value(result).map_err(|why| RequestError::new(ErrorCode::InternalError, why.to_string()))
    }

    /// Takes a notification. What is not known or cannot be read is passed over: there is nobody to tell.
    fn take(&mut self, connection: &Connection, Notification { method, params }: Notification) {
        if self.stage != Talk::Serving {
            return;
        }
        let _ = self.guarded(&method, |desk| {
            take(desk, &method, params);
            Ok(())
        });
        match method.as_str() {
            "initialized" if self.desk.client.watches => {
                let watch = json!({ "watchers": [{ "globPattern": "**/*.kdl" }] });
                let registration =
                    json!({ "id": "files", "method": "workspace/didChangeWatchedFiles", "registerOptions": watch });
                self.ask(connection, "client/registerCapability", json!({ "registrations": [registration] }));
            }
            "workspace/didChangeWatchedFiles" if self.desk.client.pulls && self.desk.client.refreshes_findings => {
                self.ask(connection, "workspace/diagnostic/refresh", Value::Null);
            }
            _ => {}
        }
        if matches!(method.as_str(), "workspace/didChangeWatchedFiles" | "workspace/didChangeConfiguration")
            && self.desk.client.refreshes_hints
        {
            self.ask(connection, "workspace/inlayHint/refresh", Value::Null);
        }
    }

    fn ask(&mut self, connection: &Connection, method: &str, params: Value) {
        self.last_sent += 1;
        let request = Request { id: self.last_sent.into(), method: method.to_owned(), params };
        // A client that is gone is seen at the next message.
        let _ = connection.sender.send(request.into());
    }

    /// Tells the findings of all that changed, to an editor that does not ask for them.
    fn tell_findings(&mut self, connection: &Connection) {
        if self.desk.client.pulls {
            self.desk.untold.clear();
            self.desk.closed.clear();
        }
        for uri in std::mem::take(&mut self.desk.closed) {
            let none = PublishDiagnosticsParams { uri, version: None, diagnostics: Vec::new() };
            let _ = connection.sender.send(Notification::new(PUBLISH.into(), none).into());
        }
        for path in std::mem::take(&mut self.desk.untold) {
            let told = self.guarded(PUBLISH, |desk| Ok(findings::published(desk, &path)));
            if let Ok(Some(params)) = told {
                let _ = connection.sender.send(Notification::new(PUBLISH.into(), params).into());
            }
        }
    }
}

/// What a notification says about files and settings.
fn take(desk: &mut Desk, method: &str, params: Value) {
    match method {
        "textDocument/didOpen" => {
            if let Ok(DidOpenTextDocumentParams { text_document: it }) = serde_json::from_value(params) {
                desk.take_open(it.uri, it.version, it.text);
            }
        }
        "textDocument/didChange" => {
            if let Ok(DidChangeTextDocumentParams { text_document: it, content_changes }) =
                serde_json::from_value(params)
            {
                desk.take_changes(&it.text_document_identifier.uri, it.version, content_changes);
            }
        }
        "textDocument/didClose" => {
            if let Ok(DidCloseTextDocumentParams { text_document: it }) = serde_json::from_value(params) {
                desk.take_closed(&it.uri);
            }
        }
        "textDocument/didSave" | "workspace/didChangeWatchedFiles" => desk.take_disk_changed(),
        "workspace/didChangeConfiguration" => {
            if let Some(options) = params.get("settings").cloned().and_then(ClientOptions::read) {
                desk.client.options = options;
            }
        }
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fault_of_ours_is_an_answer_and_the_server_stays() {
        let answers: &[(&'static str, RequestAnswer)] = &[
            ("fail", |_, _| panic!("a fault that the test makes")),
            ("go-on", |desk, _| Ok(json!(desk.open_ledgers().len()))),
        ];
        let (ours, theirs) = Connection::memory();
        let ask = |id: i32, method: &str, params: Value| {
            let request = Request { id: id.into(), method: method.to_owned(), params };
            theirs.sender.send(request.into()).expect("the server is there");
        };
        ask(1, "initialize", json!({ "processId": null, "rootUri": null, "capabilities": {} }));
        ask(2, "fail", Value::Null);
        ask(3, "go-on", Value::Null);
        ask(4, "shutdown", Value::Null);
        theirs.sender.send(Notification::new("exit".into(), Value::Null).into()).expect("the server is there");
        let disk = Disk::here().expect("a folder");
        assert!(Server::new(disk, answers).run(ours), "it took its leave in order");
        let answer = |_| match theirs.receiver.recv().expect("an answer") {
            Message::Response(response) => response,
            other => panic!("{other:?}"),
        };
        let got: Vec<Response> = (0..4).map(answer).collect();
        let code = |at: usize| got[at].response_result.as_ref().err().map(|why| why.code);
        assert_eq!((code(0), code(1), code(2), code(3)), (None, Some(ErrorCode::InternalError as i32), None, None));
    }
}
