//! Every support of a surveyed rail is read, or some place near it, every rail that follows another is surveyed, and no survey is partial.

use crate::finding::{Finding, Grade, Measure, RuleName};
use crate::ledger::{Body, Keyword, NodeDraft, RailId, StationReading, Support, SurveyKind};
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, Ground, RequiredWork, Rule, RuleGroup, Verdict};

use super::CurrentSurveys;
use super::reading::subject;
use crate::facts::survey_state::{PartialSurvey, unread_again};
use crate::facts::survey_tie::TieError;

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("station-missing"),
    group: RuleGroup::Gap,
    grade: Grade::Outstanding,
    cure: Cure::AtMachine,
    what: "A rail that follows another has a gap survey, and a gap survey has a reading at every support of the rail. A survey of straightness has one at every support too, or nearer to it than half of the way to the next on either side. A later survey of any kind reads again, in the same plane, every station that the one before read, or is tied to it and then changes only what it reads. It is tied by stations of both beside which nothing was loosened in between, nor first tightened, on either rail: two at least for a gap, or a height read from rail to rail, whose zero is free; three for straightness, or a height from a line of sight, whose line is free too; on both sides of the stations that may have moved, wherever the rail goes on. What is free is fitted to them by least squares, and each then agrees within U of the difference. A survey that is not tied is partial: it can show a fault, and the one before still stands. A place between supports that did not stand out from its neighbours counts as read again where both supports beside it are.",
    why: "A support without a reading may be the widest or the narrowest place, and nobody knows what shim it needs; on a reference rail it may be where the rail is pushed out of line, and every gap is read against that. A survey of a few stations says nothing about the fault that was found elsewhere, and its zero is another one.",
    limits: &[],
    source: "common practice, no source; least squares; the uncertainty of a difference after GUM 5.1",
    wrong: r#"
machine m {
    axis X { rail a; rail b follows=a { supports S first=100 pitch=240 count=3 } }
}
survey gap X.b date="2026-04-16" by=inspector-1 stage=as-fitted { at S1 0; at S2 #null }
"#,
    right: r#"
machine m {
    axis X { rail a; rail b follows=a { supports S first=100 pitch=240 count=3 } }
}
survey gap X.b date="2026-04-16" by=inspector-1 stage=as-fitted { at S1 0; at S2 -0.01; at S3 -0.02 }
"#,
    follows_from: &[Ground::Records],
    asks_for: Some(RequiredWork::Survey),
    checks: &[Check::Rails(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    let rail = case.machine.rail(id);
    let gap = case.standing(id, SurveyKind::Gap);
    if let (Some(follows), None) = (&rail.follows, gap.latest()) {
        findings.add(unsurveyed(case, findings, id, follows));
    }
    for record in gap.as_fitted.into_iter().chain(gap.verified) {
        report(case, findings, id, record, &unread(case, id, record), None);
    }
    for kind in [SurveyKind::Straightness, SurveyKind::Height] {
        for plane in case.planes(id, kind) {
            for record in plane.as_fitted.into_iter().chain(plane.verified) {
                let mut missing = blanks(case, record);
                if kind == SurveyKind::Straightness && missing.count == 0 {
                    missing = passed_over(case, id, record);
                }
                report(case, findings, id, record, &missing, None);
            }
        }
    }
    let mut verdict = Verdict::NotRequired;
    for kind in [SurveyKind::Gap, SurveyKind::Straightness, SurveyKind::Height] {
        for plane in case.planes(id, kind) {
            for of in &plane.partial {
                partial(case, findings, id, kind, plane, of);
            }
            if let Some(latest) = plane.latest() {
                verdict = Verdict::Conforms(case.records[latest].place);
            }
        }
    }
    verdict
}

fn unsurveyed(case: &Case, findings: &Findings, id: RailId, follows: &str) -> Finding {
    let address = case.machine.rail_address(id);
    let line = NodeDraft::new("survey").value("gap").value(&address).property("stage", "as-fitted").line();
    let next = format!("read the gap at every support and record it: {line} …");
    findings
        .finding(address, case.machine.rail(id).place, format!("the gap to rail `{follows}` is not surveyed"))
        .here("no gap survey of this rail")
        .next(next)
}

/// A survey that left out some of what an earlier one read.
fn partial(
    case: &Case,
    findings: &mut Findings,
    id: RailId,
    kind: SurveyKind,
    plane: &CurrentSurveys,
    of: &PartialSurvey,
) {
    let record = of.record;
    let Some(stands) = plane.latest() else { return };
    let mut missing = if kind == SurveyKind::Gap { unread(case, id, record) } else { Missing::default() };
    if missing.count == 0 {
        let read = case.readings(record);
        let again = |at: Length| read.is_some_and(|it| it.stations.iter().any(|it| it.row.position == at));
        // Of surveys that are tied to each other, what they say together.
        let rows: Vec<&StationReading> = match plane.tied(stands) {
            Some(state) => state.stations.iter().map(|it| it.row).filter(|row| !again(row.position)).collect(),
            None => unread_again(case, id, stands, record),
        };
        let supports: Option<Vec<usize>> = rows.iter().map(|row| row.support.filter(|_| row.end.is_none())).collect();
        let names = supports.map_or_else(|| names(&rows), |supports| case.ranges(id, &supports));
        missing = Missing { names, count: rows.len(), ..Missing::default() };
    }
    report(case, findings, id, record, &missing, Some((stands, of.why)));
}

/// Where a survey has no reading.
#[derive(Default)]
struct Missing<'l> {
    names: String,
    count: usize,
    blank: Option<&'l StationReading>,
    /// Stations whose step was read, and whose height is not known yet: the steps up to it do not follow each other.
    behind: String,
}

/// Supports that a gap survey has no reading of.
fn unread<'l>(case: &Case<'l>, id: RailId, record: usize) -> Missing<'l> {
    let Body::Survey(survey) = &case.ledger.records[record].body else { return Missing::default() };
    let rail = case.machine.rail(id);
    // Both stand in the order of their positions.
    let mut read = case.state(record).into_iter().flat_map(|it| &it.stations).map(|it| it.row.position).peekable();
    let unread = |support: &usize| {
        let at = rail.supports[*support].at;
        while read.next_if(|position| *position < at).is_some() {}
        read.peek() != Some(&at)
    };
    let mut missing: Vec<usize> = (0..rail.supports.len()).filter(unread).collect();
    // Over a joint both ends are as good as their mean.
    let by_ends =
        |support: &usize| case.state(record).is_some_and(|state| state.over_support(rail, *support).is_some());
    missing.retain(|support| !by_ends(support));
    if missing.is_empty() {
        return Missing::default();
    }
    let blank = survey
        .stations
        .iter()
        .find(|row| !row.is_read() && row.support.is_some_and(|at| missing.binary_search(&at).is_ok()));
    Missing { names: case.ranges(id, &missing), count: missing.len(), blank, behind: String::new() }
}

/// Supports that a survey of straightness has no station near: none nearer than half of the way to the next support.
fn passed_over<'l>(case: &Case<'l>, id: RailId, record: usize) -> Missing<'l> {
    let supports = &case.machine.rail(id).supports;
    // Both stand in the order of their positions.
    let mut read = case.state(record).into_iter().flat_map(|it| &it.stations).map(|it| it.row.position).peekable();
    let missing: Vec<usize> = (0..supports.len())
        .filter(|support| {
            let at = supports[*support].at;
            let half = |other: &Support| Length((other.at - at).abs().nm() / 2);
            let before = support.checked_sub(1).map(|before| half(&supports[before]));
            let after = supports.get(support + 1).map(half);
            // At the ends of the rail as far to the outside as to the inside.
            let (before, after) = (before.or(after).unwrap_or(Length::ZERO), after.or(before).unwrap_or(Length::ZERO));
            while read.next_if(|position| *position < at - before).is_some() {}
            read.peek().is_none_or(|position| *position > at + after)
        })
        .collect();
    Missing { names: case.ranges(id, &missing), count: missing.len(), ..Missing::default() }
}

/// Stations of another survey that were left blank; of a survey of angles with those that lie behind a break in its steps.
fn blanks<'l>(case: &Case<'l>, record: usize) -> Missing<'l> {
    let Body::Survey(survey) = &case.ledger.records[record].body else { return Missing::default() };
    let blank: Vec<&StationReading> = survey.stations.iter().filter(|row| !row.is_read()).collect();
    let known = |row: &StationReading| case.readings(record).is_some_and(|it| it.at(row.position).is_some());
    let behind: Vec<&StationReading> = match survey.angles {
        Some(_) => survey.stations.iter().filter(|row| !row.angles.is_empty() && !known(row)).collect(),
        None => Vec::new(),
    };
    Missing {
        names: names(&blank),
        count: blank.len() + behind.len(),
        blank: blank.first().copied(),
        behind: names(&behind),
    }
}

fn names(rows: &[&StationReading]) -> String {
    let names: Vec<&str> = rows.iter().take(12).map(|row| row.name.as_str()).collect();
    let more = if rows.len() > names.len() { ", …" } else { "" };
    format!("{}{more}", names.join(", "))
}

/// Says where a survey has no reading, and which one stands in its place where it is partial.
fn report(
    case: &Case,
    findings: &mut Findings,
    id: RailId,
    record: usize,
    missing: &Missing,
    stands: Option<(usize, TieError)>,
) {
    let Missing { names, count, blank, behind } = missing;
    let place = case.ledger.records[record].place;
    let Body::Survey(survey) = &case.ledger.records[record].body else { return };
    if *count == 0 {
        return;
    }
    let subject = subject(survey.kind.map_or(SurveyKind::Gap, |kind| kind.value));
    let stage = survey.stage.map_or("", |stage| stage.value.word());
    let (message, next) = match stands {
        None if behind.is_empty() => (
            format!("the {stage} {subject} survey has no reading at {names}"),
            format!("read it at {names} and add the rows to this survey"),
        ),
        None => {
            let (read, at) = match blank {
                Some(blank) => (format!("has no reading at {names}, and "), format!("the blank at {}", blank.name)),
                None => (String::new(), "a break in its steps".to_string()),
            };
            let what = format!("the {stage} {subject} survey {read}does not tell the height of {behind}, behind {at}");
            let steps = if names.is_empty() {
                "the steps that are missing".to_string()
            } else {
                format!("the steps to {names}")
            };
            (what, format!("read {steps} and add the rows to this survey: heights are summed from step to step"))
        }
        Some((_, why)) => (
            format!(
                "the {stage} {subject} survey is partial: it has no reading at {names}, and is not tied to the one before: {}",
                why.words()
            ),
            format!("{}; or survey the {subject} again from end to end, {names} included", why.cure()),
        ),
    };
    let mut finding = findings
        .finding(case.machine.rail_address(id), place, message)
        .here("this survey")
        .found(Measure::too_large(*count))
        .next(next);
    if let Some(blank) = blank {
        finding = finding.also(blank.place, "left blank");
    }
    if let Some((_, TieError::Misfit { at, was, .. })) = stands {
        finding = finding.also(at.place, "it misfits here").also(was.place, "read here before");
    }
    if let Some((stands, _)) = stands {
        finding = finding.also(case.ledger.records[stands].place, "so this one still stands");
    }
    findings.add(finding);
}
