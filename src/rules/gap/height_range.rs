//! Two rails lie at one height, within the limit.

use crate::calc::exact::Ratio;
use crate::finding::{Finding, Grade, Measure, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{RailId, ShimSense, SurveyKind};
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, ReadingKind, Rule, RuleGroup, Verdict};

use super::not_surveyed;
use super::reading::{SurveyReadings, length};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("height-range"),
    group: RuleGroup::Gap,
    grade: Grade::Nonconformity,
    cure: Cure::AtMachine,
    what: "The range of the height between two rails in the last survey is within the limit, and in each partial one since. A later survey clears an earlier one where it reads again every station that one read, or is tied to it (station-missing). A later survey that does not count clears nothing, and stations beside a support that was loosened, or first tightened, since are left out. Where shims lift the rail, it is judged once they are verified.",
    why: "A carriage on two rails of unequal height twists, and its blocks carry the twist.",
    limits: &[LimitName::HeightRange],
    holds: &[LimitName::HeightRange],
    source: "none until the shop or machine states a limit",
    wrong: r#"
machine m {
    rulebook { height-range most=0.04 reason="drawing 118-1" }
    axis X { rail a; rail b follows=a { supports S first=100 pitch=240 count=3 } }
}
survey height X.b date="2026-04-15" by=inspector-1 stage=as-fitted { at S1 0; at S2 0.05; at S3 0.01 }
"#,
    right: r#"
machine m {
    rulebook { height-range most=0.04 reason="drawing 118-1" }
    axis X { rail a; rail b follows=a { supports S first=100 pitch=240 count=3 } }
}
survey height X.b date="2026-04-15" by=inspector-1 stage=as-fitted { at S1 0; at S2 0.04; at S3 0.01 }
"#,
    judges: &[ReadingKind::Height],
    checks: &[Check::Rails(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    let Some((most, limit)) = case.rulebook.most::<Length>(LimitName::HeightRange) else { return Verdict::NotRequired };
    let within = |readings: &SurveyReadings| readings.range() <= Ratio::whole(most.nm().into());
    let lifts = case.machine.rail(id).shims.is_some_and(|sense| *sense == ShimSense::Lift);
    let records = case.surveys_judged(id, SurveyKind::Height, |all| {
        if lifts { all.verifications(case).collect() } else { all.now().collect() }
    });
    for readings in &records {
        if !within(readings)
            && (readings.verifies || !lifts)
            && let Some(readings) = case.still_standing(id, readings).filter(|of| !within(of))
            && !(lifts && case.shimmed_since_read(id, &readings))
        {
            findings.add(uneven(case, findings, id, &readings, lifts).limit(limit));
        }
    }
    match case.standing(id, SurveyKind::Height).latest().and_then(|record| case.state(record)) {
        Some(readings) if readings.verifies || !lifts || within(readings) => case.survey_shown(id, readings).into(),
        Some(_) => Verdict::Awaits("no verification survey of the height"),
        None => not_surveyed(case, id, "no height survey"),
    }
}

fn uneven(case: &Case, findings: &Findings, id: RailId, readings: &SurveyReadings, lifts: bool) -> Finding {
    let next = match lifts {
        true => "shim the low places up, tighten and survey the height again",
        false => "correct the seats, tighten and survey the height again",
    };
    let (least, greatest) = (readings.least.row, readings.greatest.row);
    let range = length(readings.range());
    findings
        .finding(
            case.machine.rail_address(id),
            least.place,
            format!("the height varies by {range}: {} is the lowest place, {} the highest", least.name, greatest.name),
        )
        .here("the lowest place")
        .also(greatest.place, "the highest place")
        .found(Measure::too_large(range))
        .next(next)
}
