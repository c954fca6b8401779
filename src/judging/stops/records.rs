//! The records of a ledger as they say it, fact by fact: what means nothing (spacing, comments, units, the file, the order
//! of rows that have none) is left out, so that new, grown, changed and removed records can be told.

use std::collections::BTreeMap;

use crate::finding::Place;
use crate::language::schema::language;
use crate::ledger::seal::FactGroup;
use crate::ledger::{Body, KINDS, Ledger, Record, TorqueReading};
use crate::text::{EntryRef, NodeRef, Span};
use crate::world::ledgers::is_shared;

/// One record.
#[derive(Clone, Debug)]
pub(super) struct RecordText {
    pub kind: &'static str,
    /// Its kind, what it is about and when: `inspect X.left.J1 2026-04-15`.
    pub name: String,
    /// All it says, notes left out.
    pub says: String,
    /// The same, one by one, with its notes.
    pub facts: Vec<RecordFact>,
    /// The same with a row for each support that stands in a row or a range; nothing where that cannot be told.
    pub each: Option<Vec<RecordFact>>,
    /// The order of its rows means something.
    pub ordered: bool,
    pub head: Place,
    /// The whole node.
    pub whole: Place,
    /// Its place among the ledger's records.
    pub record: Option<usize>,
}

/// One thing that a record says: a property of its head, or a row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct RecordFact {
    /// What it is about: `gauge`, `at S1`. Several rows may be about the same.
    pub what: String,
    pub value: String,
    pub place: Place,
}

/// The row that a person wrote for people.
pub(super) const NOTE: &str = "note";

impl RecordText {
    /// Its kind, without what it is about: `hold`.
    pub(crate) fn is(&self, kinds: &[&str]) -> bool {
        kinds.contains(&self.kind)
    }

    pub(super) fn notes(&self) -> impl Iterator<Item = &str> {
        self.facts.iter().filter(|fact| fact.what == NOTE).map(|fact| fact.value.as_str())
    }

    /// What it says under a property of its head.
    pub(super) fn says_of(&self, what: &str) -> Option<&str> {
        self.facts.iter().find(|fact| fact.what == what).map(|fact| fact.value.as_str())
    }

    /// What it says and what another one says, row by row in one way.
    pub(super) fn beside<'s>(&'s self, other: &'s RecordText) -> (&'s [RecordFact], &'s [RecordFact]) {
        match (&self.each, &other.each) {
            (Some(own), Some(others)) => (own, others),
            _ => (&self.facts, &other.facts),
        }
    }

    /// Its kind and what it is about, and the day.
    pub(super) fn subject_and_day(&self) -> (&str, &str) {
        let (subject, moment) = self.name.rsplit_once(' ').unwrap_or((&self.name, ""));
        (subject, moment.get(..10).unwrap_or(moment))
    }
}

/// All records, as they stand.
pub(super) fn records(ledger: &Ledger) -> Vec<RecordText> {
    let index: BTreeMap<Place, usize> =
        ledger.records.iter().enumerate().map(|(index, record)| (record.place, index)).collect();
    let mut all = Vec::new();
    for (source, file) in ledger.sources.iter().filter(|(_, file)| !is_shared(file.path.name())) {
        for node in file.document.nodes() {
            let Some(kind) = KINDS.iter().find(|kind| **kind == node.name()) else { continue };
            let head = Place { source, span: node.head() };
            let record = index.get(&head).copied();
            let group = FactGroup::from_node(name(node), language().node(kind), node, source, |_| true);
            let mut facts: Vec<RecordFact> = Vec::with_capacity(group.facts.len());
            for fact in group.facts {
                facts.push(RecordFact { what: without_number(&fact.address), value: fact.value, place: fact.place });
            }
            if !group.ordered {
                facts.sort_by(|a, b| (&a.what, &a.value).cmp(&(&b.what, &b.value)));
            }
            // The text alone: what a range means may change with the description, and no record with it.
            let said = facts.iter().filter(|fact| fact.what != NOTE);
            let says = said.flat_map(|fact| [fact.what.as_str(), &fact.value]);
            let says = std::iter::once(*kind).chain(says).collect::<Vec<&str>>().join("\0");
            let sound = record.map(|record| &ledger.records[record]).filter(|record| !record.damaged);
            let each = sound.map(|record| one_by_one(ledger, record, facts.clone()));
            all.push(RecordText {
                kind,
                says,
                name: group.name,
                facts,
                each,
                ordered: group.ordered,
                head,
                whole: Place { source, span: node.span() },
                record,
            });
        }
    }
    all
}

/// Supports that stand in one row, or in a range, as a row for each: so a range may be written out, and grow.
fn one_by_one(ledger: &Ledger, record: &Record, facts: Vec<RecordFact>) -> Vec<RecordFact> {
    let Some(id) = record.rail() else { return facts };
    let (word, rows): (&str, BTreeMap<Place, usize>) = match &record.body {
        Body::Fasten(fasten) => {
            let clicked = fasten.rows.iter().enumerate().filter(|(_, row)| row.what == TorqueReading::Clicked);
            ("clicked", clicked.map(|(at, row)| (row.place, at)).collect())
        }
        Body::Loosen(loosen) => ("at", loosen.supports.iter().enumerate().map(|(at, it)| (it.place, at)).collect()),
        _ => return facts,
    };
    let supports = &ledger.machine.axes[id.axis].rails[id.rail].supports;
    // All supports of a range stand at one place: the last of them is kept there, and those before it are found by it.
    let support_at = |at: usize| match &record.body {
        Body::Fasten(fasten) => fasten.rows.get(at).map(|row| (row.place, row.support)),
        Body::Loosen(loosen) => loosen.supports.get(at).map(|it| (it.place, it.value)),
        _ => None,
    };
    let mut all = Vec::with_capacity(facts.len());
    for fact in facts {
        let row = fact.place.span;
        let inside = |place: Place| {
            place.source == fact.place.source && row.start <= place.span.start && place.span.end <= row.end
        };
        let from = Place { source: fact.place.source, span: Span { start: row.start, end: row.start } };
        let found: Vec<(Place, usize)> = match fact.what.split(' ').next() == Some(word) {
            true => {
                rows.range(from..).take_while(|(place, _)| inside(**place)).map(|(place, at)| (*place, *at)).collect()
            }
            false => Vec::new(),
        };
        if found.is_empty() {
            all.push(fact);
            continue;
        }
        for (place, last) in found {
            let of_range = (0..=last).rev().map_while(support_at).take_while(|(at, _)| *at == place);
            let mut names: Vec<String> = of_range
                .map(|(_, support)| supports.get(support).map_or(String::new(), |support| support.name.to_string()))
                .collect();
            names.reverse();
            all.extend(names.into_iter().map(|value| RecordFact { what: format!("{word} {value}"), value, place }));
        }
    }
    all
}

/// `at S1` of `at S1 #2`.
fn without_number(address: &str) -> String {
    match address.rsplit_once(" #") {
        Some((what, number)) if number.bytes().all(|byte| byte.is_ascii_digit()) => what.to_owned(),
        _ => address.to_owned(),
    }
}

fn name(node: NodeRef) -> String {
    let shape = language().node(node.name()).map_or(0, |shape| shape.args.len());
    let mut words = vec![node.name().to_owned()];
    words.extend(node.args().take(shape).filter_map(EntryRef::word).map(str::to_owned));
    words.extend(node.prop("date").and_then(EntryRef::word).map(str::to_owned));
    words.join(" ")
}

/// Those of one list that another lacks, each as often as it is lacking.
pub(super) fn lacking<'s>(of: &'s [RecordText], other: &[RecordText]) -> Vec<&'s RecordText> {
    let mut known: BTreeMap<&str, usize> = BTreeMap::new();
    for said in other {
        *known.entry(&said.says).or_default() += 1;
    }
    of.iter()
        .filter(|said| match known.get_mut(said.says.as_str()) {
            Some(count) if *count > 0 => {
                *count -= 1;
                false
            }
            _ => true,
        })
        .collect()
}
