//! The order of records, and which were withdrawn.
//!
//! Records follow each other by date, then by time of day. Inside one file and day the order is the order in the file.
//! Two records of one day in two files, without times, stand in no certain order: `certainly_before` says so, and a
//! rule that would judge differently either way asks for the time.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::describe::Faults;
use super::given::Given;
use super::record::{Body, Record};

/// The records in the order they count.
#[derive(Clone, Debug, Default)]
pub struct Timeline {
    /// Indexes of records, withdrawn ones left out, undated ones last.
    pub order: Vec<usize>,
    /// For each record, its place in `order`; withdrawn ones have none.
    pub rank: Vec<Option<usize>>,
}

impl Timeline {
    /// Orders records, which stand as they do in their files, file by file.
    pub(super) fn new(records: &mut [Record], faults: &mut Faults) -> Timeline {
        withdraw(records, faults);
        // A record without a time takes that of the record above it in its file, so that file order and clock agree.
        let mut keys = Vec::with_capacity(records.len());
        let mut last = None;
        for (index, record) in records.iter().enumerate() {
            let date = record.date.map(|date| date.date);
            let own = record.date.and_then(|date| date.minute);
            let minute = own.or(match last {
                Some((source, day, minute)) if source == record.place.source && Some(day) == date => minute,
                _ => None,
            });
            last = date.map(|date| (record.place.source, date, minute));
            keys.push((date.is_none(), date, minute, record.place.source, index));
        }
        let mut order: Vec<usize> = (0..records.len()).filter(|index| records[*index].counts()).collect();
        order.sort_by_key(|index| keys[*index]);
        let mut rank = vec![None; records.len()];
        for (place, index) in order.iter().enumerate() {
            rank[*index] = Some(place);
        }
        Timeline { order, rank }
    }

    /// Whether the ledger itself says in which order two records were made.
    pub fn certain(&self, records: &[Record], a: usize, b: usize) -> bool {
        let (a, b) = (&records[a], &records[b]);
        if a.place.source == b.place.source {
            return true;
        }
        match (a.date, b.date) {
            (Some(a), Some(b)) if a.date != b.date => true,
            (Some(a), Some(b)) => matches!((a.minute, b.minute), (Some(a), Some(b)) if a != b),
            _ => false,
        }
    }
}

/// What a record is about, as written.
fn subject(record: &Record) -> Option<&str> {
    record.on.as_ref().map(|on| on.as_str())
}

/// Marks the records that void records withdraw. A void that was itself withdrawn withdraws nothing.
fn withdraw(records: &mut [Record], faults: &mut Faults) {
    let voids: Vec<usize> = (0..records.len()).filter(|index| matches!(records[*index].body, Body::Void(_))).collect();
    if voids.is_empty() {
        return;
    }
    let mut of_day: BTreeMap<(&str, Option<String>, Date), Vec<usize>> = BTreeMap::new();
    for (index, record) in records.iter().enumerate() {
        if let Some(date) = record.date {
            of_day.entry((record.kind, subject(record).map(str::to_owned), date.date)).or_default().push(index);
        }
    }
    // Later voids first, so that the withdrawal of a void is known before that void is carried out.
    let mut voids = voids;
    voids.sort_by_key(|index| std::cmp::Reverse((records[*index].date.map(|date| date.value), *index)));
    for index in voids {
        if records[index].void.is_some() {
            continue;
        }
        let Body::Void(void) = &records[index].body else { continue };
        let (Some(kind), Some(of)) = (void.kind.clone(), void.of) else { continue };
        let on = records[index].on.clone();
        let same_day = of_day.get(&(kind.as_str(), subject(&records[index]).map(str::to_owned), of.date));
        let matches: Vec<usize> = same_day
            .into_iter()
            .flatten()
            .copied()
            .filter(|other| {
                let record = &records[*other];
                let same_time = of.minute.is_none() || record.date.is_some_and(|date| date.value == of.value);
                *other != index && record.void.is_none() && same_time
            })
            .collect();
        let about = on.as_ref().map_or(String::new(), |on| on.to_string());
        match matches[..] {
            [one] => {
                records[one].void = Some(index);
                if let Body::Void(void) = &mut records[index].body {
                    void.withdraws = Some(one);
                }
            }
            [] => {
                let name = Given { value: format!("{} {about} of {}", *kind, *of), place: records[index].place };
                let alike = |record: &&Record| record.kind == *kind && subject(record) == subject(&records[index]);
                let known = if faults.may_compare() { &*records } else { &[] };
                let dates = known.iter().filter(alike).filter_map(|record| record.date.map(|date| date.to_string()));
                let dates: Vec<String> = dates.collect();
                faults.unknown("record", name.word(), dates.iter().map(String::as_str), about);
            }
            [first, second, ..] => {
                let message = format!("`void` could mean {} records of that day", matches.len());
                let finding = crate::finding::Finding::new(
                    "unknown-reference",
                    crate::finding::Grade::Nonconformity,
                    about,
                    records[index].place,
                    message,
                )
                .here("means more than one")
                .also(records[first].place, "this one")
                .also(records[second].place, "or this one")
                .next("give the record a time, as date=\"2026-04-15T10:30\", and void it by that time");
                faults.found.push(finding);
            }
        }
    }
}
