//! How many findings there are of each grade, and the line that says so.

use crate::finding::{Finding, Grade};

/// Findings counted by grade; those under a concession are counted apart.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    pub nonconformities: usize,
    pub outstanding: usize,
    pub observations: usize,
    pub conceded: usize,
}

impl Counts {
    pub fn of(findings: &[Finding]) -> Counts {
        let mut counts = Counts::default();
        for finding in findings {
            match (&finding.conceded, finding.grade) {
                (Some(_), _) => counts.conceded += 1,
                (None, Grade::Nonconformity) => counts.nonconformities += 1,
                (None, Grade::Outstanding) => counts.outstanding += 1,
                (None, Grade::Observation) => counts.observations += 1,
            }
        }
        counts
    }

    pub fn add(&mut self, other: Counts) {
        self.nonconformities += other.nonconformities;
        self.outstanding += other.outstanding;
        self.observations += other.observations;
        self.conceded += other.conceded;
    }

    /// `2 nonconformities, 1 outstanding`; `clean, 1 outstanding`; `clean and complete`.
    pub fn line(&self) -> String {
        let mut parts = Vec::new();
        let mut part = |count: usize, one: &str, many: &str| {
            if count > 0 {
                parts.push(format!("{count} {}", if count == 1 { one } else { many }));
            }
        };
        part(self.nonconformities, "nonconformity", "nonconformities");
        part(self.outstanding, "outstanding", "outstanding");
        part(self.observations, "observation", "observations");
        part(self.conceded, "accepted by concession", "accepted by concession");
        if self.nonconformities > 0 {
            return parts.join(", ");
        }
        let state = if self.outstanding > 0 { "clean" } else { "clean and complete" };
        if parts.is_empty() { state.into() } else { format!("{state}, {}", parts.join(", ")) }
    }
}
