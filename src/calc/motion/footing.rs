//! What a block feels of the rail under it: the mean of the rail's place over the block's length, and the slope of the
//! least-squares line over it.
//!
//! mean = (1/ℓ) ∫ v dt, slope = (12/ℓ³) ∫ t v dt, with t from the block's middle. The rail is a cubic between two places that
//! were read, and each piece has both integrals in closed form. For a wave of length λ the mean is that at the
//! middle times sin(πℓ/λ)/(πℓ/λ).

use super::rails::LyingRail;
use super::spline::SplineWeights;

/// Calls, for a block of that length with its middle at `x`, with the segment, the interval of its spline and the weights of
/// mean and slope. Segments that were not read in that plane are left out: they lie where they should.
pub(crate) fn felt(
    rail: &LyingRail,
    plane: usize,
    x: f64,
    length: f64,
    mut each: impl FnMut(usize, usize, &SplineWeights, &SplineWeights),
) {
    let half = length / 2.0;
    rail.under(x - half, x + half, |segment, from, to| {
        let Some(shape) = &rail.segments[segment].shapes[plane] else { return };
        if length == 0.0 {
            let (left, value, slope) = shape.spline.weights(x);
            return each(segment, left, &value, &slope);
        }
        let places = shape.spline.places();
        let mut start = from;
        let mut next = places.partition_point(|place| *place <= from);
        while start < to {
            let end = places.get(next).map_or(to, |place| place.min(to));
            let (interval, whole, lever) = shape.spline.over(next, [start, end]);
            let arm = f64::midpoint(start, end) - x;
            let turn = 12.0 / (length * length * length);
            let mean = whole.map(|part| part / length);
            let slope = std::array::from_fn(|n| turn * (lever[n] + arm * whole[n]));
            each(segment, interval, &mean, &slope);
            start = end;
            next += 1;
        }
    });
}

/// Where a block presses on its rail: calls for each segment under it, the middle of the part that it covers and the share of its
/// load there, as much as it covers. A point load at the middle yields more than one spread over the block: the safe side
/// for how far the rail gives way, not for the loads of rails that lie wrong.
pub(crate) fn presses(rail: &LyingRail, x: f64, length: f64, mut each: impl FnMut(usize, f64, f64)) {
    let half = length / 2.0;
    rail.under(x - half, x + half, |segment, from, to| {
        let share = if length == 0.0 { 1.0 } else { (to - from) / length };
        each(segment, f64::midpoint(from, to), share);
    });
}
