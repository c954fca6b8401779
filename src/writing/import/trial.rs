//! What the ledger would say with the record in it, before a byte is written.

use crate::finding::Finding;
use crate::judging::what_if::with_text;
use crate::ledger::Ledger;
use crate::rules::rule;
use crate::world::{Day, Path};

/// The findings that point into the added text.
#[derive(Debug, Default)]
pub struct Trial {
    /// The text itself is at fault: such a record must not be written.
    pub faults: Vec<Finding>,
    /// What the rules say of the readings: true all the same, and to be recorded.
    pub findings: Vec<Finding>,
}

/// Judges a ledger as if `addition` stood at the end of one of its files, which may not be there yet.
pub fn trial(ledger: &Ledger, file: &Path, before: &str, addition: &str, day: Day) -> Trial {
    let judged = with_text(ledger, file, format!("{before}{addition}"), day);
    let sources = &judged.ledger.sources;
    let mut trial = Trial::default();
    for finding in judged.findings {
        let place = finding.at.place;
        if sources.get(place.source).path != *file || (place.span.start as usize) < before.len() {
            continue;
        }
        if rule(finding.rule).is_some_and(|rule| rule.checks.is_empty()) {
            trial.faults.push(finding);
        } else {
            trial.findings.push(finding);
        }
    }
    trial
}
