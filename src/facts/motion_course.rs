//! The carriage place by place along its stroke: what it is off by, and what its blocks bear there. And the rails it goes on,
//! as they lie.

use super::motion::{FollowedError, Moving};
use crate::calc::motion::frame::{LEFT, UP};
use crate::calc::motion::rails::{LyingRail, LyingSegment};
use crate::calc::motion::run::MotionError;

/// The carriage at one place.
#[derive(Clone, Debug)]
pub(crate) struct CoursePlace {
    /// In mm along the axis.
    pub at: f64,
    /// For each motion error, in mm or rad, the free line or the first value taken off; in the case in which it is greatest.
    pub off: Vec<f64>,
    /// For each block, in the case that loads it most.
    pub loads: Vec<BorneThere>,
}

/// What a block bears at one place: equivalent loads in N.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub(crate) struct BorneThere {
    /// On rails that lie where they should.
    pub nominal: f64,
    /// On the rails as they lie.
    pub measured: f64,
}

/// Every place that was looked at.
pub(crate) fn course(moving: &Moving) -> Result<Vec<CoursePlace>, MotionError> {
    let journey = &moving.borne.loaded.journey;
    let mut course = Vec::with_capacity(journey.places().len());
    journey.go(|stand| {
        let worst = |block: usize| {
            let kind = &moving.borne.loaded.wearing[block];
            let loads = (0..journey.cases.len()).map(|case| stand.equivalent(kind, case, block));
            loads.fold(BorneThere::default(), |worst, [nominal, measured]| BorneThere {
                nominal: worst.nominal.max(nominal),
                measured: worst.measured.max(measured),
            })
        };
        let of = |error: &FollowedError| error.wander.values[stand.index];
        course.push(CoursePlace {
            at: stand.at,
            off: moving.errors.iter().map(of).collect(),
            loads: (0..moving.borne.loaded.wearing.len()).map(worst).collect(),
        });
    })?;
    Ok(course)
}

/// A rail at one place, in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct LyingPlace {
    /// Along the axis. Where two segments meet, the end of each is a place.
    pub at: f64,
    /// How far it lies to the left and up; nothing where it was not read in that plane.
    pub off: [Option<f64>; 2],
}

/// A rail as it lies, at the places where it was read and at both ends of each segment.
pub(crate) fn lying_places(rail: &LyingRail, read: [bool; 2]) -> Vec<LyingPlace> {
    let of = |segment: &LyingSegment| {
        let shape = |plane: usize| segment.shapes[plane].as_ref().filter(|_| read[plane]).map(|shape| &shape.spline);
        let shapes = [shape(LEFT), shape(UP)];
        let known = shapes.iter().flatten().flat_map(|spline| spline.places().iter().copied());
        let mut places: Vec<f64> = known.chain([segment.from, segment.to]).collect();
        places.sort_by(f64::total_cmp);
        places.dedup();
        let at = |at: f64| LyingPlace { at, off: shapes.map(|spline| spline.map(|spline| spline.value(at))) };
        places.into_iter().map(at).collect::<Vec<_>>()
    };
    rail.segments.iter().flat_map(of).collect()
}
