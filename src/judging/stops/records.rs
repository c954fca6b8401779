//! The records of a ledger as they say it: what means nothing (spacing, comments, notes, units, the file) is left out, so
//! that new, changed and removed records can be told.

use std::collections::BTreeMap;

use crate::finding::Place;
use crate::language::schema::language;
use crate::ledger::seal::facts;
use crate::ledger::{KINDS, Ledger};
use crate::text::{NodeRef, Value};
use crate::world::ledgers::SHOP;

/// One record.
#[derive(Clone, Debug)]
pub(super) struct RecordText {
    pub kind: &'static str,
    /// Its kind, what it is about and when: `inspect X.left.J1 2026-04-15`.
    pub name: String,
    /// All it says.
    pub says: String,
    pub head: Place,
    /// The whole node.
    pub whole: Place,
    /// Its place among the ledger's records.
    pub record: Option<usize>,
}

impl RecordText {
    /// Its kind, without what it is about: `hold`.
    pub(crate) fn is(&self, kinds: &[&str]) -> bool {
        kinds.contains(&self.kind)
    }
}

/// All records, as they stand.
pub(super) fn records(ledger: &Ledger) -> Vec<RecordText> {
    let index: BTreeMap<Place, usize> =
        ledger.records.iter().enumerate().map(|(index, record)| (record.place, index)).collect();
    let mut all = Vec::new();
    for (source, file) in ledger.sources.iter().filter(|(_, file)| file.path.name() != SHOP) {
        for node in file.document.nodes() {
            let Some(kind) = KINDS.iter().find(|kind| **kind == node.name()) else { continue };
            let facts = facts(language().node(kind), node, source, |child| child.name() != "note");
            let says = facts.iter().flat_map(|fact| [fact.address.as_str(), &fact.value]);
            let head = Place { source, span: node.head() };
            all.push(RecordText {
                kind,
                name: name(node),
                says: std::iter::once(*kind).chain(says).collect::<Vec<&str>>().join("\0"),
                head,
                whole: Place { source, span: node.span() },
                record: index.get(&head).copied(),
            });
        }
    }
    all
}

fn name(node: NodeRef) -> String {
    let shape = language().node(node.name()).map_or(0, |shape| shape.args.len());
    let mut words = vec![node.name().to_owned()];
    let text = |value| match value {
        Value::Text(text) | Value::Number(text) => Some(text.to_owned()),
        Value::Bool(_) | Value::Null => None,
    };
    words.extend(node.args().take(shape).filter_map(|entry| text(entry.value())));
    words.extend(node.prop("date").and_then(|entry| text(entry.value())));
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

/// Those of one list of which another has none that says the same. Of identical records one may go.
pub(super) fn gone<'s>(of: &'s [RecordText], other: &[RecordText]) -> Vec<&'s RecordText> {
    let known: std::collections::BTreeSet<&str> = other.iter().map(|said| said.says.as_str()).collect();
    of.iter().filter(|said| !known.contains(said.says.as_str())).collect()
}
