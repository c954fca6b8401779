//! Numbers worked out from a ledger with `calc`: the bridge that rules, papers and commands share, so that each puts the
//! same facts into the same formula.

pub mod bolt;
pub mod calibration;
pub mod carriage;
pub mod expansion;
pub mod layout_plan;
pub mod layout_rows;
pub mod layout_write;
pub mod life;
pub mod lines;
pub mod proof;
pub mod running_force;
pub mod service;
pub mod shim_plan;
pub mod shim_write;
pub mod shimmed;
pub mod shims;
pub mod stagger;
pub mod steps;
pub mod survey;
#[cfg(test)]
mod tests;
pub mod torque_sides;
pub mod torque_window;

use crate::finding::Place;

/// A fact that is missing or out of range, so that a number cannot be worked out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Lacking {
    /// Where it belongs.
    pub place: Place,
    /// What is wrong, in one line.
    pub what: String,
    /// What to write.
    pub next: String,
}

impl Lacking {
    pub fn new(place: Place, what: impl Into<String>, next: impl Into<String>) -> Lacking {
        Lacking { place, what: what.into(), next: next.into() }
    }
}
