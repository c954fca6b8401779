//! Two rails lie at one height, within the limit.

use crate::calc::exact::Ratio;
use crate::finding::{Grade, Measure, RuleName};
use crate::language::rulebook::{InForce, LimitName};
use crate::ledger::{RailId, ShimSense, SurveyKind};
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, Group, ReadingKind, Rule};

use super::reading::{Readings, length};

pub static RULE: Rule = Rule {
    name: RuleName::new("height-range"),
    group: Group::Gap,
    grade: Grade::Nonconformity,
    cure: Cure::AtMachine,
    what: "The range of the height between two rails in the last survey is within the limit, and in each partial one since. A later survey clears an earlier one only where it reads again every station that one read. A later survey that does not count clears nothing, and stations beside a support that was loosened, or first tightened, since are left out. Where shims lift the rail, it is judged once they are verified.",
    why: "A carriage on two rails of unequal height twists, and its blocks carry the twist.",
    limits: &[LimitName::HeightRange],
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
    checks: &[Check::Ledger(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, findings: &mut Findings) {
    let Some((most, limit)) = case.rulebook.most::<Length>(LimitName::HeightRange) else { return };
    for (id, _, rail) in case.rails() {
        let lifts = rail.shims.is_some_and(|sense| *sense == ShimSense::Lift);
        let records = case.surveys_judged(id, SurveyKind::Height, |all| {
            if lifts { all.verifications(case).collect() } else { all.now().collect() }
        });
        for readings in records.into_iter().filter_map(|record| case.readings(record)) {
            if readings.range() > Ratio::whole(most.nm().into())
                && (readings.verifies() || !lifts)
                && let Some(readings) = case.still_standing(id, readings)
            {
                judge(case, findings, id, &readings, lifts, most, limit);
            }
        }
    }
}

fn judge(
    case: &Case,
    findings: &mut Findings,
    id: RailId,
    readings: &Readings,
    lifts: bool,
    most: Length,
    limit: InForce,
) {
    if readings.range() <= Ratio::whole(most.nm().into()) || lifts && case.shimmed_since(id, readings.record) {
        return;
    }
    let next = match lifts {
        true => "shim the low places up, tighten and survey the height again",
        false => "correct the seats, tighten and survey the height again",
    };
    findings.add(
        findings
            .finding(
                case.machine.rail_address(id),
                readings.least.row.place,
                format!(
                    "the height varies by {}: {} is the lowest place, {} the highest",
                    length(readings.range()),
                    readings.least.row.name,
                    readings.greatest.row.name
                ),
            )
            .here("the lowest place")
            .also(readings.greatest.row.place, "the highest place")
            .found(Measure::too_large(length(readings.range())))
            .limit(limit)
            .next(next),
    );
}
