//! Which rules hold what was described, done or read against a limit, and what they say of it: one question, whether a limit
//! became narrower since a release or is only tried out.

use super::{About, Coverage, Rule, RuleCoverage};
use crate::facts::proof::required_by;
use crate::finding::{Finding, Grade};
use crate::language::rulebook::{LimitEntry, LimitType, Rulebook};

/// The rules that find what misses a limit.
pub(crate) struct HoldingRules {
    entry: &'static LimitEntry,
    rules: Vec<&'static Rule>,
    /// They hold facts against it, and not how those were read or how sure that is.
    pub of_facts: bool,
    /// Their findings name the entry; they do not where it is a word, or a part of how sure a reading must be.
    name_it: bool,
}

impl HoldingRules {
    /// Those that hold what was described, done or read against an entry, and not that what was read with is too coarse
    /// for it; where none does, those that hold how it was read, or how sure that is where proof is required.
    pub(crate) fn of(
        entry: &'static LimitEntry,
        today: &Rulebook,
        all: impl Iterator<Item = &'static Rule>,
    ) -> HoldingRules {
        let is_word = matches!(entry.holds, LimitType::Choice(_));
        let holds = |rule: &&Rule| {
            let breaks = match rule.about {
                About::Certainty => required_by(today, rule.limits),
                About::Facts | About::Taking => rule.grade == Grade::Nonconformity,
            };
            // How a record is written was never released.
            let of_writing = rule.never_conceded && !is_word;
            breaks && !of_writing && rule.limits.contains(&entry.limit)
        };
        let mut rules: Vec<&'static Rule> = all.filter(holds).collect();
        let of_facts = rules.iter().any(|rule| rule.about == About::Facts);
        if of_facts && !is_word {
            rules.retain(|rule| rule.about == About::Facts);
        }
        let certain = |rule: &&Rule| rule.about == About::Certainty;
        HoldingRules { entry, name_it: !is_word && !rules.iter().all(certain), of_facts, rules }
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.rules.is_empty()
    }

    /// Whether a finding says that something misses the limit.
    pub(crate) fn miss(&self, finding: &Finding) -> bool {
        let names_it = || finding.limit.as_ref().is_some_and(|limit| limit.entry == Some(self.entry.name));
        self.rules.iter().any(|rule| rule.name == finding.rule) && (!self.name_it || names_it())
    }

    /// What they say of an axis, or of what belongs to none, where all that conforms by them was held against the limit.
    pub(crate) fn judged<'c>(
        &self,
        coverage: &'c Coverage,
        axis: Option<usize>,
    ) -> impl Iterator<Item = &'c RuleCoverage> {
        let holds = |of: &Rule| !self.name_it || of.holds.contains(&self.entry.limit);
        let own = move |of: &Rule| holds(of) && self.rules.iter().any(|rule| rule.name == of.name);
        coverage.rows().filter(move |(of, row)| *of == axis && own(row.rule)).map(|(_, row)| row)
    }
}
