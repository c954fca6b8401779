//! A gap that grows from one end to the other is cured by moving an end, not by shims.

use crate::calc::exact::Ratio;
use crate::calc::straightness::toe_in;
use crate::finding::{Grade, Measure};
use crate::ledger::SurveyKind;
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, Group, Rule};

use super::reading::length;

pub static RULE: Rule = Rule {
    name: "toe-in",
    group: Group::Gap,
    grade: Grade::Observation,
    cure: Cure::AtMachine,
    what: "Where the gap varies by more than its limit, it does not do so by growing from one end of the rail to the other. A limit of its own that the rulebook states holds for a gap within its limit too. Told from four stations on.",
    why: "Such a gap needs no shims: the rail stands at an angle, and moving one end cures it.",
    limits: &["toe-in", "gap-range"],
    source: "geometry: the minimum zone of the gap (ISO 12780-1); that halving the range counts is common practice, no source",
    wrong: r#"
machine m { axis X { rail a; rail b follows=a shims=widen { supports S first=100 pitch=240 count=4 } } }
survey gap X.b date="2026-04-16" by=inspector-1 stage=as-fitted { at S1 0; at S2 -0.03; at S3 -0.05; at S4 -0.08 }
"#,
    right: r#"
machine m { axis X { rail a; rail b follows=a shims=widen { supports S first=100 pitch=240 count=4 } } }
survey gap X.b date="2026-04-16" by=inspector-1 stage=as-fitted { at S1 0; at S2 -0.08; at S3 -0.07; at S4 0 }
"#,
    check: Check::Ledger(check),
};

fn check(case: &Case, findings: &mut Findings) {
    let stated = case.rulebook.most::<Length>("toe-in");
    let Some((most, limit)) = stated.or_else(|| case.rulebook.most::<Length>("gap-range")) else { return };
    for (id, _, rail) in case.rails() {
        let latest = case.standing(id, SurveyKind::Gap).latest();
        let Some(readings) = latest.and_then(|record| case.readings(record)) else { continue };
        // With fewer than four stations almost anything looks like a line.
        if readings.stations.len() < 4 || case.shimmed_since(id, readings.record) {
            continue;
        }
        // Without a limit of its own, a gap that conforms is no matter for toe-in.
        let range = readings.range();
        if stated.is_none() && range <= Ratio::whole(most.nm().into()) {
            continue;
        }
        // What explains the gap leaves half its range or less, so that it grows by half as much again at most.
        if range.numerator().saturating_mul(3) <= range.denominator().saturating_mul(2 * i128::from(most.nm())) {
            continue;
        }
        let Some((survey, scale)) = readings.survey() else { continue };
        let Some(toe) = toe_in(&survey).filter(|toe| toe.explains()) else { continue };
        let lengths = |value: Ratio| {
            Ratio::new(value.numerator(), value.denominator().saturating_mul(scale)).map_or(Length::ZERO, length)
        };
        let (growth, remaining) = (lengths(toe.growth), lengths(toe.remaining));
        if growth.abs() <= most {
            continue;
        }
        let (Some(first), Some(last)) = (readings.stations.first(), readings.stations.last()) else { continue };
        let (grows, first_does, last_does) = match growth > Length::ZERO {
            true => ("widens", "widen", "narrow"),
            false => ("narrows", "narrow", "widen"),
        };
        let joints = match rail.joints.len() {
            0 => String::new(),
            _ => ", and its joints must be inspected again".into(),
        };
        findings.add(
            findings
                .finding(
                    case.machine.rail_address(id),
                    last.row.place,
                    format!(
                        "the gap {grows} by {} from {} to {}: that is the rail's angle and no matter for shims",
                        growth.abs(),
                        first.row.name,
                        last.row.name
                    ),
                )
                .here("one end")
                .also(first.row.place, "the other end")
                .found(Measure::too_large(growth.abs()))
                .limit(limit)
                .next(format!(
                    "loosen the rail and {last_does} the gap at {} by {size}, or {first_does} it at {} by {size}; that leaves {remaining}. \
                     Everything on the way is loosened by it{joints}",
                    last.row.name,
                    first.row.name,
                    size = growth.abs(),
                )),
        );
    }
}
