//! The readings of a day that are those of another day: yesterday's file with another date.

use std::collections::BTreeMap;
use std::hash::{BuildHasher as _, Hasher as _};

use foldhash::fast::FixedState;
use jiff::civil::Date;

use crate::finding::Measure;
use crate::ledger::{Body, Record};
use crate::rules::{Case, Findings, Verdict};

/// So many readings must agree: fewer may do so by chance.
pub(super) const ENOUGH: usize = 12;

/// More records than this are counted and not shown.
const MOST_SHOWN: usize = 6;

/// Hands over each place and reading of a record, in order; the last says whether it is a reading.
fn each(record: &Record, take: &mut impl FnMut(i128, bool)) {
    match &record.body {
        Body::Fasten(fasten) => {
            for row in &fasten.rows {
                take(row.support as i128, false);
                fasten.torques_of(row).iter().flatten().for_each(|torque| take(torque.value.0, true));
            }
        }
        Body::Inspect(inspect) => {
            for groove in &inspect.grooves {
                take(groove.groove as i128, false);
                for (before, after) in &groove.pairs {
                    take(before.value.nm().into(), true);
                    take(after.value.nm().into(), true);
                }
            }
        }
        Body::Survey(survey) => {
            for station in &survey.stations {
                take(station.position.nm().into(), false);
                station.readings.iter().for_each(|reading| take(reading.value.nm().into(), true));
            }
        }
        Body::RunningForce(run) => {
            for (position, force) in &run.readings {
                take(position.value.nm().into(), false);
                take(force.value.0, true);
            }
        }
        _ => {}
    }
}

/// What a record says, in few bytes; nothing where it has no readings.
fn digest(record: &Record) -> Option<u64> {
    let mut hasher = FixedState::default().build_hasher();
    let mut read = false;
    each(record, &mut |value, is_reading| {
        hasher.write_i128(value);
        read |= is_reading;
    });
    read.then(|| hasher.finish())
}

fn said(record: &Record) -> Vec<(i128, bool)> {
    let mut all = Vec::new();
    each(record, &mut |value, is_reading| all.push((value, is_reading)));
    all
}

/// A record, and an earlier one of another day that says the same of the same.
struct Same {
    day: Date,
    of: Date,
    record: usize,
    earlier: usize,
}

pub(super) fn check(case: &Case, findings: &mut Findings) -> Verdict {
    let mut last: BTreeMap<(&str, &str, u64), usize> = BTreeMap::new();
    let mut same: Vec<Same> = Vec::new();
    let mut shown = None;
    for (index, record) in case.in_order() {
        // A correction repeats what was right in what it stands for.
        let (Some(date), Some(on), None) = (record.date, &record.on, &record.replaces) else { continue };
        let Some(digest) = digest(record) else { continue };
        shown = Some(record.place);
        let earlier = *last.entry((record.kind, on.as_str(), digest)).or_insert(index);
        let Some(of) = case.records[earlier].date.filter(|of| of.date != date.date) else { continue };
        if said(record) == said(&case.records[earlier]) {
            same.push(Same { day: date.date, of: of.date, record: index, earlier });
        }
    }
    same.sort_by_key(|it| (it.day, it.of, case.timeline.rank[it.record]));
    for of_days in same.chunk_by(|a, b| (a.day, a.of) == (b.day, b.of)) {
        report(case, findings, of_days);
    }
    shown.map_or(Verdict::NotRequired, Verdict::Conforms)
}

fn report(case: &Case, findings: &mut Findings, same: &[Same]) {
    let readings = same.iter().flat_map(|it| said(&case.records[it.record])).filter(|(_, is_reading)| *is_reading);
    let values: Vec<i128> = readings.map(|(value, _)| value).collect();
    if values.len() < ENOUGH || values.iter().all(|value| *value == values[0]) {
        return;
    }
    let (first, records) = (&same[0], &case.records);
    let mut finding = findings
        .finding(
            records[first.record].on.as_ref().map_or("", |on| on.as_str()),
            records[first.record].place,
            format!("{} readings of {} are those of {}, to the last digit", values.len(), first.day, first.of),
        )
        .here("the same readings")
        .found(Measure::too_large(values.len()))
        .next("look at the paper they were taken from; where only the date was changed, withdraw the record and read again");
    for it in same.iter().take(MOST_SHOWN) {
        finding = finding.also(records[it.earlier].place, "as here");
    }
    findings.add(finding);
}
