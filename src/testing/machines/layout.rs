//! Chooses segments, supports, seams and a carriage that obey every rule of layout.

use super::{Beam, Carriage, Dice, Kind, Plan, Rail, Seat, Size, Support};

const NAMES: [&str; 4] = ["port", "starboard", "upper", "lower"];

/// A plan of a machine.
pub(crate) fn layout(dice: &mut Dice, size: &Size) -> Plan {
    loop {
        if let Some(plan) = attempt(dice, size) {
            return plan;
        }
    }
}

fn attempt(dice: &mut Dice, size: &Size) -> Option<Plan> {
    let pitch = *dice.pick(&[40, 60, 80, 100]);
    let edge = *dice.pick(&[8, 10, 15]);
    let from = *dice.pick(&[0, 0, 0, 500, -240]);
    // The run in whole pitches, from the number of supports that the first rail is to have.
    let cells = dice.roll(3..=6) * (dice.roll(size.supports.clone()) + 1);
    let to = from + cells * pitch;
    let carriage = if dice.chance(70) { ride(dice, from, to) } else { None };
    let count = dice.roll(size.rails.clone()) as usize;
    let mut rails: Vec<Rail> = Vec::new();
    for (index, name) in NAMES.iter().enumerate().take(count) {
        let joints = joints(dice, size, (from, cells, pitch), carriage.as_ref(), &rails)?;
        let mut segments = Vec::new();
        let mut at = from;
        for end in joints.iter().chain([&to]) {
            segments.push(end - at);
            at = *end;
        }
        let supports = supports(dice, size, (from, cells, pitch, edge), &joints)?;
        let seat = if index == 0 { Seat::Reference } else { *dice.pick(&[Seat::Widen, Seat::Narrow, Seat::Lift]) };
        let (row, supports) = supports;
        rails.push(Rail { name: (*name).into(), beam: index, seat, segments, row, supports });
    }
    let mut beams = Vec::new();
    for index in 0..count {
        // Two rails may share a beam.
        if index > 0 && dice.chance(30) {
            rails[index].beam = rails[index - 1].beam;
        } else {
            rails[index].beam = beams.len();
            beams.push(Beam { pieces: Vec::new() });
        }
    }
    for (index, beam) in beams.iter_mut().enumerate() {
        let joints: Vec<i64> =
            rails.iter().filter(|rail| rail.beam == index).flat_map(|rail| rail.joints(from)).collect();
        beam.pieces = pieces(dice, (from, to), &joints, joint_covers(pitch, edge));
    }
    let base_bolts = dice.chance(30).then(|| dice.roll(1..=3));
    let name = format!("machine-{}", dice.roll(100..=999));
    Some(Plan { name, from, to, pitch, edge, beams, rails, carriage, base_bolts })
}

/// The least a joint support may cover: two bolts of each rail end and their edges.
fn joint_covers(pitch: i64, edge: i64) -> i64 {
    3 * pitch + 2 * edge
}

fn ride(dice: &mut Dice, from: i64, to: i64) -> Option<Carriage> {
    let block = dice.roll(50..=90);
    let offset = dice.roll(60..=260);
    let length = 2 * offset + 2 * block;
    let overtravel = *dice.pick(&[0, 10, 25]);
    let reach = length / 2 + overtravel + dice.roll(1..=40);
    let stroke = (from + reach, to - reach);
    (stroke.0 + 100 < stroke.1).then_some(Carriage { length, offset, block, stroke, overtravel })
}

/// Positions for the joints of one more rail, clear of those of the rails before it.
fn joints(
    dice: &mut Dice,
    size: &Size,
    (from, cells, pitch): (i64, i64, i64),
    carriage: Option<&Carriage>,
    rails: &[Rail],
) -> Option<Vec<i64>> {
    const LEAST: i64 = 6;
    let most = (cells / LEAST).min(*size.segments.end());
    if most < *size.segments.start() {
        return None;
    }
    let mut wanted = dice.roll(*size.segments.start()..=most) - 1;
    let others: Vec<i64> = rails.iter().flat_map(|rail| rail.joints(from)).collect();
    while wanted >= size.segments.start() - 1 {
        for _ in 0..80 {
            let mut at: Vec<i64> = (0..wanted).map(|_| dice.roll(LEAST..=cells - LEAST)).collect();
            at.sort_unstable();
            if at.windows(2).any(|pair| pair[1] - pair[0] < LEAST) {
                continue;
            }
            let own: Vec<i64> = at.iter().map(|cell| from + cell * pitch).collect();
            if apart(&own, &others, pitch, carriage) {
                return Some(own);
            }
        }
        wanted -= 1;
    }
    None
}

/// Whether joints are staggered and no two blocks can meet two of them together, wherever the carriage stands.
fn apart(own: &[i64], others: &[i64], pitch: i64, carriage: Option<&Carriage>) -> bool {
    let stagger = carriage.map_or(pitch, |carriage| carriage.block.max(pitch));
    if own.iter().any(|a| others.iter().any(|b| (a - b).abs() < stagger)) {
        return false;
    }
    let Some(carriage) = carriage else { return true };
    let shifts = [-2 * carriage.offset, 0, 2 * carriage.offset];
    let meets = |a: i64, b: i64| shifts.iter().any(|shift| (a - b + shift).abs() < carriage.block);
    let clear = |a: i64, b: i64| !meets(a, b);
    own.iter().enumerate().all(|(i, a)| own[i + 1..].iter().chain(others).all(|b| clear(*a, *b)))
}

/// The row's pitch and length, and every support of one rail.
fn supports(
    dice: &mut Dice,
    size: &Size,
    (from, cells, pitch, edge): (i64, i64, i64, i64),
    joints: &[i64],
) -> Option<((i64, i64), Vec<Support>)> {
    let step = dice.roll(3..=6);
    let count = (cells - 1) / step;
    let mut supports = row(joints, (from, pitch, edge), step * pitch, count);
    let total = supports.len() as i64;
    let single = |support: &&mut Support| matches!(support.kind, Kind::Row(_));
    if supports.iter_mut().filter(single).count() < 2 || !size.supports.contains(&total) {
        return None;
    }
    if dice.chance(40) {
        let mut own: Vec<&mut Support> = supports.iter_mut().filter(single).collect();
        let index = dice.roll(0..=own.len() as i64 - 1) as usize;
        own[index].name = "E1".into();
        own[index].kind = Kind::Single;
    }
    Some(((step * pitch, count), supports))
}

/// A row of so many supports, those left out that meet the supports of the joints, and these, all in order of position.
pub(super) fn row(joints: &[i64], (from, pitch, edge): (i64, i64, i64), step: i64, count: i64) -> Vec<Support> {
    let covers = pitch + 2 * edge;
    let clear = (covers + joint_covers(pitch, edge)) / 2;
    let mut supports = Vec::new();
    for number in 1..=count {
        let at = from + number * step;
        if joints.iter().all(|joint| (joint - at).abs() >= clear) {
            supports.push(Support { name: format!("S{number}"), at, covers, kind: Kind::Row(number) });
        }
    }
    for (index, at) in joints.iter().enumerate() {
        let (name, covers) = (format!("J{}", index + 1), joint_covers(pitch, edge));
        supports.push(Support { name, at: *at, covers, kind: Kind::Joint(index) });
    }
    supports.sort_by_key(|support| support.at);
    supports
}

/// Pieces of a beam whose seams keep clear of joints.
fn pieces(dice: &mut Dice, (from, to): (i64, i64), joints: &[i64], covers: i64) -> Vec<i64> {
    let mut seams: Vec<i64> = Vec::new();
    for _ in 0..dice.roll(0..=3) {
        let at = dice.roll(from + 50..=to - 50);
        if joints.iter().all(|joint| 2 * (joint - at).abs() > covers) && seams.iter().all(|s| (s - at).abs() > 40) {
            seams.push(at);
        }
    }
    seams.sort_unstable();
    let end = to + if dice.chance(30) { 75 } else { 0 };
    let mut pieces = Vec::new();
    let mut at = from;
    for seam in seams.into_iter().chain([end]) {
        pieces.push(seam - at);
        at = seam;
    }
    pieces
}
