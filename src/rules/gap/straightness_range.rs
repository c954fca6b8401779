//! A reference rail is straight within its limit.

use crate::calc::exact::Ratio;
use crate::calc::straightness::{Zone, minimum_zone};
use crate::calc::survey::Survey;
use crate::finding::{Grade, Measure};
use crate::ledger::SurveyKind;
use crate::quantity::Length;
use crate::rules::{Case, Check, Findings, Group, Rule};

use super::reading::{Readings, length};

pub static RULE: Rule = Rule {
    name: "straightness-range",
    group: Group::Gap,
    grade: Grade::Nonconformity,
    what: "The last straightness survey of a rail lies between two parallel lines no farther apart than the limit. A later survey that does not count clears nothing, and stations beside a support that was loosened since are left out.",
    why: "The gap sees only the difference of two rails. Two rails that are bent alike pass it, and the carriage follows the bend.",
    limits: &["straightness"],
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
    check: Check::Ledger(check),
};

/// The zone of a survey that is wider than the limit, and its width in nm.
fn zone(readings: &Readings, most: Length) -> Option<(Zone, Ratio, Survey)> {
    let (survey, scale) = readings.survey()?;
    let zone = minimum_zone(&survey)?;
    let width = Ratio::new(zone.width.numerator(), zone.width.denominator().saturating_mul(scale))?;
    (width > Ratio::whole(most.nm().into())).then_some((zone, width, survey))
}

fn check(case: &Case, findings: &mut Findings) {
    let Some((most, limit)) = case.rulebook.most::<Length>("straightness") else { return };
    for (id, ..) in case.rails() {
        let broken = case.back_to_proof(id, SurveyKind::Straightness).into_iter().find_map(|record| {
            let all = case.readings(record).filter(|_| !case.shimmed_since(id, record))?;
            zone(all, most)?;
            let readings = case.still_standing(id, all)?;
            let (zone, width, survey) = zone(&readings, most)?;
            Some((readings, zone, width, survey))
        });
        let Some((readings, zone, width, survey)) = broken else { continue };
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
            continue;
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
}
