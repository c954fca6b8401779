//! The shape of one rail segment in one plane, from what was read at places along it.
//!
//! An elastic beam that is held at some places, free at its ends and without load between is the natural cubic spline through
//! them: M'' = 0 between the holds, M = 0 at both ends (three-moment equations, S. Timoshenko, Strength of Materials; C. de
//! Boor, A Practical Guide to Splines, natural end conditions). Beyond the last hold it is straight.

/// A natural cubic spline; places and values in mm.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Spline {
    at: Vec<f64>,
    values: Vec<f64>,
    /// The second derivatives at the places.
    second: Vec<f64>,
}

/// A linear form of a spline's values and second derivatives at two neighbouring places: from the left value, the right
/// value, the left second derivative, the right one.
pub(crate) type SplineWeights = [f64; 4];

impl Spline {
    /// Through these places in rising order; one place alone gives a level line. `None` where there is none, two coincide, or
    /// a number is not finite.
    pub(crate) fn through(points: &[(f64, f64)]) -> Option<Self> {
        let rising = points.windows(2).all(|pair| pair[0].0 < pair[1].0);
        if points.is_empty() || !rising || !points.iter().all(|(at, value)| at.is_finite() && value.is_finite()) {
            return None;
        }
        let (at, values): (Vec<f64>, Vec<f64>) = points.iter().copied().unzip();
        let mut bend = vec![0.0; at.len()];
        for n in 1..at.len().saturating_sub(1) {
            bend[n] = 6.0
                * ((values[n + 1] - values[n]) / (at[n + 1] - at[n])
                    - (values[n] - values[n - 1]) / (at[n] - at[n - 1]));
        }
        let second = three_moments(&at, bend);
        Some(Self { at, values, second })
    }

    /// Where it was read.
    pub(crate) fn places(&self) -> &[f64] {
        &self.at
    }

    /// The interval that holds a place, counted by its left end, and the weights of value and slope there.
    pub(crate) fn weights(&self, x: f64) -> (usize, SplineWeights, SplineWeights) {
        let count = self.at.len();
        if count == 1 {
            return (0, [1.0, 0.0, 0.0, 0.0], [0.0; 4]);
        }
        let left = self.at.partition_point(|at| *at <= x).clamp(1, count - 1) - 1;
        let (value, slope) = self.weights_in(left, x);
        (left, value, slope)
    }

    /// The same in a known interval, of which there must be one.
    fn weights_in(&self, left: usize, x: f64) -> (SplineWeights, SplineWeights) {
        let count = self.at.len();
        let width = self.at[left + 1] - self.at[left];
        // Beyond the ends it goes on with the slope that it has there.
        let inside = x.clamp(self.at[0], self.at[count - 1]);
        let b = (inside - self.at[left]) / width;
        let a = 1.0 - b;
        let slope = [-1.0 / width, 1.0 / width, -width / 6.0 * (3.0 * a * a - 1.0), width / 6.0 * (3.0 * b * b - 1.0)];
        let sixth = width * width / 6.0;
        let mut value = [a, b, (a * a * a - a) * sixth, (b * b * b - b) * sixth];
        if x != inside {
            value.iter_mut().zip(slope).for_each(|(value, slope)| *value += slope * (x - inside));
        }
        (value, slope)
    }

    /// Between two places with none that was read between them, the first behind so many of those: the interval, and the
    /// weights of ∫ v dt and of ∫ (t − m) v dt with m in their middle. A cubic, in closed form.
    pub(crate) fn over(&self, behind: usize, [from, to]: [f64; 2]) -> (usize, SplineWeights, SplineWeights) {
        let (middle, half) = (f64::midpoint(from, to), (to - from) / 2.0);
        let last = self.at.len() - 1;
        if last == 0 {
            return (0, [2.0 * half, 0.0, 0.0, 0.0], [0.0; 4]);
        }
        let left = behind.clamp(1, last) - 1;
        if middle < self.at[0] || middle > self.at[last] {
            let (value, slope) = self.weights_in(left, middle);
            return (left, value.map(|it| it * 2.0 * half), slope.map(|it| it * 2.0 * half * half * half / 3.0));
        }
        let width = self.at[left + 1] - self.at[left];
        let (sixth, part) = (width * width / 6.0, half / width);
        let b = (middle - self.at[left]) / width;
        let a = 1.0 - b;
        let (whole, lever) = (2.0 * half, 2.0 * half * half * part);
        let bent = |c: f64| whole * sixth * (c * c * c - c + c * part * part);
        let turned = |c: f64| lever * sixth * (c * c - 1.0 / 3.0 + part * part / 5.0);
        (left, [whole * a, whole * b, bent(a), bent(b)], [-lever / 3.0, lever / 3.0, -turned(a), turned(b)])
    }

    /// A form of it at an interval.
    pub(crate) fn take(&self, left: usize, weights: &SplineWeights) -> f64 {
        let right = (left + 1).min(self.at.len() - 1);
        weights[0] * self.values[left]
            + weights[1] * self.values[right]
            + weights[2] * self.second[left]
            + weights[3] * self.second[right]
    }

    /// Its value at a place.
    pub(crate) fn value(&self, x: f64) -> f64 {
        let (left, value, _) = self.weights(x);
        self.take(left, &value)
    }

    /// Its slope at a place.
    #[cfg(test)]
    pub(crate) fn slope(&self, x: f64) -> f64 {
        let (left, _, slope) = self.weights(x);
        self.take(left, &slope)
    }
}

/// A sum of linear forms of one spline, and what each of its values weighs in it.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct SplineSum {
    values: Vec<f64>,
    second: Vec<f64>,
}

impl SplineSum {
    pub(crate) fn new(spline: &Spline) -> Self {
        Self { values: vec![0.0; spline.at.len()], second: vec![0.0; spline.at.len()] }
    }

    /// Adds a form, `times` over.
    pub(crate) fn add(&mut self, left: usize, weights: &SplineWeights, times: f64) {
        let right = (left + 1).min(self.values.len() - 1);
        self.values[left] += times * weights[0];
        self.values[right] += times * weights[1];
        self.second[left] += times * weights[2];
        self.second[right] += times * weights[3];
    }

    /// How the sum changes with each value that was read. The second derivatives hang on all values by the three-moment
    /// equations, which are symmetric: they are solved once for the weights instead of once for every value.
    pub(crate) fn by_value(&self, spline: &Spline) -> Vec<f64> {
        let at = &spline.at;
        let mut by = self.values.clone();
        let moments = three_moments(at, self.second.clone());
        for n in 1..at.len().saturating_sub(1) {
            let (before, after) = (6.0 / (at[n] - at[n - 1]), 6.0 / (at[n + 1] - at[n]));
            by[n - 1] += moments[n] * before;
            by[n] -= moments[n] * (before + after);
            by[n + 1] += moments[n] * after;
        }
        by
    }
}

/// Solves h₋ m₋ + 2 (h₋ + h₊) m + h₊ m₊ = right with nothing at both ends (Thomas).
fn three_moments(at: &[f64], mut right: Vec<f64>) -> Vec<f64> {
    let count = at.len();
    right[0] = 0.0;
    right[count - 1] = 0.0;
    if count < 3 {
        return right;
    }
    let mut pivots = vec![1.0; count];
    for n in 1..count - 1 {
        let (before, after) = (at[n] - at[n - 1], at[n + 1] - at[n]);
        pivots[n] = 2.0 * (before + after);
        if n > 1 {
            let factor = before / pivots[n - 1];
            pivots[n] -= factor * before;
            right[n] -= factor * right[n - 1];
        }
    }
    for n in (1..count - 1).rev() {
        let after = if n + 1 < count - 1 { (at[n + 1] - at[n]) * right[n + 1] } else { 0.0 };
        right[n] = (right[n] - after) / pivots[n];
    }
    right
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against Simpson's rule, which is exact for cubics, and for these times a lever no further off than h⁴.
    #[test]
    fn moments_are_what_a_fine_sum_gives() {
        let spline = Spline::through(&[(0.0, 0.1), (200.0, -0.03), (340.0, 0.05), (600.0, 0.0)]).expect("a spline");
        for (behind, from, to) in
            [(0, -80.0, 0.0), (1, 0.0, 200.0), (1, 30.0, 31.5), (2, 210.0, 340.0), (4, 610.0, 700.0)]
        {
            let (left, whole, lever) = spline.over(behind, [from, to]);
            let steps = 2000;
            let (mut sum, mut moment) = (0.0, 0.0);
            for n in 0..=steps {
                let t = from + (to - from) * f64::from(n) / f64::from(steps);
                let weight = if n == 0 || n == steps { 1.0 } else { f64::from(2 + 2 * (n % 2)) };
                sum += weight * spline.value(t);
                moment += weight * spline.value(t) * (t - f64::midpoint(from, to));
            }
            let third = (to - from) / f64::from(steps) / 3.0;
            let scale = (to - from) * 0.1;
            assert!((spline.take(left, &whole) - sum * third).abs() < 1e-12 * scale, "{from}");
            assert!((spline.take(left, &lever) - moment * third).abs() < 1e-12 * scale * (to - from), "{from}");
        }
    }
}
