//! What is agreed with the editor when it starts the server, and how a request is refused.

use gen_lsp_types::{
    ClientCapabilities, CodeActionKind, CodeActionOptions, CompletionOptions, DiagnosticOptions, DocumentLinkOptions,
    PositionEncodingKind, RenameOptions, ServerCapabilities, TextDocumentSyncKind, TextDocumentSyncOptions,
};
use lsp_server::ErrorCode;
use serde::Deserialize;

use crate::text::ColumnUnit;

/// Why a request is not answered.
#[derive(Debug, thiserror::Error)]
#[error("{message}")]
pub(super) struct RequestError {
    pub code: i32,
    pub message: String,
}

impl RequestError {
    pub(super) fn new(code: ErrorCode, message: impl Into<String>) -> RequestError {
        RequestError { code: code as i32, message: message.into() }
    }

    /// It cannot be done as it was asked.
    pub(super) fn invalid(message: impl Into<String>) -> RequestError {
        RequestError::new(ErrorCode::InvalidParams, message)
    }
}

/// Which inlay hints are wanted, by `inlayHints` in the options that a client sends.
#[derive(Clone, Copy, Debug, Deserialize)]
#[serde(default)]
pub(super) struct HintKinds {
    /// The step behind four readings.
    pub step: bool,
    /// The position behind a support's name.
    pub position: bool,
    /// The widest place and the shim need behind stations.
    pub shim: bool,
}

impl Default for HintKinds {
    fn default() -> HintKinds {
        HintKinds { step: true, position: true, shim: true }
    }
}

/// What a client may set.
#[derive(Clone, Copy, Debug, Default, Deserialize)]
#[serde(default, rename_all = "camelCase")]
pub(super) struct ClientOptions {
    pub inlay_hints: HintKinds,
}

impl ClientOptions {
    /// Those of `initializationOptions`, or of a changed configuration, where clients put them below the program's name.
    pub(super) fn read(value: serde_json::Value) -> Option<ClientOptions> {
        let own = value.get("wayledger").cloned().unwrap_or(value);
        serde_json::from_value(own).ok()
    }
}

/// What the editor can do, and what was agreed with it.
#[derive(Clone, Debug)]
pub(super) struct Client {
    pub columns: ColumnUnit,
    /// It asks for findings by itself.
    pub pulls: bool,
    /// It can be told to ask again.
    pub refreshes_findings: bool,
    pub refreshes_hints: bool,
    /// It can be asked to watch files.
    pub watches: bool,
    /// It shows other places that belong to a finding.
    pub relates: bool,
    /// It can show the page of a rule, which we hand out as a document of our own.
    pub shows_pages: bool,
    /// What is put in may have places to jump through.
    pub snippets: bool,
    pub options: ClientOptions,
}

impl Default for Client {
    fn default() -> Client {
        Client {
            columns: ColumnUnit::Utf16,
            pulls: false,
            refreshes_findings: false,
            refreshes_hints: false,
            watches: false,
            relates: false,
            shows_pages: false,
            snippets: false,
            options: ClientOptions::default(),
        }
    }
}

impl Client {
    pub(super) fn new(can: &ClientCapabilities, options: ClientOptions) -> Client {
        let encodings = can.general.as_ref().and_then(|general| general.position_encodings.as_ref());
        let utf8 = encodings.is_some_and(|all| all.contains(&PositionEncodingKind::UTF8));
        let text = can.text_document.as_ref();
        let workspace = can.workspace.as_ref();
        let completion = text.and_then(|text| text.completion.as_ref());
        let snippets = completion.and_then(|of| of.completion_item.as_ref()?.snippet_support).unwrap_or(false);
        let published = text.and_then(|text| text.publish_diagnostics.as_ref());
        let pulled = text.and_then(|text| text.diagnostic.as_ref());
        let relates = published.and_then(|of| of.diagnostics_capabilities.related_information).unwrap_or(false)
            || pulled.and_then(|of| of.diagnostics_capabilities.related_information).unwrap_or(false);
        let refresh = |of: Option<bool>| of.unwrap_or(false);
        Client {
            columns: if utf8 { ColumnUnit::Bytes } else { ColumnUnit::Utf16 },
            pulls: pulled.is_some(),
            refreshes_findings: refresh(workspace.and_then(|of| of.diagnostics.as_ref()?.refresh_support)),
            refreshes_hints: refresh(workspace.and_then(|of| of.inlay_hint.as_ref()?.refresh_support)),
            watches: refresh(workspace.and_then(|of| of.did_change_watched_files.as_ref()?.dynamic_registration)),
            relates,
            shows_pages: workspace.is_some_and(|of| of.text_document_content.is_some()),
            snippets,
            options,
        }
    }

    /// What the server does for this client. What is named here is answered; a test asks for each.
    pub(super) fn capabilities(&self) -> ServerCapabilities {
        ServerCapabilities {
            position_encoding: Some(match self.columns {
                ColumnUnit::Bytes => PositionEncodingKind::UTF8,
                _ => PositionEncodingKind::UTF16,
            }),
            text_document_sync: Some(
                TextDocumentSyncOptions {
                    open_close: Some(true),
                    change: Some(TextDocumentSyncKind::Incremental),
                    save: Some(true.into()),
                    ..TextDocumentSyncOptions::default()
                }
                .into(),
            ),
            diagnostic_provider: self
                .pulls
                .then(|| DiagnosticOptions { inter_file_dependencies: true, ..DiagnosticOptions::default() }.into()),
            completion_provider: Some(CompletionOptions {
                trigger_characters: Some(["=", "\"", "(", ".", " "].map(str::to_owned).to_vec()),
                ..CompletionOptions::default()
            }),
            hover_provider: Some(true.into()),
            inlay_hint_provider: Some(true.into()),
            definition_provider: Some(true.into()),
            references_provider: Some(true.into()),
            rename_provider: Some(RenameOptions { prepare_provider: Some(true), ..RenameOptions::default() }.into()),
            code_action_provider: Some(
                CodeActionOptions {
                    code_action_kinds: Some(vec![CodeActionKind::QuickFix, CodeActionKind::RefactorRewrite]),
                    ..CodeActionOptions::default()
                }
                .into(),
            ),
            document_symbol_provider: Some(true.into()),
            workspace_symbol_provider: Some(true.into()),
            folding_range_provider: Some(true.into()),
            document_link_provider: Some(DocumentLinkOptions::default()),
            document_formatting_provider: Some(true.into()),
            document_range_formatting_provider: Some(true.into()),
            ..ServerCapabilities::default()
        }
    }
}
