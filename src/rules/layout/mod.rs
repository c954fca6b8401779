//! Rules about the machine as described.

pub mod bolt_off_hole;
pub mod hole_pitch_break;
pub mod joint_meeting;
pub mod joint_over_seam;
pub mod joint_stagger;
pub mod joint_support;
pub mod overtravel;
pub mod run_length;
pub mod support_overlap;

use crate::ledger::{Ledger, Rail, RailId};
use crate::quantity::Length;

/// The greatest effective length of the blocks that ride on a rail.
pub(super) fn longest_block(ledger: &Ledger, id: RailId) -> Option<Length> {
    let carriage = ledger.machine.axes[id.axis].carriage.as_ref()?;
    carriage
        .blocks
        .iter()
        .filter(|block| block.rail == Some(id.rail))
        .filter_map(|block| block.length)
        .map(|length| length.value)
        .max()
}

/// The hole pitch of a rail's profile.
pub(super) fn hole_pitch(ledger: &Ledger, rail: &Rail) -> Option<Length> {
    Some(ledger.shop.profile(rail.profile.as_ref()?)?.hole_pitch?.value)
}
