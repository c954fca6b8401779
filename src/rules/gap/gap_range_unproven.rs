//! The gap's range lies inside its limit by enough to be sure.

use crate::calc::uncertainty::{Limits, Proof, judge};
use crate::finding::{Grade, Limit, Measure};
use crate::language::rulebook::InForce;
use crate::ledger::{RailId, SurveyKind};
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, Group, Rule, proof};

use super::reading::{Readings, length};

pub static RULE: Rule = Rule {
    name: "gap-range-unproven",
    group: Group::Gap,
    grade: Grade::Observation,
    cure: Cure::AtMachine,
    what: "The range of the gap in the last verification survey lies inside its limit by at least the guard band. Where the rulebook requires proof, it is a nonconformity if it does not.",
    why: "A range close to its limit may be beyond it: the gauge is not exact. The range of many stations is rather too large than too small, because noise adds to it.",
    limits: &["gap-range", "guard-band", "proof"],
    source: "ISO 14253-1; ILAC-G8:09/2019; U = 2u with u from the gauge's error once and its graduation twice (GUM 4.3.7, F.2.2.1)",
    wrong: r#"
shop { gauge DI-6 graduation=0.01 local-error=0.005 }
machine m { axis X { rail a; rail b follows=a { supports S first=100 pitch=240 count=3 } } }
survey gap X.b date="2026-04-18" by=inspector-1 gauge=DI-6 stage=verification { at S1 0; at S2 -0.05; at S3 -0.02 }
"#,
    right: r#"
shop { gauge DI-6 graduation=0.01 local-error=0.005 }
machine m { axis X { rail a; rail b follows=a { supports S first=100 pitch=240 count=3 } } }
survey gap X.b date="2026-04-18" by=inspector-1 gauge=DI-6 stage=verification { at S1 0; at S2 -0.04; at S3 -0.02 }
"#,
    check: Check::Ledger(check),
};

fn check(case: &Case, findings: &mut Findings) {
    let Some((most, limit)) = case.rulebook.most::<Length>("gap-range") else { return };
    for (id, ..) in case.rails() {
        for record in case.standing(id, SurveyKind::Gap).verifications(case) {
            if let Some(readings) = case.readings(record).and_then(|readings| case.still_standing(id, readings)) {
                judge_survey(case, findings, id, &readings, most, limit);
            }
        }
    }
}

fn judge_survey(case: &Case, findings: &mut Findings, id: RailId, readings: &Readings, most: Length, limit: InForce) {
    let gauge = readings.survey.gauge.as_ref().and_then(|name| case.shop.gauge(name));
    let Some(variance) = gauge.and_then(proof::of_difference) else { return };
    let (guard, basis) = proof::guard(case.rulebook, variance);
    let range = length(readings.range());
    let verdict = judge(range.nm(), Limits::at_most(most.nm()), guard);
    // Beyond the plain limit it is gap-range's business, and where nothing varies there is nothing to prove.
    if !verdict.inside || verdict.proof == Proof::Inside || case.shimmed_since(id, readings.record) {
        return;
    }
    let proven = Length((most.nm() - guard.width()).max(0));
    let mut finding = findings
        .finding(
            case.machine.rail_address(id),
            readings.least.row.place,
            format!("the gap varies by {range}: inside its limit, and not proven so ({basis})"),
        )
        .here("the narrowest place")
        .also(readings.greatest.row.place, "the widest place")
        .found(Measure::too_large(range))
        .limit(Limit { text: format!("{}; proven up to {proven}", limit.text()), ..limit.words() })
        .next(format!(
            "read {} and {} again with a finer gauge, or a few times each",
            readings.least.row.name, readings.greatest.row.name
        ));
    if let Some(gauge) = gauge {
        finding = finding.also(gauge.name.place, "the gauge");
    }
    if proof::required(case.rulebook) {
        finding.grade = Grade::Nonconformity;
    }
    findings.add(finding);
}
