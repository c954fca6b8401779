//! How the numbers in findings and reports come about: inputs with their places in the ledger, formula, source, result.
//!
//! Every result is the number itself as the lint or the report has it, asked from the same function; the derivation shows
//! the way to it. Nothing is judged here.

mod axis;
mod joint;
mod quantity;
mod rail;
mod support;

pub use quantity::DerivedQuantity;

use crate::ledger::Target;
use crate::rules::Case;

/// Every number that is known about an address, in a fixed order.
pub fn quantities(case: &Case, target: Target) -> Vec<DerivedQuantity> {
    match target {
        Target::Axis(axis) => axis::quantities(case, axis),
        Target::Rail(id) => rail::quantities(case, id),
        Target::Joint(id, joint) => {
            // The support under a joint has the joint's name.
            let under = case.machine.rail(id).joints[joint].support;
            let of_support = under.map(|support| support::quantities(case, id, support));
            joint::quantities(case, id, joint).into_iter().chain(of_support.into_iter().flatten()).collect()
        }
        Target::Support(id, support) => support::quantities(case, id, support),
        Target::Segment(..) => Vec::new(),
    }
}
