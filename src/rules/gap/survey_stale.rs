//! Readings of a survey hold only until a support beside them is loosened.

use std::collections::BTreeMap;

use crate::finding::{Grade, RuleName};
use crate::ledger::{Event, EventKind, RailId, SurveyKind};
use crate::rules::{Case, Check, Cure, Findings, Ground, RequiredWork, Rule, RuleGroup, Verdict};

use super::reading::{SurveyReadings, subject};
use super::{CurrentSurveys, not_surveyed, shim_unverified};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("survey-stale"),
    group: RuleGroup::Gap,
    grade: Grade::Outstanding,
    cure: Cure::AtMachine,
    what: "No support beside a station was loosened after its rail's last survey, on the rail itself or on the one it follows. Shims that were put in after a survey of what they are meant for are shim-unverified's business; any other survey of a rail that was shimmed since is stale beside them: a height, or a straightness, where the shims set the gap.",
    why: "A rail that was loose may have moved. What was read there before says nothing any more.",
    limits: &[],
    source: "common practice, no source",
    wrong: r#"
machine m {
    axis X { rail a; rail b follows=a { supports S first=100 pitch=240 count=3 } }
}
survey gap X.b date="2026-04-16" by=inspector-1 stage=as-fitted { at S1 0; at S2 -0.01; at S3 -0.02 }
loosen X.b date="2026-04-17" by=fitter-2 reason="seat cleaned" { at S2 }
"#,
    right: r#"
machine m {
    axis X { rail a; rail b follows=a { supports S first=100 pitch=240 count=3 } }
}
loosen X.b date="2026-04-15" by=fitter-2 reason="seat cleaned" { at S2 }
survey gap X.b date="2026-04-16" by=inspector-1 stage=as-fitted { at S1 0; at S2 -0.01; at S3 -0.02 }
"#,
    follows_from: &[Ground::Records],
    asks_for: Some(RequiredWork::Survey),
    checks: &[Check::Rails(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    let mut verdict = None;
    for kind in [SurveyKind::Gap, SurveyKind::Straightness, SurveyKind::Height] {
        let latest = case.planes(id, kind).iter().filter_map(CurrentSurveys::latest);
        for readings in latest.filter_map(|record| case.state(record)) {
            let first = readings.records().first().copied().unwrap_or(readings.record);
            if case.rails_read(id, kind).any(|rail| case.slackened_since(rail, first)) {
                stale(case, findings, id, kind, readings);
            }
            verdict = Some(Verdict::Conforms(readings.place));
        }
    }
    verdict.unwrap_or_else(|| not_surveyed(case, id, "it is not surveyed"))
}

fn stale(case: &Case, findings: &mut Findings, id: RailId, kind: SurveyKind, readings: &SurveyReadings) {
    let mut undone = vec![false; readings.stations.len()];
    let mut causes: BTreeMap<(usize, RailId), (Vec<usize>, &Event)> = BTreeMap::new();
    for rail in case.rails_read(id, kind) {
        for (station, undone) in readings.stations.iter().zip(&mut undone) {
            for support in case.adjoining(rail, station.row.position) {
                let counted = shims_count(case, id, rail, kind);
                let Some(event) = loosened(case, rail, support, station.record, counted) else { continue };
                *undone = true;
                let (supports, _) = causes.entry((event.record, rail)).or_insert((Vec::new(), event));
                if let Err(at) = supports.binary_search(&support) {
                    supports.insert(at, support);
                }
            }
        }
    }
    if causes.is_empty() {
        return;
    }
    let names: Vec<&str> = readings
        .stations
        .iter()
        .zip(&undone)
        .filter(|(_, undone)| **undone)
        .map(|(station, _)| &*station.row.name)
        .collect();
    let shown = match names.len() {
        0..=12 => names.join(", "),
        many => format!("{} and {} more", names[..12].join(", "), many - 12),
    };
    let mut finding = findings
        .finding(
            case.machine.rail_address(id),
            readings.place,
            format!(
                "the {} readings at {shown} are stale: a support beside them was loosened or shimmed later",
                subject(kind)
            ),
        )
        .here("read before that")
        .next(again(kind));
    for ((_, rail), (supports, event)) in &causes {
        let did = event.what.done();
        let what = format!("{did} {} {}", case.machine.rail_address(*rail), case.ranges(*rail, supports));
        finding = finding.also(event.place, what);
    }
    findings.add(finding);
}

fn again(kind: SurveyKind) -> String {
    let kind = subject(kind);
    format!(
        "tighten what is loose, then survey the {kind} again: the whole rail, or these stations with others on both sides that did not move, to tie them to"
    )
}

/// Whether shims under a rail undo a survey of another one or of itself, and no rule but this one asks for it anew: those
/// of the rail that is followed, because the survey of the other rail is what they undo, and those that are verified by a
/// survey of another kind.
pub(in crate::rules) fn shims_count(case: &Case, id: RailId, rail: RailId, kind: SurveyKind) -> bool {
    rail != id || case.machine.rail(id).follows.is_some() && kind != shim_unverified::kind(case, id)
}

/// The first loosening of a support after a record. One that ended in shimming that support belongs to the shimming,
/// unless shims are to be counted.
pub(in crate::rules) fn loosened<'l>(
    case: &Case<'l>,
    id: RailId,
    support: usize,
    since: usize,
    shims: bool,
) -> Option<&'l Event> {
    let events = &case.ledger.history(id).supports[support];
    let mut found = None;
    for event in events.iter().filter(|event| case.after(event.record, since)) {
        match event.what {
            EventKind::Slackened | EventKind::Turned => found = found.or(Some(event)),
            EventKind::Shimmed if shims => found = found.or(Some(event)),
            EventKind::Shimmed => found = None,
            EventKind::Snug | EventKind::Full | EventKind::Missed => {}
        }
    }
    found
}
