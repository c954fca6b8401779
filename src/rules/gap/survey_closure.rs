//! A survey ends where it began.

use crate::calc::exact::Ratio;
use crate::facts::survey_doubt::{ClosureBasis, ClosureLimit, closure_limit};
use crate::finding::{Finding, Grade, Limit, Measure, RuleName};
use crate::language::rulebook::{InForce, LimitName};
use crate::ledger::{Keyword, NodeDraft, RailId, SpeltValue, StationReading, SurveyKind};
use crate::quantity::Length;
use crate::rules::{About, Case, Check, Cure, Findings, ReadingKind, Rule, RuleGroup, Verdict};

use super::reading::{SurveyReadings, length, minus, subject};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("survey-closure"),
    group: RuleGroup::Gap,
    grade: Grade::Nonconformity,
    cure: Cure::AtMachine,
    what: "A station read again at the end of a survey reads as it did before: within the limit that the rulebook states, else within one graduation of the gauge or a tenth of the narrowest limit of what is surveyed, over all or local, whichever is greater. Half of that joins the uncertainty of the survey.",
    why: "What changed between the first reading and the last is the gauge or its holder. All readings between have some of it in them.",
    limits: &[
        LimitName::SurveyClosure,
        LimitName::GapRange,
        LimitName::Straightness,
        LimitName::HeightRange,
        LimitName::GapLocal,
        LimitName::StraightnessLocal,
        LimitName::HeightLocal,
    ],
    holds: &[LimitName::SurveyClosure],
    source: "from memory, no source",
    wrong: r#"
shop { gauge DI-6 graduation=0.01 }
machine m { axis X { rail a; rail b follows=a { supports S first=100 pitch=240 count=2 } } }
survey gap X.b date="2026-04-16" by=inspector-1 gauge=DI-6 stage=as-fitted { at S1 0; at S2 -0.03; closure S1 0.02 }
"#,
    right: r#"
shop { gauge DI-6 graduation=0.01 }
machine m { axis X { rail a; rail b follows=a { supports S first=100 pitch=240 count=2 } } }
survey gap X.b date="2026-04-16" by=inspector-1 gauge=DI-6 stage=as-fitted { at S1 0; at S2 -0.03; closure S1 0.01 }
"#,
    judges: &[ReadingKind::Closure],
    about: About::Taking,
    checks: &[Check::Rails(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    let stated = case.rulebook.most::<Length>(LimitName::SurveyClosure);
    let mut verdict = Verdict::NotRequired;
    for kind in [SurveyKind::Gap, SurveyKind::Straightness, SurveyKind::Height] {
        let surveys = case.planes(id, kind).iter().flat_map(|plane| plane.records(plane.all()));
        for readings in surveys.filter_map(|record| case.readings(record)) {
            let survey = readings.survey;
            verdict = verdict.and(match (&survey.closure, &survey.former_closure) {
                (Some(closure), _) => {
                    let station = readings.stations.binary_search_by_key(&closure.position, |it| it.row.position);
                    let before = station.ok().map(|at| (readings.stations[at].row, readings.stations[at].value));
                    closed(case, id, readings, (before, closure), stated, findings)
                }
                // The gauge did not drift the less because the station was moved since.
                (None, Some(closure)) => {
                    let before = of_former(readings, closure);
                    closed(case, id, readings, (before, closure), stated, findings)
                }
                (None, None) => not_closed(case, id, readings, findings),
            });
        }
    }
    verdict
}

/// The station that a closure read again, where it is there no more: its first row, and the mean of all.
fn of_former<'l>(readings: &SurveyReadings<'l>, closure: &StationReading) -> Option<(&'l StationReading, Ratio)> {
    let rows = || readings.survey.former.iter().filter(|it| it.position == closure.position && !it.readings.is_empty());
    let read = || rows().flat_map(|row| &row.readings);
    let sum: i128 = read().map(|reading| i128::from(reading.nm())).sum();
    Some((rows().next()?, Ratio::new(sum * readings.sign, read().count() as i128)?))
}

/// Nobody read the first station again at the end, so that nobody knows how far the gauge drifted.
fn not_closed(case: &Case, id: RailId, readings: &SurveyReadings, findings: &mut Findings) -> Verdict {
    let first = readings.survey.stations.first();
    let spelt = first.map(|row| match row.support.is_some() || row.end.is_some() {
        true => SpeltValue::from(row.name.as_str()),
        false => SpeltValue::from(row.position),
    });
    let line = NodeDraft::new("closure").values(spelt).value(SpeltValue::open()).line();
    let first = first.map_or("the first station", |row| row.name.as_str());
    let message =
        format!("the {} survey was not closed: no station was read again at its end", subject(readings.kind()));
    let mut finding = findings
        .finding(case.machine.rail_address(id), readings.place, message)
        .here("no closing reading")
        .next(format!("survey again and read {first} once more at the end: {line}"));
    finding.grade = Grade::Outstanding;
    findings.add(finding);
    Verdict::Outstanding
}

fn closed(
    case: &Case,
    id: RailId,
    readings: &SurveyReadings,
    (before, closure): (Option<(&StationReading, Ratio)>, &StationReading),
    stated: Option<(Length, InForce)>,
    findings: &mut Findings,
) -> Verdict {
    let Some(limit @ ClosureLimit { most, basis }) = closure_limit(case, case.rulebook, readings.survey) else {
        return Verdict::NotJudged("neither a limit nor the graduation of the gauge is stated");
    };
    let (Some((sum, count)), Some((first, before))) = (closure.mean(), before) else {
        return Verdict::Awaits("no station is read both before and at the end of a survey");
    };
    let Some(again) = Ratio::new(i128::from(sum.nm()) * readings.sign, count as i128) else {
        return Verdict::NotJudged("its numbers are beyond reckoning");
    };
    let change = minus(again, before).abs();
    if change > Ratio::whole(most.nm().into()) {
        let gauge = readings.survey.gauge.as_ref().and_then(|name| case.shop.gauge(name));
        let graduation = gauge.and_then(|gauge| gauge.graduation).map(|graduation| graduation.place);
        let set_at = graduation.filter(|_| basis == ClosureBasis::Graduation);
        let limit = match stated {
            Some((_, stated)) => stated.words(),
            None => {
                let (limit, from) = limit.derived();
                Limit { set_at, ..case.rulebook.computed(LimitName::SurveyClosure, format!("{limit}, {from}")) }
            }
        };
        findings.add(open(case, findings, id, readings, (first, closure), length(change)).limit(limit));
    }
    Verdict::Conforms(closure.place)
}

fn open(
    case: &Case,
    findings: &Findings,
    id: RailId,
    readings: &SurveyReadings,
    (first, again): (&StationReading, &StationReading),
    change: Length,
) -> Finding {
    let stage = readings.survey.stage.map_or("", |stage| stage.value.word());
    let subject = subject(readings.kind());
    findings
        .finding(
            case.machine.rail_address(id),
            again.place,
            format!("the {stage} {subject} survey does not close: {} changed by {change}", again.name),
        )
        .here("read again at the end")
        .also(first.place, "read before")
        .found(Measure::too_large(change))
        .next("see to the gauge and its holder, then read the whole survey again")
}
