//! The readings of a day that are those of another day: yesterday's file with another date.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::elsewhere::of_other_days;
use super::telling::{MOST_SHOWN, digest, said, telling};
use crate::finding::Measure;
use crate::rules::{Case, Findings, Verdict};

/// A record, and an earlier one of another day that says the same of the same.
struct Same {
    day: Date,
    of: Date,
    record: usize,
    earlier: usize,
}

pub(super) fn check(case: &Case, findings: &mut Findings) -> Verdict {
    of_other_days(case, findings);
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
    let (first, records) = (&same[0], &case.records);
    let Some(many) = telling(same.iter().map(|it| &records[it.record])) else { return };
    let mut finding = findings
        .finding(
            records[first.record].address(),
            records[first.record].place,
            format!("{many} readings of {} are those of {}, to the last digit", first.day, first.of),
        )
        .here("the same readings")
        .found(Measure::too_large(many))
        .next("look at the paper they were taken from; where only the date was changed, withdraw the record and read again");
    for it in same.iter().take(MOST_SHOWN) {
        finding = finding.also(records[it.earlier].place, "as here");
    }
    findings.add(finding);
}
