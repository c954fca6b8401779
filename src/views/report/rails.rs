//! A rail as it stands: parts, states, surveys, gap and shims.

use super::gather::{ReportBuilder, signed, text};
use super::model::{RailReport, SegmentReport, Shimmed, SupportReport};
use super::state::State;
use crate::facts::survey::Seat;
use crate::ledger::RailId;
use crate::quantity::Length;

impl ReportBuilder<'_> {
    pub(super) fn rail(&self, id: RailId) -> RailReport {
        let ledger = self.case.ledger;
        let rail = ledger.machine.rail(id);
        let address = ledger.machine.rail_address(id);
        let torques = self.torques(id);
        // What is not tightened yet is found once for the whole rail; here each support shows it.
        let tightened = |at: usize| {
            let of = torques.iter().filter_map(|torques| torques.supports.get(at));
            of.map(|torque| torque.state).min().unwrap_or(State::Conforming)
        };
        let support = |(at, support): (usize, &crate::ledger::Support)| SupportReport {
            name: support.name.to_string(),
            at: support.at,
            covers: support.covers,
            state: self.state(&format!("{address}.{}", support.name)).min(tightened(at)),
        };
        let segment = |segment: &crate::ledger::Segment| SegmentReport {
            from: segment.from,
            to: segment.to,
            serial: text(&segment.serial),
            lot: text(&segment.lot),
        };
        RailReport {
            name: rail.name.to_string(),
            state: self.state(&address),
            beam: text(&rail.beam),
            profile: text(&rail.profile),
            follows: text(&rail.follows),
            from: rail.from,
            to: rail.to(),
            segments: rail.segments.iter().map(segment).collect(),
            supports: rail.supports.iter().enumerate().map(support).collect(),
            joints: (0..rail.joints.len()).map(|joint| self.joint(id, joint)).collect(),
            torques,
            surveys: self.straightness(id),
            gap: Seat::for_rail(ledger, id).map(|seat| self.gap(id, seat)),
            unmoved: self.unmoved(id),
            shims: self.shims(id),
            address,
        }
    }

    /// The shims that lie under a rail now, in order of position.
    fn shims(&self, id: RailId) -> Vec<Shimmed> {
        let ledger = self.case.ledger;
        let rail = ledger.machine.rail(id);
        let shimmed = |support: usize| {
            let (event, row) = ledger.shims(id, support, None)?;
            let leaves: Vec<Length> = row.leaves.iter().map(|leaf| leaf.value).collect();
            (!leaves.is_empty()).then(|| Shimmed {
                support: rail.supports[support].name.to_string(),
                at: rail.supports[support].at,
                leaves,
                total: row.total(),
                signed: signed(&ledger.records[event.record]),
            })
        };
        (0..rail.supports.len()).filter_map(shimmed).collect()
    }
}
