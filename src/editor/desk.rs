//! What lies on the desk: the files that are open, as the editor shows them, and what is understood of them.
//!
//! A ledger is read anew when it is asked for after a change. Every file of it is looked at again, so that nothing stale
//! is shown; one whose bytes are the same is not parsed again. Attached files may be large, so their digests are kept until
//! the editor says that something changed on the disk.

use std::cell::OnceCell;
use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

use gen_lsp_types::{Location, Position, Range, TextDocumentContentChangeEvent, TextEdit, Uri};

use super::file_uri;
use super::open_file::OpenFile;
use super::overlay::Overlay;
use super::protocol::{Client, RequestError};
use crate::finding::{Finding, Place, SourceId};
use crate::judging::lint::{self, Judged, findings_of};
use crate::ledger::{Attached, Ledger, TextFile};
use crate::text::{Document, Edit, LineColumn, LineIndex, Span};
use crate::world::ledgers::{FoundLedger, is_shared, touched_by};
use crate::world::{Day, Disk, Path, World};

/// A ledger with the files that apply to it.
pub(super) struct KnownLedger {
    pub found: FoundLedger,
    pub ledger: Ledger,
    pub day: Day,
    findings: OnceCell<Vec<Finding>>,
}

impl KnownLedger {
    /// What is found in it, worked out when first asked for.
    pub(super) fn findings(&self) -> &[Finding] {
        self.findings.get_or_init(|| findings_of(&self.ledger, self.day).0)
    }

    /// The file of that path.
    pub(super) fn source(&self, path: &Path) -> Option<SourceId> {
        self.ledger.sources.iter().find(|(_, source)| source.path == *path).map(|(id, _)| id)
    }

    pub(super) fn document(&self, id: SourceId) -> &Document {
        &self.ledger.sources.get(id).document
    }
}

pub(super) struct Desk {
    pub client: Client,
    disk: Disk,
    open: BTreeMap<Path, OpenFile>,
    /// Every file as it was last read.
    read: BTreeMap<Path, TextFile>,
    attached: BTreeMap<(Path, String), Attached>,
    known: BTreeMap<Path, Rc<KnownLedger>>,
    /// Open files whose findings the editor has not been told since something changed.
    pub untold: BTreeSet<Path>,
    /// Files that were closed, whose findings the editor shows still.
    pub closed: Vec<Uri>,
}

impl Desk {
    pub(super) fn new(disk: Disk) -> Desk {
        Desk {
            client: Client::default(),
            disk,
            open: BTreeMap::new(),
            read: BTreeMap::new(),
            attached: BTreeMap::new(),
            known: BTreeMap::new(),
            untold: BTreeSet::new(),
            closed: Vec::new(),
        }
    }

    fn world(&self) -> Overlay<'_> {
        Overlay { disk: &self.disk, open: &self.open }
    }

    pub(super) fn day(&self) -> Day {
        self.disk.day()
    }

    /// What the editor's name of a file means here, and whether it has a place on the disk.
    pub(super) fn path(&self, uri: &Uri) -> (Path, bool) {
        let typed = file_uri::path_of(&uri.0).and_then(|path| self.disk.path(path.as_ref()).ok());
        typed.map_or_else(|| (Path(uri.0.clone()), false), |path| (path, true))
    }

    /// How the editor names a file.
    pub(super) fn uri(&self, path: &Path) -> Uri {
        match self.open.get(path) {
            Some(open) => open.uri.clone(),
            None => Uri(file_uri::uri_of(&self.disk.real(path).to_string_lossy())),
        }
    }

    pub(super) fn open_file(&self, path: &Path) -> Option<&OpenFile> {
        self.open.get(path)
    }

    /// A file was opened.
    pub(super) fn take_open(&mut self, uri: Uri, version: i32, text: String) {
        let (path, is_file) = self.path(&uri);
        self.open.insert(path.clone(), OpenFile { uri, path: path.clone(), is_file, version, text });
        self.changed(&path);
    }

    /// A file was changed in the editor. Changes of a file that is not open are those of an editor that lost count.
    pub(super) fn take_changes(&mut self, uri: &Uri, version: i32, changes: Vec<TextDocumentContentChangeEvent>) {
        let (path, columns) = (self.path(uri).0, self.client.columns);
        let Some(open) = self.open.get_mut(&path) else { return };
        open.version = version;
        for change in changes {
            match change {
                TextDocumentContentChangeEvent::TextDocumentContentChangeWholeDocument(whole) => open.text = whole.text,
                TextDocumentContentChangeEvent::TextDocumentContentChangePartial(part) => {
                    let lines = LineIndex::new(&open.text);
                    let at = |position: Position| lines.offset(&open.text, counted(position), columns);
                    let (start, end) = (at(part.range.start), at(part.range.end));
                    open.text.replace_range(start.min(end)..start.max(end), &part.text);
                }
            }
        }
        self.changed(&path);
    }

    /// A file was closed: what is on the disk counts again.
    pub(super) fn take_closed(&mut self, uri: &Uri) {
        let path = self.path(uri).0;
        if let Some(open) = self.open.remove(&path) {
            self.closed.push(open.uri);
            // Before what is known of it is forgotten, or nothing that was read would stay.
            self.read.retain(|path, _| self.known.values().any(|known| known.source(path).is_some()));
            self.changed(&path);
            self.untold.remove(&path);
        }
    }

    /// Something changed on the disk, nobody says what.
    pub(super) fn take_disk_changed(&mut self) {
        self.attached.clear();
        self.known.clear();
        self.untold.extend(self.open.keys().cloned());
    }

    /// What is understood of the ledgers that a file may belong to or apply to is understood no more.
    fn changed(&mut self, path: &Path) {
        let touched = |known: &KnownLedger| {
            is_shared(path.name()) || path.is_within(&known.found.folder) || known.source(path).is_some()
        };
        self.known.retain(|_, known| !touched(known));
        let beside = |open: &&OpenFile| is_shared(path.name()) || shares_folder(&open.path, path);
        self.untold.extend(self.open.values().filter(beside).map(|open| open.path.clone()));
    }

    /// The text of a file as it is now.
    pub(super) fn file(&mut self, path: &Path) -> TextFile {
        let bytes = match self.open.get(path) {
            Some(open) => Ok(open.text.clone().into_bytes()),
            None => self.disk.read(path),
        };
        let bytes = match bytes {
            Ok(bytes) => bytes,
            Err(why) => return TextFile::unreadable(path.clone(), why),
        };
        if let Some(read) = self.read.get(path)
            && read.unreadable.is_none()
            && read.source.document.text().as_bytes() == bytes
        {
            return read.clone();
        }
        let read = TextFile::read(path.clone(), bytes);
        self.read.insert(path.clone(), read.clone());
        read
    }

    /// The file that a request names. It must be open, so that the editor and we speak of the same text.
    pub(super) fn opened(&mut self, uri: &Uri) -> Result<TextFile, RequestError> {
        let path = self.path(uri).0;
        if !self.open.contains_key(&path) {
            return Err(RequestError::invalid(format!("{} is not open", uri.0)));
        }
        Ok(self.file(&path))
    }

    /// The ledger that a file belongs to; nothing for a file that ledgers share, and outside of ledgers.
    pub(super) fn ledger(&mut self, path: &Path) -> Option<Rc<KnownLedger>> {
        if is_shared(path.name()) || self.open.get(path).is_some_and(|open| !open.is_file) {
            return None;
        }
        if let Some(known) = self.known.values().find(|known| known.found.files.contains(path)) {
            return Some(Rc::clone(known));
        }
        let found = touched_by(&self.world(), std::slice::from_ref(path)).found.pop()?;
        Some(self.understand(found))
    }

    /// The same, or of the ledgers that are open the first that a shared file applies to.
    pub(super) fn ledger_by(&mut self, path: &Path) -> Option<Rc<KnownLedger>> {
        match is_shared(path.name()) {
            true => self.open_ledgers().into_iter().find(|known| known.source(path).is_some()),
            false => self.ledger(path),
        }
    }

    /// Every ledger that a shared file applies to, or that a file of its own is the only one.
    pub(super) fn ledgers_of(&mut self, path: &Path) -> Vec<Rc<KnownLedger>> {
        if !is_shared(path.name()) {
            return self.ledger(path).into_iter().collect();
        }
        let found = touched_by(&self.world(), std::slice::from_ref(path)).found;
        found.into_iter().map(|found| self.understand(found)).collect()
    }

    fn understand(&mut self, found: FoundLedger) -> Rc<KnownLedger> {
        let mut files: Vec<TextFile> = found.files.iter().map(|path| self.file(path)).collect();
        files.extend(found.misnamed.iter().map(|(path, why)| TextFile::misnamed(path.clone(), why.clone())));
        let shops: Vec<TextFile> = found.shops.iter().map(|path| self.file(path)).collect();
        let mut ledger = Ledger::new(found.folder.clone(), files, &shops);
        self.attach(&mut ledger);
        let folder = found.folder.clone();
        let known = Rc::new(KnownLedger { found, ledger, day: self.day(), findings: OnceCell::new() });
        self.known.insert(folder, Rc::clone(&known));
        known
    }

    fn attach(&mut self, ledger: &mut Ledger) {
        for file in lint::attached_files(ledger) {
            let key = (ledger.folder.clone(), file.clone());
            let world = Overlay { disk: &self.disk, open: &self.open };
            let attached = self.attached.entry(key).or_insert_with(|| lint::attached(&world, &ledger.folder, &file));
            ledger.attachments.insert(file, attached.clone());
        }
    }

    /// The ledgers that open files belong to, in the order of their folders.
    pub(super) fn open_ledgers(&mut self) -> Vec<Rc<KnownLedger>> {
        let paths: Vec<Path> = self.open.keys().cloned().collect();
        let mut all: Vec<Rc<KnownLedger>> = paths.iter().filter_map(|path| self.ledger(path)).collect();
        all.sort_by(|a, b| a.found.folder.cmp(&b.found.folder));
        all.dedup_by(|a, b| Rc::ptr_eq(a, b));
        all
    }

    /// What is found in a shared file on its own, below those above it.
    pub(super) fn shared_judged(&mut self, file: &TextFile) -> Judged {
        let path = &file.source.path;
        let found = touched_by(&self.world(), std::slice::from_ref(path)).found;
        let above = lint::shops_above(path, &found).unwrap_or_default();
        let above: Vec<TextFile> = above.into_iter().map(|path| self.file(path)).collect();
        lint::judge_shop(file, &above.iter().collect::<Vec<_>>())
    }

    /// A place of the protocol as a byte of a text.
    pub(super) fn offset(&self, document: &Document, at: Position) -> usize {
        document.lines().offset(document.text(), counted(at), self.client.columns)
    }

    pub(super) fn span(&self, document: &Document, range: Range) -> Span {
        let (start, end) = (self.offset(document, range.start), self.offset(document, range.end));
        Span::new(start.min(end), start.max(end))
    }

    pub(super) fn position(&self, document: &Document, offset: usize) -> Position {
        let at = document.lines().place_in(document.text(), offset, self.client.columns);
        Position { line: at.line - 1, character: at.column - 1 }
    }

    pub(super) fn range(&self, document: &Document, span: Span) -> Range {
        let range = span.range();
        Range { start: self.position(document, range.start), end: self.position(document, range.end) }
    }

    pub(super) fn text_edit(&self, document: &Document, edit: &Edit) -> TextEdit {
        TextEdit { range: self.range(document, edit.span), new_text: edit.text.clone() }
    }

    pub(super) fn location(&self, ledger: &Ledger, place: Place) -> Location {
        let source = ledger.sources.get(place.source);
        Location { uri: self.uri(&source.path), range: self.range(&source.document, place.span) }
    }
}

/// Whether a change of one file may change what is found in another: they lie in one ledger, or may.
fn shares_folder(one: &Path, other: &Path) -> bool {
    let within = |a: &Path, b: &Path| b.parent().is_some_and(|folder| a.is_within(&folder));
    one == other || within(one, other) || within(other, one)
}

/// The protocol counts from 0, people and the line index from 1.
fn counted(at: Position) -> LineColumn {
    LineColumn { line: at.line.saturating_add(1), column: at.character.saturating_add(1) }
}
