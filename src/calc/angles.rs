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
    rise(drift, span_nm)?.over(8)
}

/// How far a line that is level all along, and so follows the earth, stands above the straight one between its ends, at a
/// distance from the first of them: x(L − x)/(2R), in the middle L²/(8R). To the nearest picometre.
pub(crate) fn earth_bulge(at_nm: i64, span_nm: i64) -> Option<Ratio> {
    let (at, span) = (i128::from(at_nm), i128::from(span_nm));
    fine(Ratio::new(at.checked_mul(span - at)?, 2 * EARTH_RADIUS_NM)?)
}

/// How many times the variance of one step there is in the height of the middle one of n steps against the line from end to end:
/// of what each step has of its own, which adds up by squares, n/4; of what a permissible error may do in all of them, which adds
/// up by size, n²/4. At the height behind j of them, each before it counts 1 − j/n and each behind it j/n, so that it is
/// j(n − j)/n and (2j(n − j)/n)²: no height has more than the middle, and none with less steps around it.
///
/// The error is taken to lean each step to the worse side: one that is the same in all steps would only tilt the line.
pub(crate) fn in_the_middle(steps: usize) -> [Ratio; 2] {
    let steps = steps as i128;
    [steps, steps.saturating_mul(steps)].map(|times| Ratio::new(times, 4).unwrap_or(Ratio::whole(i128::MAX)))
}
