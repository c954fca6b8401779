//! A survey ends where it began.

use crate::calc::exact::Ratio;
use crate::facts::survey_doubt::{ClosureBasis, ClosureLimit, closure_limit};
use crate::finding::{Finding, Grade, Limit, Measure, RuleName};
use crate::language::rulebook::{InForce, LimitName};
use crate::ledger::{Keyword, NodeDraft, RailId, SpeltValue, StationReading, Survey, SurveyKind};
use crate::quantity::{Angle, Length};
use crate::rules::{About, Case, Check, Cure, Findings, ReadingKind, Rule, RuleGroup, Verdict};

use super::reading::{self, SurveyReadings, bent_by, length, minus, subject};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("survey-closure"),
    group: RuleGroup::Gap,
    grade: Grade::Nonconformity,
    cure: Cure::AtMachine,
    what: "A station read again at the end of a survey reads as it did before: within the limit that the rulebook states, else within one graduation of the gauge or a tenth of the narrowest limit of what is surveyed, over all or local, whichever is greater. Of angles a step is read again, and what counts is how far a drift that grew evenly over a span L bends the line: change × L/8. Half of that joins the uncertainty of the survey.",
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
            // The gauge did not drift the less because the station was moved since.
            verdict = verdict.and(match (&survey.closure, &survey.former_closure) {
                (Some(closure), _) => {
                    closed(case, id, readings, (station_again(readings, closure), closure), stated, findings)
                }
                (None, Some(closure)) => {
                    closed(case, id, readings, (former_again(readings, closure), closure), stated, findings)
                }
                (None, None) => not_closed(case, id, readings, findings),
            });
        }
    }
    verdict
}

/// What a closure read again.
struct ReadAgain<'l> {
    /// Its first row before.
    first: &'l StationReading,
    /// By how much it changed, in nm. Of an angle: by how much that bends the line where the gauge drifted evenly.
    change: Ratio,
    /// The change of an angle.
    angle: Option<Angle>,
}

fn station_again<'l>(readings: &SurveyReadings<'l>, closure: &StationReading) -> Option<ReadAgain<'l>> {
    if readings.survey.angles.is_some() {
        return step_again(readings.survey, closure);
    }
    let before = readings.at(closure.position)?;
    length_again(readings, before.row, before.value, closure)
}

/// The same of a station that is there no more: against the mean of all its rows.
fn former_again<'l>(readings: &SurveyReadings<'l>, closure: &StationReading) -> Option<ReadAgain<'l>> {
    if readings.survey.angles.is_some() {
        return step_again(readings.survey, closure);
    }
    let rows = || readings.survey.former.iter().filter(|it| it.position == closure.position && !it.readings.is_empty());
    let read = || rows().flat_map(|row| &row.readings);
    let sum: i128 = read().map(|reading| i128::from(reading.nm())).sum();
    let before = Ratio::new(sum * readings.sign, read().count() as i128)?;
    length_again(readings, rows().next()?, before, closure)
}

fn length_again<'l>(
    readings: &SurveyReadings,
    first: &'l StationReading,
    before: Ratio,
    closure: &StationReading,
) -> Option<ReadAgain<'l>> {
    let (sum, count) = closure.mean()?;
    let again = Ratio::new(i128::from(sum.nm()) * readings.sign, count as i128)?;
    Some(ReadAgain { first, change: minus(again, before).abs(), angle: None })
}

fn step_again<'l>(survey: &'l Survey, closure: &StationReading) -> Option<ReadAgain<'l>> {
    let (first, drift) = reading::step_again(survey, closure)?;
    let angle = i64::try_from(drift.abs().ceil()).ok().map(Angle);
    Some(ReadAgain { first, change: bent_by(survey, drift.abs())?, angle })
}

/// Nobody read the first station again at the end, so that nobody knows how far the gauge drifted.
fn not_closed(case: &Case, id: RailId, readings: &SurveyReadings, findings: &mut Findings) -> Verdict {
    let first = readings.survey.stations.first();
    let spelt = first.map(|row| match row.support.is_some() || row.end.is_some() {
        true => SpeltValue::from(row.name.as_str()),
        false => SpeltValue::from(row.position),
    });
    let line = NodeDraft::new("closure").values(spelt).value(SpeltValue::open()).line();
    let first = match (first, &readings.survey.angles) {
        (Some(row), Some(_)) => format!("the step to {}", row.name),
        (row, _) => row.map_or("the first station", |row| row.name.as_str()).to_string(),
    };
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
    (again, closure): (Option<ReadAgain>, &StationReading),
    stated: Option<(Length, InForce)>,
    findings: &mut Findings,
) -> Verdict {
    let Some(limit @ ClosureLimit { most, basis }) = closure_limit(case, case.rulebook, readings.survey) else {
        return Verdict::NotJudged("neither a limit nor the graduation of the gauge is stated");
    };
    let Some(again) = again else {
        return Verdict::Awaits("no station is read both before and at the end of a survey");
    };
    if again.change > Ratio::whole(most.nm().into()) {
        let gauge = readings.survey.gauge.as_ref().and_then(|name| case.shop.gauge(name));
        let graduation =
            gauge.and_then(|gauge| gauge.graduation.map(|it| it.place).or(gauge.angles.graduation.map(|it| it.place)));
        let set_at = graduation.filter(|_| basis == ClosureBasis::Graduation);
        let limit = match stated {
            Some((_, stated)) => stated.words(),
            None => {
                let (limit, from) = limit.derived();
                Limit { set_at, ..case.rulebook.computed(LimitName::SurveyClosure, format!("{limit}, {from}")) }
            }
        };
        findings.add(open(case, findings, id, readings, (&again, closure)).limit(limit));
    }
    Verdict::Conforms(closure.place)
}

fn open(
    case: &Case,
    findings: &Findings,
    id: RailId,
    readings: &SurveyReadings,
    (read, again): (&ReadAgain, &StationReading),
) -> Finding {
    let change = length(read.change);
    let changed = match read.angle {
        Some(angle) => format!("the step to {} changed by {angle}, which bends the line by {change}", again.name),
        None => format!("{} changed by {change}", again.name),
    };
    let stage = readings.survey.stage.map_or("", |stage| stage.value.word());
    let subject = subject(readings.kind());
    findings
        .finding(
            case.machine.rail_address(id),
            again.place,
            format!("the {stage} {subject} survey does not close: {changed}"),
        )
        .here("read again at the end")
        .also(read.first.place, "read before")
        .found(Measure::too_large(change))
        .next("see to the gauge and its holder, then read the whole survey again")
}
