//! How far a block runs before it is worn out, and how safe it stands: rated life, reliability, the life of several together, static safety.
//!
//! ISO 14728-1 for linear ball bearings: the life that 90 % reach is basis · (C/P)³, or with the exponent 10/3 for rollers, with the rating C for a basis of
//! 100 km or, with some makers, 50 km. Loads are in N, lives in km.

use super::derivation::{Derivation, Origin, figures};

/// Why a life cannot be computed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub(crate) enum LifeError {
    /// A rating, load, basis or speed is not a positive number.
    #[error("the {what} must be a number above zero, and is {value}")]
    NotPositive {
        /// What was wrong.
        what: &'static str,
        /// The refused value.
        value: f64,
    },
    /// The shares of a load spectrum do not add up to the whole.
    #[error("the shares of the loads add up to {}, and should to 1", short(*.sum))]
    Shares {
        /// Their sum.
        sum: f64,
    },
    /// The edition has no factor for this reliability.
    #[error("there is no reliability factor for {percent} %: choose 90, 95, 96, 97, 98 or 99")]
    Reliability {
        /// The refused reliability.
        percent: u8,
    },
    /// The numbers are so far apart that the life cannot be written down.
    #[error("a rating of {rating_n} N and a load of {load_n} N give no finite life")]
    Unbounded {
        /// The dynamic rating.
        rating_n: f64,
        /// The load.
        load_n: f64,
    },
    /// The stroke does not go forward.
    #[error("a stroke from {from_mm} to {to_mm} mm goes nowhere")]
    Stroke {
        /// Its start.
        from_mm: f64,
        /// Its end.
        to_mm: f64,
    },
}

pub(super) fn positive(what: &'static str, value: f64) -> Result<f64, LifeError> {
    if value > 0.0 && value.is_finite() { Ok(value) } else { Err(LifeError::NotPositive { what, value }) }
}

/// Where the factors of reliability are from.
const RELIABILITY_TABLE: &str = "ISO 14728-1";

/// The share of blocks that reach the life, with its factor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Reliability {
    percent: u8,
    factor: f64,
}

impl Reliability {
    /// A reliability of 90 or 95 to 99 % by the table. Errors between and beyond: it does not say.
    pub(crate) fn new(percent: u8) -> Result<Self, LifeError> {
        let row = [0.62, 0.53, 0.44, 0.33, 0.21];
        let factor = match percent {
            90 => 1.0,
            95..=99 => row[usize::from(percent - 95)],
            _ => return Err(LifeError::Reliability { percent }),
        };
        Ok(Self { percent, factor })
    }
}

/// What rolls in a block.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) enum Rolling {
    #[default]
    Balls,
    Rollers,
}

impl Rolling {
    /// A row yields by δ under c·δ^t: t = 3/2 for balls (Hertz, point contact), 10/9 for rollers (Palmgren, line contact).
    pub(crate) const fn contact(self) -> f64 {
        match self {
            Self::Balls => 1.5,
            Self::Rollers => 10.0 / 9.0,
        }
    }

    /// Something to the exponent of contact.
    pub(crate) fn pressed(self, value: f64) -> f64 {
        match self {
            Self::Balls => value * value.sqrt(),
            Self::Rollers => value.powf(self.contact()),
        }
    }

    /// The exponent of life: 3 for balls, 10/3 for rollers (ISO 14728-1).
    pub(crate) const fn life(self) -> f64 {
        match self {
            Self::Balls => 3.0,
            Self::Rollers => 10.0 / 3.0,
        }
    }

    /// A load or ratio to the exponent of life.
    pub(crate) fn power(self, value: f64) -> f64 {
        match self {
            Self::Balls => value * value * value,
            Self::Rollers => value.powf(self.life()),
        }
    }

    /// The inverse of `power`.
    pub(crate) fn root(self, value: f64) -> f64 {
        match self {
            Self::Balls => value.cbrt(),
            Self::Rollers => value.powf(self.life().recip()),
        }
    }

    /// The exponent with which lives of parts add up to that of the whole: 10/9 for balls, 9/8 for rollers (ISO 281, Weibull
    /// slopes of point and line contact).
    pub(crate) const fn together(self) -> f64 {
        match self {
            Self::Balls => 10.0 / 9.0,
            Self::Rollers => 9.0 / 8.0,
        }
    }
}

/// A dynamic load rating with the distance it is for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Rating {
    dynamic_n: f64,
    basis_km: f64,
    rolling: Rolling,
}

impl Rating {
    /// A rating in N and its basis in km, 100 or 50 as a rule. Errors when either is not positive.
    pub(crate) fn new(dynamic_n: f64, basis_km: f64) -> Result<Self, LifeError> {
        Ok(Self {
            dynamic_n: positive("dynamic load rating", dynamic_n)?,
            basis_km: positive("basis of the rating", basis_km)?,
            rolling: Rolling::Balls,
        })
    }

    /// The same rating of a block that rolls on these.
    pub(crate) const fn on(self, rolling: Rolling) -> Self {
        Self { rolling, ..self }
    }

    /// The rating itself, in N.
    pub(crate) const fn dynamic_n(self) -> f64 {
        self.dynamic_n
    }

    /// The life that the given share of blocks reaches under a constant load in N: a · basis · (C/P)^p, p = 3 for balls and 10/3 for
    /// rollers (ISO 14728-1).
    ///
    /// Errors when the load is not positive (an unloaded block has no rated life) or the result is not finite.
    pub(crate) fn life(self, load_n: f64, reliability: Reliability) -> Result<Life, LifeError> {
        let ratio = self.dynamic_n / positive("load", load_n)?;
        let kilometres = reliability.factor * self.basis_km * self.rolling.power(ratio);
        if kilometres.is_finite() && kilometres > 0.0 {
            Ok(Life { kilometres })
        } else {
            Err(LifeError::Unbounded { rating_n: self.dynamic_n, load_n })
        }
    }

    /// Whether the load is more than half the rating for 100 km, beyond which the life formula is not to be trusted
    /// (makers' catalogues; the bound is from memory of ISO 14728-1).
    pub(crate) fn is_beyond_half(self, load_n: f64) -> bool {
        let at_100_km = self.dynamic_n * self.rolling.root(self.basis_km / 100.0);
        load_n > at_100_km / 2.0
    }
}

/// A life.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub(crate) struct Life {
    /// In km.
    pub kilometres: f64,
}

/// The life of parts together, in km: (Σ L^−w)^(−1/w) (ISO 281, systems of bearings). Nothing where no part wears.
pub(crate) fn together(lives: impl Iterator<Item = f64>, rolling: Rolling) -> Option<f64> {
    let exponent = rolling.together();
    let sum: f64 = lives.map(|life| life.powf(-exponent)).sum();
    (sum > 0.0).then(|| sum.powf(-exponent.recip()))
}

/// A share with no more digits than anybody writes.
fn short(share: f64) -> String {
    format!("{share:.6}").trim_end_matches('0').trim_end_matches('.').to_string()
}

/// Shares must add up to the whole, within what thirds written with a few digits leave.
pub(super) fn whole(sum: f64) -> Result<(), LifeError> {
    if (sum - 1.0).abs() <= 1e-6 { Ok(()) } else { Err(LifeError::Shares { sum }) }
}

/// Static safety C0/P0 of a block: static rating over the greatest load, both in N (ISO 14728-2). Errors when either is
/// not positive.
pub(crate) fn static_safety(static_rating_n: f64, greatest_load_n: f64) -> Result<f64, LifeError> {
    Ok(positive("static load rating", static_rating_n)? / positive("greatest load", greatest_load_n)?)
}

/// Where the facts of a life were written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct LifeOrigins<P> {
    /// The dynamic rating.
    pub rating: Origin<P>,
    /// Its basis.
    pub basis: Origin<P>,
    /// The load.
    pub load: Origin<P>,
    /// The reliability asked for.
    pub reliability: Origin<P>,
}

/// How a rated life comes about. Errors as [`Rating::life`].
pub(crate) fn derive_life<P>(
    rating: Rating,
    load_n: f64,
    reliability: Reliability,
    at: LifeOrigins<P>,
) -> Result<Derivation<P>, LifeError> {
    let life = rating.life(load_n, reliability)?;
    let factor_source = Origin::Standard(RELIABILITY_TABLE);
    let (formula, power) = match rating.rolling {
        Rolling::Balls => ("L = a · basis · (C/P)³", "(C/P)³"),
        Rolling::Rollers => ("L = a · basis · (C/P)^(10/3)", "(C/P)^(10/3)"),
    };
    let ratio = rating.dynamic_n / load_n;
    let derivation = Derivation::new("rated life", formula, "ISO 14728-1", figures(life.kilometres, 4), "km")
        .input("reliability", reliability.percent.to_string(), "%", at.reliability)
        .input("a", figures(reliability.factor, 3), "", factor_source)
        .input("basis", figures(rating.basis_km, 6), "km", at.basis)
        .input("C", figures(rating.dynamic_n, 6), "N", at.rating)
        .input("P", figures(load_n, 5), "N", at.load)
        .step("C/P", figures(ratio, 4), "")
        .step(power, figures(rating.rolling.power(ratio), 4), "");
    Ok(if rating.is_beyond_half(load_n) {
        derivation.note("the load is more than half the rating: the formula is not to be trusted here")
    } else {
        derivation
    })
}

/// How a static safety comes about. Errors as [`static_safety`].
pub(crate) fn derive_static_safety<P>(
    static_rating_n: f64,
    greatest_load_n: f64,
    rating_at: Origin<P>,
    load_at: Origin<P>,
) -> Result<Derivation<P>, LifeError> {
    let safety = static_safety(static_rating_n, greatest_load_n)?;
    Ok(Derivation::new("static safety", "S0 = C0 / P0", "ISO 14728-2", figures(safety, 4), "")
        .input("C0", figures(static_rating_n, 6), "N", rating_at)
        .input("P0", figures(greatest_load_n, 5), "N", load_at))
}
