//! Which reading costs most, and what the scatter of the readings alone would give.
//!
//! Every result is followed back through the same linear model to the values that were read: how it changes with each of
//! them. For loads and motion that is exact as far as the place of the greatest stays; a life is taken at its tangent. The
//! uncertainty of a result is the first-order sum u² = Σ (∂r/∂x)² u(x)² of readings that do not hang together (JCGM 100, 5.1.2).
//! What grooves show of a profile's size and twist is not followed back.

use super::footing::felt;
use super::frame::{Five, PITCH, UP, YAW};
use super::rails::PLANES;
use super::run::{Followed, GreatestLoad, Journey, MotionError, Stand, Wander, WholeJourney};
use super::spline::SplineSum;
use super::wear::WearingBlock;

/// A result that is followed back.
#[derive(Debug, Clone, Copy)]
pub(crate) enum TracedResult<'r> {
    /// The life of all blocks together in km, on the rails as they lie.
    Together,
    /// The greatest load of a block in N.
    Load(usize, &'r GreatestLoad),
    /// The most that the rails as they lie add to a block, in N.
    Forced(usize, &'r GreatestLoad),
    /// How a motion error wanders, in mm or rad.
    Wander(Followed, &'r Wander),
}

/// How each result changes with each reading, by 1 mm of it: for each result, `readings` numbers.
pub(crate) fn by_reading(
    journey: &Journey,
    wearing: &[WearingBlock],
    whole: &WholeJourney,
    results: &[TracedResult],
    readings: usize,
) -> Result<Vec<Vec<f64>>, MotionError> {
    let empty = || -> Vec<Vec<[Option<SplineSum>; 2]>> {
        let of = |segment: &super::rails::LyingSegment| {
            segment.shapes.each_ref().map(|shape| shape.as_ref().map(|shape| SplineSum::new(&shape.spline)))
        };
        journey.rails.iter().map(|rail| rail.segments.iter().map(of).collect()).collect()
    };
    let mut sums: Vec<_> = results.iter().map(|_| empty()).collect();
    let count = journey.places().len();
    let blocks = journey.carriage.blocks();
    journey.go(|stand| {
        for (result, sums) in results.iter().zip(&mut sums) {
            let (pose, passed) = weights(journey, wearing, whole, result, stand, count);
            if pose.iter().chain(passed.iter().flatten()).all(|weight| *weight == 0.0) {
                continue;
            }
            let felt_by = stand.standing.weigh(&pose, &passed);
            for (block, weights) in blocks.iter().zip(felt_by) {
                let Some(rail) = journey.rails.get(block.rail) else { continue };
                for plane in PLANES {
                    let (mean, slope) =
                        if plane == UP { (weights[UP], -weights[PITCH]) } else { (weights[plane], weights[YAW]) };
                    felt(rail, plane, stand.at + block.at.x, block.length, |segment, left, of_mean, of_slope| {
                        if let Some(sum) = &mut sums[block.rail][segment][plane] {
                            sum.add(left, of_mean, mean);
                            sum.add(left, of_slope, slope);
                        }
                    });
                }
            }
        }
    })?;
    let back = |sums: Vec<Vec<[Option<SplineSum>; 2]>>| {
        let mut by = vec![0.0; readings];
        for (rail, sums) in journey.rails.iter().zip(sums) {
            for (segment, sums) in rail.segments.iter().zip(sums) {
                for (shape, sum) in segment.shapes.iter().zip(sums) {
                    let (Some(shape), Some(sum)) = (shape, sum) else { continue };
                    for (by_value, from) in sum.by_value(&shape.spline).iter().zip(&shape.from) {
                        from.iter().for_each(|(reading, weight)| by[*reading] += weight * by_value);
                    }
                }
            }
        }
        by
    };
    Ok(sums.into_iter().map(back).collect())
}

/// What the pose and the passed loads at one place weigh in a result.
fn weights(
    journey: &Journey,
    wearing: &[WearingBlock],
    whole: &WholeJourney,
    result: &TracedResult,
    stand: &Stand,
    count: usize,
) -> (Five, Vec<Five>) {
    let mut pose = [0.0; 5];
    let mut passed = vec![[0.0; 5]; wearing.len()];
    match *result {
        TracedResult::Together => {
            let Some(all) = whole.together[1] else { return (pose, passed) };
            for (block, of) in whole.blocks.iter().enumerate() {
                let Some(life) = of.measured.life else { continue };
                // L = (Σ L_b^−w)^(−1/w), hence ∂L/∂L_b = (L/L_b)^(w+1).
                let share = (all / life.kilometres).powf(whole.rolling.together() + 1.0);
                passed[block] = by_life(journey, wearing, whole, block, stand).map(|by| share * by);
            }
        }
        TracedResult::Load(block, at) if at.index == stand.index => {
            passed[block] = by_load(&wearing[block], stand, block, &at.passed);
        }
        TracedResult::Forced(block, at) if at.index == stand.index => {
            passed[block] = WearingBlock::combined_by(&at.passed, &wearing[block].dynamic_levers);
        }
        TracedResult::Wander(followed, of) => {
            let is = |index: usize| if stand.index == index { 1.0 } else { 0.0 };
            let mut weight = is(of.greatest) - is(of.least);
            if let Followed::Across(..) = followed {
                // The slope of the line that is taken off: Σ t v / Σ t².
                let middle = (count as f64 - 1.0) / 2.0;
                let square = count as f64 * (count as f64 * count as f64 - 1.0) / 12.0;
                if square > 0.0 {
                    weight -= (stand.index as f64 - middle) * (of.greatest as f64 - of.least as f64) / square;
                }
            }
            pose = followed.by_pose().map(|part| weight * part);
        }
        TracedResult::Load(..) | TracedResult::Forced(..) => {}
    }
    (pose, passed)
}

/// How the equivalent load of a block changes with what it passes on.
fn by_load(kind: &WearingBlock, stand: &Stand, block: usize, passed: &Five) -> Five {
    let (larger, twisted) = stand.seated[block];
    let load = WearingBlock::combined(passed, &kind.dynamic_levers) + kind.twist_load(twisted);
    let by = kind.equivalent_by(load, kind.preload_on(larger));
    WearingBlock::combined_by(passed, &kind.dynamic_levers).map(|way| way * by)
}

/// How the life of a block changes with what it passes on at one place: L goes with (Σ q P^p)^−1.
fn by_life(journey: &Journey, wearing: &[WearingBlock], whole: &WholeJourney, block: usize, stand: &Stand) -> Five {
    let (kind, of) = (&wearing[block], &whole.blocks[block].measured);
    let Some(life) = of.life else { return [0.0; 5] };
    let (larger, twisted) = stand.seated[block];
    let rolling = kind.rolling;
    let mut sum = [0.0; 5];
    for (case, it) in journey.cases.iter().enumerate() {
        let passed = stand.passed(case, block);
        let load = WearingBlock::combined(&passed, &kind.dynamic_levers) + kind.twist_load(twisted);
        let load = kind.equivalent(load, kind.preload_on(larger));
        if load == 0.0 {
            continue;
        }
        let share = it.share * stand.share * rolling.power(load) / rolling.power(of.mean);
        let weight = -life.kilometres * share * rolling.life() / load;
        let by = by_load(kind, stand, block, &passed);
        sum.iter_mut().zip(by).for_each(|(sum, by)| *sum += weight * by);
    }
    sum
}

/// The standard uncertainty of a result, from how it changes with each reading and the standard uncertainty of each.
pub(crate) fn scatter(by: &[f64], uncertainty: &[f64]) -> f64 {
    by.iter().zip(uncertainty).map(|(by, u)| by * u).map(|part| part * part).sum::<f64>().sqrt()
}
