//! A number that the ledger asks for and nobody can work out.

use super::Findings;
use crate::facts::FactError;
use crate::finding::Grade;
use crate::ledger::Axis;

/// Says what is missing to work out a number that the ledger asks for.
pub(super) fn lacking(findings: &mut Findings, axis: &Axis, lacking: FactError, number: &str) {
    let message = format!("{number} cannot be worked out: {}", lacking.what);
    let mut finding = findings.finding(axis.name.as_str(), lacking.place, message).here("here").next(lacking.next);
    finding.grade = Grade::Outstanding;
    findings.add(finding);
}
