//! Changes that the editor is asked to make. Each is proven first: two readers read the changed text alike, and nothing
//! beside what was meant is altered. They name the version they were made for, so that a later text is not changed by them.

use std::collections::BTreeMap;

use gen_lsp_types::{
    DocumentChange, Edit as ProtocolEdit, OptionalVersionedTextDocumentIdentifier, TextDocumentEdit,
    TextDocumentIdentifier, WorkspaceEdit,
};

use super::desk::{Desk, KnownLedger};
use super::protocol::RequestError;
use crate::finding::Finding;
use crate::judging::what_if;
use crate::ledger::TextFile;
use crate::text::{Edit, apply};
use crate::world::Path;
use crate::world::ledgers::is_shared;

/// Changes of files as the protocol writes them, proven.
pub(super) fn workspace_edit(
    desk: &mut Desk,
    edits: &BTreeMap<Path, Vec<Edit>>,
) -> Result<WorkspaceEdit, RequestError> {
    let mut all: Vec<DocumentChange> = Vec::new();
    for (path, edits) in edits {
        let file = desk.file(path);
        let document = &file.source.document;
        changed(document.text(), edits)?;
        let edits = edits.iter().map(|edit| ProtocolEdit::from(desk.text_edit(document, edit))).collect();
        let version = desk.open_file(path).map(|open| open.version);
        let identifier = TextDocumentIdentifier { uri: desk.uri(path) };
        let text_document = OptionalVersionedTextDocumentIdentifier { version, text_document_identifier: identifier };
        all.push(TextDocumentEdit { text_document, edits }.into());
    }
    Ok(WorkspaceEdit { document_changes: Some(all), ..WorkspaceEdit::default() })
}

/// The text with some changes, proven.
pub(super) fn changed(text: &str, edits: &[Edit]) -> Result<String, RequestError> {
    apply(text, edits).map_err(|why| RequestError::invalid(why.to_string()))
}

/// Fails where the text of a ledger would be at fault with some changes, and is not now.
pub(super) fn keeps_in_order(known: &KnownLedger, edits: &BTreeMap<Path, Vec<Edit>>) -> Result<(), RequestError> {
    let mut texts: Vec<(Path, String)> = Vec::new();
    for (path, edits) in edits {
        if let Some(text) = known.ledger.sources.text_of(path) {
            texts.push((path.clone(), changed(text, edits)?));
        }
    }
    let after = what_if::with(&known.ledger, &texts);
    brings_nothing(&known.ledger.text_findings, &after.text_findings)
}

/// The same of the files that ledgers share, which are judged each on its own.
pub(super) fn keep_shared_in_order(desk: &mut Desk, edits: &BTreeMap<Path, Vec<Edit>>) -> Result<(), RequestError> {
    for (path, edits) in edits.iter().filter(|(path, _)| is_shared(path.name())) {
        let file = desk.file(path);
        let was = desk.shared_judged(&file).findings;
        let after = changed(file.source.document.text(), edits)?;
        let after = TextFile::read(path.clone(), after.into_bytes());
        brings_nothing(&was, &desk.shared_judged(&after).findings)?;
    }
    Ok(())
}

/// Fails with the first finding that was not there: of a rule that finds more than before, one that says something else.
fn brings_nothing(was: &[Finding], is: &[Finding]) -> Result<(), RequestError> {
    let of = |all: &[Finding], rule| all.iter().filter(|finding| finding.rule == rule).count();
    let more = |finding: &&Finding| of(is, finding.rule) > of(was, finding.rule);
    let said = |finding: &Finding| was.iter().any(|old| old.rule == finding.rule && old.message == finding.message);
    let new = is.iter().filter(more).find(|it| !said(it)).or_else(|| is.iter().find(more));
    match new {
        Some(finding) => Err(RequestError::invalid(format!("with this name: {}", finding.message))),
        None => Ok(()),
    }
}
