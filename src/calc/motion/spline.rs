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

    /// The interval that begins behind so many places, and the weights of the value there: for one who goes along it.
    pub(crate) fn along(&self, behind: usize, x: f64) -> (usize, SplineWeights) {
        match self.at.len() {
            1 => (0, [1.0, 0.0, 0.0, 0.0]),
            count => {
                let left = behind.clamp(1, count - 1) - 1;
                (left, self.weights_in(left, x).0)
            }
        }
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
