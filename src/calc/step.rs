//! The step of one groove from its readings, judged without rounding.
//!
//! Several readings of one step are taken as their mean, which is a quotient, and a stylus held level or upright reads √2
//! times the step. Both stay exact: the comparison is one of whole squares.

use super::exact::ceil_sqrt;

/// The mean of some readings of one step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct MeanStep {
    /// The sum of after − before over all pairs, in nm.
    pub sum_nm: i64,
    /// How many pairs there are; none counts as one.
    pub count: usize,
    /// The stylus was held level or upright, so that it read √2 times the step.
    pub slanted: bool,
}

impl MeanStep {
    fn divisor(self) -> u128 {
        self.count.max(1) as u128
    }

    /// The square of the sum, and the square of what one nanometre of step adds to it.
    fn squares(self) -> (u128, u128) {
        let sum = u128::from(self.sum_nm.unsigned_abs());
        // A count beyond all reason must not overflow; it only makes the step smaller.
        let one = self.divisor().min(1 << 40);
        (sum * sum, one * one * if self.slanted { 2 } else { 1 })
    }

    /// Whether its magnitude is beyond a limit in nm; a step of just the limit is not. Exact.
    pub(crate) fn over(self, limit_nm: i64) -> bool {
        let Ok(limit) = u64::try_from(limit_nm) else { return true };
        let (square, one) = self.squares();
        match (u128::from(limit) * u128::from(limit)).checked_mul(one) {
            Some(most) => square > most,
            None => false,
        }
    }

    /// Its magnitude in nm, rounded up: never shown smaller than it is.
    pub(crate) fn magnitude_nm(self) -> i64 {
        let (square, one) = self.squares();
        i64::try_from(ceil_sqrt(square.div_ceil(one))).unwrap_or(i64::MAX)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_step_of_just_the_limit_conforms() {
        // −0.04 → −0.02 and −0.04 → −0.019 against 0.02 mm: common practice, no source.
        let one = |sum_nm| MeanStep { sum_nm, count: 1, slanted: false };
        assert!(!one(20_000).over(20_000) && one(21_000).over(20_000));
        assert!(!one(-20_000).over(20_000) && one(-20_001).over(20_000));
        assert_eq!(one(-21_000).magnitude_nm(), 21_000);
    }

    #[test]
    fn repeats_are_taken_as_their_mean() {
        let three = |sum_nm| MeanStep { sum_nm, count: 3, slanted: false };
        assert!(!three(60_000).over(20_000) && three(60_001).over(20_000));
        assert_eq!(three(60_001).magnitude_nm(), 20_001);
    }

    #[test]
    fn a_slanted_stylus_reads_root_two_times_the_step() {
        // 20 µm × √2 = 28.284 271… µm.
        let slanted = |sum_nm| MeanStep { sum_nm, count: 1, slanted: true };
        assert!(!slanted(28_284).over(20_000) && slanted(28_285).over(20_000));
        assert_eq!(slanted(28_284).magnitude_nm(), 20_000);
        assert_eq!(slanted(28_285).magnitude_nm(), 20_001);
    }
}
