//! How far a joint must lie from a seam of the beam under it.

use crate::calc::layout::clearance::default_seam_clearance;
use crate::language::rulebook::{InForce, LimitName, Rulebook};
use crate::ledger::{Ledger, RailId};
use crate::quantity::Length;

/// What the support under a joint covers, where one is described.
pub(crate) fn covered(ledger: &Ledger, id: RailId, joint: usize) -> Option<Length> {
    let rail = ledger.machine.rail(id);
    rail.supports[rail.joints[joint].support?].covers
}

/// The rulebook's clearance, else half of what the support covers. Without a support that says its length, a joint right on a
/// seam is still wrong.
pub(crate) fn required<'l>(
    ledger: &'l Ledger,
    rulebook: &'l Rulebook,
    id: RailId,
    joint: usize,
) -> (Length, InForce<'l>) {
    rulebook.least::<Length>(LimitName::SeamClearance).unwrap_or_else(|| {
        let covers = covered(ledger, id, joint);
        let required = Length(covers.map_or(1, |covers| default_seam_clearance(covers.nm())));
        (required, rulebook.computed_least(LimitName::SeamClearance, required))
    })
}
