//! How many findings there are of each grade, and the line that says so.

use crate::finding::{Finding, Grade};

/// Findings counted by grade; those under a concession are counted apart.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    /// Broken rules that nobody accepted.
    pub nonconformities: usize,
    /// Those of them that are put right by writing.
    pub by_writing: usize,
    /// Those of them that are held; the rest are put right at the machine.
    pub held: usize,
    /// Those of them, put right whichever way, that stood at the revision they are held against.
    pub standing: usize,
    /// What is not recorded yet.
    pub outstanding: usize,
    /// Rules that cannot judge, by rule and axis.
    pub not_judged: usize,
    /// Those of them that somebody declared not to apply, in no other count.
    pub not_applicable: usize,
    /// What is worth a look.
    pub observations: usize,
    /// What a concession covers, in no other count.
    pub conceded: usize,
}

impl Counts {
    /// Counts findings.
    pub fn from_findings(findings: &[Finding]) -> Counts {
        let mut counts = Counts::default();
        for finding in findings {
            match (&finding.conceded, finding.grade) {
                (Some(_), Grade::NotJudged) => counts.not_applicable += 1,
                (None, Grade::NotJudged) => counts.not_judged += 1,
                (Some(_), _) => counts.conceded += 1,
                (None, Grade::Nonconformity) => {
                    counts.nonconformities += 1;
                    counts.by_writing += usize::from(!finding.is_at_machine());
                    counts.held += usize::from(finding.held.is_some());
                    counts.standing += usize::from(finding.stands);
                }
                (None, Grade::Outstanding) => counts.outstanding += 1,
                (None, Grade::Observation) => counts.observations += 1,
            }
        }
        counts
    }

    /// Adds the counts of another ledger.
    pub fn add(&mut self, other: Counts) {
        self.nonconformities += other.nonconformities;
        self.by_writing += other.by_writing;
        self.held += other.held;
        self.standing += other.standing;
        self.outstanding += other.outstanding;
        self.not_judged += other.not_judged;
        self.not_applicable += other.not_applicable;
        self.observations += other.observations;
        self.conceded += other.conceded;
    }

    /// Those that only work and a later reading put right, and that nobody has held.
    pub fn at_machine(&self) -> usize {
        self.nonconformities - self.by_writing - self.held
    }

    /// How the nonconformities are put right: `1 by writing, 2 at the machine`; of one sort, `at the machine`.
    fn sorts(&self) -> String {
        let sorts = [(self.by_writing, "by writing"), (self.at_machine(), "at the machine"), (self.held, "held")];
        let there: Vec<_> = sorts.into_iter().filter(|(count, _)| *count > 0).collect();
        match there[..] {
            [(_, only)] => only.to_string(),
            _ => there.iter().map(|(count, sort)| format!("{count} {sort}")).collect::<Vec<String>>().join(", "),
        }
    }

    /// `2 nonconformities (1 by writing, 1 held), 1 outstanding`; `clean, 1 outstanding`; `clean and complete`.
    pub fn line(&self) -> String {
        let mut parts = Vec::new();
        let mut part = |count: usize, one: &str, many: &str| {
            if count > 0 {
                parts.push(format!("{count} {}", if count == 1 { one } else { many }));
            }
        };
        part(self.nonconformities, "nonconformity", "nonconformities");
        part(self.outstanding, "outstanding", "outstanding");
        part(self.not_judged, "not judged", "not judged");
        part(self.observations, "observation", "observations");
        part(self.conceded, "accepted by concession", "accepted by concession");
        part(self.not_applicable, "declared not applicable", "declared not applicable");
        if self.nonconformities > 0 {
            parts[0] = format!("{} ({})", parts[0], self.sorts());
            if self.standing > 0 {
                parts[0] = format!("{}, {} of them standing", parts[0], self.standing);
            }
            return parts.join(", ");
        }
        let state = if self.outstanding > 0 || self.not_judged > 0 { "clean" } else { "clean and complete" };
        if parts.is_empty() { state.into() } else { format!("{state}, {}", parts.join(", ")) }
    }
}
