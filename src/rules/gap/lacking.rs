//! What rules about surveys say where there is none.

use crate::ledger::RailId;
use crate::rules::{Case, Verdict};

/// What is said of a rail that lacks a survey: one that another follows, or that stands alone, is asked for none. Of rails side
/// by side each follows another or is followed, else nobody measures how they lie to each other.
pub(in crate::rules) fn not_surveyed(case: &Case, id: RailId, lacking: &'static str) -> Verdict {
    match case.machine.rail(id).follows {
        Some(_) => Verdict::Awaits(lacking),
        None if is_alone(case, id) => {
            Verdict::NotJudged("rails lie side by side, and it follows none and none follows it")
        }
        None => Verdict::NotRequired,
    }
}

fn is_alone(case: &Case, id: RailId) -> bool {
    case.machine.axes[id.axis].rails.len() > 1 && !case.is_followed(id)
}
