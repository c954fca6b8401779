//! Thermal expansion: lengths are at 20 °C (ISO 1), and a steel rail on an aluminium beam grows less than its bed.
//!
//! Coefficients are whole nanostrains per kelvin and temperatures whole thousandths of a degree, so that every
//! growth is an exact quotient.

use super::exact::{LengthError, Ratio, in_range};

/// The reference temperature of lengths, in thousandths of a degree Celsius (ISO 1).
pub(crate) const REFERENCE_MILLI_C: i64 = 20_000;

/// A linear coefficient of expansion in 10⁻⁹ per kelvin.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) struct Coefficient(pub i64);

impl Coefficient {
    /// Carbon and bearing steel, 11.5·10⁻⁶ per kelvin. Common practice as a default; makers give their own.
    pub(crate) const STEEL: Self = Self(11_500);
    /// EN AW-6060 and EN AW-6063, 23.4·10⁻⁶ per kelvin, a default of the alloy's data sheets.
    pub(crate) const ALUMINIUM_6060: Self = Self(23_400);
}

/// A number that makes no physical sense for an expansion.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub(crate) enum ExpansionError {
    /// The length is beyond the range of `calc`.
    #[error(transparent)]
    Length(#[from] LengthError),
    /// The coefficient is beyond ±6·10⁻⁴ per kelvin.
    #[error("a coefficient of {nano_per_kelvin}e-9 per kelvin is no solid's")]
    Coefficient {
        /// The refused coefficient in 10⁻⁹ per kelvin.
        nano_per_kelvin: i64,
    },
    /// The temperature is outside −273.15 … 900 °C.
    #[error("{milli_c} thousandths of a degree Celsius is no working temperature")]
    Temperature {
        /// The refused temperature in thousandths of a degree Celsius.
        milli_c: i64,
    },
}

/// By how much two bodies of one length part when both go from one temperature to another, in nm.
///
/// Positive when `second` grows more. Free to slide they part by this; bolted together it becomes force.
pub(crate) fn difference(
    length_nm: i64,
    first: Coefficient,
    second: Coefficient,
    from_milli_c: i64,
    to_milli_c: i64,
) -> Result<Ratio, ExpansionError> {
    let strain = strain_pico(second, from_milli_c, to_milli_c)? - strain_pico(first, from_milli_c, to_milli_c)?;
    Ok(exact(i128::from(in_range(length_nm)?) * strain, PICO))
}

const PICO: i128 = 1_000_000_000_000;

fn strain_pico(coefficient: Coefficient, from_milli_c: i64, to_milli_c: i64) -> Result<i128, ExpansionError> {
    if coefficient.0.unsigned_abs() > 600_000 {
        return Err(ExpansionError::Coefficient { nano_per_kelvin: coefficient.0 });
    }
    for milli_c in [from_milli_c, to_milli_c] {
        if !(-273_150..=900_000).contains(&milli_c) {
            return Err(ExpansionError::Temperature { milli_c });
        }
    }
    Ok(i128::from(coefficient.0) * i128::from(to_milli_c - from_milli_c))
}

fn exact(num: i128, den: i128) -> Ratio {
    Ratio::new(num, den).unwrap_or(Ratio::whole(0))
}
