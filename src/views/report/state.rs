//! In one word, how a part of a machine stands. Read off its findings, so that a report never says other than the lint.

use schemars::JsonSchema;
use serde::Serialize;

use crate::finding::{Finding, Grade, within};
use crate::ledger::Ledger;

/// How something stands, the worst first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum State {
    /// A rule is broken.
    Nonconforming,
    /// Nobody knows: something that is said about it cannot be read, nothing says what it should be, or a rule lacks a description.
    NotJudged,
    /// Something is not recorded yet.
    Outstanding,
    /// A rule is broken, and somebody with the right to do so accepted it.
    Conceded,
    /// Everything is recorded and within its limits.
    Conforming,
}

impl State {
    pub const ALL: [State; 5] =
        [State::Nonconforming, State::NotJudged, State::Outstanding, State::Conceded, State::Conforming];

    /// The state that some findings make; observations change nothing.
    pub fn from_findings<'f>(findings: impl IntoIterator<Item = &'f Finding>) -> State {
        let state = |finding: &Finding| match (finding.grade, &finding.conceded) {
            (Grade::Observation, _) => State::Conforming,
            (_, Some(_)) => State::Conceded,
            (Grade::Nonconformity, None) => State::Nonconforming,
            (Grade::Outstanding, None) => State::Outstanding,
            (Grade::NotJudged, None) => State::NotJudged,
        };
        findings.into_iter().map(state).min().unwrap_or(State::Conforming)
    }

    /// How what has an address stands, by its findings and by whether all that is said about it could be read.
    pub(crate) fn at(ledger: &Ledger, findings: &[Finding], address: &str) -> State {
        let state = State::from_findings(findings.iter().filter(|finding| within(&finding.address, address)));
        state.min(State::read(ledger, address))
    }

    /// Conforming where all that is said about an address could be read; an empty one is the whole ledger.
    pub(crate) fn read(ledger: &Ledger, address: &str) -> State {
        if ledger.is_read(address) { State::Conforming } else { State::NotJudged }
    }

    pub fn word(self) -> &'static str {
        match self {
            State::Nonconforming => "nonconforming",
            State::NotJudged => "not judged",
            State::Outstanding => "outstanding",
            State::Conceded => "conforming by concession",
            State::Conforming => "conforming",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::finding::Place;
    use crate::rules::inspection::joint_step;

    #[test]
    fn the_worst_finding_decides_and_observations_do_not_count() {
        let finding = |grade| Finding::new(joint_step::RULE.name, grade, "X.a.J1", Place::default(), "");
        assert_eq!(State::from_findings(&[]), State::Conforming);
        assert_eq!(State::from_findings(&[finding(Grade::Observation)]), State::Conforming);
        assert_eq!(
            State::from_findings(&[finding(Grade::Outstanding), finding(Grade::Nonconformity)]),
            State::Nonconforming
        );
    }

    #[test]
    fn parts_end_at_dots() {
        assert!(within("X.a.J1", "X.a") && within("X", "X"));
        assert!(!within("X.ab", "X.a") && !within("X.a", "X.a.J1"));
    }
}
