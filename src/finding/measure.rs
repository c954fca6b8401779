//! The number a rule found, exact, and which way is worse: what a concession is compared with.

use std::fmt;

use crate::quantity::{
    Acceleration, Amount, AmountError, Dimension, Force, Length, Mass, PerKelvin, Ratio, Stiffness, Temperature,
    Torque, Travel,
};

/// An exact number of some dimension.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Value {
    Length(Length),
    Travel(Travel),
    Torque(Torque),
    Force(Force),
    Mass(Mass),
    Temperature(Temperature),
    Acceleration(Acceleration),
    Stiffness(Stiffness),
    PerKelvin(PerKelvin),
    Ratio(Ratio),
    Count(i64),
    Days(i64),
}

/// Which way a value gets worse.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Worse {
    /// The larger, the worse.
    Larger,
    /// The smaller, the worse.
    Smaller,
}

/// A value found, with the way it gets worse.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Measure {
    /// The number itself.
    pub value: Value,
    /// Which way it gets worse.
    pub worse: Worse,
}

impl Measure {
    /// A value that is too large.
    pub fn too_large(value: impl Into<Value>) -> Measure {
        Measure { value: value.into(), worse: Worse::Larger }
    }

    /// A value that is too small.
    pub fn too_small(value: impl Into<Value>) -> Measure {
        Measure { value: value.into(), worse: Worse::Smaller }
    }

    /// Days past a due date.
    pub fn days_late(days: i64) -> Measure {
        Measure { value: Value::Days(days), worse: Worse::Larger }
    }

    /// Whether a concession for `raw` with its annotation covers this value; an error where it cannot be compared.
    pub fn within(&self, raw: &str, unit: Option<&str>) -> Result<bool, AmountError> {
        use std::cmp::Ordering;
        fn order<A: Amount>(found: A, raw: &str, unit: Option<&str>) -> Result<Ordering, AmountError> {
            Ok(found.cmp(&A::read(raw, unit)?))
        }
        let order = match self.value {
            Value::Length(v) => order(v, raw, unit)?,
            Value::Travel(v) => order(v, raw, unit)?,
            Value::Torque(v) => order(v, raw, unit)?,
            Value::Force(v) => order(v, raw, unit)?,
            Value::Mass(v) => order(v, raw, unit)?,
            Value::Temperature(v) => order(v, raw, unit)?,
            Value::Acceleration(v) => order(v, raw, unit)?,
            Value::Stiffness(v) => order(v, raw, unit)?,
            Value::PerKelvin(v) => order(v, raw, unit)?,
            Value::Ratio(v) => order(v, raw, unit)?,
            Value::Count(v) | Value::Days(v) => order(Ratio(v.saturating_mul(1_000_000_000)), raw, unit)?,
        };
        Ok(match self.worse {
            Worse::Larger => order != Ordering::Greater,
            Worse::Smaller => order != Ordering::Less,
        })
    }

    /// Whether this value is at most as bad as another one of its kind. Values of two kinds, or that get worse in opposite
    /// ways, cannot be compared.
    pub fn no_worse_than(&self, other: &Measure) -> bool {
        use std::cmp::Ordering;
        let order = match (self.value, other.value) {
            (Value::Length(a), Value::Length(b)) => a.cmp(&b),
            (Value::Travel(a), Value::Travel(b)) => a.cmp(&b),
            (Value::Torque(a), Value::Torque(b)) => a.cmp(&b),
            (Value::Force(a), Value::Force(b)) => a.cmp(&b),
            (Value::Mass(a), Value::Mass(b)) => a.cmp(&b),
            (Value::Temperature(a), Value::Temperature(b)) => a.cmp(&b),
            (Value::Acceleration(a), Value::Acceleration(b)) => a.cmp(&b),
            (Value::Stiffness(a), Value::Stiffness(b)) => a.cmp(&b),
            (Value::PerKelvin(a), Value::PerKelvin(b)) => a.cmp(&b),
            (Value::Ratio(a), Value::Ratio(b)) => a.cmp(&b),
            (Value::Count(a), Value::Count(b)) | (Value::Days(a), Value::Days(b)) => a.cmp(&b),
            _ => return false,
        };
        self.worse == other.worse
            && match self.worse {
                Worse::Larger => order != Ordering::Greater,
                Worse::Smaller => order != Ordering::Less,
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

impl Value {
    /// The number alone, in the plain unit of its dimension.
    pub fn number(self) -> String {
        match self {
            Value::Length(v) => v.number(),
            Value::Travel(v) => v.number(),
            Value::Torque(v) => v.number(),
            Value::Force(v) => v.number(),
            Value::Mass(v) => v.number(),
            Value::Temperature(v) => v.number(),
            Value::Acceleration(v) => v.number(),
            Value::Stiffness(v) => v.number(),
            Value::PerKelvin(v) => v.number(),
            Value::Ratio(v) => v.number(),
            Value::Count(v) | Value::Days(v) => v.to_string(),
        }
    }

    /// The unit the number is in.
    pub fn unit(self) -> &'static str {
        let dimension = match self {
            Value::Length(_) => Dimension::Length,
            Value::Travel(_) => Dimension::Travel,
            Value::Torque(_) => Dimension::Torque,
            Value::Force(_) => Dimension::Force,
            Value::Mass(_) => Dimension::Mass,
            Value::Temperature(_) => Dimension::Temperature,
            Value::Acceleration(_) => Dimension::Acceleration,
            Value::Stiffness(_) => Dimension::Stiffness,
            Value::PerKelvin(_) => Dimension::PerKelvin,
            Value::Ratio(_) => Dimension::Ratio,
            Value::Count(_) => return "",
            Value::Days(_) => return "days",
        };
        dimension.plain_unit()
    }
}

impl fmt::Display for Value {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.unit() {
            "" => f.write_str(&self.number()),
            _ if matches!(self, Value::Days(1)) => f.write_str("1 day"),
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
        impl From<$name> for Value {
            fn from(value: $name) -> Value {
                Value::$name(value)
            }
        }
    )*};
}

from!(Length, Travel, Torque, Force, Mass, Temperature, Acceleration, Stiffness, PerKelvin, Ratio);

impl From<usize> for Value {
    fn from(count: usize) -> Value {
        Value::Count(count as i64)
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
