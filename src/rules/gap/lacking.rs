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
    let rails = &case.machine.axes[id.axis].rails;
    rails.len() > 1 && !is_followed(case, id)
}

/// Whether another rail of the axis is adjusted to it.
pub(in crate::rules) fn is_followed(case: &Case, id: RailId) -> bool {
    let axis = &case.machine.axes[id.axis];
    let name = axis.rails[id.rail].name.as_str();
    axis.rails.iter().any(|rail| rail.follows.as_ref().is_some_and(|follows| follows.as_str() == name))
}
