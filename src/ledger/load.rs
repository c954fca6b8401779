//! From the files of one ledger to the typed ledger, with all that is wrong with its text.

use std::sync::{Arc, OnceLock};

use super::damage::Damage;
use super::derive::derive;
use super::describe::{self, Faults};
use super::given::{Row, text};
use super::half_told::{self, Lost};
use super::history::{RailHistory, histories};
use super::machine::Machine;
use super::record::Record;
use super::recording;
use super::shop::{self, Shop};
use super::timeline::Timeline;
use super::unread::Unread;
use super::withdraw::withdraw;
use crate::finding::{Finding, Grade, Place, Source, SourceId, Sources};
use crate::quantity::better_spelling;
use crate::rulebook::{Change, ENTRIES, Rulebook, Spelt};
use crate::schema::{self, FileKind};
use crate::syntax::{self, NodeRef, Span, Value};
use crate::world::{Path, Unreadable};

/// A file read as text: its document and what the reader found at fault.
#[derive(Clone, Debug)]
pub struct TextFile {
    pub source: Arc<Source>,
    pub faults: Arc<[syntax::Fault]>,
    /// Why its bytes could not be had, if they could not.
    pub unreadable: Option<Unreadable>,
    /// Nothing is wrong with its text: found out once, however many ledgers a shop file applies to.
    flawless: OnceLock<bool>,
}

impl TextFile {
    pub fn read(path: Path, bytes: Vec<u8>) -> TextFile {
        let read = syntax::read_bytes(bytes, &syntax::Limits::default());
        TextFile {
            source: Arc::new(Source { path, document: read.document }),
            // Most have none: those share one empty list.
            faults: if read.faults.is_empty() { Arc::default() } else { read.faults.into() },
            unreadable: None,
            flawless: OnceLock::new(),
        }
    }

    /// A file whose bytes cannot be had.
    pub fn unreadable(path: Path, why: Unreadable) -> TextFile {
        let source = Arc::new(Source { path, document: syntax::Document::default() });
        TextFile { source, faults: Arc::new([]), unreadable: Some(why), flawless: OnceLock::new() }
    }

    /// Why some of its bytes were not read, so that nobody knows what they say; nothing where all were.
    pub fn unread(&self) -> Option<String> {
        let cut = || self.faults.iter().find(|fault| fault.kind.leaves_unread()).map(syntax::Fault::message);
        self.unreadable.as_ref().map(ToString::to_string).or_else(cut)
    }

    /// Whether nothing is wrong with the text of a shop file.
    fn is_flawless_shop(&self) -> bool {
        *self.flawless.get_or_init(|| self.findings(SourceId::default(), FileKind::Shop).is_empty())
    }

    /// What is wrong with the text alone: unreadable places and the shape of nodes.
    pub fn findings(&self, source: SourceId, kind: FileKind) -> Vec<Finding> {
        if let Some(why) = &self.unreadable {
            let place = Place { source, span: Span::default() };
            let message = format!("the file cannot be read: {why}");
            let finding = Finding::new("unreadable", Grade::Nonconformity, "", place, message);
            return vec![finding.next("until it can be read, nothing in it is judged")];
        }
        let mut spans: Vec<Span> = self.faults.iter().map(|fault| fault.span).collect();
        spans.sort();
        let mut findings: Vec<Finding> = self.faults.iter().map(|fault| unreadable(fault, source)).collect();
        findings.extend(schema::check(schema::language(), &self.source.document, source, kind, &spans));
        findings
    }
}

fn unreadable(fault: &syntax::Fault, source: SourceId) -> Finding {
    let at = |span| Place { source, span };
    let next = match &fault.kind {
        syntax::FaultKind::BadNumber(raw) => better_spelling(raw).map(|better| format!("write {better}")),
        _ => None,
    };
    let mut finding = Finding::new("unreadable", Grade::Nonconformity, "", at(fault.span), fault.message())
        .here("here")
        .next(next.unwrap_or_else(|| fault.help()));
    if let Some((span, label)) = &fault.also {
        finding = finding.also(at(*span), label.to_string());
    }
    finding
}

/// What became of an attached file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Attached {
    /// Its bytes have this digest, in hexadecimal digits.
    Sha256(String),
    /// Why its bytes could not be had.
    Unreadable(String),
}

/// One ledger, understood.
#[derive(Clone, Debug, Default)]
pub struct Ledger {
    pub folder: Path,
    pub sources: Sources,
    pub shop: Shop,
    pub rulebook: Rulebook,
    pub machine: Machine,
    /// As they stand, file by file.
    pub records: Vec<Record>,
    pub timeline: Timeline,
    pub(super) histories: Vec<Vec<RailHistory>>,
    /// The attached files that were looked at, by their path as written. Reading them is for who has the files.
    pub attachments: std::collections::BTreeMap<String, Attached>,
    /// Records that the text tells only half.
    pub lost: Vec<Lost>,
    /// What faults of the text leave unknown.
    pub(super) unread: Unread,
    /// The machine's or a shop's file tells something only half.
    pub half_described: bool,
    /// What is wrong with the text and with names.
    pub text_findings: Vec<Finding>,
}

impl Ledger {
    /// Reads a ledger from its own files, `machine.kdl` among them, and the shop files that apply, nearest first.
    /// Findings about shop files are not taken up here: a shop file is judged once, not once a ledger.
    pub fn new(folder: Path, files: Vec<TextFile>, shops: &[TextFile]) -> Ledger {
        let mut ledger = Ledger { folder, ..Ledger::default() };
        let mut own: Vec<(SourceId, TextFile, FileKind)> = Vec::with_capacity(files.len());
        for file in files {
            let kind = match file.source.path.0.rsplit('/').next() {
                Some("machine.kdl") => FileKind::Machine,
                Some("shop.kdl") => FileKind::Shop,
                _ => FileKind::Record,
            };
            let id = ledger.sources.add(Arc::clone(&file.source));
            own.push((id, file, kind));
        }
        let mut faults = Faults::default();
        let machine_file = own.iter().position(|(_, _, kind)| *kind == FileKind::Machine);
        for (id, file, kind) in &own {
            faults.found.extend(file.findings(*id, *kind));
        }
        faults.damage = Damage::of(&faults.found);
        for file in shops {
            faults.half_told.append(&mut half_told::names(&file.source.document));
        }
        ledger.half_described = !faults.half_told.is_empty();
        if let Some((id, file, _)) = machine_file.map(|index| &own[index])
            && faults.found.iter().any(|finding| finding.at.place.source == *id)
        {
            faults.half_told.append(&mut half_told::names(&file.source.document));
            ledger.half_described = true;
        }
        ledger.take_shops(&own, shops, &mut faults);
        if let Some(index) = machine_file {
            let (id, file, _) = &own[index];
            let node = file.source.document.nodes().find(|node| node.is("machine"));
            if let Some(node) = node {
                ledger.machine = describe::machine(Row { node, source: *id }, &mut faults);
                if let Some(book) = node.children().find(|child| child.is("rulebook")) {
                    ledger.take_rulebook(Row { node: book, source: *id }, "machine");
                }
            }
        }
        derive(&mut ledger.machine, &ledger.shop, &mut faults);
        // Where a file that describes instruments cannot be read whole, nobody knows which there are.
        let machine_text = own.iter().filter(|(_, _, kind)| *kind == FileKind::Machine).map(|(_, file, _)| file);
        let whole = shops.iter().chain(machine_text).all(|file| file.faults.is_empty() && file.unreadable.is_none());
        let known = recording::Known { machine: &ledger.machine, shop: whole.then_some(&ledger.shop) };
        ledger.records.reserve(own.iter().map(|(_, file, _)| file.source.document.nodes().count()).sum());
        for (id, file, kind) in &own {
            if *kind == FileKind::Shop {
                continue;
            }
            for node in file.source.document.nodes() {
                let row = Row { node, source: *id };
                match recording::record(row, known, &mut faults) {
                    Some(record) => ledger.records.push(record),
                    None => ledger.lost.extend(half_told::misspelt(node, &ledger.machine)),
                }
            }
        }
        withdraw(&mut ledger.records, &ledger.sources, &mut faults);
        spare_withdrawn(&ledger.records, &mut faults.found);
        let own_files: Vec<&TextFile> = own.iter().map(|(_, file, _)| file).collect();
        let shops_sound = shops.iter().all(TextFile::is_flawless_shop);
        ledger.unread = Unread::of(&ledger.machine, &ledger.records, &faults.found, &own_files, shops_sound);
        let damaged = ledger.records.iter().filter(|record| record.damaged && record.counts());
        let rail =
            |record: &Record| record.rail().or_else(|| half_told::probable_rail(&ledger.machine, record.on.as_ref()?));
        ledger.lost.extend(damaged.map(|record| Lost { kind: record.kind, rail: rail(record) }));
        ledger.lost.sort_unstable();
        ledger.lost.dedup();
        ledger.timeline = Timeline::new(&ledger.records);
        ledger.histories = histories(&ledger.machine, &ledger.records, &ledger.timeline);
        ledger.text_findings = faults.found;
        ledger
    }

    /// The same with some withdrawn records put back, as if nobody had withdrawn them.
    pub(crate) fn with_put_back(&self, records: &[usize]) -> Ledger {
        let mut ledger = self.clone();
        for index in records {
            ledger.records[*index].void = None;
        }
        ledger.timeline = Timeline::new(&ledger.records);
        ledger.histories = histories(&ledger.machine, &ledger.records, &ledger.timeline);
        ledger
    }

    /// No machine, only files: what a shop file on its own is.
    pub(crate) fn of_files(sources: Sources) -> Ledger {
        Ledger { sources, ..Ledger::default() }
    }

    /// Entries of one name in one shop file.
    pub(crate) fn duplicates_in_shop(file: &TextFile, source: SourceId) -> Vec<Finding> {
        let mut faults = Faults::default();
        let shops = file.source.document.nodes().filter(|node| node.is("shop"));
        shop::duplicates(shops.map(|node| Row { node, source }), |name, first| {
            faults.duplicate("entries", name, first);
        });
        faults.found
    }

    fn take_shops(&mut self, own: &[(SourceId, TextFile, FileKind)], shops: &[TextFile], faults: &mut Faults) {
        // A shop node in the machine's own file is the nearest of all.
        let inner = own
            .iter()
            .filter(|(_, _, kind)| *kind == FileKind::Machine)
            .map(|(id, file, _)| (*id, Arc::clone(&file.source)));
        let mut all: Vec<(SourceId, Arc<Source>, bool)> = inner.map(|(id, source)| (id, source, true)).collect();
        for file in shops {
            all.push((self.sources.add(Arc::clone(&file.source)), Arc::clone(&file.source), false));
        }
        for (id, source, inner) in &all {
            for node in source.document.nodes().filter(|node| node.is("shop")) {
                self.shop.add(Row { node, source: *id }, &mut |name, first| {
                    if *inner {
                        faults.duplicate("entries", name.word(), first);
                    }
                });
            }
        }
        // The nearest change of a limit must win, so the farthest is taken first.
        for (id, source, _) in all.iter().rev() {
            for node in source.document.nodes().filter(|node| node.is("shop")) {
                for book in node.children().filter(|child| child.is("rulebook")) {
                    self.take_rulebook(Row { node: book, source: *id }, "shop");
                }
            }
        }
    }

    fn take_rulebook(&mut self, book: Row, by: &'static str) {
        for row in book.children() {
            let Some(entry) = ENTRIES.iter().find(|entry| entry.name == row.name()) else { continue };
            let Some(reason) = row.text("reason") else { continue };
            self.rulebook.apply(Change {
                entry,
                least: spelt(row.node, "least"),
                most: spelt(row.node, "most"),
                choice: row.text("is").map(|word| word.value),
                reason: reason.value,
                place: row.place(),
                by,
            });
        }
    }
}

/// A record that was withdrawn is judged only for being readable: what it names may be gone, and nobody may mend it.
fn spare_withdrawn(records: &[Record], found: &mut Vec<Finding>) {
    let mut withdrawn: Vec<Place> = records.iter().filter(|it| !it.counts()).map(|it| it.whole).collect();
    if withdrawn.is_empty() {
        return;
    }
    withdrawn.sort();
    found.retain(|finding| {
        let at = finding.at.place;
        let readable = matches!(finding.rule, "unreadable" | "joined-punctuation");
        let before = withdrawn.partition_point(|whole| (whole.source, whole.span.start) <= (at.source, at.span.start));
        let inside = before.checked_sub(1).is_some_and(|index| {
            let whole = withdrawn[index];
            whole.source == at.source && at.span.end <= whole.span.end
        });
        readable || !inside
    });
}

fn spelt(node: NodeRef, prop: &str) -> Option<Spelt> {
    let entry = node.prop(prop)?;
    match entry.value() {
        Value::Number(_) => Some(Spelt { raw: text(entry)?, unit: entry.ty().map(|(unit, _)| unit.to_string()) }),
        _ => None,
    }
}
