//! Whether the range of a gap or a height is proven to be inside its limit: shared by the two rules that ask.

use crate::calc::exact::Ratio;
use crate::facts::proof::GaugeCertainty;
use crate::facts::range_proof::{SurePair, widest_pair};
use crate::finding::{Finding, Measure};
use crate::language::rulebook::InForce;
use crate::ledger::{RailId, SurveyKind};
use crate::quantity::Length;
use crate::rules::unproven::verdict as in_the_end;
use crate::rules::{Case, Findings, Verdict};

use super::proven::ProofAsked;
use super::reading::{SurveyReadings, length};

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
    let proof = ProofAsked {
        id,
        kind: ask.kind,
        most: ask.most,
        limit: ask.limit,
        required: ask.required,
        of: "the",
        basis: GaugeCertainty::basis,
        untold: None,
    };
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
        let least_sure = || {
            let pair = widest_pair(case, &readings, case.rulebook)?;
            Some((Ratio::whole(pair.difference.nm().into()), pair.uncertainty, pair))
        };
        let tell = |findings: &Findings, pair: SurePair, guard: &str| unproven(case, findings, id, ask, &pair, guard);
        let judged = proof.judge(case, findings, (record, &readings), least_sure, tell);
        verdict = judged.into_iter().fold(verdict, Verdict::and);
    }
    in_the_end(ask.required, verdict)
}

fn unproven(case: &Case, findings: &Findings, id: RailId, ask: &RangeAsked, pair: &SurePair, guard: &str) -> Finding {
    let (less, more) = (pair.less.row, pair.more.row);
    findings
        .finding(
            case.machine.rail_address(id),
            less.place,
            format!("{} by {}: inside its limit, and not proven so ({guard})", ask.varies, pair.difference),
        )
        .here(ask.ends[0])
        .also(more.place, ask.ends[1])
        .found(Measure::too_large(pair.difference))
        .next(format!("read {} and {} again, a few times each, or with a finer gauge", less.name, more.name))
}
