//! How sure a measured value is, and whether that suffices to call it inside its limits.
//!
//! Variances are kept as whole twelfths of a squared unit, in which a permissible error ±E (variance E²/3) and a
//! graduation d (variance d²/12, GUM F.2.2.1) are both whole. So the expanded uncertainty is the root of a whole
//! number and is rounded up exactly; verdicts compare whole numbers only. The unit is that of the inputs: nanometres for
//! lengths, any whole small unit for torques.

use super::exact::ceil_sqrt;

/// The variance of a measured value, in twelfths of its squared unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Variance {
    twelfths: u128,
}

impl Variance {
    /// No uncertainty at all.
    pub const ZERO: Self = Self { twelfths: 0 };

    /// An error known only to lie within ±`permissible`: permissible²/3 (GUM 4.3.7).
    pub fn permissible_error(permissible: i64) -> Self {
        Self { twelfths: square(permissible).saturating_mul(4) }
    }

    /// One reading off a scale with this graduation: d²/12, that is a standard uncertainty of d/(2√3) (GUM F.2.2.1).
    pub fn resolution(graduation: i64) -> Self {
        Self { twelfths: square(graduation) }
    }

    /// A standard uncertainty found otherwise, for instance from repeats; rounded up. Not finite: the greatest value.
    pub fn standard(uncertainty: f64) -> Self {
        let twelfths = (uncertainty * uncertainty * 12.0 * (1.0 + 4.0 * f64::EPSILON)).ceil();
        // Casting saturates; a value that is no number must not pass as certainty.
        Self { twelfths: if twelfths.is_nan() { u128::MAX } else { twelfths as u128 } }
    }

    /// The variance of the sum or difference of two independent values.
    #[must_use]
    pub const fn and(self, other: Self) -> Self {
        Self { twelfths: self.twelfths.saturating_add(other.twelfths) }
    }

    /// A single reading: the instrument's permissible error and one resolution.
    pub fn reading(permissible: i64, graduation: i64) -> Self {
        Self::permissible_error(permissible).and(Self::resolution(graduation))
    }

    /// A step: the difference of two readings a short travel apart. The gauge's local error enters once, since both
    /// readings share the rest of the range; the resolution enters twice.
    pub fn step(local_error: i64, graduation: i64) -> Self {
        Self::permissible_error(local_error).and(Self::resolution(graduation)).and(Self::resolution(graduation))
    }

    /// The standard uncertainty u, for display and probabilities.
    pub fn standard_uncertainty(self) -> f64 {
        (self.twelfths as f64 / 12.0).sqrt()
    }

    /// The expanded uncertainty U = 2u (GUM 6.2, coverage about 95 %), rounded up to a whole unit.
    pub fn expanded(self) -> i64 {
        // U² = 4 · twelfths / 12
        i64::try_from(ceil_sqrt(self.twelfths.div_ceil(3))).unwrap_or(i64::MAX)
    }
}

fn square(value: i64) -> u128 {
    let magnitude = u128::from(value.unsigned_abs());
    magnitude * magnitude
}

/// What the width of a guard band rests on; printed with every verdict.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum GuardBasis {
    /// w = 0, simple acceptance: up to 50 % false acceptance (ILAC-G8:09/2019).
    None,
    /// w = U, under 2.5 % false acceptance (ILAC-G8:09/2019, ISO 14253-1).
    Expanded,
    /// A width that the rulebook states.
    Stated,
}

/// A guard band: how far inside a limit a value must lie to be proven.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct GuardBand {
    width: i64,
    basis: GuardBasis,
}

impl GuardBand {
    /// No guard band.
    pub const NONE: Self = Self { width: 0, basis: GuardBasis::None };

    /// The expanded uncertainty as guard band.
    pub fn expanded(variance: Variance) -> Self {
        Self { width: variance.expanded(), basis: GuardBasis::Expanded }
    }

    /// A stated width; a negative one counts as none at all.
    pub fn stated(width: i64) -> Self {
        Self { width: width.max(0), basis: GuardBasis::Stated }
    }

    /// The width w in the unit of the value.
    pub const fn width(self) -> i64 {
        self.width
    }

    /// What it rests on.
    pub const fn basis(self) -> GuardBasis {
        self.basis
    }
}

/// Limits of a value; either may be absent, both belong to the inside.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Limits {
    /// The least value allowed.
    pub least: Option<i64>,
    /// The greatest value allowed.
    pub most: Option<i64>,
}

impl Limits {
    /// At most so much.
    pub const fn at_most(most: i64) -> Self {
        Self { least: None, most: Some(most) }
    }

    /// Both limits.
    pub const fn between(least: i64, most: i64) -> Self {
        Self { least: Some(least), most: Some(most) }
    }

    /// Whether the value lies inside by the plain limits.
    pub fn hold(self, value: i64) -> bool {
        self.least.is_none_or(|least| value >= least) && self.most.is_none_or(|most| value <= most)
    }
}

/// What a measured value proves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Proof {
    /// Inside its limits by at least the guard band.
    Inside,
    /// Beyond a limit by more than the guard band.
    Outside,
    /// Too near to a limit to tell.
    Undecided,
}

/// A verdict by the plain limits and what is proven.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Verdict {
    /// The plain limits hold.
    pub inside: bool,
    /// What is proven with the guard band (ISO 14253-1).
    pub proof: Proof,
}

/// Judges a value against limits with a guard band; all in one unit, exact.
pub fn judge(value: i64, limits: Limits, guard: GuardBand) -> Verdict {
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
    Verdict { inside: limits.hold(value), proof }
}

/// The probability that the true value conforms, given the measured one and its standard uncertainty (JCGM 106, 7).
///
/// Normal distribution, no prior knowledge. All in one unit. With u = 0 it is 1 or 0.
pub fn conformity_probability(value: f64, standard_uncertainty: f64, least: Option<f64>, most: Option<f64>) -> f64 {
    if standard_uncertainty <= 0.0 {
        let inside = least.is_none_or(|least| value >= least) && most.is_none_or(|most| value <= most);
        return if inside { 1.0 } else { 0.0 };
    }
    let below = most.map_or(1.0, |most| normal_cdf((most - value) / standard_uncertainty));
    let under = least.map_or(0.0, |least| normal_cdf((least - value) / standard_uncertainty));
    (below - under).max(0.0)
}

/// Φ(z), the standard normal distribution function, to about 14 digits.
pub fn normal_cdf(z: f64) -> f64 {
    let x = z.abs() / std::f64::consts::SQRT_2;
    let tail = if x < 2.5 { 0.5 - 0.5 * erf_series(x) } else { 0.5 * erfc_fraction(x) };
    if z < 0.0 { tail } else { 1.0 - tail }
}

/// erf x = 2/√π · e^(−x²) · Σ 2ⁿ x^(2n+1) / (1·3·…·(2n+1)): only positive terms, so nothing cancels.
fn erf_series(x: f64) -> f64 {
    let (mut term, mut sum, mut odd) = (x, x, 1.0);
    while term > sum * f64::EPSILON / 8.0 {
        odd += 2.0;
        term *= 2.0 * x * x / odd;
        sum += term;
    }
    std::f64::consts::FRAC_2_SQRT_PI * (-x * x).exp() * sum
}

/// erfc x = e^(−x²)/√π · 1/(x + ½/(x + 1/(x + 1½/(x + …)))), worked from the inside out.
fn erfc_fraction(x: f64) -> f64 {
    let inner = (1..=120).rev().fold(x, |inner, n| x + f64::from(n) / 2.0 / inner);
    (-x * x).exp() * std::f64::consts::FRAC_2_SQRT_PI / 2.0 / inner
}

/// The greatest permissible relative deviation of a torque wrench in parts per million, by the greatest torque it is made
/// for: ±6 % up to 10 N·m, ±4 % above (ISO 6789-1, class A). Torque in any unit of which `ten_newton_metres` make 10 N·m.
pub const fn wrench_deviation_ppm(greatest_torque: i64, ten_newton_metres: i64) -> i64 {
    if greatest_torque > ten_newton_metres { 40_000 } else { 60_000 }
}

/// The readings (or settings) that prove a torque inside `least ..= most` with a wrench that may deviate by ±`ppm`.
///
/// The true torque lies within reading · (1 ± p), so the reading must be in least/(1 − p) … most/(1 + p); rounded
/// inward to whole units. `None` when no reading proves it, or when p is not between 0 and 1.
pub fn provable_torque(least: i64, most: i64, ppm: i64) -> Option<(i64, i64)> {
    const WHOLE: i128 = 1_000_000;
    let p = i128::from(ppm);
    if !(0..WHOLE).contains(&p) || least < 0 {
        return None;
    }
    let low = (i128::from(least) * WHOLE + (WHOLE - p) - 1).div_euclid(WHOLE - p);
    let high = (i128::from(most) * WHOLE).div_euclid(WHOLE + p);
    (low <= high).then_some((i64::try_from(low).ok()?, i64::try_from(high).ok()?))
}

/// Default errors of a dial indicator with 0.01 mm graduation, in nm.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct DialIndicatorErrors {
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
pub const fn dial_indicator_errors(range_nm: i64) -> Option<DialIndicatorErrors> {
    let whole_range_nm = match range_nm {
        1..=1_000_000 => 8_000,
        1_000_001..=3_000_000 => 10_000,
        3_000_001..=5_000_000 => 12_000,
        5_000_001..=10_000_000 => 15_000,
        _ => return None,
    };
    Some(DialIndicatorErrors { whole_range_nm, local_nm: 5_000, repeatability_nm: 3_000, retrace_nm: 3_000 })
}
