//! From exact numbers to whole coordinates.

/// Beyond any picture.
const FAR: i128 = 100_000;

/// A straight scale from numbers to coordinates; the number's unit does not matter.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Scale {
    from: i128,
    to: i128,
    low: i64,
    high: i64,
}

impl Scale {
    /// Maps `from ..= to` to `low ..= high`. A scale without extent puts everything at its low end.
    pub(crate) fn new(from: i128, to: i128, low: i64, high: i64) -> Scale {
        Scale { from: from.min(to), to: to.max(from), low, high }
    }

    /// The coordinate of a number, to the nearest whole one. What lies far outside the scale lies at some far place.
    pub(crate) fn at(&self, value: i128) -> i64 {
        let span = self.to - self.from;
        if span == 0 {
            return self.low;
        }
        let along = (value - self.from) * i128::from(self.high - self.low) * 2;
        let nearest = (along + span).div_euclid(2 * span);
        (i128::from(self.low) + nearest).clamp(-FAR, FAR) as i64
    }

    /// How many coordinates stand for how much.
    pub(crate) fn extent(&self) -> (i128, i128) {
        ((self.high - self.low).abs().into(), self.to - self.from)
    }

    /// Round numbers within the scale, at most about `most` of them.
    pub(crate) fn ticks(&self, most: i128) -> Vec<i128> {
        let span = self.to - self.from;
        if span <= 0 {
            return vec![self.from];
        }
        let mut step: i128 = 1;
        'found: loop {
            for factor in [1, 2, 5] {
                if span / (step * factor) <= most {
                    step *= factor;
                    break 'found;
                }
            }
            step *= 10;
        }
        let first = self.from.div_euclid(step) + i128::from(self.from.rem_euclid(step) > 0);
        (first..).map(|n| n * step).take_while(|tick| *tick <= self.to).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ends_and_middle_lie_where_they_must() {
        let scale = Scale::new(0, 7_200_000_000, 120, 980);
        assert_eq!((scale.at(0), scale.at(3_600_000_000), scale.at(7_200_000_000)), (120, 550, 980));
        // Upside down, as heights on a screen are.
        let down = Scale::new(-50, 0, 200, 100);
        assert_eq!((down.at(-50), down.at(0), down.at(-25)), (200, 100, 150));
        assert_eq!(Scale::new(5, 5, 1, 9).at(5), 1);
        assert_eq!(Scale::new(0, 1, 0, 900).at(i128::from(i64::MIN)), -100_000);
    }

    #[test]
    fn its_extent_has_no_direction() {
        assert_eq!(Scale::new(-50, 150, 318, 62).extent(), (256, 200));
    }

    #[test]
    fn ticks_are_round_and_few() {
        assert_eq!(Scale::new(0, 7200, 0, 1).ticks(8), [0, 1000, 2000, 3000, 4000, 5000, 6000, 7000]);
        assert_eq!(Scale::new(-70, 3, 0, 1).ticks(8), [-70, -60, -50, -40, -30, -20, -10, 0]);
        assert!(Scale::new(0, i128::from(i64::MAX), 0, 1).ticks(10).len() <= 11);
    }
}
