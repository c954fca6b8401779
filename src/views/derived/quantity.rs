//! A number that can be asked for, and what its derivations have in common.

use crate::calc::derivation::{Derivation, Origin};
use crate::finding::Place;
use crate::language::rulebook::LimitName;
use crate::quantity::{Amount, Length};
use crate::rules::Case;

/// The way to a number, each input with its place in the ledger.
pub(crate) type PlacedDerivation = Derivation<Place>;

/// A number that can be asked for.
#[derive(Clone, Debug)]
pub struct DerivedQuantity {
    /// The word it is asked by: `step-UL`.
    pub word: String,
    /// How it comes about.
    pub how: PlacedDerivation,
}

pub(super) fn quantity(word: impl Into<String>, how: PlacedDerivation) -> DerivedQuantity {
    DerivedQuantity { word: word.into(), how }
}

/// A limit's place where it was set, else the source of its default. Of a limit that is not today's both are told.
pub(super) fn limit_origin(case: &Case, entry: LimitName) -> Origin<Place> {
    match case.rulebook.change(entry) {
        Some(change) if case.rulebook.sealed(entry).is_some() => Origin::Told(change.place, change.reason.clone()),
        Some(change) => Origin::Place(change.place),
        None => Origin::Standard(entry.entry().source),
    }
}

pub(super) fn mm(length: Length) -> String {
    length.number()
}
