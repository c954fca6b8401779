//! A rigid carriage on spring blocks on yielding rails.
//!
//! A block at place r of a carriage that is off by q is off its rail by G q − e, with e what it feels of the rail's shape. It
//! passes f = S (G q − e) on to the rail, with S = (K⁻¹ + C)⁻¹: the springs K of the blocks in series with what the rail under
//! them yields, C, which couples blocks on one segment. Equilibrium with what acts, w: Gᵀ S G q = w + Gᵀ S e. Displacement
//! method of the theory of structures; along the axis the drive holds the carriage and blocks roll freely.

use smallvec::SmallVec;

use super::beam::{Feel, Grip};
use super::footing::{felt, presses};
use super::frame::{BodyPoint, Five, LEFT, PITCH, PerBlock, ROLL, UP, YAW, dot, reach};
use super::inverse::{PoseInverse, invert, settle};
use super::rails::{LyingRail, PLANES};

/// A block under the carriage.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct SpringBlock {
    /// Its middle.
    pub at: BodyPoint,
    /// The rail it rides on.
    pub rail: usize,
    /// How much rail it feels, in mm.
    pub length: f64,
    /// Its stiffness to the left and up in N/mm, and in roll, pitch and yaw in N·mm/rad; nought where it gives freely.
    pub springs: Five,
}

/// Why there are no loads.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub(crate) enum ElasticError {
    /// There is no block.
    #[error("the carriage has no blocks")]
    NoBlocks,
    /// A number is out of order.
    #[error("{0} must be a finite number, and a stiffness or length not below zero")]
    Number(&'static str),
    /// The blocks cannot hold what acts: it would tip or push the carriage.
    #[error("the blocks cannot hold this load: nothing resists it {0}")]
    Loose(&'static str),
    /// The springs and beams give no solution.
    #[error("the stiffnesses of blocks and rails lie too far apart to be solved")]
    Unsolved,
}

/// How each of the five is called where nothing resists it.
const WAYS: [&str; 5] = [
    "to the side",
    "up and down",
    "in roll, which takes blocks beside each other or their moment stiffness",
    "in pitch, which takes two blocks behind each other or their moment stiffness",
    "in yaw, which takes two blocks behind each other or their moment stiffness",
];

/// One spring: a block and which of the five it resists.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Spring {
    block: usize,
    way: usize,
    stiffness: f64,
    /// How it moves with the carriage.
    reach: Five,
}

/// Where a block presses on a segment in one plane.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Press {
    segment: usize,
    share: f64,
    /// In both planes, where the segment yields.
    grips: [Option<Grip>; 2],
}

/// A rail and its plane, where a rail bends under them, and the springs.
type SpringSet = (Option<(usize, usize)>, Vec<usize>);

/// A carriage on its blocks.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct ElasticCarriage {
    blocks: Vec<SpringBlock>,
    springs: Vec<Spring>,
    /// The springs by what bends under them: a rail in one plane, or nothing.
    sets: Vec<SpringSet>,
}

/// Springs that act together with what their rail yields, and S of them, row by row.
#[derive(Debug, Clone, PartialEq)]
struct SpringGroup<'c> {
    springs: &'c [usize],
    /// Two blocks on a rail that hold and tilt fit in.
    stiffness: SmallVec<[f64; 16]>,
}

/// A carriage at one place of its stroke.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Standing<'c> {
    carriage: &'c ElasticCarriage,
    groups: Vec<SpringGroup<'c>>,
    settled: PoseInverse,
}

/// What the carriage is off by, and what each block passes on to its rail: N to the left and up, N·mm in roll, pitch, yaw.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Answer {
    pub pose: Five,
    pub passed: PerBlock,
}

impl ElasticCarriage {
    /// A carriage on these blocks. Errors where there is none or a number is out of order.
    pub(crate) fn new(blocks: Vec<SpringBlock>) -> Result<Self, ElasticError> {
        if blocks.is_empty() {
            return Err(ElasticError::NoBlocks);
        }
        let mut springs = Vec::with_capacity(5 * blocks.len());
        for (index, block) in blocks.iter().enumerate() {
            let BodyPoint { x, y, z } = block.at;
            if ![x, y, z].iter().all(|value| value.is_finite()) {
                return Err(ElasticError::Number("the place of a block"));
            }
            if !block.springs.iter().all(|value| *value >= 0.0 && value.is_finite()) {
                return Err(ElasticError::Number("the stiffness of a block"));
            }
            if !(block.length >= 0.0 && block.length.is_finite()) {
                return Err(ElasticError::Number("the length of a block"));
            }
            let [_, left, up] = reach(block.at);
            let turn = |way: usize| std::array::from_fn(|n| if n == way { 1.0 } else { 0.0 });
            for (way, reach) in [(LEFT, left), (UP, up), (ROLL, turn(ROLL)), (PITCH, turn(PITCH)), (YAW, turn(YAW))] {
                let stiffness = block.springs[way];
                if stiffness > 0.0 {
                    springs.push(Spring { block: index, way, stiffness, reach });
                }
            }
        }
        let mut sets: Vec<SpringSet> = Vec::new();
        for (index, spring) in springs.iter().enumerate() {
            let under = bends(spring.way).map(|(plane, ..)| (blocks[spring.block].rail, plane));
            match sets.iter_mut().find(|(of, _)| of.is_some() && *of == under) {
                Some((_, members)) => members.push(index),
                None => sets.push((under, vec![index])),
            }
        }
        Ok(Self { blocks, springs, sets })
    }

    pub(crate) fn blocks(&self) -> &[SpringBlock] {
        &self.blocks
    }

    /// What each block feels of its rail with the carriage's common point at `position`: how far the rail lies to the left
    /// and up, how it pitches and turns.
    pub(crate) fn feels(&self, rails: &[LyingRail], position: f64) -> PerBlock {
        let feels = |block: &SpringBlock| {
            let mut sums = [(0.0, 0.0); 2];
            let Some(rail) = rails.get(block.rail) else { return [0.0; 5] };
            for plane in PLANES {
                felt(rail, plane, position + block.at.x, block.length, |segment, left, mean, slope| {
                    if let Some(shape) = &rail.segments[segment].shapes[plane] {
                        sums[plane].0 += shape.spline.take(left, mean);
                        sums[plane].1 += shape.spline.take(left, slope);
                    }
                });
            }
            // Where the rail rises the nose goes up, and pitch is minus.
            [sums[LEFT].0, sums[UP].0, 0.0, -sums[UP].1, sums[LEFT].1]
        };
        self.blocks.iter().map(feels).collect()
    }

    /// The carriage at a place of its stroke, ready to answer. Errors where numbers lie too far apart.
    pub(crate) fn standing(&self, rails: &[LyingRail], position: f64) -> Result<Standing<'_>, ElasticError> {
        let mut groups: Vec<SpringGroup> = Vec::with_capacity(self.springs.len());
        let pressing: Vec<Vec<Press>> = self.blocks.iter().map(|block| press(block, rails, position)).collect();
        for (under, members) in &self.sets {
            let yields = |(rail, plane): &(usize, usize)| {
                let of = rails.get(*rail).map_or(&[][..], |rail| &rail.segments);
                of.iter().any(|segment| segment.beams[*plane].is_some())
            };
            let Some((rail, _)) = under.filter(yields) else {
                groups.extend(members.chunks(1).map(|alone| SpringGroup {
                    springs: alone,
                    stiffness: SmallVec::from_elem(self.springs[alone[0]].stiffness, 1),
                }));
                continue;
            };
            let count = members.len();
            let mut matrix = SmallVec::from_elem(0.0, count * count);
            for (row, &a) in members.iter().enumerate() {
                for (column, &b) in members.iter().enumerate().skip(row) {
                    let entry = self.yields(&rails[rail], [a, b], &pressing);
                    matrix[row * count + column] = entry;
                    matrix[column * count + row] = entry;
                }
                matrix[row * count + row] += self.springs[a].stiffness.recip();
            }
            if !invert(count, &mut matrix) {
                return Err(ElasticError::Unsolved);
            }
            groups.push(SpringGroup { springs: members, stiffness: matrix });
        }
        let mut matrix = [[0.0; 5]; 5];
        for group in &groups {
            for (&a, row) in group.springs.iter().zip(group.stiffness.chunks_exact(group.springs.len())) {
                // What moves together with spring a.
                let mut pulled = [0.0; 5];
                for (&b, stiffness) in group.springs.iter().zip(row) {
                    pulled.iter_mut().zip(self.springs[b].reach).for_each(|(sum, reach)| *sum += stiffness * reach);
                }
                for (line, reach) in matrix.iter_mut().zip(self.springs[a].reach) {
                    line.iter_mut().zip(pulled).for_each(|(sum, pulled)| *sum += reach * pulled);
                }
            }
        }
        Ok(Standing { carriage: self, groups, settled: settle(&matrix) })
    }

    /// How far the rail gives way at one spring under one newton at another.
    fn yields(&self, rail: &LyingRail, [a, b]: [usize; 2], pressing: &[Vec<Press>]) -> f64 {
        let (a, b) = (&self.springs[a], &self.springs[b]);
        let (Some((plane, feel, sign)), Some((_, load, other))) = (bends(a.way), bends(b.way)) else { return 0.0 };
        let mut sum = 0.0;
        for here in &pressing[a.block] {
            let (Some(beam), Some(at)) = (&rail.segments[here.segment].beams[plane], &here.grips[plane]) else {
                continue;
            };
            for there in pressing[b.block].iter().filter(|there| there.segment == here.segment) {
                let Some(load_at) = &there.grips[plane] else { continue };
                sum += here.share * there.share * beam.compliance((at, feel), (load_at, load));
            }
        }
        sign * other * sum
    }
}

/// Where a block presses on its rail, where that yields.
fn press(block: &SpringBlock, rails: &[LyingRail], position: f64) -> Vec<Press> {
    let mut pressing = Vec::new();
    let Some(rail) = rails.get(block.rail).filter(|rail| !rail.is_stiff()) else { return pressing };
    presses(rail, position + block.at.x, block.length, |segment, x, share| {
        let beams = &rail.segments[segment].beams;
        let grips = beams.each_ref().map(|beam| beam.as_ref().map(|beam| beam.grip(x)));
        pressing.push(Press { segment, share, grips });
    });
    pressing
}

/// In which plane a rail bends under a block that presses that way, what it gives there, and with which sign. Its own twist
/// is not looked at.
const fn bends(way: usize) -> Option<(usize, Feel, f64)> {
    match way {
        LEFT => Some((LEFT, Feel::Way, 1.0)),
        UP => Some((UP, Feel::Way, 1.0)),
        PITCH => Some((UP, Feel::Slope, -1.0)),
        YAW => Some((LEFT, Feel::Slope, 1.0)),
        _ => None,
    }
}

impl Standing<'_> {
    /// S times what each block is off its rail by: what it passes on.
    pub(crate) fn pass(&self, off: &[Five]) -> PerBlock {
        let mut passed = PerBlock::from_elem([0.0; 5], self.carriage.blocks.len());
        for group in &self.groups {
            let of = |spring: &usize| &self.carriage.springs[*spring];
            let off: SmallVec<[f64; 8]> = group.springs.iter().map(of).map(|it| off[it.block][it.way]).collect();
            let rows = group.stiffness.chunks_exact(group.springs.len());
            for (a, row) in group.springs.iter().map(of).zip(rows) {
                passed[a.block][a.way] += row.iter().zip(&off).map(|(stiffness, off)| stiffness * off).sum::<f64>();
            }
        }
        passed
    }

    /// Gᵀ times something of each block.
    pub(crate) fn gather(&self, of: &[Five]) -> Five {
        let mut sum = [0.0; 5];
        for spring in &self.carriage.springs {
            let part = of[spring.block][spring.way];
            sum.iter_mut().zip(spring.reach).for_each(|(sum, reach)| *sum += part * reach);
        }
        sum
    }

    /// G times a pose: how far each block moves with it.
    pub(crate) fn spread(&self, pose: &Five) -> PerBlock {
        let mut moved = PerBlock::from_elem([0.0; 5], self.carriage.blocks.len());
        for spring in &self.carriage.springs {
            moved[spring.block][spring.way] = dot(&spring.reach, pose);
        }
        moved
    }

    /// (Gᵀ S G)⁻¹ times what acts.
    pub(crate) fn settle(&self, acts: &Five) -> Five {
        self.settled.inverse.map(|row| dot(&row, acts))
    }

    /// What the carriage does under what acts, on rails that lie where they should.
    ///
    /// Errors where something acts that nothing resists.
    pub(crate) fn under(&self, acts: &Five) -> Result<Answer, ElasticError> {
        for (way, weights) in &self.settled.loose {
            let push = dot(weights, acts);
            let parts = weights.iter().zip(acts).map(|(weight, act)| (weight * act).abs());
            if push.abs() > 1e-9 * parts.fold(0.0_f64, f64::max) && push.abs() > f64::MIN_POSITIVE {
                return Err(ElasticError::Loose(WAYS[*way]));
            }
        }
        // A load below this share of the greatest of its kind is rounding: that block passes on nothing.
        const NOTHING: f64 = 1e-11;
        let pose = self.settle(acts);
        let mut passed = self.pass(&self.spread(&pose));
        for ways in [[LEFT, UP].as_slice(), &[ROLL, PITCH, YAW]] {
            let parts = passed.iter().flat_map(|of| ways.iter().map(|way| of[*way].abs()));
            let most = parts.fold(0.0_f64, f64::max);
            let all = passed.iter_mut().flat_map(|of| of.iter_mut().enumerate());
            let small = all.filter(|(way, part)| ways.contains(way) && part.abs() <= NOTHING * most);
            small.for_each(|(_, part)| *part = 0.0);
        }
        Ok(Answer { passed, pose })
    }

    /// What rails that lie so under the blocks do to the carriage by themselves. Forces and moments of it are in balance.
    pub(crate) fn forced(&self, feels: &[Five]) -> Answer {
        let held = self.pass(feels);
        let pose = self.settle(&self.gather(&held));
        let mut passed = self.pass(&self.spread(&pose));
        for (passed, held) in passed.iter_mut().zip(held) {
            passed.iter_mut().zip(held).for_each(|(passed, held)| *passed -= held);
        }
        Answer { pose, passed }
    }

    /// What each thing felt weighs in a sum of poses and passed loads, by the same matrices: they are symmetric.
    pub(crate) fn weigh(&self, pose: &Five, passed: &[Five]) -> PerBlock {
        // dq = A⁻¹GᵀS de and df = S(G dq − de), hence S G A⁻¹ (pose + GᵀS passed) − S passed.
        let pulled = self.pass(passed);
        let gathered = self.gather(&pulled);
        let sum: Five = std::array::from_fn(|n| pose[n] + gathered[n]);
        let mut weights = self.pass(&self.spread(&self.settle(&sum)));
        for (weights, pulled) in weights.iter_mut().zip(pulled) {
            weights.iter_mut().zip(pulled).for_each(|(weight, pulled)| *weight -= pulled);
        }
        weights
    }
}
