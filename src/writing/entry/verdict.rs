//! What the lint would say if a record were added: judged in memory before a byte is written.

use std::collections::BTreeSet;

use super::PromptError;
use crate::finding::{Finding, Grade};
use crate::judging::lint::Judged;
use crate::ledger::Ledger;
use crate::quantity::better_spelling;
use crate::rules::{RuleGroup, rule};
use crate::text::{self, FaultKind, ReadLimits};

/// What a record changes.
#[derive(Debug)]
pub(crate) struct EntryVerdict {
    /// Findings that were not there before, outstanding ones left out.
    pub new: Vec<Finding>,
    /// How much was outstanding before and is after.
    pub outstanding: (usize, usize),
    /// The ledger as it would be.
    pub ledger: Ledger,
}

/// Fails where a text is not one record that reads.
pub(crate) fn one_record(record: &str) -> Result<(), PromptError> {
    let read = text::read(record.to_string(), &ReadLimits::default());
    if let Some(fault) = read.faults.first() {
        let better = match &fault.kind {
            FaultKind::BadNumber(raw) => better_spelling(raw).map(|better| format!("write {better}")),
            _ => None,
        };
        let next = better.unwrap_or_else(|| fault.help());
        return Err(PromptError::Wrong(format!("the record would not read: {}; {next}", fault.message())));
    }
    if read.document.nodes().count() != 1 {
        return Err(PromptError::Wrong("a row may not hold a record of its own".into()));
    }
    Ok(())
}

/// What a ledger with a record in it is told beyond what was told `before`. A record that is at fault in itself is
/// refused.
pub(crate) fn verdict(before: &[Finding], after: Judged) -> Result<EntryVerdict, PromptError> {
    let Judged { findings: after, ledger, .. } = after;
    let key = |it: &Finding| (it.rule, it.address.clone(), it.message.clone());
    let known: BTreeSet<_> = before.iter().map(key).collect();
    let count = |all: &[Finding]| all.iter().filter(|it| it.grade == Grade::Outstanding).count();
    let outstanding = (count(before), count(&after));
    let new: Vec<Finding> = after
        .into_iter()
        .filter(|it| it.grade != Grade::Outstanding && it.conceded.is_none() && !known.contains(&key(it)))
        .collect();
    let broken = new
        .iter()
        .find(|it| it.grade == Grade::Nonconformity && rule(it.rule).is_some_and(|rule| rule.group == RuleGroup::Text));
    match broken {
        Some(it) => Err(PromptError::Wrong(format!("{}; {}", it.message, it.next))),
        None => Ok(EntryVerdict { new, outstanding, ledger }),
    }
}
