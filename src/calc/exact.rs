//! Exact numbers for lengths: rationals for interpolation and hulls, square roots of two for grooves at 45°.
//!
//! A length that is compared with a limit must not pass through a binary float. Sums of nanometres are whole, but a
//! value between two stations is a quotient and a groove offset carries √2; both are kept exact here and rounded only
//! when asked for, away from zero or up, so that rounding never makes a bad value look good.

use std::cmp::Ordering;

/// The greatest magnitude of any length taken in by `calc`, in nm (ten kilometres).
///
/// Products of three such lengths would not fit; every constructor that multiplies refuses longer ones.
pub(crate) const MOST_LENGTH_NM: i64 = 10_000_000_000_000;

/// A length beyond [`MOST_LENGTH_NM`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("a length of {nm} nm is beyond ten kilometres")]
pub struct LengthError {
    /// The refused length in nm.
    pub nm: i64,
}

/// Passes a length on when it is within [`MOST_LENGTH_NM`].
pub(crate) fn in_range(nm: i64) -> Result<i64, LengthError> {
    if nm.unsigned_abs() <= MOST_LENGTH_NM.unsigned_abs() { Ok(nm) } else { Err(LengthError { nm }) }
}

/// An exact quotient in lowest terms; the denominator is positive.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Ratio {
    num: i128,
    den: i128,
}

impl Ratio {
    /// The quotient `num / den`; `None` when `den` is 0 or a sign cannot be turned.
    #[inline]
    pub fn new(num: i128, den: i128) -> Option<Self> {
        // Most numbers are whole.
        if den == 1 { Some(Self::whole(num)) } else { Self::reduced(num, den) }
    }

    fn reduced(num: i128, den: i128) -> Option<Self> {
        if den == 0 {
            return None;
        }
        let divisor = i128::try_from(gcd(num.unsigned_abs(), den.unsigned_abs())).ok()?;
        let (num, den) = (num / divisor, den / divisor);
        if den < 0 { Some(Self { num: num.checked_neg()?, den: den.checked_neg()? }) } else { Some(Self { num, den }) }
    }

    /// A whole number.
    #[inline]
    pub const fn whole(value: i128) -> Self {
        Self { num: value, den: 1 }
    }

    /// Numerator in lowest terms.
    #[inline]
    pub const fn numerator(self) -> i128 {
        self.num
    }

    /// Denominator in lowest terms, positive.
    #[inline]
    pub const fn denominator(self) -> i128 {
        self.den
    }

    /// The greatest whole number not above the value, and what is left over it in parts of the denominator.
    #[inline]
    fn split(self) -> (i128, i128) {
        if self.den == 1 {
            return (self.num, 0);
        }
        // What fits a machine word is divided there, many times faster.
        match (i64::try_from(self.num), i64::try_from(self.den)) {
            (Ok(num), Ok(den)) => (num.div_euclid(den).into(), num.rem_euclid(den).into()),
            _ => (self.num.div_euclid(self.den), self.num.rem_euclid(self.den)),
        }
    }

    /// The greatest whole number not above the value.
    #[inline]
    pub fn floor(self) -> i128 {
        self.split().0
    }

    /// The least whole number not below the value.
    #[inline]
    pub fn ceil(self) -> i128 {
        let (down, rest) = self.split();
        if rest == 0 { down } else { down + 1 }
    }

    /// The whole number next to the value on the side away from zero.
    #[inline]
    pub fn away_from_zero(self) -> i128 {
        if self.num < 0 { self.floor() } else { self.ceil() }
    }

    /// The magnitude.
    #[inline]
    pub const fn abs(self) -> Self {
        Self { num: if self.num < 0 { -self.num } else { self.num }, den: self.den }
    }

    /// The difference; `None` when it does not fit.
    #[inline]
    pub fn minus(self, other: Self) -> Option<Self> {
        if self.den == other.den {
            return Self::new(self.num.checked_sub(other.num)?, self.den);
        }
        let left = self.num.checked_mul(other.den)?;
        let right = other.num.checked_mul(self.den)?;
        Self::new(left.checked_sub(right)?, self.den.checked_mul(other.den)?)
    }

    /// The sum; `None` when it does not fit.
    pub fn plus(self, other: Self) -> Option<Self> {
        self.minus(Self { num: other.num.checked_neg()?, den: other.den })
    }

    /// The product; `None` when it does not fit.
    pub fn times(self, other: Self) -> Option<Self> {
        Self::new(self.num.checked_mul(other.num)?, self.den.checked_mul(other.den)?)
    }

    /// One of so many equal parts.
    pub fn over(self, parts: i128) -> Option<Self> {
        Self::new(self.num, self.den.checked_mul(parts)?)
    }

    /// The nearest `f64`, for display and fits.
    pub fn to_f64(self) -> f64 {
        // Whole part and remainder apart: the quotient of two rounded 128-bit numbers would lose digits.
        let (whole, rest) = self.split();
        whole as f64 + rest as f64 / self.den as f64
    }
}

impl Ord for Ratio {
    #[inline]
    fn cmp(&self, other: &Self) -> Ordering {
        if self.den == other.den { self.num.cmp(&other.num) } else { self.cmp_unlike(other) }
    }
}

impl Ratio {
    /// Compares quotients of unlike denominators.
    fn cmp_unlike(&self, other: &Self) -> Ordering {
        // Compare whole parts, then the reciprocals of the remainders: no product, hence no overflow.
        let (mut a, mut b) = (*self, *other);
        loop {
            let ((floor_a, rest_a), (floor_b, rest_b)) = (a.split(), b.split());
            match floor_a.cmp(&floor_b) {
                Ordering::Equal => {}
                unequal => return unequal,
            }
            match (rest_a, rest_b) {
                (0, 0) => return Ordering::Equal,
                (0, _) => return Ordering::Less,
                (_, 0) => return Ordering::Greater,
                _ => (a, b) = (Self { num: b.den, den: rest_b }, Self { num: a.den, den: rest_a }),
            }
        }
    }
}

impl PartialOrd for Ratio {
    #[inline]
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

/// A length of the form quarters / 4 · √2ⁿ nm with n = −1, 0 or 1: what four groove readings at 45° give.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) struct Surd {
    quarters: i128,
    power: i8,
}

impl Surd {
    /// `quarters / 4 · √2^power` nm; the power is −1, 0 or 1.
    pub(crate) const fn new(quarters: i128, power: i8) -> Self {
        debug_assert!(power >= -1 && power <= 1);
        Self { quarters, power }
    }

    /// The sign: −1, 0 or 1.
    pub(crate) const fn signum(self) -> i32 {
        self.quarters.signum() as i32
    }

    /// The value turned round.
    pub(crate) const fn negated(self) -> Self {
        Self { quarters: -self.quarters, power: self.power }
    }

    /// The magnitude.
    pub(crate) const fn abs(self) -> Self {
        Self { quarters: self.quarters.abs(), power: self.power }
    }

    /// √2 times the value; only for values not yet multiplied.
    pub(crate) const fn times_root_two(self) -> Self {
        Self::new(self.quarters, self.power + 1)
    }

    /// The sum of two values that carry the same root.
    pub(crate) const fn plus(self, other: Self) -> Self {
        debug_assert!(self.power == other.power);
        Self { quarters: self.quarters + other.quarters, power: self.power }
    }

    /// Thirty-two times the square, which is whole.
    pub(crate) const fn square_32(self) -> u128 {
        let q = self.quarters.unsigned_abs();
        (q * q) << (self.power + 1)
    }

    /// Compares the magnitude with a limit in nm, exactly. A negative limit is below every magnitude.
    pub(crate) fn cmp_magnitude(self, limit_nm: i64) -> Ordering {
        if limit_nm < 0 {
            return Ordering::Greater;
        }
        let limit = u128::from(limit_nm.unsigned_abs());
        self.square_32().cmp(&limit.saturating_mul(limit).saturating_mul(32))
    }

    /// The value in whole nm, rounded away from zero.
    pub(crate) fn away_from_zero_nm(self) -> i64 {
        let magnitude = ceil_sqrt(self.square_32().div_ceil(32));
        let magnitude = i64::try_from(magnitude).unwrap_or(i64::MAX);
        if self.quarters < 0 { -magnitude } else { magnitude }
    }

    /// The nearest `f64` in nm, for display and causes.
    pub(crate) fn to_f64(self) -> f64 {
        let root = match self.power {
            -1 => std::f64::consts::FRAC_1_SQRT_2,
            0 => 1.0,
            _ => std::f64::consts::SQRT_2,
        };
        self.quarters as f64 / 4.0 * root
    }
}

/// Whether a number is a multiple of another, which is not 0.
pub(crate) fn is_multiple(value: i128, of: i128) -> bool {
    // Torques are counted in tiny units: without the twos that both have in them they mostly fit a machine word, where
    // division is many times faster.
    let twos = of.trailing_zeros();
    match (i64::try_from(value >> twos), i64::try_from(of >> twos)) {
        (Ok(rest), Ok(of)) => value.trailing_zeros() >= twos && rest % of == 0,
        _ => value % of == 0,
    }
}

/// The least whole number whose square is not below `square`.
pub(crate) fn ceil_sqrt(square: u128) -> u128 {
    // What fits a machine word is faster there.
    let root = u64::try_from(square).map_or_else(|_| square.isqrt(), |square| square.isqrt().into());
    if root * root == square { root } else { root + 1 }
}

/// The greatest common divisor; gcd(0, b) = b.
pub(crate) fn gcd(mut a: u128, mut b: u128) -> u128 {
    while b != 0 {
        // What fits a machine word is divided there, many times faster.
        if let (Ok(a), Ok(b)) = (u64::try_from(a), u64::try_from(b)) {
            return gcd_of_words(a, b).into();
        }
        (a, b) = (b, a % b);
    }
    a
}

fn gcd_of_words(mut a: u64, mut b: u64) -> u64 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quotients_order_like_their_cross_products() {
        let values = [(-7, 3), (-2, 1), (-1, 3), (0, 5), (1, 3), (33, 100), (1, 2), (7, 3), (5, 2)];
        for (a, b) in values {
            for (c, d) in values {
                let (left, right) = (Ratio::new(a, b).unwrap(), Ratio::new(c, d).unwrap());
                assert_eq!(left.cmp(&right), (a * d).cmp(&(c * b)), "{a}/{b} against {c}/{d}");
            }
        }
        let near = Ratio::new(i128::MAX - 1, i128::MAX).unwrap();
        assert!(near < Ratio::whole(1) && near > Ratio::new(1, 2).unwrap());
    }

    #[test]
    fn multiples_are_told_as_division_tells_them() {
        let unit = 10i128.pow(18);
        for of in [1, 2, 3, 5, 8, unit / 10, unit / 100, 7 * unit, -unit, i128::MAX] {
            for value in [0, 1, -1, 4, 15, -24, unit, -unit, 21 * unit, 213 * unit / 10, 2135 * unit / 100, i128::MAX] {
                for value in [value, value.saturating_add(1)] {
                    assert_eq!(is_multiple(value, of), value % of == 0, "{value} of {of}");
                }
            }
        }
    }

    #[test]
    fn rounding_goes_up_and_outward() {
        let third = Ratio::new(-1, 3).unwrap();
        assert_eq!((third.floor(), third.ceil(), third.away_from_zero()), (-1, 0, -1));
        assert_eq!(Ratio::new(6, -4), Ratio::new(-3, 2));
        assert_eq!(Ratio::new(1, 0), None);
    }

    #[test]
    fn surds_compare_with_a_limit_exactly() {
        // 28.285 / √2 = 20.0005… and 28.284 / √2 = 19.9998…: the limit of 20 µm lies between them.
        assert_eq!(Surd::new(4 * 28_284, -1).cmp_magnitude(20_000), Ordering::Less);
        assert_eq!(Surd::new(-4 * 28_285, -1).cmp_magnitude(20_000), Ordering::Greater);
        assert_eq!(Surd::new(4 * 20_000, 0).cmp_magnitude(20_000), Ordering::Equal);
        for power in [-1, 0, 1] {
            assert_eq!(Surd::new(0, power).cmp_magnitude(0), Ordering::Equal);
            assert_eq!(Surd::new(0, power).cmp_magnitude(-1), Ordering::Greater);
            assert_eq!(Surd::new(0, power).cmp_magnitude(1), Ordering::Less);
        }
        assert_eq!(Surd::new(-4 * 28_285, -1).away_from_zero_nm(), -20_001);
        assert_eq!(Surd::new(1, 0).away_from_zero_nm(), 1);
        assert_eq!(Surd::new(0, 1).away_from_zero_nm(), 0);
    }
}
