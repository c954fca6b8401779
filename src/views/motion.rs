//! What the carriage of an axis does along its stroke on the rails as they were measured, place by place.

use schemars::JsonSchema;
use serde::Serialize;

use super::report::{BlockLifeReport, LifeReport, State, life};
use crate::facts::motion::{BearingBlock, newtons, weightiest};
use crate::facts::motion_course::{BorneThere, CoursePlace, course, lying_places};
use crate::judging::lint::Judged;
use crate::quantity::{Amount, Length};
use crate::rules::Case;

/// The shape of the JSON, counted up when it changes.
pub(crate) const FORMAT: &str = "wayledger-motion-1";

/// So many of the readings that weigh most in a motion error are told.
const MOST_WEIGHTS: usize = 3;

/// The carriage of one axis along its stroke.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub(crate) struct MotionRun {
    #[schemars(extend("const" = FORMAT))]
    format: &'static str,
    pub path: String,
    /// The machine's name.
    pub name: Option<String>,
    pub axis: String,
    pub judged_on: String,
    #[serde(skip)]
    pub(crate) state: State,
    /// What it comes to over the whole stroke.
    pub life: LifeReport,
    /// No rail is known to lie wrong or to yield: one place stands for all.
    pub same_everywhere: bool,
    pub course: Vec<CourseRow>,
    /// The greatest load of each block over the stroke, in the order of the blocks: as measured where that is known, else nominal.
    pub peaks: Vec<LoadPeak>,
    /// The readings that weigh most in each motion error.
    pub weights: Vec<ReadingWeight>,
    /// The rails as they lie by the readings that count; of those that were read.
    pub rails: Vec<RailAsMeasured>,
}

/// A rail as it lies. Between the places told it bends as a beam on its supports does.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub(crate) struct RailAsMeasured {
    pub rail: String,
    pub joints: Vec<JointPlace>,
    pub places: Vec<RailPlace>,
}

/// Where a joint lies.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub(crate) struct JointPlace {
    pub name: String,
    #[serde(rename = "position")]
    pub at: Length,
}

/// How a rail lies at one place; at a joint the end of either segment has its own.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub(crate) struct RailPlace {
    #[serde(rename = "position")]
    pub at: Length,
    /// To the nearest nanometre; nothing where it was not surveyed sideways, or upright.
    pub to_left: Option<Length>,
    pub up: Option<Length>,
}

/// What a reading weighs in a motion error.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub(crate) struct ReadingWeight {
    /// The motion error.
    pub name: String,
    pub rail: String,
    /// The name of the support, or the position.
    pub station: String,
    /// By how much the error changes, in mm or µrad, where the reading is 0.01 mm more.
    pub by_a_hundredth: String,
}

/// The greatest load of a block, and where the carriage stands then.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub(crate) struct LoadPeak {
    pub rail: String,
    pub block_position: Length,
    /// The equivalent load in N, rounded up.
    pub greatest_load: i64,
    #[serde(rename = "position")]
    pub at: Length,
}

/// The carriage at one place.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub(crate) struct CourseRow {
    /// Of the carriage's common point along the axis.
    #[serde(rename = "position")]
    pub at: Length,
    /// What it is off by there, in the order of the motion errors; none where rails were not surveyed.
    #[serde(rename = "errors_there")]
    pub off: Vec<OffThere>,
    /// What the blocks bear there, in the order of the blocks.
    pub loads: Vec<LoadThere>,
}

/// A motion error at one place.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(rename = "MotionErrorThere")]
pub(crate) struct OffThere {
    /// As it is called among the motion errors.
    pub name: String,
    /// From the least-squares line over the stroke. Neither this nor an angle where a plane that it hangs on was not surveyed.
    pub offset: Option<Length>,
    /// From its value at the first place, in µrad, to a tenth.
    pub turned: Option<String>,
}

/// What a block bears at one place.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(rename = "BlockLoadThere")]
pub(crate) struct LoadThere {
    pub rail: String,
    /// Of the block on the carriage.
    pub block_position: Length,
    /// Equivalent loads in N, rounded up, in the case that loads it most: on rails that lie where they should, and as measured.
    pub load_nominal: i64,
    pub load_as_measured: Option<i64>,
}

/// What an axis's carriage does at every place looked at. What is lacking where it has none, or nothing can be worked out.
pub(crate) fn motion(judged: &Judged, index: usize, today: jiff::civil::Date) -> Result<MotionRun, String> {
    let ledger = &judged.ledger;
    let axis = &ledger.machine.axes[index];
    let case = Case::of_axis(ledger, today, index);
    let Some((life, worked)) = life(&case, index) else {
        let name = &*axis.name;
        return Err(format!("axis {name} has no carriage: describe it with its blocks, and what it carries"));
    };
    let worked = worked.map_err(|lacking| format!("{}; {}", lacking.what, lacking.next))?;
    let places = course(&worked).map_err(|why| why.to_string())?;
    let signs: Vec<f64> = worked.errors.iter().map(|error| error.name(axis).sign).collect();
    let row = |place: &CoursePlace| {
        let signed = place.off.iter().zip(&signs).map(|(off, sign)| off * sign);
        let off = life.motion.iter().zip(&worked.errors).zip(signed).map(|((told, error), off)| OffThere {
            name: told.name.clone(),
            offset: (error.surveyed && !error.is_turn()).then(|| nearest(off)),
            turned: (error.surveyed && error.is_turn()).then(|| tenths(off * 1e6)),
        });
        let loads = life.blocks.iter().zip(&place.loads).map(|(block, there): (_, &BorneThere)| LoadThere {
            rail: block.rail.clone(),
            block_position: block.at,
            load_nominal: newtons(there.nominal),
            load_as_measured: block.mean_load_as_measured.map(|_| newtons(there.measured)),
        });
        CourseRow { at: along(place.at), off: off.collect(), loads: loads.collect() }
    };
    let course: Vec<CourseRow> = places.iter().map(row).collect();
    let measured = worked.borne.loaded.without.is_none();
    let peak = |(block, of): (&BlockLifeReport, BearingBlock)| {
        let greatest = if measured { of.journey.measured.greatest } else { of.journey.nominal.greatest };
        LoadPeak {
            rail: block.rail.clone(),
            block_position: block.at,
            greatest_load: newtons(greatest.load),
            at: along(greatest.at),
        }
    };
    let peaks = life.blocks.iter().zip(worked.borne.blocks(axis)).map(peak).collect();
    let mut weights = Vec::new();
    for (told, error) in life.motion.iter().zip(&worked.errors).filter(|(_, error)| error.surveyed) {
        let readings = &worked.borne.loaded.lying.readings;
        let weighing = weightiest(&error.by).into_iter().filter(|reading| error.by[*reading] != 0.0);
        weights.extend(weighing.take(MOST_WEIGHTS).map(|reading| ReadingWeight {
            name: told.name.clone(),
            rail: axis.rails[readings[reading].rail].name.to_string(),
            station: readings[reading].at.clone(),
            by_a_hundredth: error.told_weight(reading),
        }));
    }
    let rails = axis.rails.iter().zip(&worked.borne.loaded.journey.rails).zip(&worked.borne.loaded.lying.read);
    let rails = rails.filter(|(_, read)| read.contains(&true)).map(|((rail, lying), read)| RailAsMeasured {
        rail: rail.name.to_string(),
        joints: rail.joints.iter().map(|it| JointPlace { name: it.name.to_string(), at: it.position }).collect(),
        places: lying_places(lying, *read)
            .into_iter()
            .map(|place| {
                let [to_left, up] = place.off.map(|off| off.map(nearest));
                RailPlace { at: along(place.at), to_left, up }
            })
            .collect(),
    });
    let rails = rails.collect();
    Ok(MotionRun {
        format: FORMAT,
        path: judged.path.0.clone(),
        name: ledger.machine.name.as_ref().map(|name| name.to_string()),
        axis: axis.name.to_string(),
        judged_on: today.to_string(),
        state: State::from_findings(&judged.findings).min(State::read(ledger, "")),
        peaks,
        weights,
        rails,
        same_everywhere: course.len() == 1,
        life,
        course,
    })
}

impl MotionRun {
    /// Places at most so many mm apart, both ends among them.
    pub(crate) fn at_most(&self, every: f64) -> Vec<&CourseRow> {
        let (Some(first), Some(last)) = (self.course.first(), self.course.last()) else { return Vec::new() };
        let step = (last.at - first.at).to_f64() / (self.course.len() - 1).max(1) as f64;
        let nth = if step > 0.0 { ((every / step) as usize).max(1) } else { 1 };
        let is_kept = |index: &usize| index.is_multiple_of(nth) || index + 1 == self.course.len();
        (0..self.course.len()).filter(is_kept).map(|index| &self.course[index]).collect()
    }
}

/// To the nearest nanometre.
fn nearest(mm: f64) -> Length {
    Length((mm * 1e6).round() as i64)
}

/// A place along the axis, to a thousandth of a millimetre.
fn along(mm: f64) -> Length {
    Length((mm * 1e3).round() as i64 * 1000)
}

/// To a tenth, and never minus nought.
fn tenths(value: f64) -> String {
    format!("{:.1}", (value * 10.0).round() / 10.0 + 0.0)
}
