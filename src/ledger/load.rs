//! From the files of one ledger to the typed ledger, with all that is wrong with its text.

use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};

use super::crossed::crossed;
use super::damage::Damage;
use super::derive::derive;
use super::describe;
use super::design;
use super::doubt;
use super::elsewhere::Elsewhere;
use super::faults::Faults;
use super::half_told::{self, HalfToldRecord};
use super::held::{OnHold, holds};
use super::history::{RailHistory, histories};
use super::machine::Machine;
use super::overridden::overridden;
use super::record::{Body, Record};
use super::recording;
use super::references;
use super::repeats::AllRepeats;
use super::shop::Shop;
use super::shop_entries::{self, InstrumentCounting};
use super::spanned::SourcedNode;
use super::stated_limits::stated_limits;
use super::text_file::TextFile;
use super::timeline::Timeline;
use super::to_be_had;
use super::totals::{CountedPart, too_many_findings};
use super::unread::Unread;
use super::withdraw::withdraw;
use crate::finding::MOST_FINDINGS;
use crate::finding::names;
use crate::finding::{Finding, Place, Source, SourceId, Sources};
use crate::language::rulebook::{LimitChange, Rulebook};
use crate::language::schema::FileKind;
use crate::text::NodeRef;
use crate::world::Path;

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
    /// Where it lies.
    pub folder: Path,
    /// Every file that it was read from.
    pub sources: Sources,
    /// The shop's parts and instruments.
    pub shop: Shop,
    /// The limits in force today.
    pub rulebook: Rulebook,
    /// The machine as described.
    pub machine: Machine,
    /// As they stand, file by file.
    pub records: Vec<Record>,
    /// The order of the records.
    pub timeline: Timeline,
    /// What kept or keeps an axis from release, in the order of the timeline.
    pub holds: Vec<OnHold>,
    pub(super) histories: Vec<Vec<RailHistory>>,
    /// The attached files that were looked at, by their path as written. Reading them is for who has the files.
    pub attachments: std::collections::BTreeMap<String, Attached>,
    /// Records that the text tells only half.
    pub lost: Vec<HalfToldRecord>,
    /// What faults of the text leave unknown.
    pub(super) unread: Unread,
    /// The text of a shop file that applies is at fault.
    pub(crate) shops_at_fault: bool,
    /// What a shop node of the machine's own file says otherwise than the shop files above: observations.
    pub(crate) overridden: Vec<Finding>,
    /// The machine's or a shop's file tells something only half.
    pub half_described: bool,
    /// What is wrong with the text and with names.
    pub text_findings: Vec<Finding>,
    /// For each axis the limits of its seal, where they are others than today's: worked out by `seal`, once.
    pub(crate) sealed_limits: OnceLock<Vec<Option<Rulebook>>>,
    /// What it shares with other ledgers that are judged with it.
    pub(crate) elsewhere: Elsewhere,
    /// How far the repeats of each gauge lie apart, worked out once.
    pub(super) repeats: OnceLock<AllRepeats>,
    /// Why only its text is judged and nothing of it is understood: a merge that nobody settled, an edition that is not known,
    /// or too much of something.
    pub not_judged: Option<String>,
}

impl Ledger {
    /// Whether all that the ledger says about an address could be read. Where not, nobody can say that it conforms; an
    /// empty address is the whole ledger.
    pub fn is_read(&self, address: &str) -> bool {
        self.unread.is_read(&self.machine, address)
    }

    /// Reads a ledger from its own files, `machine.kdl` among them, and the shop files that apply, nearest first.
    /// Findings about shop files are not taken up here: a shop file is judged once, not once a ledger.
    pub fn new(folder: Path, files: Vec<TextFile>, shops: &[TextFile]) -> Ledger {
        let mut ledger = Ledger { folder, ..Ledger::default() };
        let mut own: Vec<(SourceId, TextFile, FileKind)> = Vec::with_capacity(files.len());
        for file in files {
            let id = ledger.sources.add(Arc::clone(&file.source));
            let kind = file.kind();
            own.push((id, file, kind));
        }
        let mut faults = Faults::default();
        let machine_file = own.iter().position(|(_, _, kind)| *kind == FileKind::Machine);
        for (id, file, _) in &own {
            faults.found.extend(file.findings(*id));
        }
        if let Some(ledger) = ledger.stopped_by_text(&own, shops, &mut faults) {
            return ledger;
        }
        let shared: Vec<(SourceId, &TextFile)> =
            shops.iter().map(|file| (ledger.sources.add(Arc::clone(&file.source)), file)).collect();
        let machine_row = machine_file.and_then(|index| {
            let (id, file, _) = &own[index];
            let node = file.source.document.nodes().find(|node| node.is("machine"))?;
            Some(SourcedNode { node, source: *id })
        });
        let is_built_to = machine_row.is_some_and(|row| row.child("built-to").is_some());
        faults.damage = match is_built_to {
            false => Damage::from_findings(&faults.found),
            // What is wrong with a design's own text is told with its file.
            true => {
                let of_designs = shared.iter().filter(|(_, file)| file.kind() == FileKind::Design);
                let more: Vec<Finding> = of_designs.flat_map(|(id, it)| it.findings(*id)).collect();
                Damage::from_findings(&[&faults.found[..], &more[..]].concat())
            }
        };
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
        ledger.take_shops(&own, &shared, &mut faults);
        let mut designs: Vec<SourcedNode> = Vec::new();
        if let Some(row) = machine_row {
            ledger.machine = describe::machine(row, &mut faults);
            if is_built_to {
                let machine_source = own.iter().filter(|(_, _, kind)| *kind == FileKind::Machine);
                let files = machine_source.map(|(id, file, _)| (*id, file)).chain(shared.iter().copied());
                let all: Vec<SourcedNode> = files.flat_map(|(source, file)| described_in(file, source)).collect();
                designs = design::build(&mut ledger.machine, &all, &mut faults);
                for book in designs.iter().filter_map(|design| design.child("rulebook")) {
                    ledger.take_rulebook(book, "design");
                }
            }
            if let Some(book) = row.child("rulebook") {
                ledger.take_rulebook(book, "machine");
            }
        }
        // What a shop file says with the files above it is told with that file.
        let of_ledger =
            |change: &LimitChange| change.by != "shop" || own.iter().any(|(id, ..)| *id == change.place.source);
        faults.found.extend(crossed(&ledger.rulebook, of_ledger));
        derive(&mut ledger.machine, &ledger.shop, &mut faults);
        if let Some(row) = machine_row {
            for row in std::iter::once(row).chain(designs) {
                references::of_machine(row, &ledger.machine, &ledger.shop, &mut faults);
            }
            recording::corrected_parts(&ledger.machine, &mut faults);
            to_be_had::told(&ledger.machine, &ledger.shop, &mut faults);
        }
        // Where a file that describes instruments cannot be read whole, nobody knows which there are.
        let machine_text = own.iter().filter(|(_, _, kind)| *kind == FileKind::Machine).map(|(_, file, _)| file);
        let whole = shops.iter().chain(machine_text).all(|file| file.faults.is_empty() && file.unreadable.is_none());
        let known = recording::Citable { machine: &ledger.machine, shop: whole.then_some(&ledger.shop) };
        ledger.records.reserve(own.iter().map(|(_, file, _)| file.source.document.nodes().count()).sum());
        for (id, file, kind) in &own {
            if matches!(kind, FileKind::Shop | FileKind::Design) {
                continue;
            }
            for node in file.source.document.nodes() {
                let row = SourcedNode { node, source: *id };
                if faults.beyond() {
                    break;
                }
                match recording::record(row, known, &mut faults) {
                    Some(record) => ledger.records.push(record),
                    None => ledger.lost.extend(half_told::misspelt(node, &ledger.machine)),
                }
            }
        }
        carried(&mut ledger.records, &ledger.shop);
        if let Some(beyond) = faults.totals.beyond.take() {
            return Ledger::stopped(ledger.folder, ledger.sources, beyond, Vec::new());
        }
        withdraw(&mut ledger.records, &ledger.sources, &mut faults);
        spare_withdrawn(&ledger.records, &mut faults.found);
        let own_files: Vec<&TextFile> = own.iter().map(|(_, file, _)| file).collect();
        let shops_sound = shops.iter().all(TextFile::is_flawless);
        ledger.shops_at_fault = !shops_sound;
        ledger.unread = Unread::from_findings(&ledger.machine, &ledger.records, &faults.found, &own_files, shops_sound);
        let damaged = ledger.records.iter().filter(|record| record.damaged && record.counts());
        let rail =
            |record: &Record| record.rail().or_else(|| half_told::probable_rail(&ledger.machine, record.on.as_ref()?));
        ledger.lost.extend(damaged.map(|record| HalfToldRecord { kind: record.kind, rail: rail(record) }));
        ledger.lost.sort_unstable();
        ledger.lost.dedup();
        ledger.timeline = Timeline::new(&ledger.records);
        ledger.holds = holds(&ledger.records, &ledger.timeline);
        ledger.histories = histories(&ledger.machine, &ledger.records, &ledger.timeline);
        ledger.text_findings = faults.found;
        ledger
    }

    /// The ledger of which nothing but the text is judged, where a merge is not settled, an edition is not known or there is
    /// too much wrong.
    fn stopped_by_text(
        &mut self,
        own: &[(SourceId, TextFile, FileKind)],
        shops: &[TextFile],
        faults: &mut Faults,
    ) -> Option<Ledger> {
        if faults.found.len() > MOST_FINDINGS {
            faults.found.truncate(MOST_FINDINGS);
            let last = faults.found.last()?.at.place;
            let found = std::mem::take(&mut faults.found);
            return Some(Ledger::stopped(
                self.folder.clone(),
                std::mem::take(&mut self.sources),
                too_many_findings(last),
                found,
            ));
        }
        let shop = shops.iter().find(|file| file.stops().is_some());
        let first = own.iter().map(|(_, file, _)| file).chain(shop).find_map(TextFile::stops)?;
        if let Some(file) = shop {
            // Its own findings are told with the shop file.
            let source = self.sources.add(Arc::clone(&file.source));
            faults.found.extend(file.findings(source).into_iter().next());
        }
        Some(Ledger {
            folder: self.folder.clone(),
            sources: std::mem::take(&mut self.sources),
            text_findings: std::mem::take(&mut faults.found),
            not_judged: Some(first),
            ..Ledger::default()
        })
    }

    /// A ledger of which nothing is understood: why, and what else is told of its text.
    fn stopped(folder: Path, sources: Sources, why: Finding, mut found: Vec<Finding>) -> Ledger {
        let not_judged = Some(why.message.clone());
        found.push(why);
        Ledger { folder, sources, text_findings: found, not_judged, ..Ledger::default() }
    }

    /// The same with some withdrawn records put back, as if nobody had withdrawn or corrected them.
    pub(crate) fn with_put_back(&self, records: &[usize]) -> Ledger {
        let mut ledger = self.clone();
        let root = |index: usize| self.records[index].stands_for.unwrap_or(index);
        let back: BTreeMap<usize, usize> = records.iter().map(|index| (root(*index), *index)).collect();
        // What took its place would hide it.
        for (index, record) in ledger.records.iter_mut().enumerate().filter(|(_, it)| it.stands_for.is_some()) {
            if let Some(of) = back.get(&root(index)) {
                record.void = Some(*of);
            }
        }
        for index in records {
            ledger.records[*index].void = None;
        }
        ledger.timeline = Timeline::new(&ledger.records);
        ledger.holds = holds(&ledger.records, &ledger.timeline);
        ledger.sealed_limits = OnceLock::new();
        ledger.repeats = OnceLock::new();
        ledger.histories = histories(&ledger.machine, &ledger.records, &ledger.timeline);
        ledger
    }

    /// No machine, only files: what a shop file on its own is.
    pub(crate) fn of_files(sources: Sources) -> Ledger {
        Ledger { sources, ..Ledger::default() }
    }

    /// What is wrong with the entries of one shop file among each other: names twice, doubts about nothing. And what it says
    /// otherwise than the files above, nearest first.
    pub(crate) fn entries_at_fault(
        file: &TextFile,
        source: SourceId,
        above: &[(SourceId, &TextFile)],
        of_text: &[Finding],
    ) -> Vec<Finding> {
        let mut faults = Faults { damage: Damage::from_findings(of_text), ..Faults::default() };
        let shops: Vec<SourcedNode> = shop_nodes(&file.source, source).collect();
        let farther: Vec<SourcedNode> = above.iter().flat_map(|(id, file)| shop_nodes(&file.source, *id)).collect();
        faults.found.extend(overridden(&shops, &farther));
        // The nearest change of a limit must win, so the farthest is taken first.
        let mut book = Rulebook::default();
        for row in farther.iter().rev().chain(&shops).flat_map(|node| node.named("rulebook")) {
            stated_limits(row, "shop").for_each(|change| book.apply(change));
        }
        faults.found.extend(crossed(&book, |change| change.place.source == source));
        shop_entries::duplicates(shops.iter().copied(), |name, first| {
            faults.duplicate("entries", name, first);
        });
        let counting = InstrumentCounting::of(shops.iter().chain(&farther).copied());
        counting.at_fault(&shops, &mut faults);
        doubt::at_fault(&shops, &counting, &mut faults);
        faults.found
    }

    fn take_shops(
        &mut self,
        own: &[(SourceId, TextFile, FileKind)],
        shops: &[(SourceId, &TextFile)],
        faults: &mut Faults,
    ) {
        // A shop node in the machine's own file is the nearest of all.
        let inner = own
            .iter()
            .filter(|(_, _, kind)| *kind == FileKind::Machine)
            .map(|(id, file, _)| (*id, Arc::clone(&file.source)));
        let mut all: Vec<(SourceId, Arc<Source>, bool)> = inner.map(|(id, source)| (id, source, true)).collect();
        all.extend(shops.iter().map(|(id, file)| (*id, Arc::clone(&file.source), false)));
        let counting = InstrumentCounting::of(all.iter().flat_map(|(id, source, _)| shop_nodes(source, *id)));
        for (id, source, inner) in &all {
            for node in source.document.nodes().filter(|node| node.is("shop")) {
                let entries = node.children().map(|entry| 1 + entry.children().count()).sum();
                let looked_up = |entry: &NodeRef| entry.is("not-applicable") || entry.is("doubt");
                let declared = node.children().filter(looked_up).count();
                let place = Place { source: *id, span: node.head() };
                let few = faults.take(CountedPart::ShopEntries, entries, place)
                    && faults.take(CountedPart::Lookups, declared, place);
                if !few {
                    return;
                }
                self.shop.add(SourcedNode { node, source: *id }, &counting, &mut |name, first| {
                    if *inner {
                        faults.duplicate("entries", name.word(), first);
                    }
                });
            }
        }
        for (id, source, inner) in &all {
            let nodes = source.document.nodes().filter(|node| node.is("shop"));
            let shops: Vec<SourcedNode> = nodes.map(|node| SourcedNode { node, source: *id }).collect();
            self.shop.doubt(&shops, &counting);
            if *inner {
                counting.at_fault(&shops, faults);
                doubt::at_fault(&shops, &counting, faults);
                let farther = all.iter().filter(|(.., inner)| !inner);
                let above: Vec<SourcedNode> = farther.flat_map(|(id, source, _)| shop_nodes(source, *id)).collect();
                self.overridden.extend(overridden(&shops, &above));
            }
        }
        // The nearest change of a limit must win, so the farthest is taken first.
        for (id, source, _) in all.iter().rev() {
            for node in source.document.nodes().filter(|node| node.is("shop")) {
                for book in node.children().filter(|child| child.is("rulebook")) {
                    self.take_rulebook(SourcedNode { node: book, source: *id }, "shop");
                }
            }
        }
    }

    fn take_rulebook(&mut self, book: SourcedNode, by: &'static str) {
        stated_limits(book, by).for_each(|change| self.rulebook.apply(change));
    }
}

/// An inspection that does not say how its gauge was carried over the joint has it from the shop.
fn carried(records: &mut [Record], shop: &Shop) {
    for record in records {
        let Body::Inspect(inspect) = &mut record.body else { continue };
        let of_gauge = inspect.gauge.as_ref().and_then(|name| shop.gauge(name)?.carrier);
        if let (None, None, Some((reach, travel))) = (inspect.reach, inspect.travel, of_gauge) {
            (inspect.reach, inspect.travel) = (Some(reach), Some(travel));
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
        let readable = matches!(finding.rule, names::UNREADABLE | names::JOINED_PUNCTUATION);
        let before = withdrawn.partition_point(|whole| (whole.source, whole.span.start) <= (at.source, at.span.start));
        let inside = before.checked_sub(1).is_some_and(|index| {
            let whole = withdrawn[index];
            whole.source == at.source && at.span.end <= whole.span.end
        });
        readable || !inside
    });
}

/// The shop nodes of a file.
fn shop_nodes(source: &Source, id: SourceId) -> impl Iterator<Item = SourcedNode<'_>> {
    source.document.nodes().filter(|node| node.is("shop")).map(move |node| SourcedNode { node, source: id })
}

/// The designs that a file describes.
fn described_in(file: &TextFile, source: SourceId) -> impl Iterator<Item = SourcedNode<'_>> {
    let designs = file.source.document.nodes().filter(|node| node.is("design"));
    designs.map(move |node| SourcedNode { node, source })
}
