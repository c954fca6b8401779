//! The rules of the trade, one file a rule, listed in its group.
//!
//! To add a rule: write its file beside its kin, with its page, its two examples and its check, and name it in the list of
//! its group. The registry test runs both examples of every rule.

mod case;
mod concede;
mod evidence;
mod facts;
pub(crate) mod fitting;
pub(crate) mod gap;
mod held;
pub(crate) mod inspection;
mod judge;
pub(crate) mod keeping;
mod known;
pub(crate) mod layout;
mod noted;
pub mod pages;
mod resting;
mod rule;
#[cfg(test)]
mod tests;
mod text;
mod verdict;

pub use case::{Case, Findings};
pub use held::{hold_record, settle};
use judge::found;
pub use judge::{before_release, judge};
pub use noted::with_remarks;
pub use rule::{About, Check, Group, ReadingKind, Rule, Work};
pub use verdict::{Subject, Verdict};

use crate::facts::proof;
pub use crate::finding::Cure;
use crate::finding::RuleName;

/// All rules, in the order of the catalogue.
pub fn all() -> impl Iterator<Item = &'static Rule> {
    Group::ALL.into_iter().flat_map(|group| group.rules().iter().copied())
}

/// The rule of that name.
pub fn rule(name: RuleName) -> Option<&'static Rule> {
    all().find(|rule| rule.name == name)
}

/// The rule that a person calls by that name.
pub fn named(name: &str) -> Option<&'static Rule> {
    all().find(|rule| rule.name.as_str() == name)
}
