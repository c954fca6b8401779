//! What a finding follows from, so that a program can put together what follows from one mistake.
//!
//! A rule says as data what its findings follow from ([`Rule::follows_from`](super::Rule)); here the places are looked up.
//! Each is one whose change can change the finding. What surrounds the finding's own place is none: it stands there.

use super::Ground;
use super::catalogue::rule;
use crate::finding::{Finding, Grade, MeasuredValue, Place};
use crate::ledger::{Instrument, Ledger, Machine, Rail, Target};

/// Says of each finding what it follows from.
pub(crate) fn with_causes(ledger: &Ledger, findings: &mut [Finding]) {
    for finding in findings {
        let limit = finding.limit.as_ref().and_then(|limit| limit.set_at);
        let grounds = rule(finding.rule).map_or(&[][..], |rule| rule.follows_from);
        let mut causes: Vec<Place> = limit.into_iter().collect();
        // What nobody can tell follows from what is not there.
        if finding.grade != Grade::NotJudged {
            grounds.iter().for_each(|ground| add(ledger, finding, *ground, &mut causes));
        }
        let own = finding.at.place;
        causes.retain(|cause| {
            let span = cause.span;
            cause.source != own.source || own.span.start < span.start || span.end < own.span.end
        });
        causes.sort_unstable();
        causes.dedup();
        finding.causes = causes;
    }
}

fn add(ledger: &Ledger, finding: &Finding, ground: Ground, causes: &mut Vec<Place>) {
    let also = || finding.also.iter().map(|label| label.place);
    match ground {
        Ground::Part => match Target::find(&ledger.machine, &finding.address) {
            Ok(Target::Segment(id, segment)) => causes.push(ledger.machine.rail(id).segments[segment].place),
            Ok(Target::Support(id, support)) => causes.push(ledger.machine.rail(id).supports[support].place),
            Ok(Target::Joint(id, joint)) => causes.push(ledger.machine.rail(id).joints[joint].place),
            Ok(Target::Axis(_) | Target::Rail(_)) | Err(_) => {}
        },
        Ground::Lengths => causes.extend(lengths(&ledger.machine, finding)),
        Ground::CountedHoles if !finding.found.is_some_and(|found| matches!(found.value, MeasuredValue::Count(_))) => {}
        Ground::HolePitch | Ground::CountedHoles => {
            let rail = Target::find(&ledger.machine, &finding.address).ok().and_then(|target| target.rail());
            let profile = rail.and_then(|id| ledger.machine.rail(id).profile.as_ref());
            let profile = profile.and_then(|name| ledger.shop.profile(name));
            causes.extend(profile.and_then(|profile| profile.hole_pitch).map(|pitch| pitch.place));
        }
        Ground::Described => causes.extend(also().filter(|place| ledger.record_at(*place).is_none())),
        Ground::Instrument => {
            let records = finding.places().filter_map(|place| ledger.record_at(place));
            let named = records.filter_map(|record| Instrument::for_record(ledger, &ledger.records[record]));
            causes.extend(named.map(|(instrument, _)| instrument.place()));
        }
        Ground::ShimStock => causes.extend(ledger.shop.shim_stock.as_ref().map(|stock| stock.place)),
        Ground::Records => {
            let own = ledger.record_at(finding.at.place);
            let other = |place: &Place| ledger.record_at(*place).is_some_and(|record| Some(record) != own);
            causes.extend(also().filter(other));
        }
    }
}

/// The segments that say where a part lies: those up to it. Of an axis, those up to each segment that is shown.
fn lengths(machine: &Machine, finding: &Finding) -> Vec<Place> {
    let of_rail = |rail: &Rail, count: usize| -> Vec<Place> {
        rail.segments.iter().take(count).map(|segment| segment.place).collect()
    };
    match Target::find(machine, &finding.address) {
        Ok(Target::Axis(axis)) => {
            let shown = |rail: &Rail| {
                let last = rail.segments.iter().rposition(|segment| finding.places().any(|it| it == segment.place));
                of_rail(rail, last.map_or(0, |last| last + 1))
            };
            machine.axes[axis].rails.iter().flat_map(shown).collect()
        }
        Ok(Target::Rail(id)) => of_rail(machine.rail(id), usize::MAX),
        Ok(Target::Segment(id, before) | Target::Joint(id, before)) => of_rail(machine.rail(id), before + 1),
        Ok(Target::Support(id, support)) => {
            let rail = machine.rail(id);
            let before = rail.joints.iter().filter(|joint| joint.position < rail.supports[support].at).count();
            of_rail(rail, before + 1)
        }
        Err(_) => Vec::new(),
    }
}
