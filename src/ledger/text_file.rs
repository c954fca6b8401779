//! One file of a ledger as text, before anything is understood of it.

use std::sync::{Arc, OnceLock};

use super::mend::{self, Mend};
use super::unmerged::{Unmerged, unmerged};
use crate::finding::{Finding, Grade, Place, Source, SourceId, names};
use crate::language::edition;
use crate::language::schema::{self, FileKind};
use crate::quantity::better_spelling;
use crate::text::{self, Span};
use crate::world::{Path, ReadError};

/// A file read as text: its document and what the reader found at fault.
#[derive(Clone, Debug)]
pub struct TextFile {
    /// Its path and what was read of it.
    pub source: Arc<Source>,
    /// What is wrong with its text.
    pub faults: Arc<[text::Fault]>,
    /// Why its bytes could not be had, if they could not.
    pub unreadable: Option<ReadError>,
    /// Merges in it that nobody settled. Then nothing else in it is read.
    pub unmerged: Arc<[Unmerged]>,
    /// The edition that it states, if that is not known. Then nothing in it is read.
    pub edition: Option<edition::UnknownEdition>,
    /// Why its name keeps it from being read, if it does.
    pub misnamed: Option<String>,
    /// Nothing is wrong with its text: found out once, however many ledgers a shared file applies to.
    flawless: Arc<OnceLock<bool>>,
}

impl TextFile {
    /// Reads bytes as a file of a ledger, whatever they hold.
    pub fn read(path: Path, bytes: Vec<u8>) -> TextFile {
        if let Some((text, unmerged)) = std::str::from_utf8(&bytes).ok().map(|text| (text, unmerged(text)))
            && !unmerged.is_empty()
        {
            let document = text::Document::without_nodes(text.to_owned());
            return TextFile { unmerged: unmerged.into(), ..TextFile::new(path, document) };
        }
        let read = text::read_bytes(bytes, &text::ReadLimits::default());
        if let Some(unknown) = edition::UnknownEdition::find(&read.document) {
            let document = text::Document::without_nodes(read.document.text().to_owned());
            return TextFile { edition: Some(unknown), ..TextFile::new(path, document) };
        }
        // Most have no faults: those share one empty list.
        let faults = if read.faults.is_empty() { Arc::default() } else { read.faults.into() };
        TextFile { faults, ..TextFile::new(path, read.document) }
    }

    fn new(path: Path, document: text::Document) -> TextFile {
        TextFile {
            source: Arc::new(Source { path, document }),
            faults: Arc::default(),
            unreadable: None,
            unmerged: Arc::default(),
            edition: None,
            misnamed: None,
            flawless: Arc::default(),
        }
    }

    /// A file whose bytes cannot be had.
    pub fn unreadable(path: Path, why: ReadError) -> TextFile {
        TextFile { unreadable: Some(why), ..TextFile::new(path, text::Document::default()) }
    }

    /// A file that is not read because of its name.
    pub fn misnamed(path: Path, why: String) -> TextFile {
        TextFile { misnamed: Some(why), ..TextFile::new(path, text::Document::default()) }
    }

    /// Why some of its bytes were not read, so that nobody knows what they say; nothing where all were.
    pub fn unread(&self) -> Option<String> {
        self.failed().or_else(|| self.misnamed.clone()).or_else(|| self.stops())
    }

    /// Why nothing of a ledger with this file is judged; nothing where it may be.
    pub(super) fn stops(&self) -> Option<String> {
        let edition = || self.edition.as_ref().map(edition::UnknownEdition::message);
        self.unmerged.first().map(Unmerged::message).or_else(edition)
    }

    /// The same where the bytes could not be had or make no text: what is unread for another reason has its finding.
    pub fn failed(&self) -> Option<String> {
        let cut = || self.faults.iter().find(|fault| fault.kind.leaves_unread()).map(text::Fault::message);
        self.unreadable.as_ref().map(ToString::to_string).or_else(cut)
    }

    /// What it is for, by its name.
    pub(crate) fn kind(&self) -> FileKind {
        FileKind::of(self.source.path.name())
    }

    /// Whether nothing is wrong with its text.
    pub(super) fn is_flawless(&self) -> bool {
        *self.flawless.get_or_init(|| self.looked_through(SourceId::default()).is_empty())
    }

    /// What is wrong with the text alone: unreadable places and the shape of nodes. A fix stays only where it keeps its
    /// promise.
    pub fn findings(&self, source: SourceId) -> Vec<Finding> {
        if self.flawless.get() == Some(&true) {
            return Vec::new();
        }
        let mut findings = self.looked_through(source);
        if findings.iter().any(|finding| finding.fix.is_some()) {
            let again =
                |text: String| TextFile::read(self.source.path.clone(), text.into_bytes()).looked_through(source);
            mend::tried(&mut findings, self.source.document.text(), again);
        }
        self.flawless.get_or_init(|| findings.is_empty());
        findings
    }

    /// The same, with every fix that was thought of.
    fn looked_through(&self, source: SourceId) -> Vec<Finding> {
        if let Some(why) = &self.unreadable {
            let place = Place { source, span: Span::default() };
            let message = format!("the file cannot be read: {why}");
            let finding = Finding::new(names::UNREADABLE, Grade::Nonconformity, "", place, message);
            return vec![finding.next("until it can be read, nothing in it is judged")];
        }
        if let Some(why) = &self.misnamed {
            let place = Place { source, span: Span::default() };
            let finding = Finding::new(names::UNREADABLE, Grade::Nonconformity, "", place, format!("not read: {why}"));
            return vec![finding.next("what it holds is not known here until it has a name that is read")];
        }
        if !self.unmerged.is_empty() {
            return self.unmerged.iter().map(|it| unsettled(it, source)).collect();
        }
        if let Some(unknown) = &self.edition {
            return vec![of_unknown_edition(unknown, source)];
        }
        let mut spans: Vec<Span> = self.faults.iter().map(|fault| fault.span).collect();
        spans.sort();
        let mend = Mend::of(&self.source.document, &self.faults);
        let mut findings: Vec<Finding> = self.faults.iter().map(|fault| unreadable(fault, source, &mend)).collect();
        if self.faults.is_empty() {
            findings.extend(unseen_break(&text::unseen_breaks(&self.source.document), self, source));
        }
        findings.extend(schema::check(schema::language(), &self.source.document, source, self.kind(), &spans));
        findings
    }
}

/// The first of some line breaks that nobody sees.
fn unseen_break(all: &[Span], file: &TextFile, source: SourceId) -> Option<Finding> {
    let first = *all.first()?;
    let c = file.source.document.text()[first.range()].chars().next()?;
    let more = match all.len() - 1 {
        0 => String::new(),
        more => format!("; so do {more} more"),
    };
    let message = format!(
        "the invisible U+{:04X} ends the line here for KDL and in no editor: what stands behind it is read{more}",
        u32::from(c)
    );
    let finding =
        Finding::new(names::UNREADABLE, Grade::Nonconformity, "", Place { source, span: first }, message).here("here");
    Some(finding.next("put a plain line break there; look whether what stands behind it was meant"))
}

fn of_unknown_edition(unknown: &edition::UnknownEdition, source: SourceId) -> Finding {
    let place = Place { source, span: unknown.span };
    Finding::new(names::UNKNOWN_EDITION, Grade::Nonconformity, "", place, unknown.message())
        .here("not known")
        .next(unknown.next())
}

fn unsettled(merge: &Unmerged, source: SourceId) -> Finding {
    let at = |span| Place { source, span };
    let finding =
        Finding::new(names::UNREADABLE, Grade::Nonconformity, "", at(merge.from), merge.message()).here("from here");
    let finding = if merge.to == merge.from { finding } else { finding.also(at(merge.to), "to here") };
    finding.next("keep what is true of both sides and take the marks away; until then the ledger is not judged")
}

fn unreadable(fault: &text::Fault, source: SourceId, mend: &Mend) -> Finding {
    let at = |span| Place { source, span };
    let next = match &fault.kind {
        text::FaultKind::BadNumber(raw) => better_spelling(raw).map(|better| format!("write {better}")),
        _ => None,
    };
    let mut finding = Finding::new(names::UNREADABLE, Grade::Nonconformity, "", at(fault.span), fault.message())
        .here("here")
        .next(next.unwrap_or_else(|| fault.help()));
    if let Some((span, label)) = &fault.also {
        finding = finding.also(at(*span), label.to_string());
    }
    match mend.fix(fault) {
        Some((title, edit)) => finding.fix(title, vec![edit]),
        None => finding,
    }
}
