//! The carriage along its stroke: what it does at each place, and what becomes of it over the whole way.

use smallvec::SmallVec;

use super::carriage::{Answer, ElasticCarriage, ElasticError, Standing};
use super::frame::{BodyPoint, Five, LEFT, moved};
use super::loads::ActingCase;
use super::rails::LyingRail;
use super::wear::WearingBlock;
use crate::calc::life::{Life, LifeError, Reliability, Rolling, together, whole};

/// A carriage, its rails, what acts and how far it goes.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Journey {
    pub carriage: ElasticCarriage,
    /// In the order that the blocks count them by.
    pub rails: Vec<LyingRail>,
    /// Their shares add up to one.
    pub cases: Vec<ActingCase>,
    /// The least and the greatest place of the carriage's common point, in mm.
    pub stroke: [f64; 2],
    /// The places looked at lie at most so far apart, in mm.
    pub step: f64,
}

/// The carriage at one place.
#[derive(Debug, Clone)]
pub(crate) struct Stand<'j> {
    /// Which place of the stroke, counted from nought.
    pub index: usize,
    /// Where it is, in mm.
    pub at: f64,
    /// Which share of the way it stands for.
    pub share: f64,
    /// No rail yields: what acts does the same everywhere.
    pub steady: bool,
    pub standing: &'j Standing<'j>,
    /// For each case, on rails that lie where they should.
    pub nominal: &'j [Answer],
    /// What the rails as they lie add in every case.
    pub forced: &'j Answer,
    /// For each block, by how much its rail is too large for it and how far it is twisted, in mm.
    pub seated: &'j [(f64, f64)],
}

impl Stand<'_> {
    /// What a block passes on in a case.
    pub(crate) fn passed(&self, case: usize, block: usize) -> Five {
        add(&self.nominal[case].passed[block], &self.forced.passed[block])
    }

    /// The equivalent load of a block in a case, in N: on rails that lie where they should, and as they lie.
    pub(crate) fn equivalent(&self, kind: &WearingBlock, case: usize, block: usize) -> [f64; 2] {
        let combined = |passed: &Five| WearingBlock::combined(passed, &kind.dynamic_levers);
        let (larger, twisted) = self.seated[block];
        let measured = combined(&self.passed(case, block)) + kind.twist_load(twisted);
        [
            kind.equivalent(combined(&self.nominal[case].passed[block]), kind.preload),
            kind.equivalent(measured, kind.preload_on(larger)),
        ]
    }

    /// What the carriage is off by in a case.
    pub(crate) fn pose(&self, case: usize) -> Five {
        add(&self.nominal[case].pose, &self.forced.pose)
    }
}

fn add(a: &Five, b: &Five) -> Five {
    std::array::from_fn(|n| a[n] + b[n])
}

/// No more places than this are looked at, however long the stroke.
pub(crate) const MOST_PLACES: usize = 50_000;

impl Journey {
    /// The places looked at: both ends, and between them in even steps. A stroke without length is one place.
    pub(crate) fn places(&self) -> Vec<f64> {
        let [from, to] = self.stroke;
        let steps = ((to - from) / self.step).ceil().clamp(0.0, MOST_PLACES as f64) as usize;
        match steps {
            0 => vec![from],
            _ => (0..=steps).map(|n| from + (to - from) * n as f64 / steps as f64).collect(),
        }
    }

    /// Goes along the stroke. Where no rail yields the matrix is the same everywhere, and is inverted once.
    ///
    /// Errors where the blocks do not hold what acts or a number is out of order.
    pub(crate) fn go(&self, mut each: impl FnMut(&Stand)) -> Result<(), MotionError> {
        let [from, to] = self.stroke;
        if !(from.is_finite() && to.is_finite() && from <= to && self.step > 0.0) {
            return Err(LifeError::Stroke { from_mm: from, to_mm: to }.into());
        }
        whole(self.cases.iter().map(|case| case.share).sum())?;
        let places = self.places();
        let stiff = self.rails.iter().all(LyingRail::is_stiff);
        let mut standing = self.carriage.standing(&self.rails, from)?;
        let mut nominal = self.nominal(&standing)?;
        let steps = (places.len() - 1).max(1) as f64;
        for (index, &at) in places.iter().enumerate() {
            if !stiff && index > 0 {
                standing = self.carriage.standing(&self.rails, at)?;
                nominal = self.nominal(&standing)?;
            }
            let forced = standing.forced(&self.carriage.feels(&self.rails, at));
            let ends = places.len() > 1 && (index == 0 || index + 1 == places.len());
            let share = if ends { 0.5 / steps } else { steps.recip() };
            let seated = self.seated(at);
            each(&Stand {
                index,
                at,
                share,
                steady: stiff,
                standing: &standing,
                nominal: &nominal,
                forced: &forced,
                seated: &seated,
            });
        }
        Ok(())
    }

    /// What the carriage does at the first place, on rails that lie where they should: whether the blocks hold what acts.
    pub(crate) fn first(&self) -> Result<Vec<Answer>, ElasticError> {
        self.nominal(&self.carriage.standing(&self.rails, self.stroke[0])?)
    }

    fn nominal(&self, standing: &Standing) -> Result<Vec<Answer>, ElasticError> {
        self.cases.iter().map(|case| standing.under(&case.acts)).collect()
    }

    /// By how much its rail is too large, and twisted, under each block: as much of each segment as it covers.
    fn seated(&self, at: f64) -> SmallVec<[(f64, f64); 4]> {
        let seated = |block: &super::carriage::SpringBlock| {
            let mut sum = (0.0, 0.0);
            let Some(rail) = self.rails.get(block.rail) else { return sum };
            let (middle, half) = (at + block.at.x, block.length / 2.0);
            rail.under(middle - half, middle + half, |segment, from, to| {
                let share = if block.length == 0.0 { 1.0 } else { (to - from) / block.length };
                sum.0 += share * rail.segments[segment].larger;
                sum.1 += share * rail.segments[segment].twisted;
            });
            sum
        };
        self.carriage.blocks().iter().map(seated).collect()
    }
}

/// Why a journey cannot be worked out.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub(crate) enum MotionError {
    /// The carriage has no answer.
    #[error(transparent)]
    Carriage(#[from] ElasticError),
    /// The shares or the stroke are out of order.
    #[error(transparent)]
    Life(#[from] LifeError),
}

/// The greatest load of a block, and where.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct GreatestLoad {
    /// The equivalent load in N.
    pub load: f64,
    /// What the block passes on there.
    pub passed: Five,
    /// Where the carriage's common point stands, in mm, and which place of the stroke that is.
    pub at: f64,
    pub index: usize,
    pub case: usize,
}

impl Default for GreatestLoad {
    fn default() -> Self {
        Self { load: 0.0, passed: [0.0; 5], at: 0.0, index: 0, case: 0 }
    }
}

/// What a block bears over the whole way.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Borne {
    /// Its mean load in N, by the exponent of life.
    pub mean: f64,
    /// Its greatest dynamic load.
    pub greatest: GreatestLoad,
    /// Its greatest static load: moments against the static ratings.
    pub static_load: GreatestLoad,
    /// Its life; nothing without load.
    pub life: Option<Life>,
}

/// A block over the whole way.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct BlockJourney {
    /// On rails that lie where they should.
    pub nominal: Borne,
    /// On the rails as they lie.
    pub measured: Borne,
    /// The most that the rails as they lie add to what it passes on, with the place.
    pub forced: GreatestLoad,
    /// Where it first passes on more than its preload holds: the rows on the other side carry nothing there, and the model of
    /// linear springs ends.
    pub lifts: Option<f64>,
}

/// All blocks over the whole way.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct WholeJourney {
    pub blocks: Vec<BlockJourney>,
    /// The life of all blocks together, in km, on rails that lie where they should and on the rails as they lie.
    pub together: [Option<f64>; 2],
    /// The rolling elements by whose exponent they were put together.
    pub rolling: Rolling,
}

/// What the blocks bear along the stroke. `wearing` belongs to the carriage's blocks in order.
pub(crate) fn journey(
    journey: &Journey,
    wearing: &[WearingBlock],
    reliability: Reliability,
) -> Result<WholeJourney, MotionError> {
    let mut blocks = vec![BlockJourney::default(); wearing.len()];
    journey.go(|stand| {
        for (block, (kind, of)) in wearing.iter().zip(&mut blocks).enumerate() {
            let (larger, twisted) = stand.seated[block];
            let (pressed, twist) = (kind.preload_on(larger), kind.twist_load(twisted));
            let forced = stand.forced.passed[block];
            let added = WearingBlock::combined(&forced, &kind.dynamic_levers);
            let here = |load: f64, passed: Five, case: usize| GreatestLoad {
                load,
                passed,
                at: stand.at,
                index: stand.index,
                case,
            };
            if added > of.forced.load {
                of.forced = here(added, forced, 0);
            }
            for (case, it) in journey.cases.iter().enumerate() {
                let bear = |borne: &mut Borne, passed: Five, preload: f64, twist: f64, share: f64| {
                    let load = kind.equivalent(WearingBlock::combined(&passed, &kind.dynamic_levers) + twist, preload);
                    borne.mean += it.share * share * kind.rolling.power(load);
                    if load > borne.greatest.load {
                        borne.greatest = here(load, passed, case);
                    }
                    let still = WearingBlock::combined(&passed, &kind.static_levers) + twist;
                    let load_0 = kind.equivalent(still, preload);
                    if load_0 > borne.static_load.load {
                        borne.static_load = here(load_0, passed, case);
                    }
                };
                if !stand.steady || stand.index == 0 {
                    let share = if stand.steady { 1.0 } else { stand.share };
                    bear(&mut of.nominal, stand.nominal[case].passed[block], kind.preload, 0.0, share);
                }
                let passed = stand.passed(case, block);
                bear(&mut of.measured, passed, pressed, twist, stand.share);
                let load = WearingBlock::combined(&passed, &kind.dynamic_levers);
                if kind.preload > 0.0 && of.lifts.is_none() && load > kind.lifts_at(pressed) {
                    of.lifts = Some(stand.at);
                }
            }
        }
    })?;
    let mut all = [Vec::new(), Vec::new()];
    // Of balls and rollers beside each other the exponent of balls is taken: it gives the shorter life.
    let all_rollers = wearing.iter().all(|kind| kind.rolling == Rolling::Rollers);
    let rolling = if all_rollers { Rolling::Rollers } else { Rolling::Balls };
    for (kind, of) in wearing.iter().zip(&mut blocks) {
        for (borne, lives) in [&mut of.nominal, &mut of.measured].into_iter().zip(&mut all) {
            borne.mean = kind.rolling.root(borne.mean);
            borne.life = kind.rating.and_then(|rating| rating.life(borne.mean, reliability).ok());
            lives.extend(borne.life.map(|life| life.kilometres));
        }
    }
    let [nominal, measured] = all.map(|lives| together(lives.into_iter(), rolling));
    Ok(WholeJourney { blocks, together: [nominal, measured], rolling })
}

/// A motion error or a tool point along the stroke, and what of it is free.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Followed {
    /// The carriage's common point or a tool point across: the zone about the least-squares line of the run.
    Across(BodyPoint, usize),
    /// One of the three turns: from its value at the first place of the stroke.
    Turn(usize),
}

impl Followed {
    /// It at one place: mm, or rad.
    pub(crate) fn of(&self, pose: &Five) -> f64 {
        match *self {
            Self::Across(at, LEFT) => moved(pose, at)[1],
            Self::Across(at, _) => moved(pose, at)[2],
            Self::Turn(way) => pose[way],
        }
    }

    /// How it follows from the five.
    pub(crate) fn by_pose(&self) -> Five {
        match *self {
            Self::Across(at, LEFT) => super::frame::reach(at)[1],
            Self::Across(at, _) => super::frame::reach(at)[2],
            Self::Turn(way) => std::array::from_fn(|n| if n == way { 1.0 } else { 0.0 }),
        }
    }
}

/// A motion error over the whole way.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Wander {
    /// The greatest less the least, in mm or rad, in the case in which that is most.
    pub zone: f64,
    pub case: usize,
    /// The places of the stroke with the least and the greatest value.
    pub least: usize,
    pub greatest: usize,
    /// The values at each place of the stroke in that case, the free line or the first value taken off.
    pub values: Vec<f64>,
}

/// How what is followed wanders along the stroke.
pub(crate) fn wander(journey: &Journey, followed: &[Followed]) -> Result<Vec<Wander>, MotionError> {
    let cases = journey.cases.len();
    let mut values = vec![Vec::new(); followed.len() * cases];
    journey.go(|stand| {
        for case in 0..cases {
            let pose = stand.pose(case);
            for (of, it) in followed.iter().enumerate() {
                values[of * cases + case].push(it.of(&pose));
            }
        }
    })?;
    let mut all = Vec::with_capacity(followed.len());
    for (it, by_case) in followed.iter().zip(values.chunks(cases.max(1))) {
        let mut most: Option<Wander> = None;
        for (case, values) in by_case.iter().enumerate() {
            let values = match it {
                Followed::Across(..) => off_line(values),
                Followed::Turn(_) => values.iter().map(|value| value - values[0]).collect(),
            };
            let at = |order: fn(&f64, &f64) -> bool| {
                let better = |best: usize, n: usize| if order(&values[n], &values[best]) { n } else { best };
                (0..values.len()).reduce(better).unwrap_or(0)
            };
            let (least, greatest) = (at(|a, b| a < b), at(|a, b| a > b));
            let zone = values[greatest] - values[least];
            if most.as_ref().is_none_or(|most| zone > most.zone) {
                most = Some(Wander { zone, case, least, greatest, values });
            }
        }
        all.extend(most);
    }
    Ok(all)
}

/// What is left of values at even places when their least-squares line is taken off.
fn off_line(values: &[f64]) -> Vec<f64> {
    let count = values.len() as f64;
    let middle = (count - 1.0) / 2.0;
    let mean = values.iter().sum::<f64>() / count;
    let (mut cross, mut square) = (0.0, 0.0);
    for (n, value) in values.iter().enumerate() {
        let t = n as f64 - middle;
        cross += t * (value - mean);
        square += t * t;
    }
    let slope = if square > 0.0 { cross / square } else { 0.0 };
    values.iter().enumerate().map(|(n, value)| value - mean - slope * (n as f64 - middle)).collect()
}
