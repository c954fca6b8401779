//! Whether every stretch is proven to be inside a local limit: shared by the three rules that ask.

use super::local::{Surveyed, shown};
use super::reading::length;
use crate::calc::exact::Ratio;
use crate::facts::local_limit::{LeastSure, least_sure, look_within};
use crate::facts::proof::{self, ProvenQuantity};
use crate::facts::survey::{SurveyReadings, subject};
use crate::facts::survey_limits::local_limit;
use crate::finding::{Finding, Measure};
use crate::ledger::{RailId, SurveyKind};
use crate::quantity::Length;
use crate::rules::unproven::{
    ProofError, Sure, certainties, grade, proven_up_to, resting_on, unscattered, verdict as in_the_end,
};
use crate::rules::{Case, Findings, Verdict};

/// Judges the surveys of a kind that stand; not required where no limit is stated.
pub(super) fn proven(case: &Case, id: RailId, kind: SurveyKind, findings: &mut Findings) -> Verdict {
    let stated = case.rulebook.most::<Length>(local_limit(kind));
    let Some((most, limit, over)) = stated.and_then(|(most, limit)| Some((most, limit, limit.over()?))) else {
        return Verdict::NotRequired;
    };
    let required = case.must_prove(match kind {
        SurveyKind::Gap => ProvenQuantity::Gap,
        SurveyKind::Straightness => ProvenQuantity::Straightness,
        SurveyKind::Height => ProvenQuantity::Height,
    });
    let of = Surveyed::new(case, id, kind);
    let within = |readings: &SurveyReadings| look_within(readings, over).is_within(Ratio::whole(most.nm().into()));
    let mut verdict = shown(case, id, &of, within);
    for record in case.planes(id, kind).iter().flat_map(|plane| plane.now()) {
        let standing = case.state(record).and_then(|readings| case.still_standing(id, readings));
        let moved = |readings: &SurveyReadings| of.shims_move_it && case.shimmed_since_read(id, readings);
        let judged = standing.filter(|readings| !moved(readings) && of.is_final(case, readings));
        let Some(readings) = judged else { continue };
        if !within(&readings) {
            // Beyond the plain limit, or not looked at in full, it is another rule's business.
            verdict = verdict.and(Verdict::Awaits("not every stretch is seen to be within its limit"));
            continue;
        }
        let sure = match certainties(case, &readings) {
            Ok(sure) => sure,
            Err(untold) => {
                verdict = verdict.and(Verdict::NotJudged(untold.lacking()));
                if required {
                    findings.add(cannot_tell(case, findings, id, (kind, record), untold).limit(limit));
                }
                continue;
            }
        };
        let Some(worst) = least_sure(case, case.rulebook, &readings, over) else {
            verdict = verdict.and(Verdict::NotJudged("not every stretch can be looked at"));
            continue;
        };
        if worst.width > Ratio::whole((most.nm() - worst.guard.width()).into()) {
            verdict = verdict.and(Verdict::Awaits("no reading is sure enough to prove it"));
            let mut finding = unproven(case, findings, id, (kind, &worst), &sure);
            finding.grade = grade(required);
            findings.add(finding.limit(proven_up_to(&limit, most, worst.guard)));
        } else if let Some(untold) = sure.iter().find_map(|sure| unscattered(*sure, required)) {
            verdict = verdict.and(Verdict::NotJudged(untold.lacking()));
            findings.add(cannot_tell(case, findings, id, (kind, record), untold).limit(limit));
        }
    }
    in_the_end(required, verdict)
}

fn cannot_tell(
    case: &Case,
    findings: &Findings,
    id: RailId,
    (kind, record): (SurveyKind, usize),
    untold: ProofError,
) -> Finding {
    let address = case.machine.rail_address(id);
    let what = format!("each stretch of the {} of {address} is proven", subject(kind));
    untold.finding(case, findings, address, record, &what)
}

fn unproven(
    case: &Case,
    findings: &Findings,
    id: RailId,
    (kind, worst): (SurveyKind, &LeastSure),
    sure: &[Sure],
) -> Finding {
    let [from, to] = worst.ends.map(|station| station.row);
    let (_, guard) = proof::guard(case.rulebook, worst.uncertainty);
    let width = length(worst.width);
    let (what, begins, ends) = match kind {
        SurveyKind::Straightness => (
            format!("the rail is straight within {width} from {} to {}", from.name, to.name),
            "the stretch begins here",
            "and ends here",
        ),
        SurveyKind::Gap | SurveyKind::Height => (
            format!("the {} differs by {width} between {} and {}", subject(kind), from.name, to.name),
            "one of the two",
            "the other",
        ),
    };
    let finding = findings
        .finding(
            case.machine.rail_address(id),
            from.place,
            format!("{what}: inside its limit, and not proven so ({guard})"),
        )
        .here(begins)
        .also(to.place, ends)
        .found(Measure::too_large(width))
        .next(match kind {
            SurveyKind::Straightness => {
                format!("read {} to {} again, a few times each, or with a finer gauge", from.name, to.name)
            }
            SurveyKind::Gap | SurveyKind::Height => {
                format!("read {} and {} again, a few times each, or with a finer gauge", from.name, to.name)
            }
        });
    resting_on(finding, sure, |certainty| match kind {
        SurveyKind::Straightness => certainty.basis_of_zone(worst.uncertainty),
        SurveyKind::Gap | SurveyKind::Height => certainty.basis(worst.uncertainty),
    })
}
