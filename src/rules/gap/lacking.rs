//! What rules about surveys say where there is none.

use crate::ledger::RailId;
use crate::rules::{Case, Verdict};

/// What is said of a rail that lacks a survey: one that follows no other is asked for none.
pub(in crate::rules) fn not_surveyed(case: &Case, id: RailId, lacking: &'static str) -> Verdict {
    match case.machine.rail(id).follows {
        Some(_) => Verdict::NotJudged(lacking),
        None => Verdict::NotRequired,
    }
}
