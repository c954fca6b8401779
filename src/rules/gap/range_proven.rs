//! Whether the range of a gap or a height is proven to be inside its limit: shared by the two rules that ask.

use crate::calc::uncertainty::{Proof, ValueLimits, judge};
use crate::facts::proof;
use crate::facts::range_proof::{SurePair, widest_pair};
use crate::finding::{Finding, Measure};
use crate::language::rulebook::InForce;
use crate::ledger::{RailId, SurveyKind};
use crate::quantity::Length;
use crate::rules::unproven::{
    ProofError, Sure, certainties, grade, proven_up_to, resting_on, unscattered, verdict as in_the_end,
};
use crate::rules::{Case, Findings, Verdict};

use super::reading::{SurveyReadings, length, subject};

/// What is asked of a range.
pub(super) struct RangeAsked<'a> {
    pub kind: SurveyKind,
    pub most: Length,
    pub limit: InForce<'a>,
    pub required: bool,
    /// Shims since a survey make it history: they move what it read.
    pub shims_move_it: bool,
    /// Whether a survey is judged: it and whether its range is within the limit.
    pub judged: fn(&SurveyReadings, bool) -> bool,
    /// As a sentence begins.
    pub varies: &'static str,
    /// Where it is least and greatest.
    pub ends: [&'static str; 2],
}

/// Judges the surveys that stand. `verdict` is what is said of the rail where each of them is sure enough.
pub(super) fn proven(
    case: &Case,
    id: RailId,
    ask: &RangeAsked,
    surveys: impl Iterator<Item = usize>,
    mut verdict: Verdict,
    findings: &mut Findings,
) -> Verdict {
    for record in surveys {
        let Some(readings) = case.state(record).and_then(|readings| case.still_standing(id, readings)) else {
            continue;
        };
        let within = length(readings.range()) <= ask.most;
        if ask.shims_move_it && case.shimmed_since_read(id, &readings) || !(ask.judged)(&readings, within) {
            continue;
        }
        if !within {
            // Beyond the plain limit it is another rule's business.
            verdict = verdict.and(Verdict::Awaits("the range is not within its limit"));
            continue;
        }
        let sure = match certainties(case, &readings) {
            Ok(sure) => sure,
            Err(untold) => {
                verdict = verdict.and(cannot_tell(case, findings, id, ask, record, untold));
                continue;
            }
        };
        let Some(pair) = widest_pair(case, &readings, case.rulebook) else { continue };
        let judged = judge(pair.difference.nm(), ValueLimits::at_most(ask.most.nm()), pair.guard);
        if judged.proof != Proof::Inside {
            verdict = verdict.and(Verdict::Awaits("no reading is sure enough to prove it"));
            let limit = proven_up_to(&ask.limit, ask.most, pair.guard);
            findings.add(unproven(case, findings, id, ask, &pair, &sure).limit(limit));
        } else if let Some(untold) = sure.iter().find_map(|sure| unscattered(*sure, ask.required)) {
            verdict = verdict.and(cannot_tell(case, findings, id, ask, record, untold));
        }
    }
    in_the_end(ask.required, verdict)
}

fn cannot_tell(
    case: &Case,
    findings: &mut Findings,
    id: RailId,
    ask: &RangeAsked,
    record: usize,
    untold: ProofError,
) -> Verdict {
    if ask.required {
        let address = case.machine.rail_address(id);
        let what = format!("the {} of {address} is proven", subject(ask.kind));
        let finding = untold.finding(case, findings, address, record, &what).limit(ask.limit);
        findings.add(finding);
    }
    Verdict::NotJudged(untold.lacking())
}

fn unproven(case: &Case, findings: &Findings, id: RailId, ask: &RangeAsked, pair: &SurePair, sure: &[Sure]) -> Finding {
    let (less, more) = (pair.less.row, pair.more.row);
    let (_, width) = proof::guard(case.rulebook, pair.uncertainty);
    let mut finding = findings
        .finding(
            case.machine.rail_address(id),
            less.place,
            format!("{} by {}: inside its limit, and not proven so ({width})", ask.varies, pair.difference),
        )
        .here(ask.ends[0])
        .also(more.place, ask.ends[1])
        .found(Measure::too_large(pair.difference))
        .next(format!("read {} and {} again, a few times each, or with a finer gauge", less.name, more.name));
    finding = resting_on(finding, sure, |certainty| certainty.basis(pair.uncertainty));
    finding.grade = grade(ask.required);
    finding
}
