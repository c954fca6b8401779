//! A reference rail is straight within its limit.

use crate::calc::exact::Ratio;
use crate::calc::straightness::{Zone, minimum_zone};
use crate::finding::{Finding, Grade, Measure, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{RailId, SurveyKind};
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, ReadingKind, Rule, RuleGroup, Verdict};

use super::CurrentSurveys;
use super::reading::{SurveyReadings, length};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("straightness-range"),
    group: RuleGroup::Gap,
    grade: Grade::Nonconformity,
    cure: Cure::AtMachine,
    what: "The last straightness survey of a rail lies between two parallel lines no farther apart than the limit: in each plane that was read, sideways and upright. A later survey clears an earlier one where it reads again, in the same plane, every station that one read, or is tied to it (station-missing); one that does not say its plane (`plus`) is cleared by one that does not either, or by one in each plane. A later survey that does not count clears nothing, and stations beside a support that was loosened, or first tightened, since are left out.",
    why: "The gap sees only the difference of two rails. Two rails that are bent alike pass it, and the carriage follows the bend.",
    limits: &[LimitName::Straightness],
    holds: &[LimitName::Straightness],
    source: "ISO 12780-1: minimum zone",
    wrong: r#"
machine m {
    rulebook { straightness most=0.03 reason="drawing 118-1" }
    axis X { rail a { supports S first=100 pitch=240 count=3 } }
}
survey straightness X.a date="2026-04-15" by=inspector-1 stage=as-fitted { at S1 0; at S2 0.04; at S3 0.01 }
"#,
    right: r#"
machine m {
    rulebook { straightness most=0.03 reason="drawing 118-1" }
    axis X { rail a { supports S first=100 pitch=240 count=3 } }
}
survey straightness X.a date="2026-04-15" by=inspector-1 stage=as-fitted { at S1 0; at S2 0.03; at S3 0.01 }
"#,
    judges: &[ReadingKind::Straightness],
    checks: &[Check::Rails(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    let Some((most, limit)) = case.rulebook.most::<Length>(LimitName::Straightness) else {
        // The gap cannot see two rails that are bent alike.
        return match case.is_followed(id) {
            true => Verdict::NotJudged("another rail follows it, and no limit of its straightness is stated"),
            false => Verdict::NotRequired,
        };
    };
    let mut verdict = Verdict::NotRequired;
    for judged in &case.surveys_judged(id, SurveyKind::Straightness, |all| all.now().collect()) {
        let standing = case.still_standing(id, judged);
        let Some(readings) = standing.filter(|of| of.stations.len() > 1 && !case.shimmed_since_read(id, judged)) else {
            continue;
        };
        let Some((zone, width)) = zone(&readings) else {
            verdict = Verdict::NotJudged("its numbers are beyond reckoning");
            continue;
        };
        if width > Ratio::whole(most.nm().into())
            && let Some(finding) = bent(case, findings, id, &readings, &zone, width)
        {
            findings.add(finding.limit(limit));
        }
    }
    let surveys = case.planes(id, SurveyKind::Straightness).iter().filter_map(CurrentSurveys::latest);
    let shown = surveys.filter_map(|record| case.state(record)).map(|readings| match readings.stations.len() {
        0..3 => Verdict::Awaits("fewer than three stations are read"),
        _ => case.survey_shown(id, readings).into(),
    });
    verdict.and(shown.reduce(Verdict::and).unwrap_or_else(|| {
        match case.is_followed(id) || case.followed(id.axis).is_empty() {
            true => Verdict::Awaits("no straightness survey"),
            // What follows another rail is held to it by the gap.
            false => Verdict::NotRequired,
        }
    }))
}

/// The minimum zone of a survey and its width in nanometres; nothing where its numbers are beyond reckoning.
fn zone(readings: &SurveyReadings) -> Option<(Zone, Ratio)> {
    let (survey, scale) = readings.survey()?;
    let zone = minimum_zone(&survey)?;
    let width = Ratio::new(zone.width.numerator(), zone.width.denominator().saturating_mul(scale))?;
    Some((zone, width))
}

fn bent(
    case: &Case,
    findings: &Findings,
    id: RailId,
    readings: &SurveyReadings,
    zone: &Zone,
    width: Ratio,
) -> Option<Finding> {
    let (survey, _) = readings.survey()?;
    // The zone's width at a station: how far it lies from the line through the two that carry the zone.
    let (from, to) = zone.line;
    let off = |position: i64, reading: i64| {
        let run = i128::from(to.position_nm) - i128::from(from.position_nm);
        let rise = i128::from(to.reading_nm) - i128::from(from.reading_nm);
        ((i128::from(reading) - i128::from(from.reading_nm)) * run
            - (i128::from(position) - i128::from(from.position_nm)) * rise)
            .abs()
    };
    let stations = survey.stations();
    let farthest = (0..stations.len())
        .max_by_key(|at| (off(stations[*at].position_nm, stations[*at].reading_nm), usize::MAX - at));
    let farthest = farthest.and_then(|at| readings.stations.get(at))?;
    let [from, to] = [from, to].map(|it| readings.stations[it.number]);
    let finding = findings
        .finding(
            case.machine.rail_address(id),
            farthest.row.place,
            format!("the rail is straight within {}: {} stands farthest out", length(width), farthest.row.name),
        )
        .here("farthest from the line")
        .also(from.row.place, "the line runs through this place")
        .also(to.row.place, "and through this one")
        .found(Measure::too_large(length(width)))
        .next(format!(
            "loosen the rail about {}, push it back to its line, tighten it and survey it again",
            farthest.row.name
        ));
    Some(finding)
}
