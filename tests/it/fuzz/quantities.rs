//! Quantities from any text: what is shown is read again as the same amount, and no arithmetic runs over.
//!
//! Each line is a unit, a `|`, and a number; or any other text, read as a date, a moment, a misspelt value.

use std::ops::{Add, Neg, Sub};

use wayledger::amounts::{
    Acceleration, Amount, Angle, Decimal, Dimension, Force, Length, Mass, Moment, Months, PerKelvin, Ratio, Stiffness,
    Temperature, Torque, Travel, better_spelling, units_of,
};
use wayledger::kdl::{ReadLimits, Value, read};

pub(crate) fn check(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    for line in text.lines().take(50) {
        let (unit, raw) = match line.split_once('|') {
            Some(("", raw)) => (None, raw),
            Some((unit, raw)) => (Some(unit), raw),
            None => (None, line),
        };
        sums::<Length>(raw, unit);
        sums::<Travel>(raw, unit);
        sums::<Torque>(raw, unit);
        sums::<Force>(raw, unit);
        sums::<Mass>(raw, unit);
        sums::<Acceleration>(raw, unit);
        sums::<Stiffness>(raw, unit);
        sums::<PerKelvin>(raw, unit);
        sums::<Ratio>(raw, unit);
        sums::<Angle>(raw, unit);
        temperature(raw, unit);
        decimal(raw);
        moment(raw);
        spelling(raw);
    }
}

/// Shown and read again it is the same; and twice any reading can be added and taken away.
fn sums<A: Amount + Add<Output = A> + Sub<Output = A> + Neg<Output = A> + std::fmt::Debug>(
    raw: &str,
    unit: Option<&str>,
) {
    let Ok(amount) = A::read(raw, unit) else { return };
    again(amount);
    assert_eq!(amount + amount - amount, amount, "sums of two readings are exact");
    assert_eq!(-(-amount), amount);
    let shown = amount.to_string();
    let plain = units_of(A::DIMENSION).next().map_or("", |unit| unit.name);
    assert!(
        shown.starts_with(&amount.number()) && (plain.is_empty() || shown.contains(' ') || plain == "%"),
        "{shown}"
    );
}

fn again<A: Amount + std::fmt::Debug>(amount: A) {
    assert_eq!(A::read(&amount.number(), None).as_ref(), Ok(&amount), "`{}`", amount.number());
    let float: f64 = amount.number().parse().expect("a plain number is one everywhere");
    assert!((float - amount.to_f64()).abs() <= float.abs() * 1e-12, "{float} is not {}", amount.to_f64());
}

fn temperature(raw: &str, unit: Option<&str>) {
    let Ok(amount) = Temperature::read(raw, unit) else { return };
    // Most degrees Fahrenheit have no end as a decimal number of degrees Celsius.
    if amount.0 % 9 == 0 {
        again(amount);
    }
    assert_eq!((amount - Temperature::degrees(20)).abs(), (Temperature::degrees(20) - amount).abs());
}

/// Beside the standard library's own reading of decimal numbers.
fn decimal(raw: &str) {
    let Ok(decimal) = Decimal::read(raw) else { return };
    let Ok(float) = raw.replace('_', "").parse::<f64>() else { return };
    assert!((decimal.to_f64() - float).abs() <= float.abs() * 1e-12, "`{raw}` is {float}, not {}", decimal.to_f64());
}

fn moment(raw: &str) {
    if let Some(moment) = Moment::read(raw) {
        assert_eq!(moment.to_string(), raw, "a moment has one spelling");
        for months in [0, 1, 12, 600, u32::MAX] {
            if let Some(later) = Months(months).after(moment.date) {
                assert!(later >= moment.date);
            }
        }
    }
}

/// What is proposed in place of a misspelt value can be read.
fn spelling(raw: &str) {
    let Some(better) = better_spelling(raw) else { return };
    let again = read(format!("a {better}"), &ReadLimits::default());
    assert_eq!(again.faults, [], "`{raw}` is better spelt `{better}`");
    let node = again.document.nodes().next().expect("there is a node");
    let entry = node.args().next().expect("there is a value");
    match entry.value() {
        Value::Text(text) => assert!(Moment::read(text).is_some(), "`{better}` is no moment"),
        Value::Number(raw) => assert!(Decimal::read(raw).is_ok(), "`{better}` is no number"),
        _ => panic!("`{better}` is no value"),
    }
    if let Some((unit, _)) = entry.ty() {
        assert!(Dimension::ALL.into_iter().flat_map(units_of).any(|known| known.name == unit), "`{unit}` is no unit");
    }
}
