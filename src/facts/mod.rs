//! Numbers worked out from a ledger with `calc`: the bridge that rules, papers and commands share, so that each puts the
//! same facts into the same formula.

pub(crate) mod bars;
pub(crate) mod bolt;
pub(crate) mod carriage;
pub(crate) mod expansion;
pub(crate) mod gauged;
pub(crate) mod joined_doubt;
pub(crate) mod layout_dropped;
pub(crate) mod layout_plan;
pub(crate) mod layout_rows;
pub(crate) mod layout_write;
pub(crate) mod lines;
pub(crate) mod local_limit;
pub(crate) mod lying;
pub(crate) mod motion;
pub(crate) mod motion_course;
pub(crate) mod proof;
pub(crate) mod range_proof;
pub(crate) mod running_force;
pub(crate) mod seam_clearance;
pub(crate) mod service;
pub(crate) mod shim_plan;
pub(crate) mod shim_words;
pub(crate) mod shim_write;
pub(crate) mod shimmed;
pub(crate) mod shims;
pub(crate) mod stagger;
pub(crate) mod steps;
pub(crate) mod survey;
pub(crate) mod survey_doubt;
pub(crate) mod survey_limits;
pub(crate) mod survey_state;
pub(crate) mod survey_tie;
#[cfg(test)]
mod tests;
pub(crate) mod torque_proposal;
pub(crate) mod torque_sides;
pub(crate) mod torque_window;

use crate::finding::Place;

/// A fact that is missing or out of range, so that a number cannot be worked out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FactError {
    /// Where it belongs.
    pub place: Place,
    /// What is wrong, in one line.
    pub what: String,
    /// What to write.
    pub next: String,
}

impl FactError {
    /// Of what is missing or out of range at a place, and what to write there.
    pub fn new(place: Place, what: impl Into<String>, next: impl Into<String>) -> FactError {
        FactError { place, what: what.into(), next: next.into() }
    }
}
