//! What the rules say of one reading.

use std::collections::BTreeMap;

use crate::finding::{Finding, Grade, Place};
use crate::rules::{self, About, ReadingKind, Rule};

/// What is known of a reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum ReadingVerdict {
    /// It counts, it is judged, and no rule finds fault with it.
    Conforming,
    /// It breaks a limit.
    Nonconforming,
    /// It does not conform, and somebody accepted that.
    Conceded,
    /// The gauge is not sure enough to tell.
    Undecided,
    /// What it proved was undone since.
    Stale,
    /// A later reading stands in its place.
    Replaced,
    /// Its record was withdrawn.
    Void,
    /// Something else that is said about what was read cannot be read itself.
    NotJudged,
    /// No rule judges readings of this kind one by one.
    Unjudged,
}

impl ReadingVerdict {
    /// As it is printed.
    pub fn word(self) -> &'static str {
        match self {
            ReadingVerdict::Conforming => "conforming",
            ReadingVerdict::Nonconforming => "nonconforming",
            ReadingVerdict::Conceded => "conceded",
            ReadingVerdict::Undecided => "undecided",
            ReadingVerdict::Stale => "stale",
            ReadingVerdict::Replaced => "replaced",
            ReadingVerdict::Void => "void",
            ReadingVerdict::NotJudged => "not judged",
            ReadingVerdict::Unjudged => "unjudged",
        }
    }
}

/// The findings of a ledger by place.
pub(super) struct FindingsByPlace<'f> {
    at: BTreeMap<Place, Vec<&'f Finding>>,
}

impl<'f> FindingsByPlace<'f> {
    pub(crate) fn new(findings: &'f [Finding]) -> Self {
        let mut at: BTreeMap<Place, Vec<&Finding>> = BTreeMap::new();
        for finding in findings {
            at.entry(finding.at.place).or_default().push(finding);
            for also in finding.also.iter().filter(|_| is_of_rule(finding, |rule| rule.about_each_place)) {
                at.entry(also.place).or_default().push(finding);
            }
        }
        FindingsByPlace { at }
    }

    /// There is none at all.
    pub(crate) fn is_empty(&self) -> bool {
        self.at.is_empty()
    }

    /// The rules with a finding at one of these places, in the order of their names.
    pub(crate) fn rules(&self, places: &[Place]) -> Vec<&'static str> {
        let mut rules: Vec<&str> = self.here(places).map(|finding| finding.rule.as_str()).collect();
        rules.sort_unstable();
        rules.dedup();
        rules
    }

    /// What the rules that judge readings of a kind say of one at these places; nothing where none has a finding there.
    pub(crate) fn verdict(&self, places: &[Place], kind: ReadingKind) -> Option<ReadingVerdict> {
        let of_judges = self.here(places).filter(|finding| is_of_rule(finding, |rule| rule.judges.contains(&kind)));
        of_judges.filter_map(verdict_of).max_by_key(|verdict| match verdict {
            ReadingVerdict::Nonconforming => 2,
            ReadingVerdict::Undecided => 1,
            _ => 0,
        })
    }

    fn here<'s>(&'s self, places: &'s [Place]) -> impl Iterator<Item = &'f Finding> + 's {
        places.iter().flat_map(|place| self.at.get(place).into_iter().flatten().copied())
    }
}

fn is_of_rule(finding: &Finding, is: impl Fn(&Rule) -> bool) -> bool {
    rules::rule(finding.rule).is_some_and(is)
}

fn verdict_of(finding: &Finding) -> Option<ReadingVerdict> {
    if finding.conceded.is_some() {
        return Some(ReadingVerdict::Conceded);
    }
    if is_of_rule(finding, |rule| rule.about == About::Certainty) {
        return Some(ReadingVerdict::Undecided);
    }
    match finding.grade {
        Grade::Nonconformity => Some(ReadingVerdict::Nonconforming),
        Grade::Outstanding | Grade::NotJudged => Some(ReadingVerdict::Undecided),
        Grade::Observation => None,
    }
}
