//! What becomes of each finding once all are there: how it is put right, whether it is held, and the line that would
//! hold it.

use std::cell::OnceCell;
use std::collections::BTreeSet;

use super::catalogue::rule;
use crate::finding::{Cure, Finding, Grade, Held, within};
use crate::ledger::{Body, Ledger, NodeDraft, OnHold, RailId, Record, Target};
use crate::quantity::Moment;

/// Says of each finding how it is put right; of one at the machine, by what it is held or could be.
pub(crate) fn settle(ledger: &Ledger, findings: &mut [Finding]) {
    let built_rails: OnceCell<BTreeSet<RailId>> = OnceCell::new();
    for finding in findings {
        let cure = finding.cure.or(rule(finding.rule).map(|rule| rule.cure)).unwrap_or(Cure::Writing);
        let built = || {
            let of = Target::find(&ledger.machine, &finding.address);
            of.is_ok_and(|of| is_built(built_rails.get_or_init(|| torqued_rails(ledger)), of))
        };
        finding.cure = Some(match cure {
            Cure::UntilBuilt if built() => Cure::AtMachine,
            Cure::AtMachine => Cure::AtMachine,
            Cure::UntilBuilt | Cure::Writing => Cure::Writing,
        });
        if !(finding.is_broken() && finding.is_at_machine()) {
            continue;
        }
        finding.held = hold_over(ledger, finding).map(|on| held(&ledger.records[on.record]));
        if finding.held.is_none() {
            finding.to_hold = to_hold(ledger, finding);
        }
    }
}

/// The rails that have a torque record.
fn torqued_rails(ledger: &Ledger) -> BTreeSet<RailId> {
    let torques = ledger.records.iter().filter(|record| record.counts() && matches!(record.body, Body::Fasten(_)));
    torques.filter_map(Record::rail).collect()
}

/// A rail with a torque record is built as it is described; an axis with one such rail is.
fn is_built(torqued: &BTreeSet<RailId>, of: Target) -> bool {
    match of.rail() {
        Some(rail) => torqued.contains(&rail),
        None => torqued.iter().any(|rail| rail.axis == of.axis()),
    }
}

/// The hold in force that lets a finding in: at its address or a part above, and no reading that it rests on is later.
fn hold_over(ledger: &Ledger, finding: &Finding) -> Option<OnHold> {
    if ledger.holds.is_empty() {
        return None;
    }
    let rests: Vec<usize> = rests_on(ledger, finding).collect();
    let earlier = |hold: usize, reading: usize| {
        let rank = &ledger.timeline.rank;
        rank[hold] < rank[reading] && ledger.timeline.certain(&ledger.records, hold, reading)
    };
    let lets_in = |on: &&OnHold| {
        let covers = ledger.records[on.record].on.as_ref().is_some_and(|on| within(&finding.address, on));
        on.in_force() && covers && !rests.iter().any(|reading| earlier(on.record, *reading))
    };
    ledger.holds.iter().find(lets_in).copied()
}

fn held(record: &Record) -> Held {
    let reason = match &record.body {
        Body::Hold(hold) => hold.reason.as_ref(),
        Body::Void(void) => void.reason.as_ref(),
        _ => None,
    };
    Held {
        place: record.place,
        since: record.date.map_or(String::new(), |date| date.value.to_string()),
        by: record.by.as_ref().map_or(String::new(), |by| by.to_string()),
        reason: reason.map_or(String::new(), |reason| reason.to_string()),
    }
}

/// The records of work and of readings that a finding shows, loosening left out: that is no reading.
fn rests_on<'l>(ledger: &'l Ledger, finding: &'l Finding) -> impl Iterator<Item = usize> + 'l {
    finding.places().filter_map(|place| ledger.record_at(place)).filter(|index| {
        let record = &ledger.records[*index];
        record.counts()
            && matches!(
                record.body,
                Body::Fasten(_)
                    | Body::Inspect(_)
                    | Body::Survey(_)
                    | Body::Shim(_)
                    | Body::Receive(_)
                    | Body::RunningForce(_)
            )
    })
}

/// The record that would hold a finding, in one line to be pasted below the reading; nothing where no reading is what does
/// not conform, or where the finding is none that a hold lets in.
pub(crate) fn to_hold(ledger: &Ledger, finding: &Finding) -> Option<String> {
    if finding.grade != Grade::Nonconformity {
        return None;
    }
    let last = rests_on(ledger, finding).max_by_key(|index| ledger.timeline.rank[*index])?;
    let record = &ledger.records[last];
    Target::find(&ledger.machine, &finding.address).ok()?;
    let reason = match record.body {
        Body::Inspect(_) | Body::Survey(_) | Body::RunningForce(_) => "this is what was read",
        Body::Receive(_) => "this is what came in",
        _ => "this is what was done",
    };
    Some(hold_record(&finding.address, record.date?.value, record.by.as_ref()?, reason).line())
}

/// A hold as a record.
pub(crate) fn hold_record(on: &str, moment: Moment, by: &str, reason: &str) -> NodeDraft {
    NodeDraft::new("hold").value(on).signed(moment, by).property("reason", reason)
}
