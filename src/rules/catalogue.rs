//! The list of all rules, from the lists of their groups.

use super::{Rule, RuleGroup, fitting, gap, history, inspection, keeping, layout, text};
use crate::finding::RuleName;

/// Their lists, in the order of [`Group::ALL`].
pub(super) static GROUPS: [&[&Rule]; 7] =
    [text::RULES, layout::RULES, fitting::RULES, inspection::RULES, gap::RULES, keeping::RULES, history::RULES];

impl RuleGroup {
    /// Its rules, in the order of the catalogue.
    pub fn rules(self) -> &'static [&'static Rule] {
        GROUPS[self as usize]
    }
}

/// All rules, in the order of the catalogue.
pub fn all() -> impl Iterator<Item = &'static Rule> {
    GROUPS.into_iter().flatten().copied()
}

/// The rule of that name.
pub(crate) fn rule(name: RuleName) -> Option<&'static Rule> {
    all().find(|rule| rule.name == name)
}

/// The rule that a person calls by that name.
pub fn named(name: &str) -> Option<&'static Rule> {
    all().find(|rule| rule.name.as_str() == name)
}
