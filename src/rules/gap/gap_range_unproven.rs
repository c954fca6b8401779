//! The gap's range lies inside its limit by enough to be sure.

use crate::calc::uncertainty::{Proof, ValueLimits, judge};
use crate::finding::{Finding, Grade, Limit, Measure, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{Gauge, RailId, SurveyKind};
use crate::quantity::Length;
use crate::rules::{About, Case, Check, Cure, Findings, Ground, ReadingKind, Rule, RuleGroup, Verdict, proof};

use super::reading::{SurveyReadings, length};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("gap-range-unproven"),
    group: RuleGroup::Gap,
    grade: Grade::Observation,
    cure: Cure::AtMachine,
    what: "The range of the gap in the last verification survey lies inside its limit by at least the guard band. Where the rulebook requires proof, it is a nonconformity if it does not.",
    why: "A range close to its limit may be beyond it: the gauge is not exact. The range of many stations is rather too large than too small, because noise adds to it.",
    limits: &[LimitName::GapRange, LimitName::GuardBand, LimitName::Proof],
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
    judges: &[ReadingKind::Gap],
    about: About::Certainty,
    follows_from: &[Ground::Described, Ground::Instrument],
    checks: &[Check::Rails(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    let Some((most, limit)) = case.rulebook.most::<Length>(LimitName::GapRange) else { return Verdict::NotRequired };
    let standing = case.standing(id, SurveyKind::Gap);
    let mut verdict = match standing.verified.and_then(|record| case.readings(record)) {
        Some(readings) => case.survey_shown(id, readings).into(),
        // Whether it must be read is for `gap-range` to say.
        None => Verdict::NotRequired,
    };
    for record in standing.verifications(case) {
        let Some(readings) = case.readings(record).and_then(|readings| case.still_standing(id, readings)) else {
            continue;
        };
        if case.shimmed_since(id, record) {
            continue;
        }
        let gauge = readings.survey.gauge.as_ref().and_then(|name| case.shop.gauge(name));
        let Some((gauge, variance)) = gauge.and_then(|gauge| Some((gauge, proof::of_difference(gauge)?))) else {
            verdict = verdict.and(Verdict::NotJudged("no graduation and error of the gauge are stated"));
            continue;
        };
        let (guard, basis) = proof::guard(case.rulebook, variance);
        let judged = judge(length(readings.range()).nm(), ValueLimits::at_most(most.nm()), guard);
        // Beyond the plain limit it is gap-range's business, and where nothing varies there is nothing to prove.
        if !judged.inside {
            verdict = verdict.and(Verdict::Awaits("the gap is not within its limit"));
        } else if judged.proof != Proof::Inside {
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
