//! The gap's range lies inside its limit by enough to be sure.

use crate::calc::uncertainty::{Proof, ValueLimits, judge};
use crate::facts::survey_doubt;
use crate::finding::{Finding, Grade, Limit, Measure, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{Gauge, RailId, SurveyKind};
use crate::quantity::Length;
use crate::rules::{About, Case, Check, Cure, Findings, Ground, ReadingKind, Rule, RuleGroup, Verdict, proof};

use super::not_surveyed;
use super::reading::{SurveyReadings, length};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("gap-range-unproven"),
    group: RuleGroup::Gap,
    grade: Grade::Observation,
    cure: Cure::AtMachine,
    what: "The range of the gap in the last verification survey lies inside its limit by at least the guard band. Where the rulebook requires proof, it is a nonconformity if it does not.",
    why: "A range close to its limit may be beyond it: the gauge is not exact. The range of many stations is rather too large than too small, because noise adds to it.",
    limits: &[LimitName::GapRange, LimitName::GuardBand, LimitName::Proof],
    source: "ISO 14253-1; ILAC-G8:09/2019; U = 2u with u from the gauge's error once, its graduation twice (GUM 4.3.7, F.2.2.1) and half of what a closure may be",
    wrong: r#"
shop { gauge DI-6 graduation=0.01 local-error=0.005 }
machine m { axis X { rail a; rail b follows=a { supports S first=100 pitch=240 count=3 } } }
survey gap X.b date="2026-04-18" by=inspector-1 gauge=DI-6 stage=verification { at S1 0; at S2 -0.05; at S3 -0.02 }
"#,
    right: r#"
shop { gauge DI-6 graduation=0.01 local-error=0.005 }
machine m { axis X { rail a; rail b follows=a { supports S first=100 pitch=240 count=3 } } }
survey gap X.b date="2026-04-18" by=inspector-1 gauge=DI-6 stage=verification { at S1 0; at S2 -0.035; at S3 -0.02 }
"#,
    judges: &[ReadingKind::Gap],
    about: About::Certainty,
    follows_from: &[Ground::Described, Ground::Instrument],
    checks: &[Check::Rails(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    let Some((most, limit)) = case.rulebook.most::<Length>(LimitName::GapRange) else { return Verdict::NotRequired };
    let standing = case.standing(id, SurveyKind::Gap);
    let mut verdict = match standing.verified.and_then(|record| case.state(record)) {
        Some(readings) => case.survey_shown(id, readings).into(),
        None => not_surveyed(case, id, "no verification survey of the gap"),
    };
    for record in standing.verifications(case) {
        let Some(readings) = case.state(record).and_then(|readings| case.still_standing(id, readings)) else {
            continue;
        };
        if case.shimmed_since_read(id, &readings) {
            continue;
        }
        let gauge = readings.survey.gauge.as_ref().and_then(|name| case.shop.gauge(name));
        let variance = survey_doubt::of_range(case, case.rulebook, &readings);
        let Some((gauge, variance)) = gauge.zip(variance) else {
            verdict = verdict.and(Verdict::NotJudged("no graduation and error of the gauge are stated"));
            continue;
        };
        let (guard, basis) = proof::guard(case.rulebook, variance);
        let judged = judge(length(readings.range()).nm(), ValueLimits::at_most(most.nm()), guard);
        // Beyond the plain limit it is gap-range's business, and where nothing varies there is nothing to prove.
        if !judged.inside {
            verdict = verdict.and(Verdict::NotJudged("the gap is not within its limit"));
        } else if judged.proof != Proof::Inside {
            verdict = verdict.and(Verdict::NotJudged("no reading is sure enough to prove it"));
            let proven = Length((most.nm() - guard.width()).max(0));
            findings.add(
                unproven(case, findings, id, &readings, gauge, &basis)
                    .limit(Limit { text: format!("{}; proven up to {proven}", limit.text()), ..limit.words() }),
            );
        }
    }
    verdict
}

fn unproven(
    case: &Case,
    findings: &Findings,
    id: RailId,
    readings: &SurveyReadings,
    gauge: &Gauge,
    basis: &str,
) -> Finding {
    let range = length(readings.range());
    let (least, greatest) = (readings.least.row, readings.greatest.row);
    let mut finding = findings
        .finding(
            case.machine.rail_address(id),
            least.place,
            format!("the gap varies by {range}: inside its limit, and not proven so ({basis})"),
        )
        .here("the narrowest place")
        .also(greatest.place, "the widest place")
        .found(Measure::too_large(range))
        .next(format!("read {} and {} again with a finer gauge, or a few times each", least.name, greatest.name))
        .also(gauge.name.place, "the gauge");
    if proof::required(case.rulebook) {
        finding.grade = Grade::Nonconformity;
    }
    finding
}
