//! The number a rule found, exact, and which way is worse: what a concession is compared with.

use std::fmt;

use crate::quantity::{
    Acceleration, Amount, AmountError, Angle, Dimension, Force, Length, Mass, PerKelvin, Ratio, SecondMoment,
    Stiffness, Stress, Temperature, TemperatureDifference, Torque, Travel,
};

/// An exact number of some dimension.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MeasuredValue {
    Length(Length),
    Travel(Travel),
    Torque(Torque),
    Force(Force),
    Mass(Mass),
    Temperature(Temperature),
    TemperatureDifference(TemperatureDifference),
    Acceleration(Acceleration),
    Stiffness(Stiffness),
    SecondMoment(SecondMoment),
    PerKelvin(PerKelvin),
    Stress(Stress),
    Ratio(Ratio),
    Angle(Angle),
    Count(i64),
    Days(i64),
}

/// Which way a value gets worse.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WorseDirection {
    /// The larger, the worse.
    Larger,
    /// The smaller, the worse.
    Smaller,
}

/// A value found, with the way it gets worse.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Measure {
    /// The number itself.
    pub value: MeasuredValue,
    /// Which way it gets worse.
    pub worse: WorseDirection,
}

impl Measure {
    /// A value that is too large.
    pub fn too_large(value: impl Into<MeasuredValue>) -> Measure {
        Measure { value: value.into(), worse: WorseDirection::Larger }
    }

    /// A value that is too small.
    pub fn too_small(value: impl Into<MeasuredValue>) -> Measure {
        Measure { value: value.into(), worse: WorseDirection::Smaller }
    }

    /// Days past a due date.
    pub fn days_late(days: i64) -> Measure {
        Measure { value: MeasuredValue::Days(days), worse: WorseDirection::Larger }
    }

    /// Whether a concession for `raw` with its annotation covers this value; an error where it cannot be compared.
    pub fn within(&self, raw: &str, unit: Option<&str>) -> Result<bool, AmountError> {
        use std::cmp::Ordering;
        fn order<A: Amount>(found: A, raw: &str, unit: Option<&str>) -> Result<Ordering, AmountError> {
            Ok(found.cmp(&A::read(raw, unit)?))
        }
        let order = match self.value {
            MeasuredValue::Length(v) => order(v, raw, unit)?,
            MeasuredValue::Travel(v) => order(v, raw, unit)?,
            MeasuredValue::Torque(v) => order(v, raw, unit)?,
            MeasuredValue::Force(v) => order(v, raw, unit)?,
            MeasuredValue::Mass(v) => order(v, raw, unit)?,
            MeasuredValue::Temperature(v) => order(v, raw, unit)?,
            MeasuredValue::TemperatureDifference(v) => order(v, raw, unit)?,
            MeasuredValue::Acceleration(v) => order(v, raw, unit)?,
            MeasuredValue::Stiffness(v) => order(v, raw, unit)?,
            MeasuredValue::SecondMoment(v) => order(v, raw, unit)?,
            MeasuredValue::PerKelvin(v) => order(v, raw, unit)?,
            MeasuredValue::Stress(v) => order(v, raw, unit)?,
            MeasuredValue::Ratio(v) => order(v, raw, unit)?,
            MeasuredValue::Angle(v) => order(v, raw, unit)?,
            MeasuredValue::Count(v) | MeasuredValue::Days(v) => {
                order(Ratio(v.saturating_mul(1_000_000_000)), raw, unit)?
            }
        };
        Ok(match self.worse {
            WorseDirection::Larger => order != Ordering::Greater,
            WorseDirection::Smaller => order != Ordering::Less,
        })
    }

    /// Whether this value is at most as bad as another one of its kind. Values of two kinds, or that get worse in opposite
    /// ways, cannot be compared.
    pub fn no_worse_than(&self, other: &Measure) -> bool {
        use std::cmp::Ordering;
        let order = match (self.value, other.value) {
            (MeasuredValue::Length(a), MeasuredValue::Length(b)) => a.cmp(&b),
            (MeasuredValue::Travel(a), MeasuredValue::Travel(b)) => a.cmp(&b),
            (MeasuredValue::Torque(a), MeasuredValue::Torque(b)) => a.cmp(&b),
            (MeasuredValue::Force(a), MeasuredValue::Force(b)) => a.cmp(&b),
            (MeasuredValue::Mass(a), MeasuredValue::Mass(b)) => a.cmp(&b),
            (MeasuredValue::Temperature(a), MeasuredValue::Temperature(b)) => a.cmp(&b),
            (MeasuredValue::TemperatureDifference(a), MeasuredValue::TemperatureDifference(b)) => a.cmp(&b),
            (MeasuredValue::Acceleration(a), MeasuredValue::Acceleration(b)) => a.cmp(&b),
            (MeasuredValue::Stiffness(a), MeasuredValue::Stiffness(b)) => a.cmp(&b),
            (MeasuredValue::SecondMoment(a), MeasuredValue::SecondMoment(b)) => a.cmp(&b),
            (MeasuredValue::PerKelvin(a), MeasuredValue::PerKelvin(b)) => a.cmp(&b),
            (MeasuredValue::Stress(a), MeasuredValue::Stress(b)) => a.cmp(&b),
            (MeasuredValue::Ratio(a), MeasuredValue::Ratio(b)) => a.cmp(&b),
            (MeasuredValue::Angle(a), MeasuredValue::Angle(b)) => a.cmp(&b),
            (MeasuredValue::Count(a), MeasuredValue::Count(b)) | (MeasuredValue::Days(a), MeasuredValue::Days(b)) => {
                a.cmp(&b)
            }
            _ => return false,
        };
        self.worse == other.worse
            && match self.worse {
                WorseDirection::Larger => order != Ordering::Greater,
                WorseDirection::Smaller => order != Ordering::Less,
            }
    }

    /// The number alone, in the plain unit of its dimension.
    pub fn number(&self) -> String {
        self.value.number()
    }

    /// The unit the number is in.
    pub fn unit(&self) -> &'static str {
        self.value.unit()
    }
}

impl MeasuredValue {
    /// The number alone, in the plain unit of its dimension.
    pub fn number(self) -> String {
        match self {
            MeasuredValue::Length(v) => v.number(),
            MeasuredValue::Travel(v) => v.number(),
            MeasuredValue::Torque(v) => v.number(),
            MeasuredValue::Force(v) => v.number(),
            MeasuredValue::Mass(v) => v.number(),
            MeasuredValue::Temperature(v) => v.number(),
            MeasuredValue::TemperatureDifference(v) => v.number(),
            MeasuredValue::Acceleration(v) => v.number(),
            MeasuredValue::Stiffness(v) => v.number(),
            MeasuredValue::SecondMoment(v) => v.number(),
            MeasuredValue::PerKelvin(v) => v.number(),
            MeasuredValue::Stress(v) => v.number(),
            MeasuredValue::Ratio(v) => v.number(),
            MeasuredValue::Angle(v) => v.number(),
            MeasuredValue::Count(v) | MeasuredValue::Days(v) => v.to_string(),
        }
    }

    /// The unit the number is in.
    pub fn unit(self) -> &'static str {
        let dimension = match self {
            MeasuredValue::Length(_) => Dimension::Length,
            MeasuredValue::Travel(_) => Dimension::Travel,
            MeasuredValue::Torque(_) => Dimension::Torque,
            MeasuredValue::Force(_) => Dimension::Force,
            MeasuredValue::Mass(_) => Dimension::Mass,
            MeasuredValue::Temperature(_) => Dimension::Temperature,
            MeasuredValue::TemperatureDifference(_) => Dimension::TemperatureDifference,
            MeasuredValue::Acceleration(_) => Dimension::Acceleration,
            MeasuredValue::Stiffness(_) => Dimension::Stiffness,
            MeasuredValue::SecondMoment(_) => Dimension::SecondMoment,
            MeasuredValue::PerKelvin(_) => Dimension::PerKelvin,
            MeasuredValue::Stress(_) => Dimension::Stress,
            MeasuredValue::Ratio(_) => Dimension::Ratio,
            MeasuredValue::Angle(_) => Dimension::Angle,
            MeasuredValue::Count(_) => return "",
            MeasuredValue::Days(_) => return "days",
        };
        dimension.plain_unit()
    }
}

impl fmt::Display for MeasuredValue {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.unit() {
            "" => f.write_str(&self.number()),
            _ if matches!(self, MeasuredValue::Days(1)) => f.write_str("1 day"),
            unit => write!(f, "{} {unit}", self.number()),
        }
    }
}

impl fmt::Display for Measure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.value.fmt(f)
    }
}

macro_rules! from {
    ($($name:ident),*) => {$(
        impl From<$name> for MeasuredValue {
            fn from(value: $name) -> MeasuredValue {
                MeasuredValue::$name(value)
            }
        }
    )*};
}

from!(
    Length,
    Travel,
    Torque,
    Force,
    Mass,
    Temperature,
    TemperatureDifference,
    Acceleration,
    Angle,
    Stiffness,
    PerKelvin,
    SecondMoment,
    Stress,
    Ratio
);

impl From<usize> for MeasuredValue {
    fn from(count: usize) -> MeasuredValue {
        MeasuredValue::Count(count as i64)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_concession_covers_what_is_not_worse() {
        let step = Measure::too_large(Length::um(23));
        assert_eq!(step.within("0.023", None), Ok(true));
        assert_eq!(step.within("0.0229", None), Ok(false));
        assert_eq!(step.within("23", Some("um")), Ok(true));
        let stagger = Measure::too_small(Length::mm(96));
        assert_eq!(stagger.within("96", None), Ok(true));
        assert_eq!(stagger.within("97", None), Ok(false));
        assert!(stagger.within("10", Some("N.m")).is_err());
    }
}
