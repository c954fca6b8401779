//! Whether every stretch is proven to be inside a local limit: shared by the three rules that ask.

use super::local::{Surveyed, shown};
use super::proven::ProofAsked;
use super::reading::length;
use crate::calc::exact::Ratio;
use crate::facts::local_limit::{LeastSure, least_sure, look_within};
use crate::facts::proof::GaugeCertainty;
use crate::facts::survey::{SurveyReadings, subject};
use crate::facts::survey_limits::local_limit;
use crate::finding::{Finding, Measure};
use crate::ledger::{RailId, SurveyKind};
use crate::quantity::Length;
use crate::rules::unproven::verdict as in_the_end;
use crate::rules::{Case, Findings, Verdict};

/// Judges the surveys of a kind that stand; not required where no limit is stated.
pub(super) fn proven(case: &Case, id: RailId, kind: SurveyKind, findings: &mut Findings) -> Verdict {
    let stated = case.rulebook.most::<Length>(local_limit(kind));
    let Some((most, limit, over)) = stated.and_then(|(most, limit)| Some((most, limit, limit.over()?))) else {
        return Verdict::NotRequired;
    };
    let required = case.must_prove(kind.into());
    let proof = ProofAsked {
        id,
        kind,
        most,
        limit,
        required,
        of: "each stretch of the",
        basis: match kind {
            SurveyKind::Straightness => GaugeCertainty::basis_of_zone,
            SurveyKind::Gap | SurveyKind::Height => GaugeCertainty::basis,
        },
        untold: Some(Verdict::NotJudged("not every stretch can be looked at")),
    };
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
        let least_sure = || {
            let worst = least_sure(case, case.rulebook, &readings, over)?;
            Some((worst.width, worst.uncertainty, worst))
        };
        let tell =
            |findings: &Findings, worst: LeastSure, guard: &str| unproven(case, findings, id, (kind, &worst), guard);
        let judged = proof.judge(case, findings, (record, &readings), least_sure, tell);
        verdict = judged.into_iter().fold(verdict, Verdict::and);
    }
    in_the_end(required, verdict)
}

fn unproven(
    case: &Case,
    findings: &Findings,
    id: RailId,
    (kind, worst): (SurveyKind, &LeastSure),
    guard: &str,
) -> Finding {
    let [from, to] = worst.ends.map(|station| station.row);
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
    findings
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
        })
}
