//! Where a rule puts what it finds.

use crate::finding::{Finding, Grade, MOST_FINDINGS, Place, RuleName};

/// Findings as they are made. The rule that is running is known, so a check never names itself.
#[derive(Default)]
pub struct Findings {
    pub(super) rule: Option<(RuleName, Grade)>,
    pub(super) all: Vec<Finding>,
    /// There were more than are told.
    pub(super) capped: bool,
    /// The worst grade of what was found of the subject that is asked about, told or not.
    pub(super) worst: Option<Grade>,
}

impl Findings {
    /// Starts a finding of the running rule, with the rule's own grade.
    pub fn finding(&self, address: impl Into<String>, at: Place, message: impl Into<String>) -> Finding {
        let (name, grade) = self.rule.unwrap_or((RuleName::NONE, Grade::Nonconformity));
        Finding::new(name, grade, address, at, message)
    }

    /// Takes a finding. Beyond what anybody is told, it only takes note that there was one more.
    pub fn add(&mut self, finding: Finding) {
        self.worst = Some(self.worst.map_or(finding.grade, |worst| worst.min(finding.grade)));
        if self.all.len() < MOST_FINDINGS { self.all.push(finding) } else { self.capped = true }
    }
}
