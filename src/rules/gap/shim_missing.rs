//! A gap that varies too much is shimmed.

use crate::calc::exact::Ratio;
use crate::calc::survey::ShimEffect;
use crate::finding::{Finding, Grade, Measure, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{RailId, SurveyKind};
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

use super::needs;
use super::reading::{ReadStation, Seat, SurveyReadings, length, subject};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("shim-missing"),
    group: RuleGroup::Gap,
    grade: Grade::Outstanding,
    cure: Cure::AtMachine,
    what: "Where the as-fitted survey varies by more than the limit, the supports that lie too far from the target are shimmed, and what was done is recorded before a later survey calls it good.",
    why: "The blocks are squeezed where the rails stand close and run loose where they stand apart.",
    limits: &[LimitName::GapRange, LimitName::HeightRange],
    source: "common practice, no source",
    wrong: r#"
shop { shim-stock { leaf 0.02; leaf 0.05 } }
machine m {
    axis X { rail a; rail b follows=a shims=widen { supports S first=100 pitch=240 count=3 } }
}
survey gap X.b date="2026-04-16" by=inspector-1 stage=as-fitted { at S1 0; at S2 -0.01; at S3 -0.07 }
"#,
    right: r#"
shop { shim-stock { leaf 0.02; leaf 0.05 } }
machine m {
    axis X { rail a; rail b follows=a shims=widen { supports S first=100 pitch=240 count=3 } }
}
survey gap X.b date="2026-04-16" by=inspector-1 stage=as-fitted { at S1 0; at S2 -0.01; at S3 -0.07 }
shim X.b date="2026-04-17" by=fitter-2 { at S3 0.05 0.02 }
"#,
    checks: &[Check::Rails(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    let Some(seat) = Seat::for_rail(case, id) else { return Verdict::NotRequired };
    let verdict = judge(case, findings, id, seat);
    // Where shims lift, the gap is brought within its limit by moving the rail.
    match seat.effect {
        Some(ShimEffect::Lifts) => {
            let gap = Seat { kind: SurveyKind::Gap, limit: LimitName::GapRange, effect: None };
            verdict.and(judge(case, findings, id, gap))
        }
        _ => verdict,
    }
}

fn judge(case: &Case, findings: &mut Findings, id: RailId, seat: Seat) -> Verdict {
    let Some((most, limit)) = case.rulebook.most::<Length>(seat.limit) else { return Verdict::NotRequired };
    let standing = case.standing(id, seat.kind);
    if let Some(verified) = standing.verified {
        // What the shims did is judged by its range; that there were any must be on record.
        let Some(readings) = standing.as_fitted.and_then(|record| case.readings(record)) else {
            return Verdict::NotRequired;
        };
        let moved = readings.range() > Ratio::whole(most.nm().into())
            && case.after(verified, readings.record)
            && !case.slackened_since(id, readings.record)
            && case.state(verified).is_some_and(|now| now.range() <= Ratio::whole(most.nm().into()));
        if !moved {
            return Verdict::NotRequired;
        }
        findings.add(unrecorded(case, findings, id, readings, verified).limit(limit));
        return Verdict::Outstanding;
    }
    let Some(readings) = standing.as_fitted.and_then(|record| case.state(record)) else {
        return Verdict::Awaits("no as-fitted survey");
    };
    if readings.range() <= Ratio::whole(most.nm().into()) {
        return case.survey_shown(id, readings).into();
    }
    let Some(effect) = seat.effect else {
        if !case.shimmed_since_read(id, readings) {
            findings.add(unclear(case, findings, id, readings).limit(limit));
        }
        return Verdict::Awaits("no survey since it was shimmed");
    };
    let wanting: Vec<&ReadStation> = readings
        .stations
        .iter()
        .filter(|station| readings.need(station, effect) > Ratio::whole(most.nm().into()))
        .filter(|station| !shimmed_at(case, id, station, station.record))
        .collect();
    let Some(worst) = wanting.iter().copied().max_by(|a, b| {
        readings.need(a, effect).cmp(&readings.need(b, effect)).then(b.row.position.cmp(&a.row.position))
    }) else {
        let shims = case.last_shimmed(id).map_or(readings.place, |record| case.records[record].place);
        return Verdict::Conforms(shims);
    };
    findings.add(unshimmed(case, findings, (id, seat.kind), readings, effect, (&wanting, worst)).limit(limit));
    Verdict::Outstanding
}

fn unshimmed(
    case: &Case,
    findings: &Findings,
    (id, kind): (RailId, SurveyKind),
    readings: &SurveyReadings,
    effect: ShimEffect,
    (wanting, worst): (&[&ReadStation], &ReadStation),
) -> Finding {
    let target = readings.target(effect);
    let off = length(readings.need(worst, effect));
    let range = length(readings.range());
    findings
        .finding(
            case.machine.rail_address(id),
            worst.row.place,
            format!("the {} varies by {range}, and {} not shimmed", subject(kind), places(wanting)),
        )
        .here(format!("{off} from {}", target.row.name))
        .also(target.row.place, "what the others are shimmed to")
        .found(Measure::too_large(range))
        .next(format!(
            "{}; then snug, full torque and a verification survey",
            next(case, id, readings, wanting, effect)
        ))
}

/// What the shim plan asks for; without one what the places need.
pub(super) fn next(
    case: &Case,
    id: RailId,
    readings: &SurveyReadings,
    wanting: &[&ReadStation],
    effect: ShimEffect,
) -> String {
    case.shim_advice(id).unwrap_or_else(|| {
        let needs = wanting.iter().map(|station| (station.row.name.to_string(), readings.need(station, effect)));
        format!("shim {}", needs::list(case, &needs.collect::<Vec<_>>(), case.today))
    })
}

/// A survey that was beyond its limit and a later one that is within it, with nothing between them that moves a rail.
fn unrecorded(case: &Case, findings: &Findings, id: RailId, readings: &SurveyReadings, verified: usize) -> Finding {
    let what = subject(readings.kind());
    let range = length(readings.range());
    findings
        .finding(
            case.machine.rail_address(id),
            case.records[verified].place,
            format!("the {what} varied by {range} and is within its limit here, and nothing says what was done in between"),
        )
        .here("within its limit")
        .also(readings.least.row.place, "least before")
        .also(readings.greatest.row.place, "greatest before")
        .found(Measure::too_large(range))
        .next(
            "record what lies under it (shim), or that it was loosened and moved (loosen); if the first survey was misread, void it",
        )
}

fn places(stations: &[&ReadStation]) -> String {
    match stations {
        [one] => format!("{} is", one.row.name),
        [one, other] => format!("{} and {} are", one.row.name, other.row.name),
        _ => format!("{} places are", stations.len()),
    }
}

/// A gap that is too uneven while nothing says how to bring it in.
fn unclear(case: &Case, findings: &Findings, id: RailId, readings: &SurveyReadings) -> Finding {
    let rail = case.machine.rail(id);
    let (least, greatest) = (readings.least, readings.greatest);
    let next = match rail.shims {
        None => "say on the rail what a shim under it does to the gap: shims=widen or shims=narrow",
        Some(_) => {
            "a shim under this rail lifts it and leaves the gap: loosen it, push it over, tighten it and survey again"
        }
    };
    findings
        .finding(
            case.machine.rail_address(id),
            least.row.place,
            format!("the gap varies by {}, and nothing is done about it yet", length(readings.range())),
        )
        .here("the narrowest place")
        .also(greatest.row.place, "the widest place")
        .found(Measure::too_large(length(readings.range())))
        .next(next)
}

/// A support at a station, or beside one that lies between supports, was shimmed after a record.
pub(super) fn shimmed_at(case: &Case, id: RailId, station: &ReadStation, since: usize) -> bool {
    let supports = match station.row.support {
        Some(support) => support..support + 1,
        None => case.adjoining(id, station.row.position),
    };
    supports
        .into_iter()
        .any(|support| case.shims(id, support, None).is_some_and(|(event, _)| case.after(event.record, since)))
}
