//! Records follow each other in time, and their order is known where it matters.

use std::collections::BTreeMap;

use super::same_day;
use crate::finding::{Grade, RuleName};
use crate::ledger::{Body, Record};
use crate::rules::{Case, Check, Cure, Findings, Group, Rule};

pub static RULE: Rule = Rule {
    name: RuleName::new("date-order"),
    group: Group::Keeping,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "The records of one file do not run backwards, none lies ahead of today (by the machine's clock or a commit's, of the day it is then already somewhere on earth, at UTC+14; a stated `--today` is that day), and where two records of one day in two files would mean something else the other way round, whatever their kinds, both say the time. A record without a time has none: not that of the record above it. A correction (`replaces`) stands in the place of what it corrects, and a `hold` has the moment of what it holds, wherever they are written.",
    why: "What is current follows from the order of the records. A wrong year or a missing time makes stale readings look fresh.",
    limits: &[],
    source: "the order of records in the ledger language",
    wrong: r#"
machine m { axis X { rail a { supports S first=100 pitch=240 count=2 } } }
fasten X.a date="2026-04-14" by=fitter-2 stage=snug setting=1.5 { clicked S1 S2 }
fasten X.a date="2026-04-13" by=fitter-2 stage=full setting=10.5 { clicked S1 S2 }
"#,
    right: r#"
machine m { axis X { rail a { supports S first=100 pitch=240 count=2 } } }
fasten X.a date="2026-04-14" by=fitter-2 stage=snug setting=1.5 { clicked S1 S2 }
fasten X.a date="2026-04-14" by=fitter-2 stage=full setting=10.5 { clicked S1 S2 }
"#,
    checks: &[Check::Ledger(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, findings: &mut Findings) {
    backwards(case, findings);
    ahead(case, findings);
    uncertain(case, findings);
}

/// A record's place on the clock. Without a time it takes that of the record above it on the same day.
type Clock = (jiff::civil::Date, u16);

/// Records out of order: as few as can be, so that one slip of the pen is one finding.
fn backwards(case: &Case, findings: &mut Findings) {
    let mut all: Vec<(Clock, &Record)> = Vec::with_capacity(case.ledger.records.len());
    let one_file = |a: &Record, b: &Record| a.place.source == b.place.source;
    // A correction stands in the place of what it corrects, and a hold has the moment of what it holds, wherever they are
    // written.
    let placed =
        |record: &&Record| record.counts() && record.replaces.is_none() && !matches!(record.body, Body::Hold(_));
    for record in case.ledger.records.iter().filter(placed) {
        let Some(date) = record.date else { continue };
        let same_day = |((day, _), above): &&(Clock, &Record)| *day == date.date && one_file(above, record);
        let above = all.last().filter(same_day).map_or(0, |((_, minute), _)| *minute);
        all.push(((date.date, date.minute.unwrap_or(above)), record));
    }
    // Records stand file by file.
    for records in all.chunk_by(|(_, a), (_, b)| one_file(a, b)) {
        if records.is_sorted_by_key(|(clock, _)| *clock) {
            continue;
        }
        let clocks: Vec<Clock> = records.iter().map(|(clock, _)| *clock).collect();
        let keep = longest_in_order(&clocks);
        let mut before: Option<usize> = None;
        let mut kept = keep.iter().copied().peekable();
        for at in 0..records.len() {
            if kept.next_if_eq(&at).is_some() {
                before = Some(at);
                continue;
            }
            let (clock, record) = records[at];
            // It is either earlier than what stands above it or later than what stands below.
            let other = match before.filter(|above| records[*above].0 > clock) {
                Some(above) => Some((above, "above", "earlier")),
                None => kept.peek().map(|below| (*below, "below", "later")),
            };
            let (Some((other, where_, than)), Some(date)) = (other, record.date) else { continue };
            let other = records[other].1;
            let Some(its) = other.date else { continue };
            findings.add(
                findings
                    .finding(
                        record.on.as_ref().map_or(String::new(), |on| on.to_string()),
                        date.place,
                        format!("`{}` of {} is {than} than the record {where_} it", record.kind, *date),
                    )
                    .here("out of order")
                    .also(its.place, format!("the record {where_} it"))
                    .next("correct the date, or move the record to where it belongs; what corrects an older record says so with `replaces`"),
            );
        }
    }
}

/// The indexes of the longest run of clocks that never goes back; of two that would do, what stands first is kept.
fn longest_in_order(clocks: &[Clock]) -> Vec<usize> {
    // From the end: for each length of run the index at which the latest-beginning run of that length begins.
    let mut begins: Vec<usize> = Vec::new();
    let mut next: Vec<Option<usize>> = vec![None; clocks.len()];
    for at in (0..clocks.len()).rev() {
        let length = begins.partition_point(|begin| clocks[*begin] >= clocks[at]);
        next[at] = length.checked_sub(1).map(|shorter| begins[shorter]);
        if length == begins.len() { begins.push(at) } else { begins[length] = at }
    }
    let mut run = Vec::with_capacity(begins.len());
    let mut at = begins.last().copied();
    while let Some(index) = at {
        run.push(index);
        at = next[index];
    }
    run
}

fn ahead(case: &Case, findings: &mut Findings) {
    for record in case.ledger.records.iter().filter(|record| record.counts()) {
        let Some(date) = record.written.filter(|date| date.date > case.latest) else { continue };
        let today = match case.latest == case.today {
            true => case.today.to_string(),
            false => format!("{}; nowhere on earth is it later than {}", case.today, case.latest),
        };
        findings.add(
            findings
                .finding(
                    record.on.as_ref().map_or(String::new(), |on| on.to_string()),
                    date.place,
                    format!("`{}` lies ahead of today, {today}", record.kind),
                )
                .here("not yet")
                .next("correct the date")
                .by_date(),
        );
    }
}

/// Records of one day in two files whose order is not known and would change what they say together.
fn uncertain(case: &Case, findings: &mut Findings) {
    corrected_twice(case, findings);
    if case.order_is_certain() {
        return;
    }
    for (first, second) in same_day::pairs(case) {
        let (first, second) = (&case.ledger.records[first], &case.ledger.records[second]);
        // The one that has no time is asked for it.
        let (at, other) = match second.date.is_some_and(|date| date.minute.is_some()) {
            true => (first, second),
            false => (second, first),
        };
        let (Some(date), Some(its)) = (at.date, other.date) else { continue };
        let next = match date.minute {
            None => format!("write the time of day in both, as date=\"{}T14:30\"", date.date),
            Some(_) => "both have the same time: write the minute of each".to_string(),
        };
        findings.add(
            findings
                .finding(
                    second.on.as_ref().map_or(String::new(), |on| on.to_string()),
                    date.place,
                    format!(
                        "nothing says whether this `{}` came before or after the `{}` of the same day",
                        at.kind, other.kind
                    ),
                )
                .here("in this file")
                .also(its.place, "in another file, on the same day")
                .next(next),
        );
    }
}

/// Two corrections of one record: the later one counts, so it must be known which that is.
fn corrected_twice(case: &Case, findings: &mut Findings) {
    let corrections = || case.ledger.records.iter().filter(|record| record.stands_for.is_some());
    if corrections().next().is_none() {
        return;
    }
    let mut of: BTreeMap<usize, &Record> = BTreeMap::new();
    for record in corrections() {
        let (Some(original), Some(date)) = (record.stands_for, record.written) else { continue };
        let Some(other) = of.insert(original, record) else { continue };
        let Some(its) = other.written else { continue };
        let timed = date.minute.is_some() && its.minute.is_some();
        if date.date != its.date || record.place.source == other.place.source || timed && *date != *its {
            continue;
        }
        findings.add(
            findings
                .finding(
                    record.on.as_ref().map_or(String::new(), |on| on.to_string()),
                    date.place,
                    format!("nothing says which of two corrections of this `{}` was written last", record.kind),
                )
                .here("in this file")
                .also(its.place, "in another file, on the same day")
                .next(format!("write the time of day in both, as date=\"{}T14:30\"", date.date)),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_slip_is_one_record_out_of_order() {
        let day = |day: i8| (jiff::civil::date(2026, 4, day), 0);
        let run = longest_in_order(&[day(1), day(2), day(30), day(3), day(3), day(4)]);
        assert_eq!(run, [0, 1, 3, 4, 5]);
        assert_eq!(longest_in_order(&[day(5), day(6), day(1), day(7)]), [0, 1, 3]);
        assert_eq!(longest_in_order(&[day(2), day(1)]), [0]);
        assert_eq!(longest_in_order(&[]), Vec::<usize>::new());
    }
}
