//! Whether what a survey shows, within its plain limit, is proven to be inside it: shared by the rules that ask.

use super::reading::{SurveyReadings, subject};
use crate::calc::exact::Ratio;
use crate::calc::uncertainty::{Proof, Uncertainty, ValueLimits, judge};
use crate::facts::proof::{self, GaugeCertainty};
use crate::finding::Finding;
use crate::language::rulebook::InForce;
use crate::ledger::{RailId, SurveyKind};
use crate::quantity::Length;
use crate::rules::unproven::{ProofError, certainties, grade, proven_up_to, resting_on, unscattered};
use crate::rules::{Case, Findings, Verdict};

/// What is to be proven of the surveys of a rail.
pub(super) struct ProofAsked<'a> {
    pub id: RailId,
    pub kind: SurveyKind,
    pub most: Length,
    pub limit: InForce<'a>,
    pub required: bool,
    /// What stands before the subject: `the`.
    pub of: &'static str,
    /// What a gauge brings in, in words.
    pub basis: fn(&GaugeCertainty, Uncertainty) -> String,
    /// What is said where nothing can be told of how wide it is.
    pub untold: Option<Verdict>,
}

impl ProofAsked<'_> {
    /// Judges one survey: by what of it is the least sure to be inside the limit, how wide that is and how sure. `tell` says that
    /// it is not proven, with the guard band in words. Nothing is said of one that is proven.
    pub(super) fn judge<'l, T>(
        &self,
        case: &Case<'l>,
        findings: &mut Findings,
        (record, readings): (usize, &SurveyReadings<'l>),
        least_sure: impl FnOnce() -> Option<(Ratio, Uncertainty, T)>,
        tell: impl FnOnce(&Findings, T, &str) -> Finding,
    ) -> Option<Verdict> {
        let sure = match certainties(case, readings) {
            Ok(sure) => sure,
            Err(untold) => return Some(self.cannot_tell(case, findings, record, untold)),
        };
        let Some((width, uncertainty, of)) = least_sure() else { return self.untold };
        let (guard, in_words) = proof::guard(case.rulebook, uncertainty);
        // A limit is in whole nanometres: what lies beyond it does so rounded up.
        let width = i64::try_from(width.ceil()).unwrap_or(i64::MAX);
        if judge(width, ValueLimits::at_most(self.most.nm()), guard).proof != Proof::Inside {
            let finding = tell(findings, of, &in_words);
            let mut finding = resting_on(finding, &sure, |certainty| (self.basis)(certainty, uncertainty));
            finding.grade = grade(self.required);
            findings.add(finding.limit(proven_up_to(&self.limit, self.most, guard)));
            return Some(Verdict::Awaits("no reading is sure enough to prove it"));
        }
        let untold = sure.iter().find_map(|sure| unscattered(*sure, self.required))?;
        Some(self.cannot_tell(case, findings, record, untold))
    }

    fn cannot_tell(&self, case: &Case, findings: &mut Findings, record: usize, untold: ProofError) -> Verdict {
        if self.required {
            let address = case.machine.rail_address(self.id);
            let what = format!("{} {} of {address} is proven", self.of, subject(self.kind));
            findings.add(untold.finding(case, findings, address, record, &what).limit(self.limit));
        }
        Verdict::NotJudged(untold.lacking())
    }
}
