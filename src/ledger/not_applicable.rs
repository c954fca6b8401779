//! What somebody declares not to apply: a rule that cannot judge here, with who says so and why.

use super::spanned::{Name, SourcedNode, Spanned};
use crate::finding::{Place, within};
use crate::quantity::Moment;

/// One declaration.
#[derive(Clone, Debug)]
pub struct NotApplicable {
    /// Its row.
    pub place: Place,
    /// The rule that it is about.
    pub rule: Spanned<Name>,
    /// What it is about; nothing in a shop file where it holds for every machine.
    pub on: Option<Spanned<Name>>,
    /// The day that it was declared.
    pub date: Option<Spanned<Moment>>,
    /// Who declares it.
    pub by: Option<Spanned<Name>>,
    /// Why.
    pub reason: Option<Spanned<Name>>,
}

impl NotApplicable {
    /// The declarations below a machine or shop.
    pub(super) fn all(node: SourcedNode) -> Vec<NotApplicable> {
        let read = |row: SourcedNode| {
            Some(NotApplicable {
                place: row.place(),
                rule: row.arg_text(0)?,
                on: row.arg_text(1),
                date: row.moment("date"),
                by: row.text("by"),
                reason: row.text("reason"),
            })
        };
        node.named("not-applicable").filter_map(read).collect()
    }

    /// Whether it is about that rule at that address.
    pub(crate) fn covers(&self, rule: &str, address: &str) -> bool {
        self.rule.as_str() == rule && self.on.as_ref().is_none_or(|on| within(address, on))
    }
}
