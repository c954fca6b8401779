//! One survey tied to an earlier one of the same line by the stations that both read.
//!
//! Two surveys differ by more than what moved: the gauge was set to zero anew, or the line of sight was laid anew. What the
//! method leaves free, an offset or a straight line, is fitted by least squares to the changes at the stations that did
//! not move, and taken off the later survey. All in whole numbers: positions in parts of their common measure.

use super::exact::{Ratio, gcd};

/// What a method leaves free between two surveys.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) enum Free {
    /// Where its zero lies.
    Offset,
    /// Where its zero lies and which way its line runs.
    Line,
}

impl Free {
    /// How many numbers are fitted.
    pub(crate) const fn parameters(self) -> usize {
        match self {
            Self::Offset => 1,
            Self::Line => 2,
        }
    }
}

/// A station that both surveys read and that did not move between them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Shared {
    /// Along the axis, in nm.
    pub position_nm: i64,
    /// Later minus earlier, in nm.
    pub change: Ratio,
}

/// Values of finer parts than this are rounded to [`PARTS`]: products of whatever is left always fit.
const MOST_PARTS: i128 = 1_000_000;

/// To a picometre.
const PARTS: i128 = 1000;

/// A value as it is; to the nearest picometre where its parts are very fine, as after many fits on top of each other.
pub(crate) fn fine(value: Ratio) -> Option<Ratio> {
    if value.denominator() <= MOST_PARTS {
        return Some(value);
    }
    Ratio::new(in_parts(value, PARTS)?, PARTS)
}

/// The nearest whole number of parts.
fn in_parts(value: Ratio, parts: i128) -> Option<i128> {
    let doubled = Ratio::new(value.numerator().checked_mul(2 * parts)?, value.denominator())?;
    Some((doubled.floor() + 1).div_euclid(2))
}

/// The change that the method brought in, as fitted to the shared stations.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Fit {
    free: Free,
    /// Positions are counted from here, in units of so many nm.
    origin: i128,
    unit: i128,
    count: i128,
    /// Sums of the positions and of their squares.
    sum: i128,
    squares: i128,
    /// The change at the origin and its growth with the position, both by so many parts of a nm.
    level: i128,
    growth: i128,
    parts: i128,
}

impl Fit {
    /// Least squares over the shared stations. Nothing where there are fewer than parameters, or numbers too great.
    pub(crate) fn new(free: Free, shared: &[Shared]) -> Option<Fit> {
        let origin = i128::from(shared.first()?.position_nm);
        let along = |it: &Shared| i128::from(it.position_nm) - origin;
        let unit = shared.iter().fold(0, |unit, it| gcd(unit, along(it).unsigned_abs()));
        let unit = i128::try_from(unit.max(1)).ok()?;
        let parts = common_parts(shared);
        let (mut sum, mut squares, mut changes, mut products) = (0i128, 0i128, 0i128, 0i128);
        for it in shared {
            let (at, change) = (along(it) / unit, in_parts(it.change, parts)?);
            sum = sum.checked_add(at)?;
            squares = squares.checked_add(at.checked_mul(at)?)?;
            changes = changes.checked_add(change)?;
            products = products.checked_add(at.checked_mul(change)?)?;
        }
        let count = i128::try_from(shared.len()).ok()?;
        let fit = |level, growth, determinant: i128| {
            let parts = parts.checked_mul(determinant)?;
            Some(Fit { free, origin, unit, count, sum, squares, level, growth, parts })
        };
        match free {
            Free::Offset => fit(changes, 0, count),
            Free::Line => {
                let less = |a: i128, b: i128, c: i128, d: i128| a.checked_mul(b)?.checked_sub(c.checked_mul(d)?);
                let determinant = less(count, squares, sum, sum)?;
                if determinant == 0 {
                    return None;
                }
                fit(less(changes, squares, sum, products)?, less(count, products, sum, changes)?, determinant)
            }
        }
    }

    /// What was left free.
    pub(crate) const fn free(&self) -> Free {
        self.free
    }

    /// The change that the method brought in at a place, in nm.
    pub(crate) fn at(&self, position_nm: i64) -> Option<Ratio> {
        let along = i128::from(position_nm) - self.origin;
        let change = self.level.checked_mul(self.unit)?.checked_add(self.growth.checked_mul(along)?)?;
        Ratio::new(change, self.parts.checked_mul(self.unit)?)
    }

    /// What the fitted change at a place has of the variance of the change at one station (its leverage): 1/n for an
    /// offset, 1/n + (x − x̄)²/Σ(xᵢ − x̄)² for a line.
    pub(crate) fn leverage(&self, position_nm: i64) -> Option<Ratio> {
        let Free::Line = self.free else { return Ratio::new(1, self.count) };
        // With t in units of the positions: (Σt² − 2 t Σt + n t²) / (n Σt² − (Σt)²).
        let along = i128::from(position_nm) - self.origin;
        let ends = self.squares.checked_mul(self.unit)?.checked_mul(self.unit)?;
        let middle = along.checked_mul(self.sum)?.checked_mul(self.unit)?.checked_mul(2)?;
        let square = along.checked_mul(along)?.checked_mul(self.count)?;
        let determinant = self.count.checked_mul(self.squares)?.checked_sub(self.sum.checked_mul(self.sum)?)?;
        let whole = determinant.checked_mul(self.unit)?.checked_mul(self.unit)?;
        Ratio::new(ends.checked_sub(middle)?.checked_add(square)?, whole)
    }
}

/// In how many parts of a nm all changes are whole; picometres where that are very many.
fn common_parts(shared: &[Shared]) -> i128 {
    let common = shared.iter().try_fold(1i128, |common, it| {
        let own = it.change.denominator();
        let gcd = i128::try_from(gcd(common.unsigned_abs(), own.unsigned_abs())).ok()?;
        common.checked_mul(own / gcd).filter(|common| *common <= MOST_PARTS)
    });
    common.unwrap_or(PARTS)
}
