//! The order of records.
//!
//! Records follow each other by date, then by time of day. Inside one file and day the order is the order in the file. A
//! correction stands where the record stands that it replaces.
//!
//! A record without a time has none: that it stands below one of 10:00 says that it came after that one, and nothing of
//! what was done at 11:00 in another file. `certain` says whether two records stand in a certain order; where they do not,
//! a rule that would judge differently either way asks for the time.

use super::record::{Body, Record};

/// The records in the order they count.
#[derive(Clone, Debug, Default)]
pub struct Timeline {
    /// Indexes of records, withdrawn ones left out, undated ones last.
    pub order: Vec<usize>,
    /// For each record, its place in `order`; withdrawn ones have none.
    pub rank: Vec<Option<usize>>,
    /// For each record, its place among all, withdrawn ones among them.
    pub place: Vec<usize>,
    /// For each record, the first and the last minute of its day at which it can have been made.
    spans: Vec<(u16, u16)>,
}

/// Beyond the last minute of a day.
const END_OF_DAY: u16 = 24 * 60;

impl Timeline {
    /// Orders records, which stand as they do in their files, file by file.
    pub(super) fn new(records: &[Record]) -> Timeline {
        // For the order alone a record without a time stands behind the one above it, so that file order and clock agree.
        let mut keys = Vec::with_capacity(records.len());
        let mut last = None;
        for (index, record) in records.iter().enumerate() {
            let date = record.date.map(|date| date.date);
            let own = record.date.and_then(|date| date.minute);
            let minute = own.or(match last {
                Some((source, day, minute)) if source == record.place.source && Some(day) == date => minute,
                _ => None,
            });
            if keeps_time(records, record) {
                last = date.map(|date| (record.place.source, date, minute));
            }
            keys.push((date.is_none(), date, minute, record.place.source, index));
        }
        // What it corrects, where that is put back, comes first.
        let key = |index: usize| match records[index].stands_for {
            Some(of) => (keys[of], true, index),
            None => (keys[index], false, index),
        };
        let mut all: Vec<usize> = (0..records.len()).collect();
        all.sort_by_key(|index| key(*index));
        let mut place = vec![0; records.len()];
        for (at, index) in all.iter().enumerate() {
            place[*index] = at;
        }
        let order: Vec<usize> = all.into_iter().filter(|index| records[*index].counts()).collect();
        let mut rank = vec![None; records.len()];
        for (at, index) in order.iter().enumerate() {
            rank[*index] = Some(at);
        }
        Timeline { order, rank, place, spans: spans(records) }
    }

    /// Whether the ledger itself says in which order two records were made.
    pub fn certain(&self, records: &[Record], a: usize, b: usize) -> bool {
        let [a, b] = [a, b].map(|index| records[index].stands_for.unwrap_or(index));
        if records[a].place.source == records[b].place.source {
            return true;
        }
        match (records[a].date, records[b].date) {
            (Some(first), Some(second)) if first.date != second.date => true,
            (Some(_), Some(_)) => self.spans[a].1 < self.spans[b].0 || self.spans[b].1 < self.spans[a].0,
            _ => false,
        }
    }
}

/// Whether other records of its file stand before or behind it in time. A correction stands in another place than in its
/// file; a record that was withdrawn may have been so for its time; a hold has the moment of what it holds.
fn keeps_time(records: &[Record], record: &Record) -> bool {
    let voided = record.void.is_some_and(|by| matches!(records[by].body, Body::Void(_)));
    record.replaces.is_none() && !voided && !matches!(record.body, Body::Hold(_))
}

/// For each record the first and last minute of its day that its own time leaves, or the times above and below it.
fn spans(records: &[Record]) -> Vec<(u16, u16)> {
    let mut spans = vec![(0, END_OF_DAY); records.len()];
    let timed = records.iter().any(|record| record.date.is_some_and(|date| date.minute.is_some()));
    if !timed {
        return spans;
    }
    // The nearest time above, then the nearest below: of the same day and file.
    let mut near = |indexes: &mut dyn Iterator<Item = usize>, none: u16, set: fn(&mut (u16, u16), u16)| {
        let mut last = None;
        for index in indexes {
            let record = &records[index];
            let day = record.date.map(|date| (record.place.source, date.date));
            let beside = last.filter(|(of, _)| Some(*of) == day).map_or(none, |(_, minute)| minute);
            let minute = record.date.and_then(|date| date.minute).unwrap_or(beside);
            set(&mut spans[index], minute);
            if keeps_time(records, record) {
                last = day.map(|day| (day, minute));
            }
        }
    };
    near(&mut (0..records.len()), 0, |span, minute| span.0 = minute);
    near(&mut (0..records.len()).rev(), END_OF_DAY, |span, minute| span.1 = minute);
    spans
}
