//! One type a dimension, so that a torque cannot be compared with a length. Each is a whole number of a small unit.

use std::fmt;
use std::ops::{Add, Neg, Sub};

use super::decimal::{AmountError, Decimal, POWERS_OF_TEN, ShortDecimal, plain_text};
use super::unit::{ARC_SECOND, Dimension, find, find_any};
use crate::text::Plain;

/// What all quantities share: they are read from a raw number with an optional unit, ordered, and printed exactly.
pub trait Amount: Copy + Ord + fmt::Display {
    /// What it measures.
    const DIMENSION: Dimension;

    /// From the raw spelling of a number and its annotation.
    fn read(raw: &str, unit: Option<&str>) -> Result<Self, AmountError>;

    /// The same from a number that the reader has read, in the plain unit.
    fn plain(number: Plain) -> Option<Self>;

    /// In the plain unit, for calculations that need no exactness.
    fn to_f64(self) -> f64;

    /// The number alone in the plain unit, without its unit.
    fn number(self) -> String;
}

/// A plain number in a place that has a unit: the factor of the annotation, or one.
fn factor(unit: Option<&str>, dimension: Dimension) -> Result<Decimal, AmountError> {
    let Some(name) = unit else { return Ok(Decimal { digits: 1, places: 0 }) };
    match find(name, dimension) {
        Some(unit) => Ok(unit.factor),
        None if find_any(name).is_some() => {
            Err(AmountError::WrongUnit { unit: name.to_string(), dimension: dimension.name() })
        }
        None => Err(AmountError::UnknownUnit(name.to_string())),
    }
}

/// A spelt number as a whole count of `10^-places` of the plain unit; nothing where it is finer than that. Arc seconds alone
/// are rounded, to the nearest.
fn counted(raw: &str, unit: Option<&str>, dimension: Dimension, places: u32) -> Result<Option<i128>, AmountError> {
    let (number, factor) = (Decimal::read(raw)?, factor(unit, dimension)?);
    match unit {
        Some(ARC_SECOND) => number.nearest(factor, places).map(Some),
        _ => number.scaled(factor, places),
    }
}

impl Ratio {
    /// All of it.
    pub const ONE: Ratio = Ratio(1_000_000_000);

    /// In hundredths, as people write it: `4`.
    pub fn percent(self) -> String {
        Ratio(self.0.saturating_mul(100)).number()
    }
}

impl Force {
    /// One newton.
    pub const NEWTON: Force = Force(1_000_000_000_000_000_000);
}

macro_rules! amount {
    ($(#[$doc:meta])* $name:ident, $held:ty, $dimension:expr, $places:expr, $finest:expr) => {
        $(#[$doc])*
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
        pub struct $name(pub $held);

        impl $name {
            /// None of it.
            pub const ZERO: $name = $name(0);

            /// Without its sign.
            pub fn abs(self) -> Self {
                $name(self.0.abs())
            }

            /// From any spelling, in any unit.
            #[cold]
            fn read_any(raw: &str, unit: Option<&str>) -> Result<Self, AmountError> {
                let count =
                    counted(raw, unit, $dimension, $places)?.ok_or(AmountError::TooFine { finest: $finest })?;
                let count: $held = count.try_into().map_err(|_| AmountError::TooLarge)?;
                // A quarter of the range is left free, so that sums and doubles of any two readings cannot overflow.
                if count.checked_mul(4).is_none() { Err(AmountError::TooLarge) } else { Ok($name(count)) }
            }
        }

        impl Amount for $name {
            const DIMENSION: Dimension = $dimension;

            // Most numbers are short and in the plain unit.
            #[inline]
            fn read(raw: &str, unit: Option<&str>) -> Result<Self, AmountError> {
                if let (None, Some(short)) = (unit, ShortDecimal::read(raw))
                    && let Some(count) = short.count($places)
                    && let Ok(count) = <$held>::try_from(count)
                    && (-<$held>::MAX / 4..=<$held>::MAX / 4).contains(&count)
                {
                    return Ok($name(count));
                }
                Self::read_any(raw, unit)
            }

            // A million whole ones can be held of every amount that is declared so.
            #[inline]
            fn plain(number: Plain) -> Option<Self> {
                let power = POWERS_OF_TEN[$places - usize::from(number.places())];
                Some($name(<$held>::from(number.digits()) * <$held>::from(power)))
            }

            fn to_f64(self) -> f64 {
                self.0 as f64 / 10f64.powi($places)
            }

            fn number(self) -> String {
                plain_text(i128::from(self.0), $places)
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                let unit = $dimension.plain_unit();
                let space = if unit.is_empty() { "" } else { " " };
                write!(f, "{}{space}{unit}", self.number())
            }
        }

        impl fmt::Debug for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                fmt::Display::fmt(self, f)
            }
        }

        /// The exact number in the plain unit, as text: a binary fraction would change it.
        impl serde::Serialize for $name {
            fn serialize<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
                to.serialize_str(&self.number())
            }
        }

        impl schemars::JsonSchema for $name {
            fn schema_name() -> std::borrow::Cow<'static, str> {
                stringify!($name).into()
            }

            fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
                exact_decimal()
            }
        }

        impl Add for $name {
            type Output = $name;
            fn add(self, other: $name) -> $name {
                $name(self.0.saturating_add(other.0))
            }
        }

        impl Sub for $name {
            type Output = $name;
            fn sub(self, other: $name) -> $name {
                $name(self.0.saturating_sub(other.0))
            }
        }

        impl Neg for $name {
            type Output = $name;
            fn neg(self) -> $name {
                $name(-self.0)
            }
        }

        impl std::iter::Sum for $name {
            fn sum<I: Iterator<Item = $name>>(all: I) -> $name {
                all.fold($name::ZERO, Add::add)
            }
        }
    };
}

amount!(
    /// A length in whole nanometres.
    Length, i64, Dimension::Length, 6, "0.000001 mm (a nanometre)"
);
amount!(
    /// A travelled distance in whole millimetres.
    Travel, i64, Dimension::Travel, 6, "0.000001 km (a millimetre)"
);
amount!(
    /// A torque in units of 10⁻¹⁸ N·m, fine enough to hold converted in-lbf and ft-lbf exactly.
    Torque, i128, Dimension::Torque, 18, "10⁻¹⁸ N·m"
);
amount!(
    /// A force in units of 10⁻¹⁸ N, fine enough to hold converted lbf exactly.
    Force, i128, Dimension::Force, 18, "10⁻¹⁸ N"
);
impl Force {
    const MICRONEWTON: i128 = 1_000_000_000_000;

    /// Its size in whole micronewtons, rounded up: small enough for squares, and finer than any gauge.
    #[must_use]
    pub fn micronewtons(self) -> i64 {
        let whole = (self.abs().0.saturating_add(Self::MICRONEWTON - 1)) / Self::MICRONEWTON;
        i64::try_from(whole).unwrap_or(i64::MAX)
    }

    /// So many micronewtons.
    #[must_use]
    pub fn of_micronewtons(count: i64) -> Force {
        Force(i128::from(count) * Self::MICRONEWTON)
    }
}

amount!(
    /// A mass in units of 10⁻¹² kg, fine enough to hold converted pounds exactly.
    Mass, i128, Dimension::Mass, 12, "10⁻¹² kg"
);
amount!(
    /// An acceleration in µm/s².
    Acceleration, i64, Dimension::Acceleration, 6, "0.000001 m/s²"
);
amount!(
    /// A stiffness in units of 10⁻⁶ N/µm.
    Stiffness, i64, Dimension::Stiffness, 6, "0.000001 N/µm"
);
amount!(
    /// A coefficient of thermal expansion in units of 10⁻¹² per kelvin.
    PerKelvin, i64, Dimension::PerKelvin, 12, "10⁻¹² per kelvin"
);
amount!(
    /// A second moment of area in units of 10⁻⁶ mm⁴.
    SecondMoment, i64, Dimension::SecondMoment, 6, "0.000001 mm⁴"
);
amount!(
    /// A stress in whole pascal.
    Stress, i64, Dimension::Stress, 6, "0.000001 MPa (a pascal)"
);
amount!(
    /// A plain number, or a percentage, in units of 10⁻⁹.
    Ratio, i64, Dimension::Ratio, 9, "10⁻⁹"
);

amount!(
    /// A small angle in whole picoradians: of 1 µm/m, a rise of 1 µm over 1 m, there are a million. What leans by less than
    /// 1 mm/m rises as far as its arc is long, but for a millionth.
    Angle, i64, Dimension::Angle, 6, "0.000001 µm/m (a picoradian)"
);
impl Angle {
    /// In picoradians.
    pub fn picoradians(self) -> i64 {
        self.0
    }
}

impl Length {
    /// In nanometres.
    pub fn nm(self) -> i64 {
        self.0
    }

    /// From whole millimetres.
    pub const fn mm(mm: i64) -> Length {
        Length(mm * 1_000_000)
    }

    /// From whole micrometres.
    pub const fn um(um: i64) -> Length {
        Length(um * 1_000)
    }
}

impl Torque {
    /// From whole thousandths of a newton-metre.
    pub const fn milli(milli: i64) -> Torque {
        Torque(milli as i128 * 1_000_000_000_000_000)
    }
}

/// A number of any spelling, in billionths of a degree of its own unit.
fn billionths(raw: &str, unit: Option<&str>, dimension: Dimension) -> Result<i128, AmountError> {
    factor(unit, dimension)?;
    let one = Decimal { digits: 1, places: 0 };
    Decimal::read(raw)?.scaled(one, 9)?.ok_or(AmountError::TooFine { finest: "0.000000001 °C" })
}

/// What is counted in degrees: where 0 °C lies on the scale of Fahrenheit, in its degrees, and its plain unit.
macro_rules! degrees {
    ($(#[$doc:meta])* $name:ident, $dimension:expr, $freezing:literal) => {
        $(#[$doc])*
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
        pub struct $name(pub i64);

        impl Amount for $name {
            const DIMENSION: Dimension = $dimension;

            fn read(raw: &str, unit: Option<&str>) -> Result<Self, AmountError> {
                let billionths = match (unit, ShortDecimal::read(raw).and_then(|short| short.count(9))) {
                    (None, Some(billionths)) => billionths,
                    _ => billionths(raw, unit, $dimension)?,
                };
                let ninths = match unit {
                    Some("degF") => (billionths - $freezing * 1_000_000_000).checked_mul(5),
                    _ => billionths.checked_mul(9),
                };
                ninths.and_then(|n| i64::try_from(n).ok()).and_then($name::likely).ok_or(AmountError::TooLarge)
            }

            fn plain(number: Plain) -> Option<Self> {
                let power = POWERS_OF_TEN[9 - usize::from(number.places())];
                $name::likely(9 * i64::from(number.digits()) * power)
            }

            fn to_f64(self) -> f64 {
                self.0 as f64 / 9e9
            }

            fn number(self) -> String {
                if self.0 % 9 == 0 {
                    plain_text(i128::from(self.0 / 9), 9)
                } else {
                    // A converted Fahrenheit reading has no end in decimals: print it to a hundredth of a degree.
                    plain_text(i128::from((self.0 as f64 / 9e7).round() as i64), 2)
                }
            }
        }

        impl $name {
            /// Nothing in a workshop is colder than absolute zero or hotter than 5,000 °C.
            fn likely(ninths: i64) -> Option<$name> {
                (-2_460_000_000_000..=45_000_000_000_000).contains(&ninths).then_some($name(ninths))
            }

            /// Whole degrees Celsius, or kelvins.
            pub const fn degrees(whole: i64) -> $name {
                $name(whole * 9_000_000_000)
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, "{} {}", self.number(), $dimension.plain_unit())
            }
        }

        impl fmt::Debug for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                fmt::Display::fmt(self, f)
            }
        }

        impl serde::Serialize for $name {
            fn serialize<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
                to.serialize_str(&self.number())
            }
        }

        impl schemars::JsonSchema for $name {
            fn schema_name() -> std::borrow::Cow<'static, str> {
                stringify!($name).into()
            }

            fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
                exact_decimal()
            }
        }
    };
}

degrees!(
    /// A temperature in ninths of 10⁻⁹ °C, so that converted degrees Fahrenheit are exact too.
    Temperature, Dimension::Temperature, 32
);
degrees!(
    /// How far two temperatures lie apart, in ninths of 10⁻⁹ K: a kelvin is as wide as a degree Celsius, and 5 of them as
    /// 9 degrees Fahrenheit, wherever either scale has its zero.
    TemperatureDifference, Dimension::TemperatureDifference, 0
);

/// How an amount stands in JSON: in its plain unit, as a string, so that no reader rounds it.
fn exact_decimal() -> schemars::Schema {
    schemars::json_schema!({
        "type": "string",
        "pattern": "^-?[0-9]+(\\.[0-9]+)?$",
        "description": "An exact decimal in its plain unit: mm, N·m, N, km, %, °C."
    })
}

impl Sub for Temperature {
    type Output = TemperatureDifference;
    fn sub(self, other: Temperature) -> TemperatureDifference {
        TemperatureDifference(self.0 - other.0)
    }
}

impl TemperatureDifference {
    /// Without its sign.
    pub fn abs(self) -> TemperatureDifference {
        TemperatureDifference(self.0.abs())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::text::{ReadLimits, read};

    #[test]
    fn lengths_are_exact() {
        assert_eq!(Length::read("0.02", None), Ok(Length::um(20)));
        assert_eq!(Length::read("12", Some("um")), Ok(Length::um(12)));
        // ISO 80000-3: one inch is 25.4 mm exactly.
        assert_eq!(Length::read("0.75", Some("in")), Ok(Length(19_050_000)));
        assert_eq!(Length::read("0.00005", Some("in")), Ok(Length(1270)));
        assert!(matches!(Length::read("0.0000001", None), Err(AmountError::TooFine { .. })));
        assert_eq!(Length::read("9e18", None), Err(AmountError::TooLarge));
        assert_eq!(Length::um(20).to_string(), "0.02 mm");
    }

    #[test]
    fn angles_are_exact_but_for_arc_seconds() {
        let picoradians = |raw, unit| Angle::read(raw, Some(unit)).map(Angle::picoradians);
        // A rise over a length, and its arc: 1 mm/m is 1000 µm/m, and 1 µrad is 1 µm/m (ISO 80000-3: a plane angle is arc by
        // radius).
        for unit in ["um.m-1", "um/m", "µm/m", "urad", "µrad"] {
            assert_eq!(picoradians("12.5", unit), Ok(12_500_000), "{unit}");
        }
        for unit in ["mm.m-1", "mm/m"] {
            assert_eq!(picoradians("0.02", unit), Ok(20_000_000), "{unit}");
        }
        // SI brochure, 9th edition, table 8: 1″ = (π/648 000) rad, that is 4.848 136 811 095 36 µrad.
        assert_eq!(picoradians("1", "arcsec"), Ok(4_848_137));
        assert_eq!(picoradians("1000000", "arcsec"), Ok(4_848_136_811_095));
        assert_eq!(picoradians("-1", "arcsec"), Ok(-4_848_137));
        // A degree has 3600 of them: π/180 rad.
        assert_eq!(picoradians("3600", "arcsec"), Ok((std::f64::consts::PI / 180.0 * 1e12).round() as i64));
        assert!(matches!(Angle::read("0.0000001", Some("um.m-1")), Err(AmountError::TooFine { .. })));
        assert_eq!(Angle::read("9e12", Some("arcsec")), Err(AmountError::TooLarge));
        assert_eq!(picoradians("0.00000001", "arcsec"), Ok(0));
        // With so many digits that twice what is rounded away would run over.
        for raw in ["0.00000019999999999999", "-0.00000019999999999999"] {
            assert_eq!(picoradians(raw, "arcsec").map(i64::abs), Ok(1), "{raw}");
        }
        // As an instrument's own program writes them, with all the digits of a float.
        let turned = |seconds: f64| (seconds * std::f64::consts::PI / 648_000.0 * 1e12).round() as i64;
        for raw in ["1.2345678901234567", "1.23456789012345678901234", "-1.2345678901234567"] {
            assert_eq!(picoradians(raw, "arcsec"), Ok(turned(raw.parse().expect("a number"))), "{raw}");
        }
        assert_eq!(
            picoradians("12345.678901234567", "arcsec").map(|it| it / 100),
            Ok(turned(12345.678901234567) / 100)
        );
        assert_eq!(picoradians("100000000000000000000", "arcsec"), Err(AmountError::TooLarge));
        assert!(matches!(Angle::read("1", Some("mm")), Err(AmountError::WrongUnit { .. })));
        assert_eq!(Angle(12_500_000).to_string(), "12.5 µm/m");
    }

    #[test]
    fn converted_torques_lose_nothing() {
        // 1 in-lbf = 0.0254 m × 4.4482216152605 N (NIST SP 811, appendix B, exact by definition).
        let torque = Torque::read("92", Some("in-lbf")).expect("reads");
        assert_eq!(torque.number(), "10.3946042705407364");
        assert!(Torque::milli(10_000) < torque && torque < Torque::milli(11_000));
        assert_eq!(
            Torque::read("10.5", Some("mm")),
            Err(AmountError::WrongUnit { unit: "mm".into(), dimension: "torque" })
        );
        assert_eq!(Torque::read("10.5", Some("kgm")), Err(AmountError::UnknownUnit("kgm".into())));
    }

    #[test]
    fn what_the_reader_has_read_is_the_amount_that_is_spelt() {
        fn same<A: Amount + fmt::Debug>(raw: &str, number: Plain) {
            assert_eq!(A::plain(number), A::read(raw, None).ok(), "{raw}");
        }
        fn holds<A: Amount + fmt::Debug>(raw: &str, number: Plain) {
            assert!(A::plain(number).is_some(), "{raw}");
            same::<A>(raw, number);
        }
        let plain = |raw: &str| {
            let read = read(format!("a {raw}\n"), &ReadLimits::default());
            read.document.node(0)?.args().next()?.plain()
        };
        let mut spelt = 0;
        for whole in ["0", "7", "00", "012", "273", "274", "5000", "5001", "12345", "999999"] {
            for part in ["", ".0", ".5", ".50", ".000001", ".999999", ".12345", ".15"] {
                for sign in ["", "-", "+"] {
                    let raw = &format!("{sign}{whole}{part}");
                    let decimal = Decimal::read(raw).expect("a number");
                    let Some(number) = plain(raw) else { continue };
                    spelt += 1;
                    let one = Decimal { digits: 1, places: 0 };
                    let digits = decimal.scaled(one, number.places().into());
                    assert_eq!(digits, Ok(Some(number.digits().into())), "{raw}");
                    holds::<Length>(raw, number);
                    holds::<Travel>(raw, number);
                    holds::<Torque>(raw, number);
                    holds::<Force>(raw, number);
                    holds::<Mass>(raw, number);
                    holds::<Acceleration>(raw, number);
                    holds::<Stiffness>(raw, number);
                    holds::<SecondMoment>(raw, number);
                    holds::<PerKelvin>(raw, number);
                    holds::<Stress>(raw, number);
                    holds::<Ratio>(raw, number);
                    holds::<Angle>(raw, number);
                    same::<Temperature>(raw, number);
                }
            }
        }
        assert_eq!(spelt, 153);
        for raw in ["0", "-0", "0.00", "999999", "-999999", "0.000001", "-0.999999", "9.99999", "-012.500", "+1"] {
            assert!(plain(raw).is_some(), "{raw}");
        }
        for raw in [
            "",
            "-",
            "1.",
            ".1",
            "1e3",
            "1_0",
            "1.5_0",
            "0x1",
            "1000000",
            "0.0000001",
            "4294967297",
            "42949672970.1",
            "1.2.3",
            "١",
            "a",
            "#inf",
            "#null",
            "\"1\"",
        ] {
            assert_eq!(plain(raw), None, "{raw}");
        }
    }

    #[test]
    fn fahrenheit_is_exact() {
        assert_eq!(Temperature::read("68", Some("degF")), Ok(Temperature::degrees(20)));
        assert_eq!(Temperature::read("70", Some("degF")).map(|t| t.to_string()), Ok("21.11 °C".into()));
        assert_eq!(Temperature::read("-300", None), Err(AmountError::TooLarge));
        // ISO 80000-5: 1 °F as a difference is 5/9 K; 0 °F as a temperature is −160/9 °C.
        assert_eq!(TemperatureDifference::read("18", Some("degF")), Ok(TemperatureDifference::degrees(10)));
        assert_eq!(TemperatureDifference::read("3.6", Some("degF")), TemperatureDifference::read("2", Some("K")));
        assert_eq!(Temperature::read("0", Some("degF")), Ok(Temperature(-160_000_000_000)));
        assert!(Temperature::read("293", Some("K")).is_err());
        assert_eq!(Temperature::degrees(20) - Temperature::degrees(18), TemperatureDifference::degrees(2));
    }
}
