//! The rails of an axis as they were measured, for `calc::motion`: what was read along them, the steps of their joints, the
//! shims put in since, and what yields under them.
//!
//! To the left and up are plus here. A rail that follows another lies where that one lies, and as much further apart or higher as
//! was read; which of the two is on the right is what the carriage's tracks say. A reading at a joint is of the end that it names;
//! else it is the mean of both, and half of the joint's step lies on either side. A segment that was not read in a plane lies straight, and stands by the step of
//! the joint on the end of the segment before it; before the first that was read, on that of the one behind. A reading that is no
//! proof is left out, and nothing older speaks in its place: what counts is asked of who judges.

use std::collections::BTreeMap;

use smallvec::SmallVec;

use super::proof::GaugeCertainty;
use super::steps::four_steps;
use super::survey::{SurveyReadings, read_steps, reference, survey_at};
use super::survey_doubt::Doubt;
use super::survey_state::{CurrentSurveys, Plane};
use super::survey_tie;
use crate::calc::angles::rise;
use crate::calc::exact::Ratio;
use crate::calc::grooves::Patterns;
use crate::calc::motion::beam::{BeamHold, SegmentBeam};
use crate::calc::motion::frame::{LEFT, UP};
use crate::calc::motion::rails::{LyingRail, LyingSegment, ReadShape};
use crate::calc::motion::spline::{Spline, SplineSum};
use crate::calc::shims::risen;
use crate::calc::tie::Free;
use crate::finding::Place;
use crate::ledger::{Axis, Groove, JointSide, Keyword, Ledger, Rail, RailId, RepeatedQuantity, ShimSense, SurveyKind};
use crate::quantity::{Amount, Length};

/// A reading that the rails lie by: how far a station lies, or of a survey of angles how far a step rises.
#[derive(Clone, Debug)]
pub(crate) struct LyingReading {
    pub place: Place,
    /// The rail it was read on, and where: `S9`, `J1 UL`.
    pub rail: usize,
    pub at: String,
    /// What it read, its gauge's plus turned to the left, up, wider or outward; of repeats the mean to the next nanometre.
    pub read: Length,
    /// Its standard uncertainty by its own scatter, in mm; nothing where its gauge does not say.
    pub uncertainty: Option<f64>,
}

/// The rails of an axis.
#[derive(Clone, Debug, Default)]
pub(crate) struct LyingRails {
    pub rails: Vec<LyingRail>,
    pub readings: Vec<LyingReading>,
    /// Whether each rail was read to the left and up.
    pub read: Vec<[bool; 2]>,
    /// Whether a survey of that was left out that is no proof.
    pub left_out: Vec<[bool; 2]>,
    /// How many joints have four steps.
    pub joints: usize,
    /// Whether any rail yields.
    pub yields: bool,
    /// No rail was looked at, for there are too many joints.
    pub too_many_joints: bool,
}

/// A value at a place in mm, and the readings it is put together from.
#[derive(Clone, Debug)]
struct Known {
    at: f64,
    /// The joint that it lies at, and which of its ends it is.
    joint: Option<(usize, Option<JointSide>)>,
    value: f64,
    from: Vec<(usize, f64)>,
}

impl Known {
    /// What a shape has at a place.
    fn of(shape: &ReadShape, at: f64) -> Known {
        let (left, weights, _) = shape.spline.weights(at);
        let mut sum = SplineSum::new(&shape.spline);
        sum.add(left, &weights, 1.0);
        let mut from = Vec::new();
        for (by, of) in sum.by_value(&shape.spline).into_iter().zip(&shape.from) {
            from.extend(of.iter().filter(|_| by != 0.0).map(|(reading, weight)| (*reading, weight * by)));
        }
        Known { at, joint: None, value: shape.spline.take(left, &weights), from }
    }

    /// Each reading once, with all that it weighs.
    fn gather(&mut self) {
        self.from.sort_by_key(|(reading, _)| *reading);
        self.from.dedup_by(|(reading, weight), (kept, sum)| {
            let again = reading == kept;
            if again {
                *sum += *weight;
            }
            again
        });
    }

    /// With a share of something else added.
    fn add(&mut self, other: &Known, by: f64) {
        self.value += by * other.value;
        self.from.extend(other.from.iter().map(|(reading, weight)| (*reading, weight * by)));
    }
}

/// What a joint's step does: to the left and up in mm, with the readings, and the groove patterns.
#[derive(Clone, Debug, Default)]
struct MeasuredJoint {
    off: [f64; 2],
    from: [Vec<(usize, f64)>; 2],
    twist: f64,
    size: f64,
}

impl MeasuredJoint {
    /// Its step in a plane, at a place.
    fn step(&self, plane: usize, at: f64) -> Known {
        Known { at, joint: None, value: self.off[plane], from: self.from[plane].clone() }
    }

    /// Whether all four of its grooves were read.
    fn is_measured(&self, plane: usize) -> bool {
        !self.from[plane].is_empty()
    }
}

/// The elastic modulus of steel rails in N/mm² (EN 1993-1-1 has 210 000 for structural steel; bearing steel is taken alike).
const STEEL: f64 = 210_000.0;

/// More joints than any axis has would take too long: then no rail is looked at.
pub(crate) const MOST_JOINTS: usize = 500;

/// Whether a record counts as proof.
pub(crate) type Counting<'c> = &'c dyn Fn(usize) -> bool;

/// The rails of an axis as they lie now, by the records that count.
pub(crate) fn lying_rails(ledger: &Ledger, axis: usize, counts: Counting) -> LyingRails {
    let of = &ledger.machine.axes[axis];
    let none = || vec![[false; 2]; of.rails.len()];
    let mut lying = LyingRails { read: none(), left_out: none(), ..LyingRails::default() };
    if of.rails.iter().map(|rail| rail.joints.len()).sum::<usize>() > MOST_JOINTS {
        return LyingRails { too_many_joints: true, ..lying };
    }
    let joints: Vec<Vec<MeasuredJoint>> =
        (0..of.rails.len()).map(|rail| measured_joints(ledger, RailId { axis, rail }, counts, &mut lying)).collect();
    lying.rails = of.rails.iter().zip(&joints).map(|(rail, joints)| plain(ledger, rail, joints)).collect();
    lying.yields = lying.rails.iter().any(|rail| !rail.is_stiff());
    // A rail that follows another is put together after it.
    let mut order: Vec<usize> = Vec::with_capacity(of.rails.len());
    let follows = |rail: usize| reference(ledger, RailId { axis, rail }).map(|id| id.rail);
    while order.len() < of.rails.len() {
        let ready = |rail: &usize| !order.contains(rail) && follows(*rail).is_none_or(|of| order.contains(&of));
        // Rails that follow each other in a circle: the first is taken as the reference.
        let next = (0..of.rails.len()).find(ready);
        let Some(next) = next.or_else(|| (0..of.rails.len()).find(|rail| !order.contains(rail))) else { break };
        order.push(next);
    }
    for rail in order {
        for plane in [LEFT, UP] {
            let known = along(ledger, RailId { axis, rail }, plane, counts, &joints[rail], &mut lying);
            lying.read[rail][plane] = known.1;
            shape(&mut lying, &of.rails[rail], rail, plane, &known.0, &joints[rail]);
        }
    }
    lying
}

/// What is known of a rail in a plane, in order along it, and whether nothing about it is only relative to what is unknown.
fn along(
    ledger: &Ledger,
    id: RailId,
    plane: usize,
    counts: Counting,
    joints: &[MeasuredJoint],
    lying: &mut LyingRails,
) -> (Vec<Known>, bool) {
    let axis = &ledger.machine.axes[id.axis];
    let own = CurrentSurveys::planes(ledger, id, SurveyKind::Straightness);
    let wanted = if plane == LEFT { Plane::Sideways } else { Plane::Upright };
    for surveys in &own {
        let Some(readings) = surveys.latest().and_then(|record| surveys.readings(ledger, record)) else { continue };
        if Plane::for_survey(ledger, readings.survey) != wanted {
            continue;
        }
        if readings.records().into_iter().all(counts) {
            let reaches = reaches(axis, id.rail, &readings);
            let all = stations(ledger, id, &readings, plane, 1.0, lying);
            let mut all = with_both_ends(all, joints, plane);
            take_off_what_is_free(&mut all, survey_tie::free(ledger, SurveyKind::Straightness, &[&readings]));
            return (all, reaches);
        }
        lying.left_out[id.rail][plane] = true;
    }
    let Some(other) = reference(ledger, id) else { return (Vec::new(), false) };
    let kind = if plane == LEFT { SurveyKind::Gap } else { SurveyKind::Height };
    // A gap that grows moves the right rail to the right.
    let sign = match (plane, across(axis, id.rail), across(axis, other.rail)) {
        (UP, ..) => 1.0,
        (_, Some(own), Some(others)) if own != others => {
            if own > others {
                -1.0
            } else {
                1.0
            }
        }
        _ => return (Vec::new(), false),
    };
    let surveys = CurrentSurveys::for_rail(ledger, id, kind);
    let Some(readings) = surveys.latest().and_then(|record| surveys.readings(ledger, record)) else {
        return (Vec::new(), false);
    };
    if !readings.records().into_iter().all(counts) {
        lying.left_out[id.rail][plane] = true;
        return (Vec::new(), false);
    }
    let all = stations(ledger, id, &readings, plane, sign, lying);
    let mut all = with_both_ends(all, joints, plane);
    take_off_what_is_free(&mut all, survey_tie::free(ledger, kind, &[&readings]));
    for known in &mut all {
        let beside = shapes_at(&lying.rails[other.rail], known, plane);
        for shape in &beside {
            known.add(&Known::of(shape, known.at), (beside.len() as f64).recip());
        }
    }
    let known = lying.read[other.rail][plane] && reaches(axis, id.rail, &readings);
    (all, known)
}

/// The shapes of a rail beside a station of another: where it has a joint there, that of the end which the station is, or those of
/// both.
fn shapes_at<'r>(rail: &'r LyingRail, known: &Known, plane: usize) -> SmallVec<[&'r ReadShape; 2]> {
    let side = known.joint.and_then(|(_, side)| side);
    let meet = rail.segments.windows(2).find(|pair| pair[0].to == known.at && pair[1].from == known.at);
    let on: SmallVec<[&LyingSegment; 2]> = match meet {
        Some(pair) => {
            JointSide::ALL.iter().zip(pair).filter(|(of, _)| side.is_none_or(|it| it == **of)).map(|of| of.1).collect()
        }
        None => rail.segment_at(known.at).into_iter().collect(),
    };
    on.into_iter().filter_map(|segment| segment.shapes[plane].as_ref()).collect()
}

/// What is known of both ends in each joint that was read: as it was read; else by their mean, half of the joint's step on
/// either side; else, where all four grooves were read, by the other end and the whole step.
fn with_both_ends(all: Vec<Known>, joints: &[MeasuredJoint], plane: usize) -> Vec<Known> {
    if all.iter().all(|known| known.joint.is_none()) {
        return all;
    }
    let mut ends: Vec<Known> = Vec::new();
    for (joint, it) in joints.iter().enumerate() {
        let read = |side: Option<JointSide>| all.iter().find(|known| known.joint == Some((joint, side)));
        for (side, other, sign) in
            [(JointSide::Before, JointSide::Behind, -1.0), (JointSide::Behind, JointSide::Before, 1.0)]
        {
            let stepped = |known: &Known, by: f64| {
                let mut known = known.clone();
                known.add(&it.step(plane, known.at), sign * by);
                known
            };
            let other = || read(Some(other)).filter(|_| it.is_measured(plane)).map(|known| stepped(known, 1.0));
            let known = read(Some(side)).cloned().or_else(|| Some(stepped(read(None)?, 0.5))).or_else(other);
            ends.extend(known.map(|known| Known { joint: Some((joint, Some(side))), ..known }));
        }
    }
    let mut all: Vec<Known> = all.into_iter().filter(|known| known.joint.is_none()).chain(ends).collect();
    // Both ends of a joint lie at one place, and stay as they are.
    all.sort_by(|a, b| a.at.total_cmp(&b.at));
    all
}

/// Of more stations than any rail has supports the share of each in their line is not followed back.
const MOST_WEIGHED: usize = 500;

/// Takes off what the zero and the line of sight of a survey put into it: how far rails lie from each other on the whole is what
/// the carriage was set to, and says nothing of how they run. The mean of the stations, and their least-squares line where a
/// slope is free too. Both ends in a joint weigh as much as their mean would.
fn take_off_what_is_free(all: &mut [Known], free: Free) {
    let joint = |at: usize| all.get(at).and_then(|known| known.joint).map(|(joint, _)| joint);
    let is_pair =
        |at: usize| joint(at).is_some_and(|it| [at.wrapping_sub(1), at + 1].iter().any(|at| joint(*at) == Some(it)));
    let weights: Vec<f64> = (0..all.len()).map(|at| if is_pair(at) { 0.5 } else { 1.0 }).collect();
    let whole: f64 = weights.iter().sum();
    let sum =
        |of: &dyn Fn(&Known) -> f64| all.iter().zip(&weights).map(|(known, weight)| weight * of(known)).sum::<f64>();
    let middle = sum(&|known| known.at) / whole;
    let square = sum(&|known| (known.at - middle).powi(2));
    let has_slope = free == Free::Line && square > 0.0;
    // The mean, and the slope, each as one sum of all readings: of angles each is in many heights.
    let mut mean = Known { at: middle, joint: None, value: 0.0, from: Vec::new() };
    let mut slope = mean.clone();
    for (known, weight) in all.iter().zip(&weights) {
        mean.add(known, weight / whole);
        if has_slope {
            slope.add(known, weight * (known.at - middle) / square);
        }
    }
    mean.gather();
    slope.gather();
    // Of very many readings each weighs next to nothing in their line, and to keep what would take their square of memory.
    if all.len() > MOST_WEIGHED {
        (mean.from, slope.from) = (Vec::new(), Vec::new());
    }
    for known in all {
        let away = middle - known.at;
        known.add(&mean, -1.0);
        if has_slope {
            known.add(&slope, away);
        }
    }
}

/// Whether the stations of a survey reach over what blocks pass on a rail in the stroke, as far as it has supports there.
fn reaches(axis: &Axis, rail: usize, readings: &SurveyReadings) -> bool {
    let (Some(stroke), Some(carriage)) = (&axis.stroke, &axis.carriage) else { return true };
    let at = |position: Length| position.to_f64();
    let blocks = carriage.blocks.iter().filter(|block| block.rail == Some(rail)).map(|block| at(*block.at));
    let (Some(first), Some(last)) = (blocks.clone().reduce(f64::min), blocks.reduce(f64::max)) else { return true };
    let supports = &axis.rails[rail].supports;
    let (Some(begins), Some(ends)) = (supports.first(), supports.last()) else { return true };
    let stations = || readings.stations.iter().map(|station| at(station.row.position));
    let (Some(from), Some(to)) = (stations().reduce(f64::min), stations().reduce(f64::max)) else { return false };
    // No station is asked for where there is no support.
    let passed = [at(*stroke.from) + first, at(*stroke.to) + last];
    from <= passed[0].max(at(begins.at)) && to >= passed[1].min(at(ends.at))
}

/// The side of a rail across the carriage.
fn across(axis: &Axis, rail: usize) -> Option<Length> {
    axis.carriage.as_ref()?.rails_at.iter().find(|track| track.rail == Some(rail)).map(|track| track.y)
}

/// The stations of a survey, with what shims have moved since.
fn stations(
    ledger: &Ledger,
    id: RailId,
    readings: &SurveyReadings,
    plane: usize,
    sign: f64,
    lying: &mut LyingRails,
) -> Vec<Known> {
    let rail = ledger.machine.rail(id);
    // What a shim does to what was read.
    let effect = match (rail.shims.map(|sense| *sense), readings.kind(), plane) {
        (Some(ShimSense::Widen), SurveyKind::Gap, _) | (Some(ShimSense::Lift), _, UP) => 1.0,
        (Some(ShimSense::Narrow), SurveyKind::Gap, _) => -1.0,
        _ => 0.0,
    };
    let supports: Vec<i64> = rail.supports.iter().map(|support| support.at.nm()).collect();
    let shimmed_since = |record: usize| -> Vec<i64> {
        let total = |support, before| ledger.shim_total(id, support, before).nm();
        (0..supports.len()).map(|support| total(support, None) - total(support, Some(record))).collect()
    };
    let mut shimmed: BTreeMap<usize, Vec<i64>> = BTreeMap::new();
    let mut read: BTreeMap<usize, ReadBySteps> = BTreeMap::new();
    let mut all = Vec::with_capacity(readings.stations.len());
    for station in &readings.stations {
        let of = read.entry(station.record).or_insert_with(|| ReadBySteps::new(ledger, id, station.record, lying));
        let since = match effect {
            0.0 => 0.0,
            _ => {
                let put_in = shimmed.entry(station.record).or_insert_with(|| shimmed_since(station.record));
                let risen = risen(rail.carried_at(station.row).nm(), &supports, put_in);
                effect * risen.map_or(0.0, Ratio::to_f64) / 1e6
            }
        };
        let from = match &of.steps {
            Some(steps) => {
                let before = steps.iter().take_while(|(end, _)| *end <= station.row.position);
                before.map(|(_, reading)| (*reading, sign)).collect()
            }
            None => {
                lying.readings.push(LyingReading {
                    place: station.row.place,
                    rail: id.rail,
                    at: station.row.name.to_string(),
                    read: super::survey::length(station.value),
                    uncertainty: of.uncertainty.map(|u| u / (station.times as f64).sqrt()),
                });
                vec![(lying.readings.len() - 1, sign)]
            }
        };
        let value = sign * (station.value.to_f64() / 1e6 + since);
        let joint = rail.joint_at(station.row);
        let at = joint.map_or(station.row.position, |joint| rail.joints[joint].position).to_f64();
        let joint = joint.map(|joint| (joint, station.row.end.map(|end| end.side)));
        all.push(Known { at, joint, value, from });
    }
    all
}

/// How a record read what the rails lie by.
struct ReadBySteps {
    /// The standard uncertainty of one station by its own scatter, in mm; nothing where its gauge does not say.
    uncertainty: Option<f64>,
    /// Of angles: where each step ends, and which reading it is. The height there is the sum of all up to it.
    steps: Option<Vec<(Length, usize)>>,
}

impl ReadBySteps {
    fn new(ledger: &Ledger, id: RailId, record: usize, lying: &mut LyingRails) -> ReadBySteps {
        let Some(survey) = survey_at(ledger, record) else { return ReadBySteps { uncertainty: None, steps: None } };
        let known = |of: Doubt| {
            let doubt = of.reading().total();
            Some(doubt.variance().standard_uncertainty() / 1e6).filter(|u| *u > 0.0)
        };
        let Some(angles) = &survey.angles else {
            return ReadBySteps {
                uncertainty: known(Doubt::for_survey(ledger, &ledger.rulebook, survey)),
                steps: None,
            };
        };
        let read = read_steps(survey);
        // Of very many steps the share of each in every height is not followed: each height counts as unsure as the middle one.
        if read.len() > MOST_WEIGHED {
            return ReadBySteps {
                uncertainty: known(Doubt::for_survey(ledger, &ledger.rulebook, survey)),
                steps: None,
            };
        }
        let uncertainty = known(Doubt::of_one(ledger, survey));
        let sign = SurveyReadings::for_record(ledger, record).map_or(1, |of| of.sign);
        let steps = read.iter().map(|step| {
            let rise = rise(step.slope, angles.base.nm()).and_then(|rise| rise.times(Ratio::whole(sign)));
            lying.readings.push(LyingReading {
                place: step.row.place,
                rail: id.rail,
                at: format!("step to {}", step.row.name),
                read: rise.map_or(Length::ZERO, super::survey::length),
                uncertainty: uncertainty.map(|u| u / (step.times as f64).sqrt()),
            });
            (step.row.position, lying.readings.len() - 1)
        });
        ReadBySteps { uncertainty, steps: Some(steps.collect()) }
    }
}

/// The joints of a rail; nought where the four steps or their sign are not known, or one of them is no proof.
fn measured_joints(ledger: &Ledger, id: RailId, counts: Counting, lying: &mut LyingRails) -> Vec<MeasuredJoint> {
    let rail = ledger.machine.rail(id);
    let measured = |(joint, at): (usize, &crate::ledger::Joint)| {
        let Some(four) = four_steps(ledger, id, joint).filter(|four| four.signed) else {
            return MeasuredJoint::default();
        };
        let facing = four.contact_or_outward();
        let offsets =
            |patterns: &Patterns| [-patterns.side_offset().to_f64() / 1e6, patterns.height_offset().to_f64() / 1e6];
        let patterns = four.steps.patterns(facing);
        if !four.readings.iter().all(|latest| counts(latest.record)) {
            return MeasuredJoint::default();
        }
        let mut from = [Vec::new(), Vec::new()];
        for groove in Groove::ALL {
            let Some(alone) = four.of_a_millimetre(groove) else { continue };
            let latest = &four.readings[groove as usize];
            let gauge = latest.inspect.gauge.as_ref().and_then(|name| ledger.shop.gauge(name));
            let sure = gauge.and_then(|gauge| GaugeCertainty::new(ledger, gauge, RepeatedQuantity::Step));
            let count = latest.what.steps().1.max(1);
            lying.readings.push(LyingReading {
                place: latest.what.place,
                rail: id.rail,
                at: format!("{} {}", at.name, groove.word()),
                read: super::steps::signed_step(ledger, latest).unwrap_or(Length::ZERO),
                uncertainty: sure.map(|sure| sure.of_step(count).variance().standard_uncertainty() / 1e6),
            });
            for (from, weight) in from.iter_mut().zip(offsets(&alone)) {
                from.push((lying.readings.len() - 1, weight));
            }
        }
        lying.joints += 1;
        MeasuredJoint {
            off: offsets(&patterns),
            from,
            twist: patterns.twist.to_f64() / 1e6,
            size: patterns.size.to_f64() / 1e6,
        }
    };
    rail.joints.iter().enumerate().map(measured).collect()
}

/// A rail without shape: its segments, what yields under them, and how their profiles differ.
fn plain(ledger: &Ledger, rail: &Rail, joints: &[MeasuredJoint]) -> LyingRail {
    let profile = rail.profile.as_ref().and_then(|name| ledger.shop.profile(name));
    let stiff = rail.continuous_seat().is_some();
    let moments =
        [profile.and_then(|profile| profile.lateral_second_moment), profile.and_then(|profile| profile.second_moment)];
    let (mut size, mut twist) = (vec![0.0; rail.segments.len()], vec![0.0; rail.segments.len()]);
    for (joint, it) in rail.joints.iter().zip(joints) {
        let before = joint.before;
        if before + 1 < rail.segments.len() {
            size[before + 1] = size[before] + it.size;
            twist[before + 1] = twist[before] + it.twist;
        }
    }
    let ends = |of: &[f64]| of.iter().fold((f64::MAX, f64::MIN), |(a, b), of| (a.min(*of), b.max(*of)));
    let (least, (down, up)) = (ends(&size).0, ends(&twist));
    let segments = rail.segments.iter().enumerate().map(|(n, segment)| {
        let (from, to) = (segment.from.to_f64(), segment.to.to_f64());
        let beam = |plane: usize| {
            let moment = moments[plane].filter(|_| !stiff)?;
            let hold = |support: &crate::ledger::Support| {
                let stated = if plane == LEFT { support.lateral_stiffness } else { support.stiffness };
                BeamHold { at: support.at.to_f64(), stiffness: stated.map(|stated| stated.value.to_f64() * 1000.0) }
            };
            // A support under the joint holds both ends.
            let near = |support: &&crate::ledger::Support| support.to() > segment.from && support.from() < segment.to;
            let holds: Vec<BeamHold> = rail
                .supports
                .iter()
                .filter(|support| near(support) || (support.at >= segment.from && support.at <= segment.to))
                .map(hold)
                .map(|hold| BeamHold { at: hold.at.clamp(from, to), ..hold })
                .collect();
            SegmentBeam::new([from, to], &holds, STEEL * moment.value.to_f64())
        };
        LyingSegment {
            from,
            to,
            shapes: [None, None],
            beams: [beam(LEFT), beam(UP)],
            larger: size[n] - least,
            twisted: twist[n] - f64::midpoint(down, up),
        }
    });
    LyingRail { segments: segments.collect() }
}

/// Puts what is known of a plane on the segments of a rail.
fn shape(lying: &mut LyingRails, rail: &Rail, index: usize, plane: usize, known: &[Known], joints: &[MeasuredJoint]) {
    let step = |joint: usize| joints[joint].step(plane, rail.joints[joint].position.to_f64());
    let behind = |n: usize| rail.joints.iter().position(|joint| joint.before == n);
    let before = |n: usize| rail.joints.iter().position(|joint| joint.before + 1 == n);
    let count = rail.segments.len();
    let read: Vec<Vec<Known>> = (0..count)
        .map(|n| {
            let (from, to) = (rail.segments[n].from.to_f64(), rail.segments[n].to.to_f64());
            let is_on = |of: &&Known| match of.joint {
                Some((joint, Some(JointSide::Before))) => behind(n) == Some(joint),
                Some((joint, Some(JointSide::Behind))) => before(n) == Some(joint),
                _ => from <= of.at && of.at <= to,
            };
            known.iter().filter(is_on).cloned().collect()
        })
        .collect();
    // Where none was read, the first stands where it should.
    let first = read.iter().position(|points| !points.is_empty()).unwrap_or(0);
    for n in (first..count).chain((0..first).rev()) {
        let mut points = read[n].clone();
        if points.is_empty() {
            let neighbour = if n < first {
                behind(n).map(|joint| (n + 1, joint, -1.0))
            } else {
                before(n).map(|joint| (n - 1, joint, 1.0))
            };
            let Some((neighbour, joint, by)) = neighbour else { continue };
            let step = step(joint);
            let end = lying.rails[index].segments[neighbour].shapes[plane].as_ref().map(|of| Known::of(of, step.at));
            if end.is_none() && step.value == 0.0 && step.from.is_empty() {
                continue;
            }
            let mut stands = end.unwrap_or(Known { at: step.at, joint: None, value: 0.0, from: Vec::new() });
            stands.add(&step, by);
            lying.read[index][plane] = false;
            points.push(stands);
        }
        let values: Vec<(f64, f64)> = points.iter().map(|of| (of.at, of.value)).collect();
        let shape = Spline::through(&values)
            .map(|spline| ReadShape { spline, from: points.into_iter().map(|of| of.from).collect() });
        lying.rails[index].segments[n].shapes[plane] = shape;
    }
}
