//! How the numbers in findings and reports come about: inputs with their places in the ledger, formula, source, result.
//!
//! Every result is the number itself as the lint or the report has it, asked from the same function; the derivation shows
//! the way to it. Nothing is judged here.

mod axis;
mod joint;
mod rail;
mod support;

use crate::calc::derivation::{Derivation, Origin};
use crate::finding::Place;
use crate::language::rulebook::LimitName;
use crate::ledger::Target;
use crate::quantity::{Amount, Length};
use crate::rules::Case;

/// The way to a number, each input with its place in the ledger.
pub type PlacedDerivation = Derivation<Place>;

/// A number that can be asked for.
#[derive(Clone, Debug)]
pub struct Quantity {
    /// The word it is asked by: `step-UL`.
    pub word: String,
    pub how: PlacedDerivation,
}

/// Every number that is known about an address, in a fixed order.
pub fn quantities(case: &Case, target: Target) -> Vec<Quantity> {
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

fn quantity(word: impl Into<String>, how: PlacedDerivation) -> Quantity {
    Quantity { word: word.into(), how }
}

/// A limit's place where it was set, else the source of its default. Of a limit that is not today's both are told.
fn limit_origin(case: &Case, entry: LimitName) -> Origin<Place> {
    match case.rulebook.change(entry) {
        Some(change) if case.rulebook.sealed(entry).is_some() => Origin::Told(change.place, change.reason.clone()),
        Some(change) => Origin::Place(change.place),
        None => Origin::Standard(entry.entry().source),
    }
}

fn mm(length: Length) -> String {
    length.number()
}
