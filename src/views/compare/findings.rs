//! Which findings came, went and stayed.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use crate::finding::{Finding, Grade, Locator, sentence};
use crate::judging::lint::Judged;

/// The findings of a ledger before and after.
#[derive(Debug, Default, Serialize, JsonSchema)]
pub struct FindingChanges {
    /// Found before, and no longer.
    pub fixed: Vec<ToldFinding>,
    /// Gone, but only because something that is said there cannot be read any more.
    pub not_judged: Vec<ToldFinding>,
    /// Found now for the first time.
    pub new: Vec<ToldFinding>,
    /// The same rule at the same address says something else: before and after.
    pub changed: Vec<(ToldFinding, ToldFinding)>,
    /// Found then and now.
    pub remaining: Vec<ToldFinding>,
}

/// A finding as it is told.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[schemars(rename = "Said")]
pub struct ToldFinding {
    /// The rule.
    pub rule: &'static str,
    /// The grade.
    pub grade: &'static str,
    /// What it is about.
    pub address: String,
    /// With its limit and what to do next.
    pub message: String,
    /// A concession covers it.
    #[serde(rename = "is_conceded")]
    pub conceded: bool,
    /// The file.
    pub file: String,
    /// The line.
    pub line: u32,
}

impl ToldFinding {
    fn from_finding(finding: &Finding, locator: &Locator) -> ToldFinding {
        let at = locator.locate(finding.at.place);
        ToldFinding {
            rule: finding.rule.as_str(),
            grade: finding.grade.name(),
            address: finding.address.clone(),
            message: sentence(finding),
            conceded: finding.conceded.is_some(),
            file: at.file.to_owned(),
            line: at.line,
        }
    }

    /// A rule is broken, and nobody has accepted it.
    pub fn counts(&self) -> bool {
        self.grade == Grade::Nonconformity.name() && !self.conceded
    }

    fn key(&self, whole: bool) -> (&'static str, &'static str, String, String) {
        let message = if whole { format!("{}{}", self.message, self.conceded) } else { String::new() };
        (self.rule, if whole { self.grade } else { "" }, self.address.clone(), message)
    }
}

impl FindingChanges {
    /// Nothing was fixed and nothing is new.
    pub fn is_unchanged(&self) -> bool {
        self.fixed.is_empty() && self.not_judged.is_empty() && self.new.is_empty() && self.changed.is_empty()
    }
}

pub(super) fn changes(before: Option<&Judged>, after: Option<&Judged>) -> FindingChanges {
    let mut all = FindingChanges::default();
    let mut was = said(before);
    let mut now = said(after);
    // First what is word for word the same, then what has the same rule and address.
    for (_, new) in matched(&mut was, &mut now, |_| true, true) {
        all.remaining.push(new);
    }
    // A fault of the text has no address to know it again by.
    all.changed = matched(&mut was, &mut now, |said| !said.address.is_empty(), false);
    let unread = |said: &ToldFinding| {
        let ledger = after.map(|after| &after.ledger);
        !said.address.is_empty() && ledger.is_some_and(|ledger| !ledger.is_read(&said.address))
    };
    (all.not_judged, all.fixed) = was.into_iter().flatten().partition(unread);
    all.new = now.into_iter().flatten().collect();
    all
}

fn said(judged: Option<&Judged>) -> Vec<Option<ToldFinding>> {
    let Some(judged) = judged else { return Vec::new() };
    let locator = Locator::new(&judged.ledger.sources);
    judged.findings.iter().map(|finding| Some(ToldFinding::from_finding(finding, &locator))).collect()
}

/// Takes out of both lists the pairs that have the same key, in the order of the second.
fn matched(
    was: &mut [Option<ToldFinding>],
    now: &mut [Option<ToldFinding>],
    may: impl Fn(&ToldFinding) -> bool,
    whole: bool,
) -> Vec<(ToldFinding, ToldFinding)> {
    let mut known: BTreeMap<_, Vec<usize>> = BTreeMap::new();
    for (at, said) in was.iter().enumerate().rev() {
        if let Some(said) = said.as_ref().filter(|said| may(said)) {
            known.entry(said.key(whole)).or_default().push(at);
        }
    }
    let mut pairs = Vec::new();
    for slot in now {
        let Some(at) = slot.as_ref().and_then(|said| known.get_mut(&said.key(whole))?.pop()) else { continue };
        if let (Some(old), Some(new)) = (was[at].take(), slot.take()) {
            pairs.push((old, new));
        }
    }
    pairs
}
