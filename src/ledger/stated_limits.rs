//! The limits that one rulebook states.

use super::spanned::{SourcedNode, text};
use crate::language::rulebook::{ENTRIES, LimitChange, SpeltNumber};
use crate::text::{NodeRef, Value};

/// The limits that a rulebook states with a reason; `by` says in whose file it stands.
pub(super) fn stated_limits<'d>(book: SourcedNode<'d>, by: &'static str) -> impl Iterator<Item = LimitChange> + 'd {
    book.children().filter_map(move |row| {
        Some(LimitChange {
            entry: ENTRIES.iter().find(|entry| entry.name == row.name())?,
            least: spelt(row.node, "least"),
            most: spelt(row.node, "most"),
            over: spelt(row.node, "over"),
            choice: row.text("is").map(|word| word.value),
            reason: row.text("reason")?.value,
            place: row.place(),
            by,
            farther: None,
        })
    })
}

fn spelt(node: NodeRef, prop: &str) -> Option<SpeltNumber> {
    let entry = node.prop(prop)?;
    match entry.value() {
        Value::Number(_) => Some(SpeltNumber { raw: text(entry)?, unit: entry.ty().map(|(unit, _)| unit.to_string()) }),
        _ => None,
    }
}
