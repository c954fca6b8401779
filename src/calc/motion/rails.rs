//! The rails as they lie: segment by segment, in both planes, with what they yield.

use super::beam::SegmentBeam;
use super::frame::{LEFT, UP};
use super::spline::Spline;

/// What is read along a segment, and what each value was put together from.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct ReadShape {
    /// To the left or up, in mm.
    pub spline: Spline,
    /// For each place of the spline, the readings that its value is the weighted sum of.
    pub from: Vec<Vec<(usize, f64)>>,
}

/// A segment of a rail.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct LyingSegment {
    /// Where it begins, in mm along the axis.
    pub from: f64,
    /// Where it ends.
    pub to: f64,
    /// Its shape to the left and up; without one it lies where it should.
    pub shapes: [Option<ReadShape>; 2],
    /// How it yields to the left and up; without one not at all.
    pub beams: [Option<SegmentBeam>; 2],
    /// By how much its profile is larger than the smallest of its rail, as a step at each groove, in mm.
    pub larger: f64,
    /// By how much its grooves are twisted against the middle of its rail's twists, as a step at each groove, in mm.
    pub twisted: f64,
}

/// A rail.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct LyingRail {
    /// In order along the axis, without gaps.
    pub segments: Vec<LyingSegment>,
}

/// The two planes of a rail: the index of each is the one among the five ways.
pub(crate) const PLANES: [usize; 2] = [LEFT, UP];

impl LyingSegment {
    /// It lies where it should, by all that is known.
    pub(crate) fn is_plain(&self) -> bool {
        self.shapes.iter().all(Option::is_none) && self.larger == 0.0 && self.twisted == 0.0
    }
}

impl LyingRail {
    /// Whether nothing of it yields.
    pub(crate) fn is_stiff(&self) -> bool {
        self.segments.iter().all(|segment| segment.beams.iter().all(Option::is_none))
    }

    /// The segment at a place; of two that meet there the second, and beyond the ends the last one.
    pub(crate) fn segment_at(&self, x: f64) -> Option<&LyingSegment> {
        let at = self.segments.partition_point(|segment| segment.to <= x);
        self.segments.get(at.min(self.segments.len().checked_sub(1)?))
    }

    /// Calls for each segment that a stretch covers, with the part of the stretch on it. Before the first and behind the last
    /// segment these go on. A stretch without length lies on one segment: of two that meet there, on the second.
    pub(crate) fn under(&self, from: f64, to: f64, mut each: impl FnMut(usize, f64, f64)) {
        let last = self.segments.len().saturating_sub(1);
        let first = self.segments.partition_point(|segment| segment.to <= from).min(last);
        for (n, segment) in self.segments.iter().enumerate().skip(first) {
            let start = if n == first { from } else { segment.from };
            let end = if n == last { to } else { to.min(segment.to) };
            each(n, start, end);
            if n == last || to <= segment.to {
                break;
            }
        }
    }
}
