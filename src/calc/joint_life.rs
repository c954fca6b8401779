//! What the measured steps of joints cost of a carriage's life.
//!
//! This is our own model, not a standard's, and must be called so wherever its numbers are shown:
//!
//! - The carriage is rigid on spring blocks (see [`carriage`](super::carriage)). While it straddles a joint, that is from
//!   the first block of the rail past it until the last one is, the blocks past it stand off by the joint's height and
//!   side offset. With four like blocks at the corners, a height offset h under one foot changes all four loads by ±k·h/4;
//!   a side offset s changes the two blocks at that foot's place along the axis by ±k·s/2, since the carriage yields
//!   half the way and turns.
//! - A profile that is larger by q at every groove presses each of the block's four rows by q more, a twist step t two of them by
//!   t. A row takes half the block's upright stiffness, and a row load counts √2 times as a load on the block: k·(q + |t|)/√2
//!   is added to the loads of the blocks past the joint, and where the near profile is the larger one, k·|q|/√2 to those before it.
//! - A block's own crossing, the chamfers of the ends and impact are left out.
//!
//! A block's load then is constant between crossings, so the cubic mean over the stroke is exact, not sampled.

use super::carriage::{BlockLoad, CarriageError, Offset, RigidCarriage};
use super::life::{Life, LifeError, Portion, Rating, Reliability, combined_load, cubic_mean, whole};
use std::f64::consts::FRAC_1_SQRT_2;

/// The name of the model in derivations and reports.
pub(crate) const MODEL: &str =
    "our own model: rigid carriage on spring blocks, joints as offsets while it straddles them";

/// What a joint does to a block that passes it: far rail against near rail, in mm.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct JointOffset {
    /// The far rail lies higher.
    pub up: f64,
    /// The far rail lies to the right.
    pub right: f64,
    /// Twist pattern, as a groove step.
    pub twist: f64,
    /// Size pattern, as a groove step: the far profile is larger.
    pub size: f64,
}

/// A joint of one rail.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct CrossedJoint {
    /// The rail, by whatever number the riders use.
    pub rail: usize,
    /// Its position in mm.
    pub at_mm: f64,
    /// What it does.
    pub offset: JointOffset,
}

/// On which rail a block of the carriage rides, and its rating.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Rider {
    /// The rail.
    pub rail: usize,
    /// The block's dynamic rating.
    pub rating: Rating,
}

/// Block loads from outside over a share of the travelled distance, in the order of the blocks.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct LoadCase {
    /// The share, 1 = the whole distance.
    pub share: f64,
    /// What each block passes to its rail.
    pub loads: Vec<BlockLoad>,
}

/// The positions of the carriage's common point, in mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct StrokeMm {
    /// The least position.
    pub from_mm: f64,
    /// The greatest position.
    pub to_mm: f64,
}

/// Mean loads of one block in N and its lives; a block without load has none.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct BlockLife {
    /// Mean load on perfect joints.
    pub load_without_n: f64,
    /// Mean load on the joints as measured.
    pub load_with_n: f64,
    /// Life on perfect joints.
    pub without: Option<Life>,
    /// Life on the joints as measured.
    pub with: Option<Life>,
    /// The greatest load anywhere in the stroke on the joints as measured, in N: what static safety is held against.
    pub greatest_n: f64,
}

/// Why a joint life cannot be computed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub(crate) enum JointLifeError {
    /// A rating, a load or the stroke gives no life.
    #[error(transparent)]
    Life(#[from] LifeError),
    /// The blocks of the carriage cannot be told their loads.
    #[error(transparent)]
    Carriage(#[from] CarriageError),
    /// A joint's position or offset is no number.
    #[error("a joint's position and offsets must be finite numbers")]
    Joint,
}

/// The lives of all blocks of a carriage with and without the joints' steps, in the order of its blocks.
///
/// `riders` and the loads of every case belong to the carriage's blocks in order; a block's distance from the
/// carriage's common point is its x. Errors when counts differ, the stroke is empty or the shares of the cases do not add up to 1.
pub(crate) fn joint_life(
    carriage: &RigidCarriage,
    riders: &[Rider],
    cases: &[LoadCase],
    joints: &[CrossedJoint],
    stroke: StrokeMm,
    reliability: Reliability,
) -> Result<Vec<BlockLife>, JointLifeError> {
    let count = carriage.blocks().len();
    same_count("blocks with a rail and rating", riders.len(), count)?;
    for case in cases {
        same_count("block loads of a case", case.loads.len(), count)?;
    }
    whole(cases.iter().map(|case| case.share).sum())?;
    let stretches = stretches(carriage, riders, joints, stroke)?;
    let calm = [StrokePart { share: 1.0, added: vec![Added::default(); count] }];
    (0..count)
        .map(|block| {
            let (without, _) = spectrum(block, cases, &calm)?;
            let (with, greatest_n) = spectrum(block, cases, &stretches)?;
            let rating = riders[block].rating;
            Ok(BlockLife {
                load_without_n: without,
                load_with_n: with,
                without: life_of(rating, without, reliability)?,
                with: life_of(rating, with, reliability)?,
                greatest_n,
            })
        })
        .collect()
}

/// What the joints add to one block.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Added {
    load: BlockLoad,
    /// Load on the rows that needs no load on the block, in N.
    squeeze: f64,
}

/// A part of the stroke in which nothing changes, with what the joints add to each block there.
struct StrokePart {
    share: f64,
    added: Vec<Added>,
}

fn stretches(
    carriage: &RigidCarriage,
    riders: &[Rider],
    joints: &[CrossedJoint],
    stroke: StrokeMm,
) -> Result<Vec<StrokePart>, JointLifeError> {
    let StrokeMm { from_mm, to_mm } = stroke;
    if !(from_mm.is_finite() && to_mm.is_finite() && from_mm < to_mm) {
        return Err(LifeError::Stroke { from_mm, to_mm }.into());
    }
    let known = |joint: &CrossedJoint| {
        let JointOffset { up, right, twist, size } = joint.offset;
        [joint.at_mm, up, right, twist, size].iter().all(|value| value.is_finite())
    };
    if !joints.iter().all(known) {
        return Err(JointLifeError::Joint);
    }
    let mut bounds = vec![from_mm, to_mm];
    for joint in joints {
        for (block, rider) in carriage.blocks().iter().zip(riders) {
            let crossing = joint.at_mm - block.at.x;
            if rider.rail == joint.rail && crossing > from_mm && crossing < to_mm {
                bounds.push(crossing);
            }
        }
    }
    bounds.sort_by(f64::total_cmp);
    bounds.dedup();
    let mut stretches = Vec::with_capacity(bounds.len() - 1);
    for pair in bounds.windows(2) {
        let added = added_at(carriage, riders, joints, f64::midpoint(pair[0], pair[1]))?;
        stretches.push(StrokePart { share: (pair[1] - pair[0]) / (to_mm - from_mm), added });
    }
    Ok(stretches)
}

/// What the joints add to each block while the carriage's common point stands at `position`.
fn added_at(
    carriage: &RigidCarriage,
    riders: &[Rider],
    joints: &[CrossedJoint],
    position: f64,
) -> Result<Vec<Added>, JointLifeError> {
    let blocks = carriage.blocks();
    let mut offsets = vec![Offset::default(); blocks.len()];
    // How far the most pressed row of each block is pressed, in mm.
    let mut pressed = vec![0.0; blocks.len()];
    for joint in joints {
        let on_rail: Vec<usize> = (0..blocks.len()).filter(|&n| riders[n].rail == joint.rail).collect();
        let past = |n: usize| position + blocks[n].at.x > joint.at_mm;
        let crossed = on_rail.iter().filter(|&&n| past(n)).count();
        if crossed == 0 || crossed == on_rail.len() {
            continue;
        }
        for n in on_rail {
            if past(n) {
                offsets[n].up += joint.offset.up;
                offsets[n].right += joint.offset.right;
                pressed[n] += (joint.offset.size + joint.offset.twist.abs()).max(0.0);
            } else {
                pressed[n] += (-joint.offset.size).max(0.0);
            }
        }
    }
    let forced = carriage.forced_loads(&offsets)?;
    Ok(forced
        .into_iter()
        .enumerate()
        .map(|(n, load)| Added { load, squeeze: 1000.0 * blocks[n].vertical * pressed[n] * FRAC_1_SQRT_2 })
        .collect())
}

/// The mean and the greatest load of one block over all cases and stretches, in N.
fn spectrum(block: usize, cases: &[LoadCase], stretches: &[StrokePart]) -> Result<(f64, f64), LifeError> {
    let mut portions = Vec::with_capacity(cases.len() * stretches.len());
    for case in cases {
        for stretch in stretches {
            let added = stretch.added[block];
            let load = case.loads[block] + added.load;
            let load_n = combined_load(load.right, load.down) + added.squeeze;
            portions.push(Portion { share: case.share * stretch.share, load_n });
        }
    }
    let greatest = portions.iter().fold(0.0_f64, |most, portion| most.max(portion.load_n));
    Ok((cubic_mean(&portions)?, greatest))
}

fn life_of(rating: Rating, load_n: f64, reliability: Reliability) -> Result<Option<Life>, LifeError> {
    if load_n == 0.0 { Ok(None) } else { rating.life(load_n, reliability).map(Some) }
}

fn same_count(what: &'static str, found: usize, expected: usize) -> Result<(), LifeError> {
    if found == expected { Ok(()) } else { Err(LifeError::Count { what, found, expected }) }
}
