//! What the rules that ask for proof share: how sure a gauge is, and what is said where nobody can tell.

use smallvec::{SmallVec, smallvec};

use crate::calc::uncertainty::GuardBand;
use crate::facts::proof::{GaugeCertainty, ProvenQuantity, required};
use crate::facts::survey::{SurveyReadings, survey_at};
use crate::finding::{Finding, Grade, Limit};
use crate::language::rulebook::InForce;
use crate::ledger::{Gauge, Name, RepeatedQuantity, Spanned, Survey};
use crate::quantity::Length;
use crate::rules::{Case, Findings, Verdict};

/// Why it cannot be told how sure a reading is.
#[derive(Clone, Copy, Debug)]
pub(super) enum ProofError<'l> {
    /// It does not name its instrument.
    Unnamed,
    /// The shop does not have it, or states no error of it.
    Errors(&'l Spanned<Name>),
    /// Nothing says how far its readings scatter.
    Repeatability(&'l Spanned<Name>),
}

impl ProofError<'_> {
    /// What is lacking, as a verdict says it.
    pub(crate) fn lacking(self) -> &'static str {
        match self {
            ProofError::Unnamed => "no instrument is named",
            ProofError::Errors(_) => "no graduation and error of the gauge are stated",
            ProofError::Repeatability(_) => "nothing says how far the readings of the gauge scatter",
        }
    }

    /// It must be proven, and nobody can tell.
    pub(crate) fn finding(
        self,
        case: &Case,
        findings: &Findings,
        address: String,
        record: usize,
        what: &str,
    ) -> Finding {
        let (at, which, next) = match self {
            ProofError::Unnamed => (
                case.records[record].place,
                "an instrument that is not named".to_string(),
                "name the gauge, and give it graduation, error and repeatability in the shop file".to_string(),
            ),
            ProofError::Errors(gauge) => (
                gauge.place,
                format!("{}, whose errors are not stated", gauge.value),
                "give it graduation, local-error or permissible-error, and repeatability in the shop file".to_string(),
            ),
            ProofError::Repeatability(gauge) => (
                case.records[record].place,
                format!("{}, of which nothing says how far its readings scatter", gauge.value),
                "state its repeatability in the shop file, or read a place a few times with it".to_string(),
            ),
        };
        let mut finding = findings
            .finding(address, at, format!("whether {what} cannot be told: read with {which}"))
            .here("read with it")
            .next(next);
        finding.grade = Grade::Outstanding;
        finding
    }
}

/// A gauge with what is known of how sure it is.
pub(super) type Sure<'l> = (&'l Gauge, GaugeCertainty);

/// How sure the gauge of a record is.
pub(super) fn certainty<'l>(
    case: &Case<'l>,
    named: Option<&'l Spanned<Name>>,
    quantity: RepeatedQuantity,
) -> Result<Sure<'l>, ProofError<'l>> {
    let named = named.ok_or(ProofError::Unnamed)?;
    let gauge = case.ledger.shop.gauge(named).ok_or(ProofError::Errors(named))?;
    let certainty = GaugeCertainty::new(case.ledger, gauge, quantity).ok_or(ProofError::Errors(named))?;
    Ok((gauge, certainty))
}

/// How sure the gauge of a survey is in what it reads there.
fn of_survey<'l>(case: &Case<'l>, survey: &'l Survey) -> Result<Sure<'l>, ProofError<'l>> {
    let named = survey.gauge.as_ref().ok_or(ProofError::Unnamed)?;
    let gauge = case.ledger.shop.gauge(named).ok_or(ProofError::Errors(named))?;
    let certainty = GaugeCertainty::for_survey(case.ledger, gauge, survey).ok_or(ProofError::Errors(named))?;
    Ok((gauge, certainty))
}

/// What keeps a reading that is proven but for its scatter from being so, where proof is required: nobody knows the scatter.
pub(super) fn unscattered<'l>((gauge, certainty): Sure<'l>, required: bool) -> Option<ProofError<'l>> {
    (required && !certainty.is_known()).then_some(ProofError::Repeatability(&gauge.name))
}

/// How sure each gauge is that a survey, with those that it is tied to, was read with: its own first, each once.
pub(super) fn certainties<'l>(
    case: &Case<'l>,
    readings: &SurveyReadings<'l>,
) -> Result<SmallVec<[Sure<'l>; 1]>, ProofError<'l>> {
    let mut all = smallvec![of_survey(case, readings.survey)?];
    if readings.ties.is_empty() {
        return Ok(all);
    }
    for survey in readings.records().into_iter().filter_map(|record| survey_at(case.ledger, record)) {
        let sure = of_survey(case, survey)?;
        if all.iter().all(|(gauge, _)| gauge.name != sure.0.name) {
            all.push(sure);
        }
    }
    Ok(all)
}

/// Tells what an uncertainty rests on, at each of its gauges.
pub(super) fn resting_on(finding: Finding, sure: &[Sure], basis: impl Fn(&GaugeCertainty) -> String) -> Finding {
    let tied = |finding: Finding, (gauge, certainty): &Sure| {
        finding.also(gauge.name.place, format!("of the survey that it is tied to; {}", basis(certainty)))
    };
    match sure.split_first() {
        Some(((gauge, certainty), rest)) => rest.iter().fold(finding.also(gauge.name.place, basis(certainty)), tied),
        None => finding,
    }
}

/// What a rule that asks for proof says in the end: where none is required, what is not proven is no fault.
pub(super) fn verdict(required: bool, verdict: Verdict) -> Verdict {
    match verdict {
        Verdict::Conforms(_) => verdict,
        _ if required => verdict,
        _ => Verdict::NotRequired,
    }
}

/// What is said of a limit within which a value must lie to be proven.
pub(super) fn proven_up_to(limit: &InForce, most: Length, guard: GuardBand) -> Limit {
    let proven = Length((most.nm() - guard.width()).max(0));
    Limit { text: format!("{}; proven up to {proven}", limit.text()), ..limit.words() }
}

impl<'l> Case<'l> {
    /// Whether a quantity must be proven by the limits of the case.
    pub(super) fn must_prove(&self, quantity: ProvenQuantity) -> bool {
        required(self.rulebook, quantity)
    }
}

/// The grade of what is not proven.
pub(super) fn grade(required: bool) -> Grade {
    if required { Grade::Nonconformity } else { Grade::Observation }
}
