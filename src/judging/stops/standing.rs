//! What stood at a revision, and does not fail: a finding of the same rule and address with a number that is no worse, both
//! states judged by this program on one day. A seal, a release and what was released never stand: those are cured at once,
//! or everybody gets used to them.

use std::collections::{BTreeMap, BTreeSet};

use super::FindingFate;
use crate::finding::{BaselineState, Finding, Grade, RuleName};
use crate::judging::lint::Judged;
use crate::ledger::Record;
use crate::ledger::seal::release_of;
use crate::quantity::Moment;
use crate::rules;

/// What tells a finding from others: rule and address. A fault of the text has no address: its file and its words tell it.
pub(super) fn subject(finding: &Finding, judged: &Judged) -> (RuleName, String) {
    match finding.address.as_str() {
        "" => {
            let file = judged.ledger.sources.get(finding.at.place.source).path.name();
            (finding.rule, format!("{file}: {}", finding.message))
        }
        address => (finding.rule, address.to_owned()),
    }
}

/// What tells a record from others: its kind, what it is about, and its moment as written.
pub(super) type RecordMoment = (&'static str, Option<String>, Option<Moment>);

fn moment(record: &Record) -> RecordMoment {
    (record.kind, record.on.as_ref().map(|on| on.to_string()), record.written.map(|at| at.value))
}

/// The records of a state, by what tells them apart.
pub(super) fn moments(of: &Judged) -> BTreeSet<RecordMoment> {
    of.ledger.records.iter().map(moment).collect()
}

/// Whether a finding stands at a record that was not there before: another reading, whatever its number.
fn is_at_new_record(finding: &Finding, now: &Judged, known: &BTreeSet<RecordMoment>) -> bool {
    let Some(at) = now.ledger.record_at(finding.at.place) else { return false };
    let (kind, on, moment) = moment(&now.ledger.records[at]);
    // One whose day gained a time is the same record.
    let of_day = moment.map(|moment| Moment { minute: None, ..moment });
    [moment, of_day].into_iter().all(|moment| !known.contains(&(kind, on.clone(), moment)))
}

/// Marks what stood before: of the same rule and address, with a number at least as bad. Each finding of before vouches
/// for one. A fault of the text has no address: its file and its words tell it.
pub(super) fn stood(was: &[Finding], now: &[Finding], fates: &mut [Option<FindingFate>], files: (&Judged, &Judged)) {
    let mut known: BTreeMap<(RuleName, String), Vec<&Finding>> = BTreeMap::new();
    for finding in was.iter().filter(|finding| finding.is_broken()) {
        known.entry(subject(finding, files.0)).or_default().push(finding);
    }
    if known.is_empty() {
        return;
    }
    let recorded = moments(files.0);
    // Word for word first, so that a worse one beside it is not taken for it.
    for whole in [true, false] {
        for (finding, fate) in now.iter().zip(fates.iter_mut()).filter(|(_, fate)| fate.is_none()) {
            if finding.is_broken() && is_at_new_record(finding, files.1, &recorded) {
                continue;
            }
            let Some(left) = known.get_mut(&subject(finding, files.1)) else { continue };
            let vouches = |old: &&Finding| match whole {
                true => old.message == finding.message,
                false => finding.no_worse_than(old),
            };
            if let Some(at) = left.iter().position(vouches) {
                left.remove(at);
                *fate = Some(FindingFate::Stood);
            }
        }
    }
}

/// Marks each finding by what stood before; what stood there and is not found any more is handed back.
pub(super) fn mark(now: &mut Judged, was: Option<&Judged>, recorded: &BTreeSet<RecordMoment>) -> Vec<Finding> {
    type FindingKind = (RuleName, String, Grade, bool);
    fn kind(finding: &Finding, judged: &Judged) -> FindingKind {
        let (rule, subject) = subject(finding, judged);
        (rule, subject, finding.grade, finding.conceded.is_some())
    }
    let mut known: BTreeMap<FindingKind, Vec<&Finding>> = BTreeMap::new();
    for finding in was.into_iter().flat_map(|was| was.findings.iter().map(move |finding| (was, finding))) {
        known.entry(kind(finding.1, finding.0)).or_default().push(finding.1);
    }
    let mut marks: Vec<Option<BaselineState>> = vec![None; now.findings.len()];
    // Word for word first, then the same number, so that a worse one beside it is not taken for it.
    for round in 0..3 {
        for (finding, mark) in now.findings.iter().zip(&mut marks).filter(|(_, mark)| mark.is_none()) {
            if finding.is_broken() && is_at_new_record(finding, now, recorded) {
                continue;
            }
            let Some(left) = known.get_mut(&kind(finding, now)) else { continue };
            let vouches = |old: &&Finding| match round {
                0 => old.message == finding.message,
                1 => old.found == finding.found,
                _ => finding.no_worse_than(old),
            };
            if let Some(at) = left.iter().position(vouches) {
                left.remove(at);
                *mark = Some(if round == 2 { BaselineState::Updated } else { BaselineState::Unchanged });
            }
        }
    }
    let released = released(now);
    for (finding, mark) in now.findings.iter_mut().zip(marks) {
        let may_stand = rules::rule(finding.rule).is_some_and(|rule| !rule.never_stands);
        let axis = finding.address.split('.').next().unwrap_or_default();
        let stands = mark.is_some() && finding.is_broken() && may_stand && !released.iter().any(|it| it == axis);
        finding.stands = stands;
        finding.baseline = Some(mark.unwrap_or(BaselineState::New));
    }
    let mut gone: Vec<Finding> = known.into_values().flatten().cloned().collect();
    gone.sort_by(|a, b| a.order().cmp(&b.order()));
    gone.iter_mut().for_each(|finding| finding.baseline = Some(BaselineState::Absent));
    gone
}

/// The axes that are released now.
fn released(judged: &Judged) -> Vec<String> {
    let axes = judged.ledger.machine.axes.iter().enumerate();
    let released = axes.filter(|(axis, _)| release_of(&judged.ledger, *axis).is_some());
    released.map(|(_, axis)| axis.name.to_string()).collect()
}
