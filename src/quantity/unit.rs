//! The units a ledger may write as a type annotation, and what each is in the plain unit of its dimension.

use super::decimal::Decimal;

/// What is measured. Each has one plain unit, which a number without an annotation has.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Dimension {
    /// Of parts and gaps.
    Length,
    /// Of what a carriage has travelled.
    Travel,
    /// Of bolts.
    Torque,
    /// Of what runs or pulls.
    Force,
    /// Of carriages.
    Mass,
    /// Of rails, beams and the air.
    Temperature,
    /// Of two of them.
    TemperatureDifference,
    /// Of carriages.
    Acceleration,
    /// Force a length.
    Stiffness,
    /// How much a material grows.
    PerKelvin,
    /// How stiff a section is against bending.
    SecondMoment,
    /// What a material bears.
    Stress,
    /// Parts of a hundred.
    Ratio,
    /// Of what leans or turns: of small ones a rise over a length.
    Angle,
}

impl Dimension {
    /// Each of them, in the order in which they are told to people.
    pub const ALL: [Dimension; 14] = [
        Dimension::Length,
        Dimension::Travel,
        Dimension::Torque,
        Dimension::Force,
        Dimension::Mass,
        Dimension::Temperature,
        Dimension::TemperatureDifference,
        Dimension::Acceleration,
        Dimension::Stiffness,
        Dimension::PerKelvin,
        Dimension::SecondMoment,
        Dimension::Stress,
        Dimension::Ratio,
        Dimension::Angle,
    ];

    /// How a person calls it.
    pub fn name(self) -> &'static str {
        match self {
            Dimension::Length => "length",
            Dimension::Travel => "travelled distance",
            Dimension::Torque => "torque",
            Dimension::Force => "force",
            Dimension::Mass => "mass",
            Dimension::Temperature => "temperature",
            Dimension::TemperatureDifference => "temperature difference",
            Dimension::Acceleration => "acceleration",
            Dimension::Stiffness => "stiffness",
            Dimension::PerKelvin => "thermal expansion",
            Dimension::SecondMoment => "second moment of area",
            Dimension::Stress => "stress",
            Dimension::Ratio => "plain number",
            Dimension::Angle => "angle",
        }
    }

    /// The same as a sentence calls it: `a length`, `an angle`.
    pub fn with_article(self) -> String {
        let article = if matches!(self, Dimension::Acceleration | Dimension::Angle) { "an" } else { "a" };
        format!("{article} {}", self.name())
    }

    /// The unit of a number without an annotation, as printed.
    pub fn plain_unit(self) -> &'static str {
        match self {
            Dimension::Length => "mm",
            Dimension::Travel => "km",
            Dimension::Torque => "N·m",
            Dimension::Force => "N",
            Dimension::Mass => "kg",
            Dimension::Temperature => "°C",
            Dimension::TemperatureDifference => "K",
            Dimension::Acceleration => "m/s²",
            Dimension::Stiffness => "N/µm",
            Dimension::PerKelvin => "1/K",
            Dimension::SecondMoment => "mm⁴",
            Dimension::Stress => "MPa",
            Dimension::Ratio => "",
            Dimension::Angle => "µm/m",
        }
    }
}

/// A unit by the name it has in an annotation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Unit {
    /// As it is written.
    pub name: &'static str,
    /// What it measures.
    pub dimension: Dimension,
    /// How many plain units one of it is. Temperature is not a plain factor and has its own rule.
    pub factor: Decimal,
}

const fn unit(name: &'static str, dimension: Dimension, digits: i128, places: u32) -> Unit {
    Unit { name, dimension, factor: Decimal { digits, places } }
}

/// Every unit. The inch is 25.4 mm, the pound 0.45359237 kg and the standard acceleration 9.80665 m/s² by definition
/// (international yard and pound agreement of 1959; ISO 80000-3 and -4), so every factor here is exact but one: an arc second
/// is π/648 000 rad, here to 24 decimal places of a microradian, and an angle in it is rounded once, where it is read.
///
/// Names are those of the SI with a point for a product and powers for a quotient, as the Unified Code for Units of Measure
/// spells them (`N.m`, `m.s-2`): KDL takes them without quotes. Those with a `/` need quotes there.
static UNITS: &[Unit] = &[
    unit("mm", Dimension::Length, 1, 0),
    unit("um", Dimension::Length, 1, 3),
    unit("µm", Dimension::Length, 1, 3),
    unit("m", Dimension::Length, 1000, 0),
    unit("in", Dimension::Length, 254, 1),
    unit("ft", Dimension::Length, 3048, 1),
    unit("km", Dimension::Travel, 1, 0),
    unit("m", Dimension::Travel, 1, 3),
    unit("N.m", Dimension::Torque, 1, 0),
    unit("N·m", Dimension::Torque, 1, 0),
    unit("Nm", Dimension::Torque, 1, 0),
    unit("N.cm", Dimension::Torque, 1, 2),
    unit("in-lbf", Dimension::Torque, 1_129_848_290_276_167, 16),
    unit("ft-lbf", Dimension::Torque, 13_558_179_483_314_004, 16),
    unit("kgf-cm", Dimension::Torque, 980_665, 7),
    unit("N", Dimension::Force, 1, 0),
    unit("kN", Dimension::Force, 1000, 0),
    unit("lbf", Dimension::Force, 44_482_216_152_605, 13),
    unit("kg", Dimension::Mass, 1, 0),
    unit("g", Dimension::Mass, 1, 3),
    unit("t", Dimension::Mass, 1000, 0),
    unit("lb", Dimension::Mass, 45_359_237, 8),
    unit("degC", Dimension::Temperature, 1, 0),
    unit("°C", Dimension::Temperature, 1, 0),
    unit("degF", Dimension::Temperature, 5, 0),
    unit("K", Dimension::TemperatureDifference, 1, 0),
    unit("degC", Dimension::TemperatureDifference, 1, 0),
    unit("°C", Dimension::TemperatureDifference, 1, 0),
    unit("degF", Dimension::TemperatureDifference, 5, 0),
    unit("m.s-2", Dimension::Acceleration, 1, 0),
    unit("m/s2", Dimension::Acceleration, 1, 0),
    unit("N.um-1", Dimension::Stiffness, 1, 0),
    unit("N/um", Dimension::Stiffness, 1, 0),
    unit("N.mm-1", Dimension::Stiffness, 1, 3),
    unit("N/mm", Dimension::Stiffness, 1, 3),
    unit("K-1", Dimension::PerKelvin, 1, 0),
    unit("1/K", Dimension::PerKelvin, 1, 0),
    unit("um.m-1.K-1", Dimension::PerKelvin, 1, 6),
    unit("um/m/K", Dimension::PerKelvin, 1, 6),
    unit("mm4", Dimension::SecondMoment, 1, 0),
    unit("cm4", Dimension::SecondMoment, 10_000, 0),
    unit("MPa", Dimension::Stress, 1, 0),
    unit("N.mm-2", Dimension::Stress, 1, 0),
    unit("N/mm2", Dimension::Stress, 1, 0),
    unit("%", Dimension::Ratio, 1, 2),
    unit("um.m-1", Dimension::Angle, 1, 0),
    unit("um/m", Dimension::Angle, 1, 0),
    unit("µm/m", Dimension::Angle, 1, 0),
    unit("mm.m-1", Dimension::Angle, 1000, 0),
    unit("mm/m", Dimension::Angle, 1000, 0),
    unit("urad", Dimension::Angle, 1, 0),
    unit("µrad", Dimension::Angle, 1, 0),
    unit(ARC_SECOND, Dimension::Angle, 4_848_136_811_095_359_935_899_141, 24),
];

/// The one unit that is no whole number of plain ones.
pub(super) const ARC_SECOND: &str = "arcsec";

/// The units of a dimension, the plain one first.
pub fn units_of(dimension: Dimension) -> impl Iterator<Item = &'static Unit> {
    UNITS.iter().filter(move |unit| unit.dimension == dimension)
}

pub(super) fn find(name: &str, dimension: Dimension) -> Option<&'static Unit> {
    units_of(dimension).find(|unit| unit.name == name)
}

pub(super) fn find_any(name: &str) -> Option<&'static Unit> {
    UNITS.iter().find(|unit| unit.name == name)
}
