//! Straightness from angles: steps of one length that follow each other, each read as a slope; heights are their sums.
//!
//! A slope is in picoradians, a length in nanometres. The rise of a step is slope × base: for slopes below 10⁻³ its sine, its
//! tangent and its arc differ by less than a millionth.

use super::exact::Ratio;
use super::tie::fine;

/// Picoradians in a radian.
const RADIAN: i128 = 1_000_000_000_000;

/// The mean radius of the earth, 6371 km (IUGG mean radius R₁ = 6371.0 km, from memory).
const EARTH_RADIUS_NM: i128 = 6_371_000_000_000_000;

/// How far a step of a slope rises over its base.
pub(crate) fn rise(slope: Ratio, base_nm: i64) -> Option<Ratio> {
    slope.times(Ratio::new(i128::from(base_nm), RADIAN)?)
}

/// How far a drift bends the line through a survey, that grew evenly over its span to this slope: δ·L/8 in the middle, since
/// its heights are δ·x²/(2L).
pub(crate) fn bend_of_drift(drift: Ratio, span_nm: i64) -> Option<Ratio> {
    rise(drift, span_nm)?.times(Ratio::new(1, 8)?)
}

/// How far a line that is level all along, and so follows the earth, stands above the straight one between its ends, at a
/// distance from the first of them: x(L − x)/(2R), in the middle L²/(8R). To the nearest picometre.
pub(crate) fn earth_bulge(at_nm: i64, span_nm: i64) -> Option<Ratio> {
    let (at, span) = (i128::from(at_nm), i128::from(span_nm));
    fine(Ratio::new(at.checked_mul(span - at)?, 2 * EARTH_RADIUS_NM)?)
}

/// How much each step counts in a weighed sum of heights, by the ends of the steps in order: the weights of all heights at its
/// end or behind it, since each of those holds the step.
pub(crate) fn shares(ends: &[i64], weighed: &[(i64, f64)]) -> Vec<f64> {
    let behind = |end: &i64| weighed.iter().filter(|(at, _)| at >= end).map(|(_, weight)| weight).sum();
    ends.iter().map(behind).collect()
}
