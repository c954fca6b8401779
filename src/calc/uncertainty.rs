//! How sure a measured value is, and whether that suffices to call it inside its limits.
//!
//! Variances are kept as whole twelfths of a squared unit, in which a permissible error ±E (variance E²/3) and a
//! graduation d (variance d²/12, GUM F.2.2.1) are both whole. So the expanded uncertainty is the root of a whole
//! number and is rounded up exactly; verdicts compare whole numbers only. The unit is that of the inputs: nanometres for
//! lengths, any whole small unit for forces.
//!
//! Repeats narrow the scatter alone: what an instrument is off by, and how far apart its marks are, no mean takes away.

use super::coverage::{coverage_thousandths, effective_degrees};
use super::exact::{Ratio, ceil_sqrt};

/// The variance of a measured value, in twelfths of its squared unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub(crate) struct Variance {
    twelfths: u128,
}

impl Variance {
    /// An error known only to lie within ±`permissible`: permissible²/3 (GUM 4.3.7).
    pub(crate) fn permissible_error(permissible: i64) -> Self {
        Self { twelfths: square(permissible).saturating_mul(4) }
    }

    /// One reading off a scale with this graduation: d²/12, that is a standard uncertainty of d/(2√3) (GUM F.2.2.1).
    pub(crate) fn resolution(graduation: i64) -> Self {
        Self { twelfths: square(graduation) }
    }

    /// The variance of the sum or difference of two independent values.
    #[must_use]
    pub(crate) const fn and(self, other: Self) -> Self {
        Self { twelfths: self.twelfths.saturating_add(other.twelfths) }
    }

    /// The variance of the mean of so many values of this variance, rounded up.
    #[must_use]
    pub(crate) fn of_mean(self, count: usize) -> Self {
        Self { twelfths: self.twelfths.div_ceil(count.max(1) as u128) }
    }

    /// The variance of so many times the value, rounded up.
    #[must_use]
    pub(crate) fn weighed(self, factor: f64) -> Self {
        // A float inside a fit: rounded outward.
        Self { twelfths: (self.twelfths as f64 * factor * factor * (1.0 + 1e-12)).ceil() as u128 }
    }

    /// That of repeats: the sum of their squared deviations from their means by its degrees of freedom, rounded up.
    pub(crate) fn of_repeats(squares: u128, degrees: u32) -> Self {
        Self { twelfths: squares.saturating_mul(12).div_ceil(u128::from(degrees.max(1))) }
    }

    /// So many times the variance, a share of it too; rounded up.
    #[must_use]
    pub(crate) fn times(self, share: Ratio) -> Self {
        let (num, den) = (share.numerator().max(0).unsigned_abs(), share.denominator().unsigned_abs());
        match self.twelfths.checked_mul(num) {
            Some(all) => Self { twelfths: all.div_ceil(den) },
            // Very great numbers: rounded up the sooner.
            None => Self { twelfths: (self.twelfths / den).saturating_add(1).saturating_mul(num) },
        }
    }

    /// A stated standard deviation.
    pub(crate) fn of_deviation(deviation: i64) -> Self {
        Self { twelfths: square(deviation).saturating_mul(12) }
    }

    /// The standard uncertainty u, for display and probabilities.
    pub(crate) fn standard_uncertainty(self) -> f64 {
        (self.twelfths as f64 / 12.0).sqrt()
    }
}

/// How sure a measured value is: what is known well, and what was estimated from repeats, with how many degrees of freedom.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct Uncertainty {
    known: Variance,
    estimated: Variance,
    /// Of the estimated part.
    degrees: u32,
}

impl Uncertainty {
    /// All of it is known well.
    pub(crate) const fn known(variance: Variance) -> Self {
        Self { known: variance, estimated: Variance { twelfths: 0 }, degrees: 0 }
    }

    /// All of it was estimated, with so many degrees of freedom.
    pub(crate) const fn estimated(variance: Variance, degrees: u32) -> Self {
        Self { known: Variance { twelfths: 0 }, estimated: variance, degrees }
    }

    /// That of the sum or difference of two values whose estimates come from different repeats.
    #[must_use]
    pub(crate) fn and(self, other: Self) -> Self {
        let estimated = self.estimated.and(other.estimated);
        let parts = [(self.estimated.twelfths, self.degrees), (other.estimated.twelfths, other.degrees)];
        Self { known: self.known.and(other.known), estimated, degrees: effective_degrees(estimated.twelfths, parts) }
    }

    /// The same where both rest on one estimate.
    #[must_use]
    pub(crate) fn and_alike(self, other: Self) -> Self {
        let degrees = self.degrees.max(other.degrees);
        Self { known: self.known.and(other.known), estimated: self.estimated.and(other.estimated), degrees }
    }

    /// That of so many times the value.
    #[must_use]
    pub(crate) fn weighed(self, factor: f64) -> Self {
        let estimated = self.estimated.weighed(factor);
        Self { known: self.known.weighed(factor), estimated, degrees: self.degrees }
    }

    /// That of so many times the variance, a share of it too.
    #[must_use]
    pub(crate) fn times(self, share: Ratio) -> Self {
        Self { known: self.known.times(share), estimated: self.estimated.times(share), degrees: self.degrees }
    }

    /// All of it together.
    pub(crate) const fn variance(self) -> Variance {
        self.known.and(self.estimated)
    }

    /// Its effective degrees of freedom.
    pub(crate) fn degrees(self) -> u32 {
        effective_degrees(self.variance().twelfths, [(self.estimated.twelfths, self.degrees)])
    }

    /// The coverage factor k in thousandths.
    pub(crate) fn coverage_thousandths(self) -> u32 {
        coverage_thousandths(self.degrees())
    }

    /// The expanded uncertainty U = k u, coverage about 95 % (GUM G.6.4), rounded up to a whole unit.
    pub(crate) fn expanded(self) -> i64 {
        let k = u128::from(self.coverage_thousandths());
        // U² = k² · twelfths / 12
        let square = self.variance().twelfths.checked_mul(k * k).map(|all| all.div_ceil(12_000_000));
        square.and_then(|square| i64::try_from(ceil_sqrt(square)).ok()).unwrap_or(i64::MAX)
    }
}

fn square(value: i64) -> u128 {
    let magnitude = u128::from(value.unsigned_abs());
    magnitude * magnitude
}

/// A guard band: how far inside a limit a value must lie to be proven.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) struct GuardBand {
    width: i64,
}

impl GuardBand {
    /// A stated width; a negative one counts as none at all.
    pub(crate) fn stated(width: i64) -> Self {
        Self { width: width.max(0) }
    }

    /// The width w in the unit of the value.
    pub(crate) const fn width(self) -> i64 {
        self.width
    }
}

/// Limits of a value; either may be absent, both belong to the inside.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) struct ValueLimits {
    /// The least value allowed.
    pub least: Option<i64>,
    /// The greatest value allowed.
    pub most: Option<i64>,
}

impl ValueLimits {
    /// At most so much.
    pub(crate) const fn at_most(most: i64) -> Self {
        Self { least: None, most: Some(most) }
    }

    /// Whether the value lies inside by the plain limits.
    pub(crate) fn hold(self, value: i64) -> bool {
        self.least.is_none_or(|least| value >= least) && self.most.is_none_or(|most| value <= most)
    }
}

/// What a measured value proves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) enum Proof {
    /// Inside its limits by at least the guard band.
    Inside,
    /// Beyond a limit by more than the guard band.
    Outside,
    /// Too near to a limit to tell.
    Undecided,
}

/// A verdict by the plain limits and what is proven.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) struct LimitVerdict {
    /// The plain limits hold.
    pub inside: bool,
    /// What is proven with the guard band (ISO 14253-1).
    pub proof: Proof,
}

/// Judges a value against limits with a guard band; all in one unit, exact.
pub(crate) fn judge(value: i64, limits: ValueLimits, guard: GuardBand) -> LimitVerdict {
    let (value_wide, w) = (i128::from(value), i128::from(guard.width));
    let least = limits.least.map(i128::from);
    let most = limits.most.map(i128::from);
    let proven_in = least.is_none_or(|least| value_wide >= least + w) && most.is_none_or(|most| value_wide <= most - w);
    let proven_out =
        least.is_some_and(|least| value_wide < least - w) || most.is_some_and(|most| value_wide > most + w);
    let proof = match (proven_in, proven_out) {
        (true, _) => Proof::Inside,
        (false, true) => Proof::Outside,
        (false, false) => Proof::Undecided,
    };
    LimitVerdict { inside: limits.hold(value), proof }
}

/// Default errors of a dial indicator with 0.01 mm graduation, in nm.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) struct DialIndicatorErrors {
    /// Over the whole range.
    pub whole_range_nm: i64,
    /// Over a short travel of a tenth of a revolution. From memory; the figure in use is 5 µm.
    pub local_nm: i64,
    /// Repeatability.
    pub repeatability_nm: i64,
    /// Retrace error.
    pub retrace_nm: i64,
}

/// Permissible errors of a 0.01 mm dial indicator by its measuring range in nm (JIS B 7503:2011; ISO 463 leaves the
/// numbers to the maker). `None` beyond 10 mm.
pub(crate) const fn dial_indicator_errors(range_nm: i64) -> Option<DialIndicatorErrors> {
    let whole_range_nm = match range_nm {
        1..=1_000_000 => 8_000,
        1_000_001..=3_000_000 => 10_000,
        3_000_001..=5_000_000 => 12_000,
        5_000_001..=10_000_000 => 15_000,
        _ => return None,
    };
    Some(DialIndicatorErrors { whole_range_nm, local_nm: 5_000, repeatability_nm: 3_000, retrace_nm: 3_000 })
}
