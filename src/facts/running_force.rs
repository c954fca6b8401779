//! The running force of an axis as it is known now: beside what its blocks take by their makers, how it grows along the axis, and
//! what is felt at the joints.

use std::collections::BTreeMap;

use smallvec::SmallVec;

use super::carriage::block_type;
use crate::calc::exact::Ratio as ExactRatio;
use crate::calc::tie::{Fit, Free, Shared};
use crate::finding::Place;
use crate::ledger::{Axis, BlockType, Body, ForceRow, Ledger, Target};
use crate::quantity::{Force, Length, Ratio};

/// The force at one place of the carriage.
#[derive(Clone, Copy, Debug)]
pub(crate) struct ForceAtPosition<'l> {
    pub record: usize,
    pub row: &'l ForceRow,
    /// Its size; of repeats their mean, rounded up to the smallest unit.
    pub size: Force,
}

/// The latest reading at each place, in order along the axis. A record of fewer places leaves the others as they were.
/// A place read twice in one record keeps what lies farther from zero: which of the two holds nobody knows.
pub(crate) fn latest(ledger: &Ledger, axis: usize) -> Vec<ForceAtPosition<'_>> {
    since(ledger, axis, |_| true).into_values().filter_map(|all| all.last().copied()).collect()
}

/// The greatest of the latest; of those that are alike the first.
pub(crate) fn greatest(ledger: &Ledger, axis: usize) -> Option<ForceAtPosition<'_>> {
    latest(ledger, axis).into_iter().reduce(|most, it| if it.size > most.size { it } else { most })
}

/// The readings at each place, in the order they were taken: from the last record on that counts.
pub(crate) fn since(
    ledger: &Ledger,
    axis: usize,
    counts: impl Fn(usize) -> bool,
) -> BTreeMap<Length, SmallVec<[ForceAtPosition<'_>; 1]>> {
    let mut places: BTreeMap<Length, SmallVec<[ForceAtPosition; 1]>> = BTreeMap::new();
    for &record in &ledger.timeline.order {
        let Body::RunningForce(run) = &ledger.records[record].body else { continue };
        if ledger.records[record].target != Some(Target::Axis(axis)) {
            continue;
        }
        for row in &run.rows {
            let reading = ForceAtPosition { record, row, size: row.size() };
            let all = places.entry(*row.position).or_default();
            match all.last_mut() {
                Some(other) if other.record == record && other.size >= reading.size => {}
                Some(other) if other.record == record => *other = reading,
                _ => {
                    if counts(record) {
                        all.clear();
                    }
                    all.push(reading);
                }
            }
        }
    }
    places
}

/// Whether a reading with the carriage's middle at one place says how it runs at another: it reaches over it. Nothing where
/// nobody says how long the carriage is.
pub(crate) fn reaches(axis: &Axis, read_at: Length, place: Length) -> Option<bool> {
    let length = axis.carriage.as_ref().and_then(|carriage| carriage.length)?;
    Some((read_at - place).abs() <= Length(length.nm() / 2))
}

/// A place where the running force is to be read.
pub(crate) struct ForcePlace {
    pub what: String,
    pub at: Length,
    pub described: Place,
}

/// Both ends of the stroke and every joint between them; nothing where no stroke is stated.
pub(crate) fn places(axis: &Axis) -> Vec<ForcePlace> {
    let Some(stroke) = axis.stroke else { return Vec::new() };
    let (from, to) = (*stroke.from, *stroke.to);
    let end = |what: &str, at| ForcePlace { what: what.into(), at, described: stroke.place };
    let mut places = vec![end("the near end of the stroke", from), end("the far end of the stroke", to)];
    for rail in &axis.rails {
        let passed = rail.joints.iter().filter(|joint| joint.position >= from && joint.position <= to);
        places.extend(passed.map(|joint| ForcePlace {
            what: format!("{} of {}", joint.name, *rail.name),
            at: joint.position,
            described: joint.place,
        }));
    }
    places
}

/// What preload and seals of a block take to be pushed, as its maker states them; nothing where neither is stated, or half of
/// what the preload takes.
pub(crate) fn drag(kind: &BlockType) -> Option<Force> {
    let preload = match (kind.preload, kind.preload_share, kind.dynamic) {
        (Some(force), ..) => Some(*force),
        (None, Some(share), Some(rating)) => share_of(*rating, *share),
        _ => None,
    };
    if kind.friction.is_some() != preload.is_some() {
        return None;
    }
    let friction = kind.friction.zip(preload).and_then(|(friction, preload)| share_of(preload, *friction));
    match (friction, kind.seal_drag) {
        (None, None) => None,
        (friction, seals) => Some(friction.unwrap_or(Force(0)) + seals.map_or(Force(0), |seals| *seals)),
    }
}

fn share_of(force: Force, share: Ratio) -> Option<Force> {
    Some(Force(force.0.checked_mul(share.0.into())? / i128::from(Ratio::ONE.0)))
}

/// The same of all blocks of a carriage; nothing where one of them does not state it. The weight that they carry, the drive and
/// the grease come on top.
pub(crate) fn expected(ledger: &Ledger, axis: usize) -> Option<Force> {
    let blocks = &ledger.machine.axes[axis].carriage.as_ref()?.blocks;
    let all = blocks.iter().map(|block| drag(block_type(ledger, block).ok()?));
    all.reduce(|sum, of| Some(sum? + of?))?
}

/// How the running force goes along the axis.
pub(crate) struct ForceTrend {
    /// By how much the least-squares line through the latest readings grows over a metre.
    pub slope: Force,
    /// What was read with the carriage at a joint, above that line.
    pub at_joints: Vec<ForceAtJoint>,
}

/// The running force at a joint.
pub(crate) struct ForceAtJoint {
    pub rail: usize,
    pub joint: usize,
    pub above: Force,
}

/// To thousandths of a newton; nothing with fewer than three places, through two of which there is always a line.
pub(crate) fn trend(ledger: &Ledger, axis: usize) -> Option<ForceTrend> {
    let readings = latest(ledger, axis);
    if readings.len() < 3 {
        return None;
    }
    // What the fit calls nanometres of change are micronewtons here.
    let micro = |reading: &ForceAtPosition| ExactRatio::whole(reading.size.micronewtons().into());
    let shared: Vec<Shared> = readings
        .iter()
        .map(|reading| Shared { position_nm: reading.row.position.nm(), change: micro(reading) })
        .collect();
    let fit = Fit::new(Free::Line, &shared)?;
    const METRE: i64 = 1_000_000_000;
    let from = shared[0].position_nm;
    let slope = thousandths(fit.at(from.checked_add(METRE)?)?.minus(fit.at(from)?)?)?;
    let mut at_joints = Vec::new();
    for (rail, of) in ledger.machine.axes[axis].rails.iter().enumerate() {
        for (joint, it) in of.joints.iter().enumerate() {
            let Some(reading) = readings.iter().find(|reading| *reading.row.position == it.position) else { continue };
            let above = thousandths(micro(reading).minus(fit.at(it.position.nm())?)?)?;
            at_joints.push(ForceAtJoint { rail, joint, above });
        }
    }
    Some(ForceTrend { slope, at_joints })
}

/// Micronewtons to the nearest thousandth of a newton.
fn thousandths(micro: ExactRatio) -> Option<Force> {
    let doubled = ExactRatio::new(micro.numerator().checked_mul(2)?, micro.denominator().checked_mul(1000)?)?;
    let nearest = (doubled.floor() + 1).div_euclid(2);
    Some(Force::of_micronewtons(i64::try_from(nearest.checked_mul(1000)?).ok()?))
}
