//! A reference rail is straight within its limit.

use crate::calc::exact::Ratio;
use crate::calc::straightness::minimum_zone;
use crate::finding::{Grade, Measure, RuleName};
use crate::language::rulebook::{InForce, LimitName};
use crate::ledger::{RailId, SurveyKind};
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, Group, ReadingKind, Rule};

use super::reading::{Readings, length};

pub static RULE: Rule = Rule {
    name: RuleName::new("straightness-range"),
    group: Group::Gap,
    grade: Grade::Nonconformity,
    cure: Cure::AtMachine,
    what: "The last straightness survey of a rail lies between two parallel lines no farther apart than the limit: in each plane that was read, sideways and upright. A later survey clears an earlier one only where it reads again, in the same plane, every station that one read; one that does not say its plane (`plus`) is cleared by one that does not either, or by one in each plane. A later survey that does not count clears nothing, and stations beside a support that was loosened, or first tightened, since are left out.",
    why: "The gap sees only the difference of two rails. Two rails that are bent alike pass it, and the carriage follows the bend.",
    limits: &[LimitName::Straightness],
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
    checks: &[Check::Ledger(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, findings: &mut Findings) {
    let Some((most, limit)) = case.rulebook.most::<Length>(LimitName::Straightness) else { return };
    for (id, ..) in case.rails() {
        let records = case.surveys_judged(id, SurveyKind::Straightness, |all| all.now().collect());
        for readings in records.into_iter().filter_map(|record| case.readings(record)) {
            if let Some(readings) = case.still_standing(id, readings) {
                judge(case, findings, id, &readings, most, limit);
            }
        }
    }
}

fn judge(case: &Case, findings: &mut Findings, id: RailId, readings: &Readings, most: Length, limit: InForce) {
    let Some((survey, scale)) = readings.survey().filter(|_| !case.shimmed_since(id, readings.record)) else {
        return;
    };
    let Some(zone) = minimum_zone(&survey) else { return };
    let Some(width) = Ratio::new(zone.width.numerator(), zone.width.denominator().saturating_mul(scale)) else {
        return;
    };
    if width <= Ratio::whole(most.nm().into()) {
        return;
    }
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
    let at = |position: i64| readings.stations.iter().find(|station| station.row.position.nm() == position);
    let (Some(farthest), Some(from), Some(to)) =
        (farthest.and_then(|at| readings.stations.get(at)), at(from.position_nm), at(to.position_nm))
    else {
        return;
    };
    findings.add(
        findings
            .finding(
                case.machine.rail_address(id),
                farthest.row.place,
                format!("the rail is straight within {}: {} stands farthest out", length(width), farthest.row.name),
            )
            .here("farthest from the line")
            .also(from.row.place, "the line runs through this place")
            .also(to.row.place, "and through this one")
            .found(Measure::too_large(length(width)))
            .limit(limit)
            .next(format!(
                "loosen the rail about {}, push it back to its line, tighten it and survey it again",
                farthest.row.name
            )),
    );
}
