//! Machines described so that they cannot be built, or not on the parts there are.

use std::collections::BTreeSet;

use wayledger::amounts::Length;
use wayledger::lint::Grade;
use wayledger::model::RailId;

use super::case::{Case, Fault};
use super::fitting::full;
use super::pages::{MACHINE, Spot};

pub(crate) const FAULTS: &[Fault] = &[
    Fault { name: "a longer run", finds: &["run-length"], make: run },
    Fault { name: "a wider stagger", finds: &["joint-stagger"], make: stagger },
    Fault { name: "a block moved", finds: &["joint-meeting", "block-place"], make: meeting },
    Fault { name: "a seam moved", finds: &["joint-over-seam"], make: seam },
    Fault { name: "a joint support moved", finds: &["joint-support", "described-after"], make: moved },
    Fault { name: "a joint support too short", finds: &["joint-support", "described-after"], make: short },
    Fault { name: "one support more", finds: &["support-overlap", "torque-missing", "station-missing"], make: overlap },
    Fault { name: "a hole less", finds: &["hole-pitch-break", "joint-support", "described-after"], make: pitch },
    Fault { name: "a bolt off its hole", finds: &["bolt-off-hole"], make: off_hole },
    Fault { name: "a longer stroke", finds: &["overtravel"], make: overtravel },
];

const MM: i64 = 1_000_000;

/// A length in whole millimetres, as all in these machines are.
pub(crate) fn mm(length: Length) -> i64 {
    assert_eq!(length.nm() % MM, 0, "{length:?}");
    length.nm() / MM
}

/// The number behind `name=` in a line.
pub(crate) fn number(line: &str, name: &str) -> i64 {
    let after = line.split(&format!(" {name}=")).nth(1).expect("the property is there");
    let word = after.split([' ', '{']).next().unwrap_or("");
    word.parse().expect("a whole number")
}

/// Every joint: rail, index, position, and the line where it is described.
fn joints(case: &Case) -> Vec<(RailId, usize, i64, Spot)> {
    let mut all = Vec::new();
    for (id, _, rail) in case.ledger.machine.rails() {
        for (index, joint) in rail.joints.iter().enumerate() {
            let spot = case.pages.segment(&rail.name, index + 1);
            all.push((id, index, mm(joint.position), spot));
        }
    }
    all
}

fn run(case: &mut Case) -> bool {
    if !case.whole() {
        return false;
    }
    let spot = case.pages.described("run ").expect("a run");
    let to = number(case.pages.line(spot), "to");
    case.pages.replace(spot, &format!("to={to}"), &format!("to={}", to + 60));
    let rails: Vec<(String, String, usize)> = case
        .ledger
        .machine
        .rails()
        .map(|(id, _, rail)| (case.name(id), case.address(id), rail.segments.len()))
        .collect();
    for (name, address, segments) in rails {
        let last = case.pages.segment(&name, segments - 1);
        case.pages.expect(last, "run-length", &address);
    }
    true
}

/// The machine's own rulebook asks for more stagger than some joints have.
fn stagger(case: &mut Case) -> bool {
    // A machine has one rulebook, and the limit would be a second one.
    let has_rulebook = case.pages.texts().any(|(_, text)| text.contains("rulebook {"));
    if has_rulebook || !case.whole() {
        return false;
    }
    let all = joints(case);
    let mut apart: Vec<i64> = Vec::new();
    for a in &all {
        apart.extend(all.iter().filter(|b| b.0 > a.0).map(|b| (b.2 - a.2).abs()));
    }
    apart.sort_unstable();
    if apart.is_empty() {
        return false;
    }
    let least = apart[case.index(apart.len().min(4))] + 1;
    for a in &all {
        for b in all.iter().filter(|b| b.0 > a.0 && (b.2 - a.2).abs() < least) {
            let address = case.ledger.machine.joint_address(b.0, b.1);
            case.pages.expect(b.3, "joint-stagger", &address);
        }
    }
    let machine = case.pages.described("machine ").expect("a machine");
    let line = format!("    rulebook {{ stagger least={least} reason=\"a heavy head\" }}");
    case.pages.insert((MACHINE, machine.1 + 1), &line);
    true
}

/// A block: its rail, place and length.
type Block = (usize, i64, i64);

fn blocks(case: &Case) -> Vec<Block> {
    let Some(carriage) = &case.ledger.machine.axes[0].carriage else { return Vec::new() };
    let block = |block: &wayledger::model::Block| {
        (block.rail.expect("a rail"), mm(*block.at), mm(*block.length.expect("a length")))
    };
    carriage.blocks.iter().map(block).collect()
}

/// A block that was moved faces none on the other rails: the block of a place on the fewest rails is told, the first of
/// several.
fn faces_none(case: &mut Case, blocks: &[Block], spots: &[usize]) {
    let rails: BTreeSet<usize> = blocks.iter().map(|block| block.0).collect();
    let on = |at: i64| blocks.iter().filter(|block| block.1 == at).count();
    let lone =
        (0..blocks.len()).filter(|index| on(blocks[*index].1) < rails.len()).min_by_key(|index| on(blocks[*index].1));
    if let Some(lone) = lone.filter(|_| rails.len() > 1) {
        case.pages.expect_grade((MACHINE, spots[lone]), Grade::Observation, "block-place", "X");
    }
}

/// Whether there is a carriage position in the stroke with both blocks over their joints: one that lies strictly
/// inside both stretches. All in half millimetres.
fn meet((p, (_, a, l)): (i64, Block), (q, (_, b, m)): (i64, Block), stroke: (i64, i64)) -> bool {
    let (first, second) = ((2 * (p - a) - l, 2 * (p - a) + l), (2 * (q - b) - m, 2 * (q - b) + m));
    let (from, to) = (first.0.max(second.0), first.1.min(second.1));
    from < to && from < 2 * stroke.1 && to > 2 * stroke.0
}

fn stroke(case: &Case) -> Option<(i64, i64, i64)> {
    let stroke = case.ledger.machine.axes[0].stroke?;
    Some((mm(*stroke.from), mm(*stroke.to), stroke.overtravel.map_or(0, |extra| mm(*extra))))
}

fn meeting(case: &mut Case) -> bool {
    let (all, mut blocks) = (joints(case), blocks(case));
    let Some((from, to, extra)) = stroke(case) else { return false };
    if blocks.is_empty() || all.len() < 2 || !case.whole() {
        return false;
    }
    for _ in 0..60 {
        let index = case.index(blocks.len());
        let old = blocks[index];
        // Inwards, so that it does not run over the end of its rail.
        let at = old.1.signum() * (old.1.abs() - case.dice.roll(1..=old.1.abs().max(2)));
        blocks[index].1 = at;
        let mut meetings: Vec<(usize, usize)> = Vec::new();
        let over: Vec<(usize, usize)> = (0..blocks.len())
            .flat_map(|block| (0..all.len()).map(move |joint| (block, joint)))
            .filter(|(block, joint)| all[*joint].0.rail == blocks[*block].0)
            .collect();
        for (i, a) in over.iter().enumerate() {
            for b in &over[i + 1..] {
                if meet((all[a.1].2, blocks[a.0]), (all[b.1].2, blocks[b.0]), (from, to)) {
                    meetings.push((a.1, b.1));
                }
            }
        }
        // Two blocks of one rail over one joint together would be two blocks in one place.
        let crowded =
            |(other, block): (usize, &Block)| other != index && block.0 == old.0 && (block.1 - at).abs() < block.2;
        let clash = meetings.iter().any(|(a, b)| a == b) || blocks.iter().enumerate().any(crowded);
        if meetings.is_empty() || meetings.len() > 6 || clash || extra < 0 {
            blocks[index] = old;
            continue;
        }
        let lines = case.pages.files[MACHINE].1.iter().enumerate();
        let spots: Vec<usize> =
            lines.filter(|(_, line)| line.trim_start().starts_with("block ")).map(|(line, _)| line).collect();
        let spot = (MACHINE, spots[index]);
        assert!(case.pages.replace(spot, &format!("at={} ", old.1), &format!("at={at} ")));
        for (a, b) in meetings {
            // It stands at the joint that is described later.
            let later = if (all[a].0, all[a].1) < (all[b].0, all[b].1) { b } else { a };
            let address = case.ledger.machine.joint_address(all[later].0, all[later].1);
            case.pages.expect(all[later].3, "joint-meeting", &address);
        }
        faces_none(case, &blocks, &spots);
        return true;
    }
    false
}

fn seam(case: &mut Case) -> bool {
    let all = joints(case);
    if all.is_empty() || !case.whole() {
        return false;
    }
    let (id, _, position, _) = all[case.index(all.len())];
    let axis = &case.ledger.machine.axes[0];
    let name = case.ledger.machine.rail(id).beam.as_ref().expect("a beam").value.clone();
    let beam = axis.beams.iter().find(|beam| *beam.name == name).expect("it is described");
    let (start, end) = (mm(beam.from), mm(beam.to()));
    let at = position + case.dice.roll(-20..=20);
    if at <= start || at >= end {
        return false;
    }
    let head = case.pages.described(&format!("beam {name} ")).expect("the beam is described");
    let close = (head.1 + 1..).find(|line| case.pages.line((MACHINE, *line)) == "        }");
    let inline = case.pages.line(head).contains('}');
    if inline {
        let text = format!("        beam {name} material=steel {{ piece {}; piece {} }}", at - start, end - at);
        case.pages.set(head, text);
    } else {
        let close = close.expect("its block is closed");
        for _ in head.1 + 1..close {
            case.pages.delete((MACHINE, head.1 + 1));
        }
        case.pages.insert((MACHINE, head.1 + 1), &format!("            piece {}", at - start));
        case.pages.insert((MACHINE, head.1 + 2), &format!("            piece {}", end - at));
    }
    for (id, index, position, spot) in joints(case) {
        let rail = case.ledger.machine.rail(id);
        let covers = rail.joints[index].support.and_then(|support| rail.supports[support].covers).map(mm);
        let near = 2 * (position - at).abs() < covers.expect("a joint support");
        if near && rail.beam.as_ref().is_some_and(|beam| **beam == name) {
            let address = case.ledger.machine.joint_address(id, index);
            case.pages.expect(spot, "joint-over-seam", &address);
        }
    }
    true
}

/// The rows of full rail torques of a support that name more bolts than so many.
fn rows_of_more(case: &mut Case, id: RailId, support: &str, bolts: usize) {
    let (rail, address) = (case.address(id), format!("{}.{support}", case.address(id)));
    for record in case.pages.records(&format!("fasten {rail}")) {
        let head = case.pages.line(record.head());
        if !head.contains("stage=full") || head.contains("interface=base") {
            continue;
        }
        if let Some(spot) = case.pages.row(record, &format!("at {support}"))
            && case.pages.line(spot).split_whitespace().count() > 2 + bolts
        {
            case.pages.expect(spot, "described-after", &address);
        }
    }
}

fn moved(case: &mut Case) -> bool {
    let Some((id, joint)) = case.joint() else { return false };
    let rail = case.ledger.machine.rail(id);
    let support = rail.joints[joint].support.expect("a joint support");
    let at = mm(rail.supports[support].at);
    let (by, after) = (case.dice.roll(6..=9), case.ledger.machine.rail(id).supports.get(support + 1));
    if after.is_some_and(|next| mm(next.from()) < mm(case.ledger.machine.rail(id).supports[support].to()) + by) {
        return false;
    }
    let name = case.ledger.machine.rail(id).joints[joint].name.clone();
    let spot = case.pages.joint_support(&case.name(id), &name);
    case.pages.replace(spot, &format!("at={at}"), &format!("at={}", at + by));
    let address = case.ledger.machine.joint_address(id, joint);
    // Off its joint, and the first bolt of the near end is no longer over it.
    case.pages.expect(spot, "joint-support", &address);
    case.pages.expect(spot, "joint-support", &address);
    rows_of_more(case, id, &name, 3);
    true
}

fn short(case: &mut Case) -> bool {
    let Some((id, joint)) = case.joint() else { return false };
    let rail = case.ledger.machine.rail(id);
    let support = rail.joints[joint].support.expect("a joint support");
    let pitch = mm(rail.segments[0].holes[1] - rail.segments[0].holes[0]);
    let (covers, name) = (mm(rail.supports[support].covers.expect("a length")), rail.joints[joint].name.clone());
    let spot = case.pages.joint_support(&case.name(id), &name);
    case.pages.replace(spot, &format!("length={covers}"), &format!("length={}", covers - 2 * pitch));
    let address = case.ledger.machine.joint_address(id, joint);
    case.pages.expect(spot, "joint-support", &address);
    rows_of_more(case, id, &name, 2);
    true
}

/// A support that stands half over another one and that no record knows. Where bolts clicked over ranges of supports,
/// the ranges would take it in.
fn overlap(case: &mut Case) -> bool {
    let read = |case: &Case, id| full(case, id).iter().all(|record| case.pages.row(*record, "clicked").is_none());
    let Some(id) = case.rail_where(read) else { return false };
    let rail = case.ledger.machine.rail(id);
    let pitch = mm(rail.segments[0].holes[1] - rail.segments[0].holes[0]);
    let index = case.index(rail.supports.len());
    let rail = case.ledger.machine.rail(id);
    let (at, covers) = (mm(rail.supports[index].at), mm(rail.supports[index].covers.expect("a length")));
    let end = mm(rail.supports[index].at) + pitch + covers / 2;
    let clear = rail.supports.get(index + 1).map_or(mm(rail.to()), |next| mm(next.from()));
    if rail.supports[index].joint.is_some() || end >= clear {
        return false;
    }
    let (name, address) = (case.name(id), case.address(id));
    let whole = case.pages.rail(&name);
    let line = format!("            support E9 at={} length={covers}", at + pitch);
    case.pages.insert((MACHINE, whole.last), &line);
    case.pages.expect((MACHINE, whole.last), "support-overlap", &format!("{address}.E9"));
    case.pages.expect(whole.head(), "torque-missing", &address);
    for kind in ["gap", "straightness"] {
        for survey in case.pages.records(&format!("survey {kind} {address}")) {
            case.pages.expect(survey.head(), "station-missing", &address);
        }
    }
    true
}

fn pitch(case: &mut Case) -> bool {
    let Some((id, joint)) = case.joint() else { return false };
    let rail = case.ledger.machine.rail(id);
    let pitch = mm(rail.segments[0].holes[1] - rail.segments[0].holes[0]);
    let name = rail.joints[joint].name.clone();
    let (near, far) = (case.pages.segment(&case.name(id), joint), case.pages.segment(&case.name(id), joint + 1));
    let text = format!("{} far-distance={}", case.pages.line(near), pitch / 2 + pitch);
    case.pages.set(near, text);
    let address = case.ledger.machine.joint_address(id, joint);
    case.pages.expect(far, "hole-pitch-break", &address);
    let spot = case.pages.joint_support(&case.name(id), &name);
    case.pages.expect(spot, "joint-support", &address);
    rows_of_more(case, id, &name, 3);
    true
}

fn off_hole(case: &mut Case) -> bool {
    let Some(id) = case.rail_where(|case, id| case.ledger.machine.rail(id).support("E1").is_some()) else {
        return false;
    };
    let address = format!("{}.E1", case.address(id));
    let whole = case.pages.rail(&case.name(id));
    let support = case.pages.row(whole, "support E1").expect("it is described");
    let bolts = (support.0, support.1 + 1);
    let text = case.pages.line(bolts).to_string();
    let half: i64 = text.split_whitespace().last().and_then(|word| word.parse().ok()).expect("a number");
    case.pages.set(bolts, format!("                bolts -{} {half}", half - case.dice.roll(1..=12)));
    case.pages.expect(support, "bolt-off-hole", &address);
    true
}

fn overtravel(case: &mut Case) -> bool {
    let Some((from, to, extra)) = stroke(case) else { return false };
    let all = joints(case);
    if !case.whole() {
        return false;
    }
    let by = case.dice.roll(30..=120);
    let axis = &case.ledger.machine.axes[0];
    let start = mm(axis.rails[0].from);
    let (blocks, far) = (blocks(case), from - by);
    let over = blocks.iter().filter(|(_, at, length)| 2 * (far - extra + at) - length < 2 * start).count();
    let half = axis.carriage.as_ref().and_then(|carriage| carriage.length).map(|length| mm(*length));
    let beyond = half.is_some_and(|length| 2 * (far - extra) - length < 2 * start);
    let near: Vec<_> = blocks.iter().flat_map(|block| all.iter().map(move |joint| (block, joint))).collect();
    let near: Vec<_> = near.into_iter().filter(|(block, joint)| block.0 == joint.0.rail).collect();
    let meets = near
        .iter()
        .enumerate()
        .any(|(i, a)| near[i + 1..].iter().any(|b| meet((a.1.2, *a.0), (b.1.2, *b.0), (far, to))));
    if over == 0 && !beyond || meets {
        return false;
    }
    let spot = case.pages.described("stroke ").expect("a stroke");
    case.pages.replace(spot, &format!("from={from} "), &format!("from={far} "));
    for _ in 0..over + usize::from(beyond) {
        case.pages.expect(spot, "overtravel", "X");
    }
    true
}
