//! The facts of one record or one part of the description, under its name.

use super::facts::{Fact, facts};
use crate::finding::{Place, SourceId};
use crate::language::schema::NodeShape;
use crate::ledger::KINDS;
use crate::text::NodeRef;

/// The facts of one record or one part of the description.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct FactGroup {
    /// What it is: `rail X.port`, `inspect X.port.J1 2026-04-15`.
    pub name: String,
    pub facts: Vec<Fact>,
    /// The head of its node.
    pub place: Place,
    /// The order of its rows means something.
    pub ordered: bool,
    /// The record that it is; nothing for a part of the description.
    pub record: Option<usize>,
}

impl FactGroup {
    /// A node, with all that is kept of what stands below it.
    pub(crate) fn from_node(
        name: String,
        shape: Option<&NodeShape>,
        node: NodeRef,
        source: SourceId,
        keep: impl Fn(NodeRef) -> bool,
    ) -> FactGroup {
        FactGroup {
            facts: facts(shape, node, source, keep),
            place: Place { source, span: node.head() },
            ordered: is_ordered(node.name()),
            record: None,
            name,
        }
    }

    /// Whether a fact of it stands at a place.
    pub(crate) fn holds(&self, place: Place) -> bool {
        self.facts.iter().any(|fact| fact.place == place)
    }
}

/// The group of the limits in force.
pub(super) const LIMITS: &str = "limits";
/// The group of the machine's name and title.
pub(crate) const MACHINE: &str = "machine";
/// The group of which records came after which, where their dates and times do not say it.
pub(super) const ORDER: &str = "order";
/// The group of which records withdraw or correct which.
pub(super) const WITHDRAWN: &str = "withdrawn";

/// Whether a group says something about the others of its seal, so that nothing in the ledger has its name.
pub(super) fn is_about_others(name: &str) -> bool {
    matches!(name, LIMITS | ORDER | WITHDRAWN)
}

/// Whether the order of a group's rows means something: the order of tightening and of reading does.
pub(super) fn is_ordered(name: &str) -> bool {
    matches!(name.split(' ').next(), Some("fasten" | "survey"))
}

/// Whether a group of that name is a record.
pub(crate) fn is_record(name: &str) -> bool {
    name.split(' ').next().is_some_and(|kind| KINDS.contains(&kind))
}
