//! Every support of a surveyed rail is read, and every rail that follows another is surveyed.

use crate::finding::{Grade, Measure};
use crate::ledger::{Body, RailId, StationReading, SurveyKind, Word};
use crate::rules::{Case, Check, Cure, Findings, Group, Rule};

use super::reading::{Standing, subject};

pub static RULE: Rule = Rule {
    name: "station-missing",
    group: Group::Gap,
    grade: Grade::Outstanding,
    cure: Cure::AtMachine,
    what: "A rail that follows another has a gap survey, and a gap survey has a reading at every support of the rail.",
    why: "A support without a reading may be the widest or the narrowest place, and nobody knows what shim it needs.",
    limits: &[],
    source: "common practice, no source",
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
    check: Check::Ledger(check),
};

fn check(case: &Case, findings: &mut Findings) {
    for (id, _, rail) in case.rails() {
        let standing = Standing::of(case, id, SurveyKind::Gap);
        if let (Some(follows), None) = (&rail.follows, standing.latest()) {
            findings.add(
                findings
                    .finding(
                        case.machine.rail_address(id),
                        rail.place,
                        format!("the gap to rail `{}` is not surveyed", **follows),
                    )
                    .here("no gap survey of this rail")
                    .next(format!(
                        "read the gap at every support and record it: survey gap {} stage=as-fitted",
                        case.machine.rail_address(id)
                    )),
            );
        }
        for record in standing.both() {
            incomplete(case, findings, id, record);
        }
        for kind in [SurveyKind::Straightness, SurveyKind::Height] {
            for record in Standing::of(case, id, kind).both() {
                blanks(case, findings, id, record);
            }
        }
    }
}

/// Supports that a gap survey has no reading of.
fn incomplete(case: &Case, findings: &mut Findings, id: RailId, record: usize) {
    let Body::Survey(survey) = &case.ledger.records[record].body else { return };
    let rail = case.machine.rail(id);
    // Both stand in the order of their positions.
    let mut read = case.readings(record).into_iter().flat_map(|it| &it.stations).map(|it| it.row.position).peekable();
    let unread = |support: &usize| {
        let at = rail.supports[*support].at;
        while read.next_if(|position| *position < at).is_some() {}
        read.peek() != Some(&at)
    };
    let missing: Vec<usize> = (0..rail.supports.len()).filter(unread).collect();
    if missing.is_empty() {
        return;
    }
    let blank = survey
        .stations
        .iter()
        .find(|row| row.readings.is_empty() && row.support.is_some_and(|at| missing.binary_search(&at).is_ok()));
    report(case, findings, id, record, &case.ranges(id, &missing), missing.len(), blank);
}

/// Stations of another survey that were left blank.
fn blanks(case: &Case, findings: &mut Findings, id: RailId, record: usize) {
    let Body::Survey(survey) = &case.ledger.records[record].body else { return };
    let blank: Vec<&StationReading> = survey.stations.iter().filter(|row| row.readings.is_empty()).collect();
    let names: Vec<&str> = blank.iter().take(12).map(|row| row.name.as_str()).collect();
    let more = if blank.len() > names.len() { ", …" } else { "" };
    report(case, findings, id, record, &format!("{}{more}", names.join(", ")), blank.len(), blank.first().copied());
}

fn report(
    case: &Case,
    findings: &mut Findings,
    id: RailId,
    record: usize,
    names: &str,
    count: usize,
    blank: Option<&StationReading>,
) {
    let record = &case.ledger.records[record];
    let Body::Survey(survey) = &record.body else { return };
    if count == 0 {
        return;
    }
    let kind = survey.kind.map_or(SurveyKind::Gap, |kind| kind.value);
    let stage = survey.stage.map_or("", |stage| stage.value.word());
    let mut finding = findings
        .finding(
            case.machine.rail_address(id),
            record.place,
            format!("the {stage} {} survey has no reading at {names}", subject(kind)),
        )
        .here("this survey")
        .found(Measure::too_large(count))
        .next(format!("read it at {names} and add the rows to this survey"));
    if let Some(blank) = blank {
        finding = finding.also(blank.place, "left blank");
    }
    findings.add(finding);
}
