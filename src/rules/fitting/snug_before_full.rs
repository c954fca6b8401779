//! A support is snugged before it gets its full torque.

use std::collections::BTreeMap;

use smallvec::{SmallVec, smallvec};

use super::bolts::certain;
use super::course::record_at;
use crate::finding::{Grade, Measure, Place, RuleName};
use crate::ledger::{FastenRow, Interface, NodeDraft, RailId, Stage};
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("snug-before-full"),
    group: RuleGroup::Fitting,
    grade: Grade::Nonconformity,
    cure: Cure::AtMachine,
    what: "Each rail bolt is snugged before its full torque, and again after it was slackened. Tightening again without slackening needs no snugging.",
    why: "Only the light torque lets the rail slide to its datum faces. Full torque on a loose rail clamps it where it happens to lie.",
    limits: &[],
    source: "common practice, no source",
    wrong: r#"
machine m { axis X { rail a { segment 1200; support S1 at=240 } } }
fasten X.a date="2026-04-14" by=fitter-2 stage=full setting=10.5 { clicked S1 }
"#,
    right: r#"
machine m { axis X { rail a { segment 1200; support S1 at=240 } } }
fasten X.a date="2026-04-14" by=fitter-2 stage=snug setting=1.5 { clicked S1 }
fasten X.a date="2026-04-14" by=fitter-2 stage=full setting=10.5 { clicked S1 }
"#,
    reasons_from: &["fasten", "loosen", "shim"],
    checks: &[Check::Rails(check)],
    ..Rule::PLAIN
};

/// One support that got its full torque without a snug one before it.
#[derive(Clone, Copy)]
struct Unsnugged {
    support: usize,
    place: Place,
    /// Where it was slackened, if it had been tight before.
    slackened: Option<Place>,
    /// A snugging of which the ledger does not say whether it came before.
    perhaps: Option<Place>,
}

fn check(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    let courses = case.courses(id);
    // By record and by whether the order is certain: one finding each.
    let mut found: BTreeMap<(usize, bool), Vec<Unsnugged>> = BTreeMap::new();
    for support in (0..courses.len()).filter(|support| !courses[*support].snugged) {
        for (record, unsnugged) in unsnugged(case, id, support) {
            found.entry((record, unsnugged.perhaps.is_none())).or_default().push(unsnugged);
        }
    }
    for ((record, sure), all) in found {
        report(case, findings, id, record, sure, &all);
    }
    match courses.iter().find_map(|course| record_at(case, course.current?)) {
        Some(record) => Verdict::Conforms(case.records[record].place),
        None => Verdict::Awaits("no full torque is recorded"),
    }
}

/// The full torques that a support now holds without having been snugged before them, with their records.
fn unsnugged(case: &Case, id: RailId, support: usize) -> Vec<(usize, Unsnugged)> {
    let events = &case.history(id).supports[support];
    let count = case.machine.rail(id).supports[support].bolt_count(Interface::Rail);
    let mut snug: SmallVec<[Option<usize>; 8]> = smallvec![None; count.unwrap_or(1)];
    let mut full: SmallVec<[bool; 8]> = smallvec![false; snug.len()];
    let mut slackened = None;
    let mut found: Vec<(usize, Unsnugged)> = Vec::new();
    for (at, event) in events.iter().enumerate() {
        if event.slackens(Interface::Rail) {
            snug.fill(None);
            full.fill(false);
            found.clear();
            slackened = Some(event.place);
        }
        let (snugged, torqued) = (
            case.tightening(event, Interface::Rail, Stage::Snug),
            case.tightening(event, Interface::Rail, Stage::Full),
        );
        if snugged.or(torqued).is_none() {
            continue;
        }
        let tightened = |row: Option<&FastenRow>, bolt: usize| {
            let Some(row) = row else { return false };
            match count {
                Some(_) => case.bolt_tightened(event, row, bolt).is_some(),
                // The holes are not known: one entry stands for all bolts that the row names.
                None => (0..row.readings().max(1)).any(|bolt| case.bolt_tightened(event, row, bolt).is_some()),
            }
        };
        for bolt in 0..snug.len() {
            if tightened(snugged, bolt) {
                snug[bolt] = Some(event.record);
            }
            if full[bolt] || !tightened(torqued, bolt) {
                continue;
            }
            full[bolt] = true;
            let sure = snug[bolt].is_some_and(|before| certain(case, before, event.record));
            if sure || found.last().is_some_and(|(record, _)| *record == event.record) {
                continue;
            }
            let perhaps = events[..at].iter().chain(&events[at + 1..]).find(|other| {
                case.tightening(other, Interface::Rail, Stage::Snug).is_some()
                    && !certain(case, other.record, event.record)
            });
            let perhaps = perhaps.map(|other| other.place);
            found.push((event.record, Unsnugged { support, place: event.place, slackened, perhaps }));
        }
    }
    found
}

fn report(case: &Case, findings: &mut Findings, id: RailId, record: usize, sure: bool, all: &[Unsnugged]) {
    let supports: Vec<usize> = all.iter().map(|unsnugged| unsnugged.support).collect();
    let Some(first) = all.iter().min_by_key(|unsnugged| unsnugged.place) else { return };
    let name = &case.machine.rail(id).supports[first.support].name;
    let (names, address) = (case.ranges(id, &supports), case.machine.rail_address(id));
    if !sure {
        let day = case.records[record].date.map_or(String::new(), |date| date.date.to_string());
        let message = format!("nothing says whether {names} got snug torque before full torque on {day}");
        let mut finding = findings
            .finding(address, first.place, message)
            .here("full torque, in one file")
            .next("give both records a time, as date=\"2026-04-14T08:10\": they are of one day in two files");
        finding.grade = Grade::Outstanding;
        if let Some(place) = first.perhaps {
            finding = finding.also(place, "snug torque, in another");
        }
        findings.add(finding);
        return;
    }
    let line = NodeDraft::new("fasten").value(&address).property("stage", "snug").line();
    let since = if first.slackened.is_some() { " since it was loosened" } else { "" };
    let mut finding = findings
        .finding(address, first.place, format!("{names} got full torque without snug torque before it"))
        .here(format!("{name} has no snug torque{since}"))
        .found(Measure::too_large(all.len()))
        .next(format!(
            "if {names} had snug torque before, record that: {line} …; if not, loosen {names}, push the rail to its datum face, snug and tighten again"
        ));
    if let Some(place) = first.slackened {
        finding = finding.also(place, format!("{name} was loosened here"));
    }
    findings.add(finding);
}
