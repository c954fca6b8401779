//! The rules of the trade, one file a rule, listed in its group.
//!
//! To add a rule: write its file beside its kin, with its page, its two examples and its check, and name it in the list of
//! its group. The registry test runs both examples of every rule.
//!
//! From below: `facts` is what is known of a ledger, as data; `case` holds it; a rule is given the case; `answers`, `evidence`,
//! `known` and `resting` work out what the case answers; `catalogue` lists the rules, and the `judge` asks them.

mod answers;
mod case;
mod catalogue;
mod causes;
mod concede;
mod coverage;
mod evidence;
mod facts;
mod findings;
pub(crate) mod fitting;
mod flaws;
mod follows;
pub(crate) mod gap;
mod held;
mod history;
mod holding;
pub(crate) mod inspection;
mod judge;
pub(crate) mod keeping;
mod known;
mod lacking;
pub(crate) mod layout;
mod margin;
mod noted;
pub(crate) mod pages;
mod quotient;
mod resting;
mod rule;
mod sealing;
#[cfg(test)]
mod tests;
mod text;
mod torques;
mod unproven;
mod verdict;

pub use case::Case;
pub(crate) use catalogue::rule;
pub use catalogue::{all, named};
pub(crate) use causes::with_causes;
pub(crate) use coverage::{Coverage, RuleCoverage, is_expected};
pub(crate) use findings::Findings;
pub(crate) use fitting::gauge_graduation::GraduationLimits;
pub(crate) use flaws::is_evidence;
pub(crate) use gap::shim_stock::leaves_used;
pub(crate) use held::{hold_record, settle};
pub(crate) use holding::HoldingRules;
pub(crate) use inspection::telling::readings_digest;
pub use judge::before_release;
pub(crate) use judge::{anew, coverage, coverage_anew, judge};
pub(crate) use keeping::reason_wordless::has_word;
pub(crate) use noted::with_remarks;
pub(crate) use rule::{About, Check, Ground, Judge, ReadingKind, RequiredWork};
pub use rule::{Rule, RuleGroup};
pub(crate) use sealing::{reopened, tallies};
pub(crate) use verdict::{Subject, Verdict};

pub(crate) use crate::finding::Cure;
