//! What a carriage does along its stroke on the rails as they were measured: one set of results for rules, papers and `how`.

use super::FactError;
use super::carriage::{Loaded, block_type, loaded, spot_of};
use super::lying::{Counting, MOST_JOINTS};
use crate::calc::derivation::figures;
use crate::calc::life::{Life, Reliability};
use crate::calc::motion::carriage::SpringBlock;
use crate::calc::motion::cost::{TracedResult, by_reading, scatter};
use crate::calc::motion::frame::{BodyPoint, LEFT, PITCH, ROLL, UP, YAW, error_names};
use crate::calc::motion::run::{BlockJourney, Followed, Wander, WholeJourney, journey, wander};
use crate::calc::motion::wear::WearingBlock;
use crate::ledger::{Axis, Block, Ledger};
use crate::quantity::{Amount, Force, Length, Ratio, Travel};

/// The name of the model in derivations and reports.
pub(crate) const MODEL: &str =
    "our own model, in no standard: rigid carriage on spring blocks, on elastic rails as they were measured";

/// `the block on front at -150 mm`.
pub(crate) fn block_name(axis: &Axis, block: &Block) -> String {
    let rail = block.rail.map_or("", |rail| axis.rails[rail].name.as_str());
    format!("the block on {rail} at {}", *block.at)
}

/// A block that bears something.
#[derive(Clone, Copy)]
pub(crate) struct BearingBlock<'l> {
    /// Its place among those that are described.
    pub index: usize,
    pub block: &'l Block,
    pub wearing: &'l WearingBlock,
    pub journey: &'l BlockJourney,
}

/// What the blocks of an axis bear.
#[derive(Clone, Debug)]
pub(crate) struct BorneLoads {
    pub loaded: Loaded,
    pub whole: WholeJourney,
}

/// What the blocks of an axis bear along the stroke. What is lacking is said where a life is required, else at the axis.
pub(crate) fn borne(ledger: &Ledger, index: usize, counts: Counting) -> Result<BorneLoads, FactError> {
    let axis = &ledger.machine.axes[index];
    let required = axis.life_required.as_ref();
    let asked_at = required.map_or(axis.place, |required| required.place);
    let lacking = || FactError::new(asked_at, "no carriage with blocks is described", "describe the carriage");
    let loaded = loaded(ledger, index, counts)?.ok_or_else(lacking)?;
    let share = required.and_then(|required| required.reliability).map_or(RATED, |share| share.value);
    let reliability = reliability_of(Some(share)).ok_or_else(|| {
        let what = format!("there is no life factor for a reliability of {}", share.number());
        FactError::new(asked_at, what, "choose 90, 95, 96, 97, 98 or 99 %")
    })?;
    let whole = journey(&loaded.journey, &loaded.wearing, reliability);
    let place = axis.carriage.as_ref().map_or(asked_at, |carriage| carriage.place);
    let whole = whole.map_err(|why| FactError::new(place, why.to_string(), "check loads, shares and stroke"))?;
    Ok(BorneLoads { loaded, whole })
}

/// Whether every block states the dynamic rating that a life takes; what is lacking where one does not.
pub(crate) fn rated(ledger: &Ledger, index: usize) -> Result<(), FactError> {
    let described = ledger.machine.axes[index].carriage.iter().flat_map(|carriage| &carriage.blocks);
    for block in described.filter(|block| block.rail.is_some()) {
        let kind = block_type(ledger, block)?;
        if kind.dynamic.is_none() {
            let what = format!("block `{}` states no dynamic load rating", *kind.name);
            return Err(FactError::new(kind.name.place, what, "add C=… from its maker's catalogue"));
        }
    }
    Ok(())
}

impl BorneLoads {
    /// The blocks that bear something, in the order they are described.
    pub(crate) fn blocks<'l>(&'l self, axis: &'l Axis) -> impl Iterator<Item = BearingBlock<'l>> + Clone {
        let described = axis.carriage.as_ref().map_or(&[][..], |carriage| &carriage.blocks);
        let all = self.loaded.blocks.iter().zip(&self.loaded.wearing).zip(&self.whole.blocks);
        all.filter_map(|((index, wearing), journey)| {
            Some(BearingBlock { index: *index, block: described.get(*index)?, wearing, journey })
        })
    }

    /// Whether what a block bears hangs on where the carriage stands. On stiff rails that lie where they should, every place is
    /// alike.
    pub(crate) fn differs_along(&self, as_measured: bool) -> bool {
        let [from, to] = self.loaded.journey.stroke;
        (as_measured || self.loaded.lying.yields) && from < to
    }

    /// The first rail with a block that was not surveyed in a plane.
    fn unread(&self, axis: &Axis, plane: usize) -> Option<usize> {
        let rides = |rail: usize| self.loaded.journey.carriage.blocks().iter().any(|block| block.rail == rail);
        let read = |rail: usize| self.loaded.lying.read.get(rail).is_some_and(|read| read[plane]);
        (0..axis.rails.len()).find(|rail| rides(*rail) && !read(*rail))
    }

    /// Whether every rail with a block was surveyed in these planes.
    fn surveyed(&self, axis: &Axis, planes: &[usize]) -> bool {
        planes.iter().all(|plane| self.unread(axis, *plane).is_none())
    }

    /// Why what the rails as measured make of it is held against no limit; nothing where it is.
    pub(crate) fn unjudged(&self, axis: &Axis) -> Option<String> {
        if let Some(without) = self.loaded.without {
            return Some(without.into());
        }
        if self.loaded.lying.too_many_joints {
            return Some(format!("the rails have more than {MOST_JOINTS} joints, which are not reckoned with"));
        }
        for (plane, word) in [(LEFT, "sideways"), (UP, "upright")] {
            if let Some(rail) = self.unread(axis, plane) {
                let name = &*axis.rails[rail].name;
                return Some(match self.loaded.lying.left_out[rail][plane] {
                    true => format!("the survey of how rail {name} lies {word} is no proof"),
                    false => format!("how rail {name} lies {word} was not surveyed"),
                });
            }
        }
        let (block, at) = self.blocks(axis).find_map(|of| Some((of.block, of.journey.lifts?)))?;
        Some(format!(
            "{} bears more than its preload holds with the carriage at {} mm: rows lift, and the springs are no longer linear",
            block_name(axis, block),
            at.round()
        ))
    }
}

/// The planes that a motion error hangs on. Blocks of one height bear sideways and upright apart, and what lies above or below
/// them goes sideways with the roll. Blocks of unlike height join the two: then everything is of both.
fn needs(followed: &Followed, blocks: &[SpringBlock]) -> &'static [usize] {
    let height = blocks.first().map_or(0.0, |block| block.at.z);
    if blocks.iter().any(|block| block.at.z != height) {
        return &[LEFT, UP];
    }
    match followed {
        Followed::Across(at, LEFT) if at.z != height => &[LEFT, UP],
        Followed::Across(_, LEFT) | Followed::Turn(YAW) => &[LEFT],
        Followed::Across(..) | Followed::Turn(_) => &[UP],
    }
}

/// A path of a tool.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct ToolPath {
    /// By its place among those described.
    pub tool: usize,
    pub is_upright: bool,
}

/// How far tools wander over the stroke on the rails as they lie; nothing for a path where a rail was not surveyed in a plane that
/// it hangs on.
pub(crate) fn wandering(borne: &BorneLoads, axis: &Axis, paths: &[ToolPath]) -> Result<Vec<Option<Length>>, FactError> {
    let Some(carriage) = &axis.carriage else { return Ok(vec![None; paths.len()]) };
    let followed: Vec<Followed> = paths
        .iter()
        .map(|path| Followed::Across(spot_of(&carriage.tools[path.tool]), if path.is_upright { UP } else { LEFT }))
        .collect();
    let wanders = wander(&borne.loaded.journey, &followed)
        .map_err(|why| FactError::new(carriage.place, why.to_string(), "check loads, shares and stroke"))?;
    let blocks = borne.loaded.journey.carriage.blocks();
    let told = |(followed, wander): (&Followed, &Wander)| {
        borne.surveyed(axis, needs(followed, blocks)).then(|| zone(wander.zone))
    };
    Ok(followed.iter().zip(&wanders).map(told).collect())
}

/// A motion error along the stroke.
#[derive(Clone, Debug)]
pub(crate) struct FollowedError {
    pub followed: Followed,
    /// The tool it is of, by its place among those described; nothing for the carriage itself.
    pub tool: Option<usize>,
    /// Every plane that it hangs on was surveyed on every rail.
    pub surveyed: bool,
    pub wander: Wander,
    /// Its standard uncertainty by the scatter of the readings; nothing where a gauge does not say how far it scatters.
    pub uncertainty: Option<f64>,
    /// What each reading weighs in it.
    pub by: Vec<f64>,
}

/// The size of a motion error as it is told, rounded up.
pub(crate) enum ToldError {
    /// The zone about the least-squares line.
    Zone(Length),
    /// The greatest less the least angle, in µrad.
    Angle(i64),
}

/// What a motion error is called.
pub(crate) struct NamedError {
    /// `EYX`, or `tool-head-side`; plain words where the axis's letter is not one that ISO 841 knows.
    pub word: String,
    pub what: String,
    /// Plus of it is plus of what is reckoned with, or minus.
    pub sign: f64,
    /// Which way is plus.
    pub plus: &'static str,
}

impl FollowedError {
    /// It is an angle.
    pub(crate) fn is_turn(&self) -> bool {
        matches!(self.followed, Followed::Turn(_))
    }

    /// Its size over the stroke.
    pub(crate) fn told(&self) -> ToldError {
        match self.is_turn() {
            true => ToldError::Angle(newtons(self.wander.zone * self.per_told())),
            false => ToldError::Zone(zone(self.wander.zone)),
        }
    }

    /// Its standard uncertainty in the same unit, to two figures.
    pub(crate) fn told_uncertainty(&self) -> Option<String> {
        self.uncertainty.map(|u| figures(u * self.per_told(), 2))
    }

    /// By how much it changes where a reading is a hundredth of a millimetre more, in the unit that is told.
    pub(crate) fn told_weight(&self, reading: usize) -> String {
        figures(self.by[reading] * 0.01 * self.per_told(), 2)
    }

    /// Whether it is at least twice that.
    pub(crate) fn is_resolved(&self) -> Option<bool> {
        self.uncertainty.map(|u| self.wander.zone > 0.0 && self.wander.zone >= 2.0 * u)
    }

    /// How many of the unit that is told make one that is reckoned in: rad or mm.
    fn per_told(&self) -> f64 {
        if self.is_turn() { 1e6 } else { 1.0 }
    }

    /// Its name by ISO 230-1 where the axis's letter is known.
    pub(crate) fn name(&self, axis: &Axis) -> NamedError {
        const PLAIN: [(&str, &str, &str); 5] = [
            ("motion-side", "straightness sideways", "to the left"),
            ("motion-height", "straightness upright", "up"),
            ("motion-roll", "roll", "left side rises"),
            ("motion-pitch", "pitch", "nose goes down"),
            ("motion-yaw", "yaw", "turns left"),
        ];
        let (Followed::Across(_, way) | Followed::Turn(way)) = self.followed;
        let (plain, what, plus) = PLAIN[way];
        let tools = axis.carriage.as_ref().map_or(&[][..], |carriage| &carriage.tools);
        if let Some(tool) = self.tool.and_then(|tool| tools.get(tool)) {
            let side = if way == LEFT { "side" } else { "height" };
            let word = format!("tool-{}-{side}", *tool.what.name);
            return NamedError { word, what: format!("{what} of tool {}", *tool.what.name), sign: 1.0, plus };
        }
        match error_names(&axis.name) {
            Some(names) => {
                let name = names[way];
                let what = format!("{what} of {}, {} by ISO 230-1", *axis.name, name.code);
                NamedError { word: name.code.into(), what, sign: name.sign, plus: name.plus }
            }
            None => NamedError { word: plain.into(), what: format!("{what} of {}", *axis.name), sign: 1.0, plus },
        }
    }
}

/// What the readings weigh in what a block bears. Uncertainties are by the scatter of the readings; nothing where a gauge does
/// not say how far it scatters.
#[derive(Clone, Debug)]
pub(crate) struct WeighedBlock {
    /// Of the most that the rails add to it, in N.
    pub forced_uncertainty: Option<f64>,
    /// Of its greatest load, in N.
    pub load_uncertainty: Option<f64>,
    /// What each reading weighs in the most that the rails add, by 1 mm.
    pub in_forced: Vec<f64>,
}

/// How a carriage moves, and what each reading weighs in that and in what its blocks bear.
#[derive(Clone, Debug)]
pub(crate) struct Moving {
    pub borne: BorneLoads,
    pub errors: Vec<FollowedError>,
    pub blocks: Vec<WeighedBlock>,
    /// What each reading weighs in the life of all blocks together.
    pub together: Vec<f64>,
}

/// The readings by what they weigh in a result, the weightiest first.
pub(crate) fn weightiest(by: &[f64]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..by.len()).collect();
    order.sort_by(|a, b| by[*b].abs().total_cmp(&by[*a].abs()));
    order
}

/// All of it.
pub(crate) fn moving(ledger: &Ledger, index: usize, counts: Counting) -> Result<Moving, FactError> {
    let borne = borne(ledger, index, counts)?;
    let axis = &ledger.machine.axes[index];
    let place = axis.carriage.as_ref().map_or(axis.place, |carriage| carriage.place);
    let fault = |why: crate::calc::motion::run::MotionError| {
        FactError::new(place, why.to_string(), "check loads, shares and stroke")
    };
    let middle = BodyPoint::default();
    let mut followed = vec![
        (Followed::Across(middle, LEFT), None),
        (Followed::Across(middle, UP), None),
        (Followed::Turn(ROLL), None),
        (Followed::Turn(PITCH), None),
        (Followed::Turn(YAW), None),
    ];
    for (number, tool) in axis.carriage.iter().flat_map(|carriage| carriage.tools.iter().enumerate()) {
        let at = spot_of(tool);
        followed.extend([LEFT, UP].map(|way| (Followed::Across(at, way), Some(number))));
    }
    let ways: Vec<Followed> = followed.iter().map(|(followed, _)| *followed).collect();
    let BorneLoads { loaded, whole } = &borne;
    let wanders = wander(&loaded.journey, &ways).map_err(fault)?;
    let mut results = vec![TracedResult::Together];
    for (block, of) in whole.blocks.iter().enumerate() {
        results.extend([TracedResult::Forced(block, &of.forced), TracedResult::Load(block, &of.measured.greatest)]);
    }
    let first = results.len();
    results.extend(ways.iter().zip(&wanders).map(|(way, wander)| TracedResult::Wander(*way, wander)));
    let readings = &loaded.lying.readings;
    let by = by_reading(&loaded.journey, &loaded.wearing, whole, &results, readings.len()).map_err(fault)?;
    let known: Option<Vec<f64>> = readings.iter().map(|reading| reading.uncertainty).collect();
    let uncertainty = |by: &[f64]| known.as_ref().map(|known| scatter(by, known));
    let errors = followed
        .into_iter()
        .zip(wanders)
        .zip(&by[first..])
        .map(|(((followed, tool), wander), by)| FollowedError {
            surveyed: borne.surveyed(axis, needs(&followed, loaded.journey.carriage.blocks())),
            followed,
            tool,
            wander,
            uncertainty: uncertainty(by),
            by: by.clone(),
        })
        .collect();
    let weighed = |of: &[Vec<f64>]| WeighedBlock {
        forced_uncertainty: uncertainty(&of[0]),
        load_uncertainty: uncertainty(&of[1]),
        in_forced: of[0].clone(),
    };
    let blocks = by[1..first].chunks_exact(2).map(weighed).collect();
    let together = by[0].clone();
    Ok(Moving { errors, blocks, together, borne })
}

const RATED: Ratio = Ratio(900_000_000);

/// The reliability asked for; 90 % where nothing is said. Nothing where there is no factor for it.
pub(crate) fn reliability_of(stated: Option<Ratio>) -> Option<Reliability> {
    const PERCENT: i64 = 10_000_000;
    let share = stated.unwrap_or(RATED);
    let percent = u8::try_from(share.0 / PERCENT).ok().filter(|_| share.0 % PERCENT == 0)?;
    Reliability::new(percent).ok()
}

/// What floats make of a number that is exact on paper.
const ROUNDING: f64 = 1e-9;

/// Rounded down to a whole kilometre; never shown or judged longer than it is.
pub(crate) fn travel(life: Life) -> Travel {
    kilometres(life.kilometres)
}

/// The same for a number of kilometres.
pub(crate) fn kilometres(life: f64) -> Travel {
    Travel(((life * (1.0 + ROUNDING)).floor().clamp(0.0, 4e12) as i64).saturating_mul(1_000_000))
}

/// A load in whole newtons, rounded up; never shown smaller than it is.
pub(crate) fn newtons(load: f64) -> i64 {
    (load * (1.0 - ROUNDING)).ceil() as i64
}

/// A load rounded up to whole newtons; nothing beyond a million kilonewtons, where nothing is a load any more.
pub(crate) fn force(load: f64) -> Option<Force> {
    (load < 1e9).then(|| Force::of_micronewtons(newtons(load) * 1_000_000))
}

/// The static safety of a block under a load; a block without load has none.
pub(crate) fn block_safety(static_rating_n: f64, load_n: f64) -> Option<Ratio> {
    crate::calc::life::static_safety(static_rating_n, load_n).ok().map(safety)
}

/// A static safety, rounded down to thousandths; never shown or judged safer than it is, nor beyond what a ratio holds.
pub(crate) fn safety(safety: f64) -> Ratio {
    Ratio((safety * (1.0 + ROUNDING) * 1000.0).floor().clamp(0.0, 2e12) as i64 * 1_000_000)
}

/// A zone in mm as a length to the next nanometre, rounded up.
pub(crate) fn zone(mm: f64) -> Length {
    Length((mm * (1.0 - ROUNDING) * 1e6).ceil().clamp(0.0, 1e15) as i64)
}
