//! What a new reading brings, and what something else does: a limit, a concession, a description that changed.

use std::collections::BTreeSet;

use super::records::{RecordText, lacking};
use crate::finding::{Finding, RuleName};
use crate::judging::lint::{Judged, judge_ledger};
use crate::judging::what_if::without;
use crate::world::Day;

/// The kinds of record that say what was done or read.
const WORK: [&str; 7] = ["fasten", "inspect", "survey", "loosen", "shim", "receive", "running-force"];

/// What tells a finding from others, its number included.
type FindingKey = (RuleName, String, Option<(String, &'static str)>);

/// What is found without the new work and readings.
pub(super) struct WithoutNewWork(BTreeSet<FindingKey>);

impl WithoutNewWork {
    /// Those of some findings that are found without it too.
    pub(super) fn of(&self, findings: &[Finding], some: Vec<usize>) -> Vec<usize> {
        some.into_iter().filter(|at| self.0.contains(&key(&findings[*at]))).collect()
    }
}

fn key(finding: &Finding) -> FindingKey {
    let number = finding.found.map(|found| (found.number(), found.unit()));
    (finding.rule, finding.address.clone(), number)
}

/// What would be found if the work and the readings that none of some states has were not there.
pub(super) fn without_new_work(
    staged: &Judged,
    now: &[RecordText],
    then: &[&[RecordText]],
    day: Day,
) -> WithoutNewWork {
    let mut new: Vec<&RecordText> = now.iter().filter(|said| said.is(&WORK)).collect();
    for then in then {
        let lacks: BTreeSet<_> = lacking(now, then).into_iter().map(|said| said.whole).collect();
        new.retain(|said| lacks.contains(&said.whole));
    }
    let keys = |findings: &[Finding]| findings.iter().filter(|finding| finding.is_broken()).map(key).collect();
    if new.is_empty() {
        return WithoutNewWork(keys(&staged.findings));
    }
    let judged = judge_ledger(without(&staged.ledger, new.into_iter().map(|said| said.whole)), day);
    WithoutNewWork(keys(&judged.findings))
}
