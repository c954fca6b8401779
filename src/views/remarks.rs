//! What people wrote beside the numbers: notes, the reasons of what was undone, delivery notes. Every paper tells it in the
//! same words, since a note often holds the cause that no number shows.

use schemars::JsonSchema;
use serde::Serialize;

use crate::finding::within;
use crate::ledger::Ledger;

/// Something that somebody wrote in a record.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub(crate) struct Remark {
    /// What the record is about; nothing for goods received.
    pub on: Option<String>,
    /// The kind of record.
    pub record: &'static str,
    /// `note`, `reason` or `delivery`.
    pub kind: &'static str,
    pub text: String,
    pub date: Option<String>,
    pub by: Option<String>,
}

impl Remark {
    /// In one line, as `2026-04-16, inspector-1, loosen X.port, reason: shims under S4`.
    pub(crate) fn line(&self) -> String {
        let record = self.on.as_ref().map_or(self.record.to_string(), |on| format!("{} {on}", self.record));
        let said = [self.date.as_deref(), self.by.as_deref(), Some(record.as_str()), Some(self.kind)];
        format!("{}: {}", said.into_iter().flatten().collect::<Vec<_>>().join(", "), self.text)
    }
}

/// The remarks of the records that count, in the order of the timeline: all of them, or those about an address, what it is a
/// part of and what is a part of it.
pub(crate) fn remarks(ledger: &Ledger, about: Option<&str>) -> Vec<Remark> {
    let records = ledger.timeline.order.iter().map(|index| &ledger.records[*index]).filter(|record| {
        let on = record.on.as_ref().map(|on| on.as_str());
        about.is_none_or(|about| on.is_some_and(|on| within(on, about) || within(about, on)))
    });
    let of = records.flat_map(|record| record.remarks().map(move |(kind, text)| (record, kind, text)));
    of.map(|(record, kind, text)| Remark {
        on: record.on.as_ref().map(|on| on.to_string()),
        record: record.kind,
        kind: kind.word(),
        text: text.to_string(),
        date: record.date.map(|date| date.to_string()),
        by: record.by.as_ref().map(|by| by.to_string()),
    })
    .collect()
}
