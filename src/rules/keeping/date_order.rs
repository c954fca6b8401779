//! Records follow each other in time, and their order is known where it matters.

use std::collections::BTreeSet;
use std::ops::Range;

use crate::finding::Grade;
use crate::ledger::{Body, RailId, Record, SurveyKind, What};
use crate::rules::{Case, Check, Cure, Findings, Group, Rule};

pub static RULE: Rule = Rule {
    name: "date-order",
    group: Group::Keeping,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "The records of one file do not run backwards, none lies ahead of today, and where two records of one day in two files would mean something else the other way round, both say the time.",
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
    check: Check::Ledger(check),
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
    for record in case.ledger.records.iter().filter(|record| record.counts()) {
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
                    .next("correct the date, or move the record to where it belongs"),
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
        let Some(date) = record.date.filter(|date| date.date > case.today) else { continue };
        findings.add(
            findings
                .finding(
                    record.on.as_ref().map_or(String::new(), |on| on.to_string()),
                    date.place,
                    format!("`{}` lies ahead of today, {}", record.kind, case.today),
                )
                .here("not yet")
                .next("correct the date")
                .by_date(),
        );
    }
}

/// Pairs of records of one day in two files whose order is not known and would change what is stale.
fn uncertain(case: &Case, findings: &mut Findings) {
    if case.order_is_certain() {
        return;
    }
    let mut pairs: BTreeSet<(usize, usize)> = BTreeSet::new();
    let mut doubt = |undoing: usize, proof: usize| {
        if !case.timeline.certain(&case.ledger.records, undoing, proof) {
            pairs.insert((undoing, proof));
        }
    };
    for (id, _, rail) in case.rails() {
        let history = case.history(id);
        let mut touched = |supports: Range<usize>, of: RailId, proof: usize| {
            for event in case.history(of).supports.within(supports).iter().filter(|event| event.undoes()) {
                doubt(event.record, proof);
            }
        };
        for joint in 0..rail.joints.len() {
            for proof in case.joint_state(id, joint).records() {
                touched(case.beside_joint(id, joint), id, proof);
            }
        }
        let reference = crate::rules::gap::reference(case, id);
        for kind in [SurveyKind::Gap, SurveyKind::Straightness, SurveyKind::Height] {
            let of_kind = |record: &&usize| {
                matches!(&case.ledger.records[**record].body, Body::Survey(survey)
                    if survey.kind.is_some_and(|of| of.value == kind))
            };
            let Some(&proof) = history.surveys.iter().rev().find(of_kind) else { continue };
            touched(0..rail.supports.len(), id, proof);
            if let Some(other) = reference.filter(|_| kind != SurveyKind::Straightness) {
                touched(0..case.machine.rail(other).supports.len(), other, proof);
            }
        }
        for joint in history.inspections.iter() {
            if let [.., earlier, later] = joint[..] {
                doubt(earlier, later);
            }
        }
        for events in history.supports.iter() {
            // Only the last day counts: a support that was tightened again later is tight whatever came first.
            let Some(last) = events.iter().rev().find(|event| event.what == What::Full) else { continue };
            let day = |record: usize| case.ledger.records[record].date.map(|date| date.date);
            for event in events.iter().rev().take_while(|event| day(event.record) >= day(last.record)) {
                if event.undoes() {
                    doubt(event.record, last.record);
                }
            }
        }
    }
    for (undoing, proof) in pairs {
        let (undoing, proof) = (&case.ledger.records[undoing], &case.ledger.records[proof]);
        let (at, other) = match proof.date.is_some_and(|date| date.minute.is_some()) {
            true => (undoing, proof),
            false => (proof, undoing),
        };
        let (Some(date), Some(its)) = (at.date, other.date) else { continue };
        findings.add(
            findings
                .finding(
                    proof.on.as_ref().map_or(String::new(), |on| on.to_string()),
                    date.place,
                    format!(
                        "nothing says whether this `{}` came before or after the `{}` of the same day",
                        at.kind, other.kind
                    ),
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
