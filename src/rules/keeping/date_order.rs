//! Records follow each other in time, and their order is known where it matters.

use std::collections::BTreeMap;

use super::same_day;
use crate::finding::{Grade, RuleName};
use crate::ledger::{Body, Record};
use crate::rules::facts::Slip;
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("date-order"),
    group: RuleGroup::Keeping,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "The records of one file do not run backwards, none lies ahead of today (by the machine's clock or a commit's, of the day it is then already somewhere on earth, at UTC+14; a stated `--today` is that day), and where two records of one day in two files would mean something else the other way round, whatever their kinds, both say the time. Two records of one kind, subject and minute in one file, of which only one can count, are told too. A record without a time has none: not that of the record above it. A correction (`replaces`) stands in the place of what it corrects, and a `hold` has the moment of what it holds, wherever they are written.",
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
    checks: &[Check::Records(check), Check::Machine(corrected_twice)],
    ..Rule::PLAIN
};

/// All slips of a ledger, by the record that is asked to put it right.
pub(in crate::rules) fn slips(case: &Case) -> Vec<(usize, Slip)> {
    let mut slips = backwards(case);
    slips.extend(uncertain(case));
    slips.sort_by_key(|(record, _)| *record);
    slips
}

fn check(case: &Case, index: usize, findings: &mut Findings) -> Verdict {
    let record = &case.records[index];
    if record.written.is_some_and(|date| date.date > case.latest) {
        ahead(case, findings, record);
    }
    void_before(case, findings, record);
    for (_, slip) in case.slips(index) {
        report(case, findings, record, *slip);
    }
    match record.date {
        Some(date) => Verdict::Conforms(date.place),
        None => Verdict::NotJudged("the record has no date"),
    }
}

/// A record cannot be withdrawn before it was made.
fn void_before(case: &Case, findings: &mut Findings, record: &Record) {
    let Body::Void(void) = &record.body else { return };
    let Some(withdrawn) = void.withdraws.map(|of| &case.records[of]) else { return };
    let (Some(date), Some(its)) = (record.written, withdrawn.written) else { return };
    let of_day = || date.date == its.date && date.minute.zip(its.minute).is_some_and(|(own, its)| own < its);
    if date.date < its.date || of_day() {
        let message = format!("this `void` is dated before the `{}` that it withdraws", withdrawn.kind);
        findings.add(
            findings
                .finding(record.address(), date.place, message)
                .here("before it was made")
                .also(its.place, "what it withdraws")
                .next("correct the date: when it was withdrawn"),
        );
    }
}

fn ahead(case: &Case, findings: &mut Findings, record: &Record) {
    let Some(date) = record.written else { return };
    let today = match case.latest == case.today {
        true => case.today.to_string(),
        false => format!("{}; nowhere on earth is it later than {}", case.today, case.latest),
    };
    findings.add(
        findings
            .finding(record.address(), date.place, format!("`{}` lies ahead of today, {today}", record.kind))
            .here("not yet")
            .next("correct the date")
            .by_date(),
    );
}

fn report(case: &Case, findings: &mut Findings, record: &Record, slip: Slip) {
    let (Slip::Earlier(other) | Slip::Later(other) | Slip::Unsure { other, .. }) = slip;
    let other = &case.records[other];
    let (Some(date), Some(its)) = (record.date, other.date) else { return };
    let (than, side) = match slip {
        Slip::Earlier(_) => ("earlier", "above"),
        Slip::Later(_) => ("later", "below"),
        Slip::Unsure { about, .. } if record.place.source == other.place.source => {
            let message = format!("two `{}` records are of one minute, {}: which of them counts?", record.kind, *date);
            findings.add(
                findings
                    .finding(case.records[about].address(), date.place, message)
                    .here("this one")
                    .also(its.place, "or this one")
                    .next("write the minute of each; where one corrects the other, say so with `replaces`"),
            );
            return;
        }
        Slip::Unsure { about, .. } => {
            let next = match date.minute {
                None => format!("write the time of day in both, as date=\"{}T14:30\"", date.date),
                Some(_) => "both have the same time: write the minute of each".to_string(),
            };
            let message = format!(
                "nothing says whether this `{}` came before or after the `{}` of the same day",
                record.kind, other.kind
            );
            findings.add(
                findings
                    .finding(case.records[about].address(), date.place, message)
                    .here("in this file")
                    .also(its.place, "in another file, on the same day")
                    .next(next),
            );
            return;
        }
    };
    findings.add(
        findings
            .finding(
                record.address(),
                date.place,
                format!("`{}` of {} is {than} than the record {side} it", record.kind, *date),
            )
            .here("out of order")
            .also(its.place, format!("the record {side} it"))
            .next("correct the date, or move the record to where it belongs; what corrects an older record says so with `replaces`"),
    );
}

/// A record's place on the clock. Without a time it takes that of the record above it on the same day.
type Clock = (jiff::civil::Date, u16);

/// Records out of order: as few as can be, so that one slip of the pen is one finding.
fn backwards(case: &Case) -> Vec<(usize, Slip)> {
    let mut slips = Vec::new();
    let records = &case.ledger.records;
    let mut all: Vec<(Clock, usize)> = Vec::with_capacity(records.len());
    let one_file = |a: usize, b: usize| records[a].place.source == records[b].place.source;
    // A correction stands in the place of what it corrects, and a hold has the moment of what it holds, wherever they are
    // written.
    let placed =
        |record: &Record| record.counts() && record.replaces.is_none() && !matches!(record.body, Body::Hold(_));
    for (index, record) in records.iter().enumerate().filter(|(_, record)| placed(record)) {
        let Some(date) = record.date else { continue };
        let same_day = |((day, _), above): &&(Clock, usize)| *day == date.date && one_file(*above, index);
        let above = all.last().filter(same_day).map_or(0, |((_, minute), _)| *minute);
        all.push(((date.date, date.minute.unwrap_or(above)), index));
    }
    // Records stand file by file.
    for of_file in all.chunk_by(|(_, a), (_, b)| one_file(*a, *b)) {
        if of_file.is_sorted_by_key(|(clock, _)| *clock) {
            continue;
        }
        let clocks: Vec<Clock> = of_file.iter().map(|(clock, _)| *clock).collect();
        let keep = longest_in_order(&clocks);
        let mut before: Option<usize> = None;
        let mut kept = keep.iter().copied().peekable();
        for (at, (clock, record)) in of_file.iter().enumerate() {
            if kept.next_if_eq(&at).is_some() {
                before = Some(at);
                continue;
            }
            // It is either earlier than what stands above it or later than what stands below.
            let slip = match before.filter(|above| of_file[*above].0 > *clock) {
                Some(above) => Some(Slip::Earlier(of_file[above].1)),
                None => kept.peek().map(|below| Slip::Later(of_file[*below].1)),
            };
            slips.extend(slip.map(|slip| (*record, slip)));
        }
    }
    slips
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

/// Records of one day in two files, or of one minute and subject in one, whose order is not known and would change what they
/// say together.
fn uncertain(case: &Case) -> Vec<(usize, Slip)> {
    let slip = |(first, second): (usize, usize)| {
        // The one that has no time is asked for it.
        let (at, other) = match case.records[second].date.is_some_and(|date| date.minute.is_some()) {
            true => (first, second),
            false => (second, first),
        };
        (at, Slip::Unsure { other, about: second })
    };
    same_day::pairs(case).into_iter().map(slip).collect()
}

/// Two corrections of one record: the later one counts, so it must be known which that is.
fn corrected_twice(case: &Case, findings: &mut Findings) -> Verdict {
    let corrections = || case.ledger.records.iter().filter(|record| record.stands_for.is_some());
    let Some(first) = corrections().next() else { return Verdict::NotRequired };
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
                    record.address(),
                    date.place,
                    format!("nothing says which of two corrections of this `{}` was written last", record.kind),
                )
                .here("in this file")
                .also(its.place, "in another file, on the same day")
                .next(format!("write the time of day in both, as date=\"{}T14:30\"", date.date)),
        );
    }
    Verdict::Conforms(first.place)
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
