//! Full torque goes from the joint outward.
//!
//! Each support belongs to the joint nearest to it. On each side of a joint, none gets its full torque while one that is
//! nearer to the joint still waits for its first. Later work on single supports, such as shimming, does not count
//! against the order; work on a support that was too early cures it. Loosening a whole side starts its order anew.

use super::along;
use super::bolts::certain;
use super::course::record_at;
use super::outward::{plainly_outward, reach};
use super::stretch::{SideTorques, follow};
use crate::finding::{Grade, RuleName};
use crate::ledger::RailId;
use crate::rules::facts::When;
use crate::rules::{Case, Check, Cure, Findings, Ground, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("torque-order"),
    group: RuleGroup::Fitting,
    grade: Grade::Nonconformity,
    cure: Cure::AtMachine,
    what: "Full torque starts at the joint's own support and goes outward on both sides, to the supports nearest to that joint. Where the rail or its profile says `tighten=along`, it goes one way along the whole rail instead, from either end.",
    why: "Tightened towards the joint, the rail is pushed into it or away from it, and the last support cannot put that right. Some makers prescribe one way along the rail instead, which pushes every segment in one direction.",
    limits: &[],
    source: "common practice, no source",
    wrong: r#"
machine m {
    axis X { rail a { segment 1200; segment 1200; support S1 at=240; support S2 at=720; joint-support J1 at=1200 length=200 } }
}
fasten X.a date="2026-04-14" by=fitter-2 stage=full setting=10.5 { clicked J1 S1 S2 }
"#,
    right: r#"
machine m {
    axis X { rail a { segment 1200; segment 1200; support S1 at=240; support S2 at=720; joint-support J1 at=1200 length=200 } }
}
fasten X.a date="2026-04-14" by=fitter-2 stage=full setting=10.5 { clicked J1 S2..S1 }
"#,
    reasons_from: &["fasten", "loosen", "shim"],
    follows_from: &[Ground::Described],
    checks: &[Check::Joints(check), Check::Rails(along::check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, joint: usize, findings: &mut Findings) -> Verdict {
    let (rail, courses) = (case.machine.rail(id), case.courses(id));
    if rail.supports.is_empty() {
        return Verdict::Awaits("no supports are described");
    }
    // One way along it, the rail is judged as a whole.
    if rail.tightened_along() {
        return Verdict::NotRequired;
    }
    let reach = reach(rail, joint);
    if !plainly_outward(case, id, joint, &reach) {
        follow_both(case, findings, id, joint);
    }
    let mut supports = rail.joints[joint].support.into_iter().chain(reach.near.start..reach.far.end);
    match supports.find_map(|support| record_at(case, courses[support].current?)) {
        Some(record) => Verdict::Conforms(case.records[record].place),
        None => Verdict::Awaits("no full torque is recorded at its supports"),
    }
}

/// Both sides of a joint, followed support by support.
fn follow_both(case: &Case, findings: &mut Findings, id: RailId, joint: usize) {
    let sides = case.sides(id);
    let [near, far] = &sides[joint];
    let (near, far) = (follow(case, id, near), follow(case, id, far));
    judge(case, findings, id, joint, &near);
    judge(case, findings, id, joint, &far);
    // One halfway to the next joint may be the last of either side, and is early only where it is early on both.
    let Some([beyond, _]) = sides.get(joint + 1) else { return };
    if !far.members.iter().any(|member| member.halfway) {
        return;
    }
    let beyond = follow(case, id, beyond);
    for (at, member) in far.members.iter().enumerate().filter(|(_, member)| member.halfway) {
        let Some(other) = beyond.members.iter().position(|other| other.support == member.support) else {
            continue;
        };
        if let (Some(before), Some(_)) = (early(&far, at), early(&beyond, other)) {
            report(case, findings, id, joint, &far, &[at], before);
        }
    }
}

/// The nearest support inside of one that got its first full torque after that one's.
fn early(side: &SideTorques, outer: usize) -> Option<usize> {
    let tight = side.current[outer]?;
    (0..outer).rev().find(|inner| {
        side.members[*inner].distance < side.members[outer].distance
            && !side.members[*inner].halfway
            && side.first[*inner].is_some_and(|first| first.when > tight.when)
    })
}

fn judge(case: &Case, findings: &mut Findings, id: RailId, joint: usize, side: &SideTorques) {
    // The latest first torque among those strictly nearer, as the walk goes outward.
    let mut latest: Option<When> = None;
    let mut at_this_distance: Option<When> = None;
    let mut distance = i64::MIN;
    let mut wrong = Vec::new();
    for (at, member) in side.members.iter().enumerate() {
        if member.distance > distance {
            latest = latest.max(at_this_distance.take());
            distance = member.distance;
        }
        if member.halfway {
            continue;
        }
        if let (Some(tight), Some(latest)) = (side.current[at], latest)
            && tight.when < latest
        {
            wrong.push(at);
        }
        at_this_distance = at_this_distance.max(side.first[at].map(|first| first.when));
    }
    let first = wrong.iter().copied().min_by_key(|at| side.current[*at].map(|tight| tight.when));
    match first.and_then(|first| Some((first, early(side, first)?))) {
        Some((first, inner)) => {
            wrong.retain(|at| *at != first);
            wrong.insert(0, first);
            report(case, findings, id, joint, side, &wrong, inner);
        }
        None => unsure(case, findings, id, joint, side),
    }
}

/// `early[0]` got its full torque before `inner`, which is nearer to the joint; so did the others of `early`.
fn report(
    case: &Case,
    findings: &mut Findings,
    id: RailId,
    joint: usize,
    side: &SideTorques,
    early: &[usize],
    inner: usize,
) {
    let Some(&outer) = early.first() else { return };
    let (Some(before), Some(after)) = (side.current[outer], side.first[inner]) else { return };
    if !certain(case, before.record, after.record) {
        ask(case, findings, id, joint, side, outer, inner);
        return;
    }
    let rail = case.machine.rail(id);
    let name = |at: usize| &rail.supports[side.members[at].support].name;
    let joint_name = &rail.joints[joint].name;
    let message = match side.members[inner].distance {
        -1 => format!("{} got full torque before the support of {joint_name} itself", name(outer)),
        _ => format!("{} got full torque before {}, which is nearer to {joint_name}", name(outer), name(inner)),
    };
    let mut supports: Vec<usize> = early.iter().map(|at| side.members[*at].support).collect();
    supports.sort_unstable();
    let names = case.ranges(id, &supports);
    findings.add(
        findings
            .finding(case.machine.joint_address(id, joint), before.place, message)
            .here(format!("{}: too early", name(outer)))
            .also(after.place, format!("{}: only now", name(inner)))
            .next(format!("loosen {names}, snug and tighten again, from {joint_name} outward")),
    );
}

/// Neighbours of which nothing says who came first.
fn unsure(case: &Case, findings: &mut Findings, id: RailId, joint: usize, side: &SideTorques) {
    let mut inner: Option<usize> = None;
    for (at, member) in side.members.iter().enumerate().filter(|(_, member)| !member.halfway) {
        let Some(current) = side.current[at] else { continue };
        if let Some(inner) = inner
            && side.members[inner].distance < member.distance
            && let Some(before) = side.first[inner]
            && !certain(case, before.record, current.record)
        {
            ask(case, findings, id, joint, side, at, inner);
            return;
        }
        inner = Some(at);
    }
}

fn ask(case: &Case, findings: &mut Findings, id: RailId, joint: usize, side: &SideTorques, outer: usize, inner: usize) {
    let (Some(before), Some(after)) = (side.current[outer], side.first[inner]) else { return };
    let rail = case.machine.rail(id);
    let name = |at: usize| &rail.supports[side.members[at].support].name;
    let day = case.records[before.record].date.map_or(String::new(), |date| date.date.to_string());
    let message = format!("nothing says which of {} and {} got full torque first on {day}", name(inner), name(outer));
    let mut finding = findings
        .finding(case.machine.joint_address(id, joint), before.place, message)
        .here(format!("{}, in one file", name(outer)))
        .also(after.place, format!("{}, in another", name(inner)))
        .next("give both records a time, as date=\"2026-04-14T08:10\": they are of one day in two files");
    finding.grade = Grade::Outstanding;
    findings.add(finding);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ledger::{Ledger, TextFile};
    use crate::world::Path;

    /// A number below another one, the same ones on every run (xorshift, G. Marsaglia 2003).
    fn below(seed: &mut u64, most: usize) -> usize {
        *seed ^= *seed << 13;
        *seed ^= *seed >> 7;
        *seed ^= *seed << 17;
        (*seed % most as u64) as usize
    }

    /// Two joints with a support halfway between them, tightened and loosened in some order.
    fn ledger(seed: &mut u64) -> Ledger {
        let names = ["A", "B", "J1", "C", "H", "D", "J2", "E", "F"];
        let mut text = String::from(
            "machine m { axis X { rail a { segment 600; segment 600; segment 600; joint-support J1 at=600 length=80
             support A at=200; support B at=400; support C at=700; support H at=900; support D at=1100
             support E at=1400; support F at=1600; joint-support J2 at=1200 length=80 } } }\n",
        );
        for minute in 10..10 + 1 + below(seed, 4) {
            // Mostly outward from a joint, with a slip or two.
            let mut order: Vec<&str> = match below(seed, 4) {
                0 => vec!["J1", "B", "A", "C", "H", "J2", "D", "E", "F"],
                1 => vec!["J2", "D", "H", "E", "F", "J1", "C", "B", "A"],
                2 => vec!["J1", "J2", "B", "C", "D", "E", "A", "H", "F"],
                _ => names.to_vec(),
            };
            for _ in 0..below(seed, 3) {
                let (one, other) = (below(seed, order.len()), below(seed, order.len()));
                order.swap(one, other);
            }
            order.truncate(1 + below(seed, 12));
            let date = format!("date=\"2026-04-14T08:{minute}\" by=f");
            text += &match below(seed, 5) {
                0 => format!("loosen X.a.{} {date}\n", names[below(seed, names.len())]),
                1 => format!("loosen X.a {date}\n"),
                _ => format!("fasten X.a {date} stage=full setting=10.5 {{ clicked {} }}\n", order.join(" ")),
            };
        }
        let file = TextFile::read(Path("m/machine.kdl".into()), text.into_bytes());
        Ledger::new(Path("m".into()), vec![file], &[])
    }

    #[test]
    fn what_is_plainly_outward_is_so_when_it_is_followed() {
        let (mut plain, mut wrong) = (0, 0);
        let mut seed = 0x5eed_0123;
        for _ in 0..4000 {
            let ledger = ledger(&mut seed);
            assert!(ledger.text_findings.is_empty(), "{:?}", ledger.text_findings);
            let case = Case::new(&ledger, jiff::civil::date(2026, 11, 1));
            let joints =
                |(id, _, rail): (RailId, _, &crate::ledger::Rail)| (0..rail.joints.len()).map(move |joint| (id, joint));
            for (id, joint) in case.rails().flat_map(joints) {
                let mut findings = Findings::default();
                follow_both(&case, &mut findings, id, joint);
                if plainly_outward(&case, id, joint, &reach(case.machine.rail(id), joint)) {
                    plain += 1;
                    assert_eq!(
                        findings.all,
                        [],
                        "{}",
                        ledger.sources.iter().map(|(_, it)| it.document.text()).collect::<String>()
                    );
                } else {
                    wrong += usize::from(!findings.all.is_empty());
                }
            }
        }
        assert!(plain > 300 && wrong > 300, "{plain} plain, {wrong} wrong");
    }
}
