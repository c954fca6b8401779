//! What a finding follows from, so that a program can put together what follows from one mistake.
//!
//! A rule says as data what its findings follow from ([`Rule::follows_from`](super::Rule)); here the places are looked up.
//! Each is one whose change can change the finding. What surrounds the finding's own place is none: it stands there.

use super::Ground;
use super::catalogue::rule;
use crate::finding::{Finding, Place};
use crate::ledger::{Instrument, Ledger, Target};

/// Says of each finding what it follows from.
pub(crate) fn with_causes(ledger: &Ledger, findings: &mut [Finding]) {
    for finding in findings {
        let limit = finding.limit.as_ref().and_then(|limit| limit.set_at);
        let grounds = rule(finding.rule).map_or(&[][..], |rule| rule.follows_from);
        let mut causes: Vec<Place> = limit.into_iter().collect();
        grounds.iter().for_each(|ground| add(ledger, finding, *ground, &mut causes));
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
