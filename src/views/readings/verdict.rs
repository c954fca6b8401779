//! What the rules say of one reading.

use std::collections::BTreeMap;

use crate::finding::{Finding, Grade, Place};
use crate::rules::{self, About, ReadingKind, Rule};

/// What is known of a reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
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

impl Verdict {
    /// As it is printed.
    pub fn word(self) -> &'static str {
        match self {
            Verdict::Conforming => "conforming",
            Verdict::Nonconforming => "nonconforming",
            Verdict::Conceded => "conceded",
            Verdict::Undecided => "undecided",
            Verdict::Stale => "stale",
            Verdict::Replaced => "replaced",
            Verdict::Void => "void",
            Verdict::NotJudged => "not judged",
            Verdict::Unjudged => "unjudged",
        }
    }
}

/// The findings of a ledger by place.
pub(super) struct Findings<'f> {
    at: BTreeMap<Place, Vec<&'f Finding>>,
}

impl<'f> Findings<'f> {
    pub fn new(findings: &'f [Finding]) -> Self {
        let mut at: BTreeMap<Place, Vec<&Finding>> = BTreeMap::new();
        for finding in findings {
            at.entry(finding.at.place).or_default().push(finding);
            for also in finding.also.iter().filter(|_| of(finding, |rule| rule.about_each_place)) {
                at.entry(also.place).or_default().push(finding);
            }
        }
        Findings { at }
    }

    /// The rules with a finding at one of these places, in the order of their names.
    pub fn rules(&self, places: &[Place]) -> Vec<&'static str> {
        let mut rules: Vec<&str> = self.here(places).map(|finding| finding.rule.as_str()).collect();
        rules.sort_unstable();
        rules.dedup();
        rules
    }

    /// What the rules that judge readings of a kind say of one at these places; nothing where none has a finding there.
    pub fn verdict(&self, places: &[Place], kind: ReadingKind) -> Option<Verdict> {
        let of_judges = self.here(places).filter(|finding| of(finding, |rule| rule.judges.contains(&kind)));
        of_judges.filter_map(verdict_of).max_by_key(|verdict| match verdict {
            Verdict::Nonconforming => 2,
            Verdict::Undecided => 1,
            _ => 0,
        })
    }

    fn here<'s>(&'s self, places: &'s [Place]) -> impl Iterator<Item = &'f Finding> + 's {
        places.iter().flat_map(|place| self.at.get(place).into_iter().flatten().copied())
    }
}

fn of(finding: &Finding, is: impl Fn(&Rule) -> bool) -> bool {
    rules::rule(finding.rule).is_some_and(is)
}

fn verdict_of(finding: &Finding) -> Option<Verdict> {
    if finding.conceded.is_some() {
        return Some(Verdict::Conceded);
    }
    if of(finding, |rule| rule.about == About::Certainty) {
        return Some(Verdict::Undecided);
    }
    match finding.grade {
        Grade::Nonconformity => Some(Verdict::Nonconforming),
        Grade::Outstanding => Some(Verdict::Undecided),
        Grade::Observation => None,
    }
}
