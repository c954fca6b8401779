//! How far apart the joints of parallel rails must lie.

use crate::calc::layout::clearance::default_stagger;
use crate::language::rulebook::{InForce, LimitName, Rulebook};
use crate::ledger::{Ledger, Rail, RailId};
use crate::quantity::Length;

/// The greatest effective length of the blocks that ride on a rail.
pub(crate) fn longest_block(ledger: &Ledger, id: RailId) -> Option<Length> {
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
pub(crate) fn hole_pitch(ledger: &Ledger, rail: &Rail) -> Option<Length> {
    Some(ledger.shop.profile(rail.profile.as_ref()?)?.hole_pitch?.value)
}

/// The stagger two rails need: the rulebook's, else the longer of hole pitch and block.
pub(crate) fn required<'l>(
    ledger: &'l Ledger,
    rulebook: &'l Rulebook,
    a: RailId,
    b: RailId,
) -> Option<(Length, InForce<'l>)> {
    if let Some(stated) = rulebook.least::<Length>(LimitName::Stagger) {
        return Some(stated);
    }
    let required = Needs::of_pair(ledger, a, b).stagger(None)?;
    Some((required, rulebook.computed_least(LimitName::Stagger, required)))
}

/// What the stagger of rails rests on where the rulebook states none.
#[derive(Clone, Copy, Default)]
pub(crate) struct Needs {
    pitch: Option<Length>,
    block: Option<Length>,
}

impl Needs {
    /// What one rail brings.
    pub(crate) fn for_rail(ledger: &Ledger, id: RailId) -> Needs {
        let pitch = hole_pitch(ledger, ledger.machine.rail(id));
        Needs { pitch, block: longest_block(ledger, id) }
    }

    /// What two rails bring together.
    pub(crate) fn of_pair(ledger: &Ledger, a: RailId, b: RailId) -> Needs {
        Needs::for_rail(ledger, a).and(Needs::for_rail(ledger, b))
    }

    /// Of two rails, the longer of each.
    pub(crate) fn and(self, other: Needs) -> Needs {
        Needs { pitch: self.pitch.max(other.pitch), block: self.block.max(other.block) }
    }

    /// The lengths it is derived from, in words; nothing where none follows from them.
    pub(crate) fn basis(self) -> Option<String> {
        let pitch = format!("the hole pitch, {}", self.pitch?);
        Some(match self.block {
            Some(block) => format!("the longer of {pitch}, and the block, {block}"),
            None => pitch,
        })
    }

    /// The stagger; a stated one holds in any case.
    pub(crate) fn stagger(self, stated: Option<Length>) -> Option<Length> {
        stated.or_else(|| Some(Length(default_stagger(self.pitch?.nm(), self.block.map(Length::nm)))))
    }
}
