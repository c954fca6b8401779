//! The names of rules, as a type: one that no rule has does not compile.
//!
//! A rule names itself in its own file; those whose faults are found while the text is read are named here.

use std::fmt;

/// The name of a rule, as people write it in a concession.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct RuleName(&'static str);

impl RuleName {
    /// Of no rule yet.
    pub(crate) const NONE: RuleName = RuleName("");

    /// For the file of the rule alone; everybody else asks the rule for its name.
    pub(crate) const fn new(name: &'static str) -> RuleName {
        RuleName(name)
    }

    /// As it is written in a ledger and printed.
    pub fn as_str(self) -> &'static str {
        self.0
    }
}

impl fmt::Display for RuleName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.0)
    }
}

pub(crate) const UNREADABLE: RuleName = RuleName("unreadable");
pub(crate) const UNKNOWN_NODE: RuleName = RuleName("unknown-node");
pub(crate) const UNKNOWN_PROPERTY: RuleName = RuleName("unknown-property");
pub(crate) const WRONG_VALUE: RuleName = RuleName("wrong-value");
pub(crate) const WRONG_UNIT: RuleName = RuleName("wrong-unit");
pub(crate) const MISSING_PART: RuleName = RuleName("missing-part");
pub(crate) const REPEATED_PART: RuleName = RuleName("repeated-part");
pub(crate) const REPEATED_ROW: RuleName = RuleName("repeated-row");
pub(crate) const JOINED_PUNCTUATION: RuleName = RuleName("joined-punctuation");
pub(crate) const UNKNOWN_REFERENCE: RuleName = RuleName("unknown-reference");
pub(crate) const DUPLICATE_NAME: RuleName = RuleName("duplicate-name");
pub(crate) const UNKNOWN_EDITION: RuleName = RuleName("unknown-edition");
pub(crate) const TOO_MUCH: RuleName = RuleName("too-much");

// Found between two states of a ledger, not in one.
pub(crate) const RECORD_ALTERED: RuleName = RuleName("record-altered");
pub(crate) const RECORD_GONE: RuleName = RuleName("record-gone");
pub(crate) const RELEASE_GONE: RuleName = RuleName("release-gone");
pub(crate) const LEDGER_GONE: RuleName = RuleName("ledger-gone");
pub(crate) const PART_ALTERED: RuleName = RuleName("part-altered");
pub(crate) const DESIGN_ALTERED: RuleName = RuleName("design-altered");
pub(crate) const PERSON_ALTERED: RuleName = RuleName("person-altered");
pub(crate) const INSTRUMENT_ALTERED: RuleName = RuleName("instrument-altered");
