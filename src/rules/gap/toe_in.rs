//! A gap that grows from one end to the other is cured by moving an end, not by shims.

use crate::calc::exact::Ratio;
use crate::calc::straightness::toe_in;
use crate::finding::{Finding, Grade, Measure, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{RailId, StationReading, SurveyKind};
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, ReadingKind, Rule, RuleGroup, Verdict};

use super::not_surveyed;
use super::reading::length;

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("toe-in"),
    group: RuleGroup::Gap,
    grade: Grade::Observation,
    cure: Cure::AtMachine,
    what: "Where the gap varies by more than its limit, it does not do so by growing from one end of the rail to the other. A limit of its own that the rulebook states holds for a gap within its limit too. Told from four stations on.",
    why: "Such a gap needs no shims: the rail stands at an angle, and moving one end cures it.",
    limits: &[LimitName::ToeIn, LimitName::GapRange],
    source: "geometry: the minimum zone of the gap (ISO 12780-1); that halving the range counts is common practice, no source",
    wrong: r#"
machine m { axis X { rail a; rail b follows=a shims=widen { supports S first=100 pitch=240 count=4 } } }
survey gap X.b date="2026-04-16" by=inspector-1 stage=as-fitted { at S1 0; at S2 -0.03; at S3 -0.05; at S4 -0.08 }
"#,
    right: r#"
machine m { axis X { rail a; rail b follows=a shims=widen { supports S first=100 pitch=240 count=4 } } }
survey gap X.b date="2026-04-16" by=inspector-1 stage=as-fitted { at S1 0; at S2 -0.08; at S3 -0.07; at S4 0 }
"#,
    judges: &[ReadingKind::Gap],
    reasons_from: &["shim", "survey"],
    checks: &[Check::Rails(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    let stated = case.rulebook.most::<Length>(LimitName::ToeIn);
    let Some((most, limit)) = stated.or_else(|| case.rulebook.most::<Length>(LimitName::GapRange)) else {
        return Verdict::NotRequired;
    };
    let latest = case.standing(id, SurveyKind::Gap).latest();
    let Some(readings) = latest.and_then(|record| case.state(record)) else {
        return not_surveyed(case, id, "no gap survey");
    };
    // With fewer than four stations almost anything looks like a line.
    if readings.stations.len() < 4 {
        let few = case.machine.rail(id).supports.len() < 4 || stated.is_none();
        return if few { Verdict::NotRequired } else { Verdict::Awaits("fewer than four stations are read") };
    }
    let verdict = Verdict::from(case.survey_shown(id, readings));
    if case.shimmed_since_read(id, readings) {
        return verdict;
    }
    // Without a limit of its own, a gap that conforms is no matter for toe-in.
    let range = readings.range();
    if stated.is_none() && range <= Ratio::whole(most.nm().into()) {
        return verdict;
    }
    // What explains the gap leaves half its range or less, so that it grows by half as much again at most.
    if range.numerator().saturating_mul(3) <= range.denominator().saturating_mul(2 * i128::from(most.nm())) {
        return verdict;
    }
    let Some((survey, scale)) = readings.survey() else {
        return Verdict::NotJudged("its numbers are beyond reckoning");
    };
    let Some(toe) = toe_in(&survey) else { return Verdict::NotJudged("its numbers are beyond reckoning") };
    let lengths = |value: Ratio| {
        Ratio::new(value.numerator(), value.denominator().saturating_mul(scale)).map_or(Length::ZERO, length)
    };
    let growth = lengths(toe.growth);
    if toe.explains()
        && growth.abs() > most
        && let (Some(first), Some(last)) = (readings.stations.first(), readings.stations.last())
    {
        let remaining = lengths(toe.remaining);
        findings.add(turned(case, findings, id, (first.row, last.row), growth, remaining).limit(limit));
    }
    verdict
}

fn turned(
    case: &Case,
    findings: &Findings,
    id: RailId,
    (first, last): (&StationReading, &StationReading),
    growth: Length,
    remaining: Length,
) -> Finding {
    let (grows, first_does, last_does) = match growth > Length::ZERO {
        true => ("widens", "widen", "narrow"),
        false => ("narrows", "narrow", "widen"),
    };
    let joints = match case.machine.rail(id).joints.len() {
        0 => "",
        _ => ", and its joints must be inspected again",
    };
    let size = growth.abs();
    findings
        .finding(
            case.machine.rail_address(id),
            last.place,
            format!(
                "the gap {grows} by {size} from {} to {}: that is the rail's angle and no matter for shims",
                first.name, last.name
            ),
        )
        .here("one end")
        .also(first.place, "the other end")
        .found(Measure::too_large(size))
        .next(format!(
            "loosen the rail and {last_does} the gap at {} by {size}, or {first_does} it at {} by {size}; that leaves {remaining}. \
             Everything on the way is loosened by it{joints}",
            last.name, first.name,
        ))
}
