//! What somebody says was described wrong: the part is what it was, and so what was recorded of it holds.

use super::spanned::{Name, SourcedNode, Spanned};
use crate::finding::Place;
use crate::quantity::Length;

/// One part whose description was corrected under its records.
#[derive(Clone, Debug)]
pub struct Corrected {
    /// Its row.
    pub place: Place,
    /// The part.
    pub on: Spanned<Name>,
    /// Where it was said to lie.
    pub was_at: Option<Length>,
    /// The serial number that it was said to have.
    pub was_named: Option<Name>,
}

impl Corrected {
    /// Those below a machine.
    pub(super) fn all(node: SourcedNode) -> Vec<Corrected> {
        let read = |row: SourcedNode| {
            Some(Corrected {
                place: row.place(),
                on: row.arg_text(0)?,
                was_at: row.length("was").map(|at| at.value),
                was_named: row.text("was").map(|name| name.value),
            })
        };
        node.named("corrected").filter_map(read).collect()
    }
}
