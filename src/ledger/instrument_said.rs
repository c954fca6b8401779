//! What a file states of its instruments: calibrations, counts of cycles and doubts, each of a day with all it says, and from
//! when until when the shop had them.

use super::seal::FactGroup;
use super::spanned::SourcedNode;
use crate::finding::{Place, SourceId};
use crate::language::schema::language;
use crate::text::{Document, NodeRef, Value};

/// One statement about an instrument.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct InstrumentStatement {
    pub instrument: String,
    /// The word it is written with: `calibrated`, `cycles`, `doubt`; [`THERE`] of the days on which the shop had it.
    pub kind: &'static str,
    pub date: String,
    /// What it says under each of its words, in one spelling.
    pub facts: Vec<(String, String, Place)>,
    /// Its head.
    pub place: Place,
}

/// What stands in the shops of a file.
fn rows(document: &Document, source: SourceId) -> Vec<SourcedNode<'_>> {
    let shops = document.nodes().filter(|node| node.is("shop")).map(|node| SourcedNode { node, source });
    shops.flat_map(|shop| shop.children().collect::<Vec<_>>()).collect()
}

const KINDS: [&str; 3] = ["calibrated", "cycles", "doubt"];

/// That an instrument was there, from its first day to its last.
pub(crate) const THERE: &str = "there";

impl InstrumentStatement {
    /// The names of the instruments that the shops of a file describe.
    pub(crate) fn instruments(document: &Document) -> Vec<String> {
        let described = rows(document, SourceId::default());
        let described = described.into_iter().filter(|row| matches!(row.name(), "gauge" | "wrench"));
        described.filter_map(|row| Some(row.arg_text::<String>(0)?.value)).collect()
    }

    /// All that the shops of a file state.
    pub(crate) fn all(document: &Document, source: SourceId) -> Vec<InstrumentStatement> {
        let mut all = Vec::new();
        for row in rows(document, source) {
            let Some(name) = row.arg_text::<String>(0) else { continue };
            match row.name() {
                "doubt" => all.extend(InstrumentStatement::read(row, &name.value, &["shop", "doubt"])),
                of @ ("gauge" | "wrench") => {
                    all.push(InstrumentStatement::there(row, name.value.clone()));
                    let rows = row.children();
                    all.extend(
                        rows.filter_map(|own| InstrumentStatement::read(own, &name.value, &["shop", of, own.name()])),
                    );
                }
                _ => {}
            }
        }
        all
    }

    /// From when until when the shop had an instrument, as far as its entry says so.
    fn there(row: SourcedNode, instrument: String) -> InstrumentStatement {
        let day = |word: &str| Some((word.to_owned(), row.moment(word)?));
        let days = ["since", "until"].into_iter().filter_map(day);
        let facts = days.map(|(word, day)| (word, day.to_string(), day.place)).collect();
        InstrumentStatement { instrument, kind: THERE, date: String::new(), facts, place: row.place() }
    }

    fn read(row: SourcedNode, instrument: &str, path: &[&str]) -> Option<InstrumentStatement> {
        let kind = *KINDS.iter().find(|kind| **kind == row.name())?;
        let (first, below) = path.split_first()?;
        let shape = below.iter().try_fold(language().node(first)?, |shape, word| shape.child(word));
        let text = |value| match value {
            Value::Text(text) => Some(text.to_owned()),
            _ => None,
        };
        let date = match kind {
            "calibrated" => row.node.args().next().and_then(|entry| text(entry.value())),
            "cycles" => row.node.prop("on").and_then(|entry| text(entry.value())),
            _ => row.node.prop("date").and_then(|entry| text(entry.value())),
        };
        let every = |_: NodeRef| true;
        let group = FactGroup::from_node(String::new(), shape, row.node, row.source, every);
        let facts = group.facts.into_iter().map(|fact| (fact.address, fact.value, fact.place)).collect();
        Some(InstrumentStatement {
            instrument: instrument.to_owned(),
            kind,
            date: date.unwrap_or_default(),
            facts,
            place: row.place(),
        })
    }

    /// What it says under a word.
    pub(crate) fn says(&self, word: &str) -> Option<&str> {
        self.facts.iter().find(|(what, ..)| what == word).map(|(_, value, _)| value.as_str())
    }

    /// It speaks against the instrument: a doubt, or a calibration that found it outside, or after which it was adjusted or
    /// not in order.
    pub(crate) fn is_against(&self) -> bool {
        let bad = |value: Option<&str>, words: &[&str]| value.is_some_and(|value| words.contains(&value));
        self.kind == "doubt"
            || bad(self.says("result"), &["failed", "adjusted"])
            || bad(self.says("as-found"), &["outside"])
    }
}
