//! Full torque goes one way along a rail, where its maker prescribes that instead of outward from each joint.
//!
//! Either way will do. Of a rail that was begun at both ends, the way with fewer supports out of order is the one it is
//! held to. As with the other order, later work on single supports does not count against it.

use super::bolts::certain;
use super::course::record_at;
use super::stretch::{SideTorques, follow};
use crate::facts::torque_sides::along;
use crate::finding::Grade;
use crate::ledger::RailId;
use crate::rules::facts::When;
use crate::rules::{Case, Findings, Verdict};

/// Judges a rail that is tightened along; any other is judged at its joints.
pub(super) fn check(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    let rail = case.machine.rail(id);
    if !rail.tightened_along() {
        return Verdict::NotRequired;
    }
    if rail.supports.is_empty() {
        return Verdict::Awaits("no supports are described");
    }
    let up = along(rail);
    let down: Vec<_> = up.iter().rev().copied().collect();
    let (up, down) = (follow(case, id, &up), follow(case, id, &down));
    let (wrong_up, wrong_down) = (early(&up), early(&down));
    let (way, wrong) = if wrong_down.len() < wrong_up.len() { (&down, wrong_down) } else { (&up, wrong_up) };
    match wrong.first() {
        Some(&(outer, inner)) => report(case, findings, id, way, outer, inner, wrong.len()),
        None => unsure(case, findings, id, way),
    }
    match case.courses(id).iter().find_map(|course| record_at(case, course.current?)) {
        Some(record) => Verdict::Conforms(case.records[record].place),
        None => Verdict::Awaits("no full torque is recorded at its supports"),
    }
}

/// The supports that got full torque before one that comes earlier on the way got its first, each with that one; in the
/// order of the way.
fn early(way: &SideTorques) -> Vec<(usize, usize)> {
    let mut latest: Option<(When, usize)> = None;
    let mut wrong = Vec::new();
    for at in 0..way.members.len() {
        if let (Some(tight), Some((before, inner))) = (way.current[at], latest)
            && tight.when < before
        {
            wrong.push((at, inner));
        }
        if let Some(first) = way.first[at] {
            latest = latest.max(Some((first.when, at)));
        }
    }
    wrong
}

fn report(
    case: &Case,
    findings: &mut Findings,
    id: RailId,
    way: &SideTorques,
    outer: usize,
    inner: usize,
    count: usize,
) {
    let (Some(before), Some(after)) = (way.current[outer], way.first[inner]) else { return };
    if !certain(case, before.record, after.record) {
        ask(case, findings, id, way, outer, inner);
        return;
    }
    let rail = case.machine.rail(id);
    let name = |at: usize| &rail.supports[way.members[at].support].name;
    let others = match count {
        1 => String::new(),
        2 => ", and 1 other is out of order".into(),
        _ => format!(", and {} others are out of order", count - 1),
    };
    let message = format!(
        "{} got full torque before {}, though this rail is tightened one way along it{others}",
        name(outer),
        name(inner)
    );
    let mut finding = findings
        .finding(case.machine.rail_address(id), before.place, message)
        .here(format!("{}: too early", name(outer)))
        .also(after.place, format!("{}: only now", name(inner)))
        .next(format!("loosen from {} on, snug and tighten again, one way along the rail", name(inner)));
    if let Some(stated) = rail.tighten {
        finding = finding.also(stated.place, "the order");
    }
    findings.add(finding);
}

/// Neighbours of which nothing says who came first. One such pair leaves open which way it went only where the others do.
fn unsure(case: &Case, findings: &mut Findings, id: RailId, way: &SideTorques) {
    let mut inner: Option<usize> = None;
    for at in 0..way.members.len() {
        let Some(current) = way.current[at] else { continue };
        if let Some(inner) = inner
            && let Some(before) = way.first[inner]
            && !certain(case, before.record, current.record)
        {
            ask(case, findings, id, way, at, inner);
            return;
        }
        inner = Some(at);
    }
}

fn ask(case: &Case, findings: &mut Findings, id: RailId, way: &SideTorques, outer: usize, inner: usize) {
    let (Some(before), Some(after)) = (way.current[outer], way.first[inner]) else { return };
    let rail = case.machine.rail(id);
    let name = |at: usize| &rail.supports[way.members[at].support].name;
    let day = case.records[before.record].date.map_or(String::new(), |date| date.date.to_string());
    let message = format!("nothing says which of {} and {} got full torque first on {day}", name(inner), name(outer));
    let mut finding = findings
        .finding(case.machine.rail_address(id), before.place, message)
        .here(format!("{}, in one file", name(outer)))
        .also(after.place, format!("{}, in another", name(inner)))
        .next("give both records a time, as date=\"2026-04-14T08:10\": they are of one day in two files");
    finding.grade = Grade::Outstanding;
    findings.add(finding);
}
