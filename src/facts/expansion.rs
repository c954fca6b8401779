//! By how much a rail and its beam part as the temperature changes.

use crate::calc::expansion::{Coefficient, REFERENCE_MILLI_C, difference};
use crate::ledger::{Axis, Beam, Ledger, Material, Rail, TemperatureSpan};
use crate::quantity::{Amount, Length, Temperature};

/// How the rail expands: as its profile says, else as steel.
pub(crate) fn of_rail(ledger: &Ledger, rail: &Rail) -> Coefficient {
    let profile = rail.profile.as_ref().and_then(|name| ledger.shop.profile(name));
    profile.and_then(|profile| profile.expansion).map_or(Coefficient::STEEL, |expansion| nano(expansion.0))
}

/// The beam that a rail lies on.
pub(crate) fn beam<'l>(axis: &'l Axis, rail: &Rail) -> Option<&'l Beam> {
    let name = rail.beam.as_ref()?;
    axis.beams.iter().find(|beam| *beam.name == **name)
}

/// From 10⁻¹² to 10⁻⁹ per kelvin; nobody states an expansion finer than that.
fn nano(pico: i64) -> Coefficient {
    Coefficient(pico / 1000)
}

/// In µm/m/K.
pub(crate) fn micro(coefficient: Coefficient) -> String {
    Length(coefficient.0 * 1000).number()
}

/// How a beam expands: as it says, else as its material does.
pub(crate) fn coefficient(beam: &Beam) -> Option<Coefficient> {
    if let Some(stated) = beam.expansion {
        return Some(nano(stated.0));
    }
    match beam.material?.value {
        Material::Steel => Some(Coefficient::STEEL),
        Material::Aluminium => Some(Coefficient::ALUMINIUM_6060),
        Material::CastIron | Material::Granite | Material::Other => None,
    }
}

/// The greatest difference and the temperature it is at; rounded up to a nanometre.
pub(crate) fn worst(
    length: Length,
    rail: Coefficient,
    beam: Coefficient,
    span: &TemperatureSpan,
) -> Option<(Length, Temperature)> {
    let fitted = span.fitted.map_or(REFERENCE_MILLI_C, |fitted| milli(fitted.value));
    let at = |temperature: Temperature| {
        let parted = difference(length.nm(), rail, beam, fitted, milli(temperature)).ok()?;
        Some((Length(i64::try_from(parted.abs().ceil()).ok()?), temperature))
    };
    let (cold, warm) = (at(span.least.value)?, at(span.most.value)?);
    Some(if cold.0 > warm.0 { cold } else { warm })
}

/// In thousandths of a degree, the nearest.
fn milli(temperature: Temperature) -> i64 {
    const ONE: i64 = 9_000_000;
    (temperature.0 + ONE / 2).div_euclid(ONE)
}
