//! Checks one value against its type, and says how it should have been written.

use super::nearest::{nearest, only_near};
use super::shape::{EntryShape, Range, Type};
use crate::finding::{RuleName, names};
use crate::language::public_key::PublicKey;
use crate::quantity::{
    Acceleration, Amount, AmountError, Angle, Decimal, Dimension, Force, Length, Mass, Moment, PerKelvin, Ratio,
    SecondMoment, Stiffness, Stress, Temperature, TemperatureDifference, Torque, Travel, better_spelling, units_of,
};
use crate::text::{Edit, EntryRef, Value, is_unseen, quote};

/// Why a value is not what the language asks for there.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum ValueError {
    /// It is of another type.
    Type,
    /// A number that cannot be held.
    Number(AmountError),
    /// A unit where none belongs.
    NoUnit(String),
    /// A word that is not allowed.
    Word,
    /// Too small.
    Range,
    /// Punctuation that KDL takes as a part of the word.
    Joined { better: String },
    /// Not there, and not allowed to be.
    Blank,
}

pub(super) fn check(part: &EntryShape, entry: EntryRef) -> Result<(), ValueError> {
    let value = entry.value();
    match value {
        // A quoted text may say whatever it likes; for most the text alone shows that nothing is joined to it.
        Value::Text(text) if !ends_plainly(text) => {
            if let Some(better) = unjoined(entry.raw()) {
                return Err(ValueError::Joined { better });
            }
        }
        Value::Null => return if part.blank { Ok(()) } else { Err(ValueError::Blank) },
        Value::Text(_) | Value::Number(_) | Value::Bool(_) => {}
    }
    let unit = entry.ty().map(|(name, _)| name);
    if let Some(unit) = unit
        && !matches!(part.ty, Type::Quantity(_) | Type::Station | Type::Amount | Type::OneOf(_))
    {
        return Err(ValueError::NoUnit(unit.to_string()));
    }
    let well = match value {
        Value::Number(raw) => match part.ty {
            Type::Quantity(dimension) => return quantity(dimension, raw, unit, part.range),
            Type::Station => return read::<Length>(raw, unit, Range::Any),
            Type::OneOf(dimensions) => return quantity(meant(dimensions, unit), raw, unit, part.range),
            Type::Amount => return Decimal::read(raw).map(|_| ()).map_err(ValueError::Number),
            Type::Count => match Decimal::read(raw) {
                Ok(Decimal { digits: 0, places: 0 }) if part.range == Range::AboveZero => {
                    return Err(ValueError::Range);
                }
                Ok(Decimal { digits, places: 0 }) => (0..=1_000_000_000).contains(&digits),
                _ => false,
            },
            other => other == Type::Text,
        },
        Value::Text(text) => match part.ty {
            Type::Text => true,
            Type::Key => PublicKey::read(text).is_some(),
            Type::Name => is_name(text),
            Type::Station => is_station(text),
            Type::Word if part.allow.iter().any(|allowed| allowed == text) => true,
            Type::Word => return Err(ValueError::Word),
            Type::Date => Moment::read(text).is_some_and(|moment| moment.minute.is_none()),
            Type::Moment => Moment::read(text).is_some(),
            Type::Address => is_address(text),
            Type::Supports => match text.as_bytes().windows(2).position(|two| two == b"..") {
                Some(dots) => is_name(&text[..dots]) && is_name(&text[dots + 2..]),
                None => is_name(text),
            },
            Type::Flag | Type::Count | Type::Amount | Type::OneOf(_) | Type::Quantity(_) => false,
        },
        Value::Bool(_) => part.ty == Type::Flag,
        Value::Null => false,
    };
    if well { Ok(()) } else { Err(ValueError::Type) }
}

/// Of several dimensions the one that a unit is of; without a unit, or with one of none of them, the first.
fn meant(dimensions: &[Dimension], unit: Option<&str>) -> Dimension {
    let has = |dimension: &&Dimension| unit.is_some_and(|unit| units_of(**dimension).any(|known| known.name == unit));
    dimensions.iter().find(has).or(dimensions.first()).copied().unwrap_or(Dimension::Ratio)
}

/// A groove reading.
pub(super) fn reading(entry: EntryRef) -> Result<(), ValueError> {
    let Value::Number(raw) = entry.value() else { return Err(ValueError::Type) };
    read::<Length>(raw, entry.ty().map(|(name, _)| name), Range::Any)
}

fn quantity(dimension: Dimension, raw: &str, unit: Option<&str>, range: Range) -> Result<(), ValueError> {
    match dimension {
        Dimension::Length => read::<Length>(raw, unit, range),
        Dimension::Travel => read::<Travel>(raw, unit, range),
        Dimension::Torque => read::<Torque>(raw, unit, range),
        Dimension::Force => read::<Force>(raw, unit, range),
        Dimension::Mass => read::<Mass>(raw, unit, range),
        Dimension::Temperature => read::<Temperature>(raw, unit, range),
        Dimension::TemperatureDifference => read::<TemperatureDifference>(raw, unit, range),
        Dimension::Acceleration => read::<Acceleration>(raw, unit, range),
        Dimension::Stiffness => read::<Stiffness>(raw, unit, range),
        Dimension::SecondMoment => read::<SecondMoment>(raw, unit, range),
        Dimension::PerKelvin => read::<PerKelvin>(raw, unit, range),
        Dimension::Stress => read::<Stress>(raw, unit, range),
        Dimension::Ratio => read::<Ratio>(raw, unit, range),
        Dimension::Angle => read::<Angle>(raw, unit, range),
    }
}

fn read<A: Amount + Default>(raw: &str, unit: Option<&str>, range: Range) -> Result<(), ValueError> {
    let amount = A::read(raw, unit).map_err(ValueError::Number)?;
    let zero = A::default();
    match range {
        Range::AboveZero if amount <= zero => Err(ValueError::Range),
        Range::AtLeastZero | Range::UpToOne if amount < zero => Err(ValueError::Range),
        Range::UpToOne if A::read("1", None).is_ok_and(|one| amount > one) => Err(ValueError::Range),
        _ => Ok(()),
    }
}

/// Names with a point between each two.
pub(super) fn is_address(text: &str) -> bool {
    // Mostly each letter shows by itself that it belongs to one; two points together, or one at an end, hold no name.
    let mut before = b'.';
    let plain = text.bytes().all(|byte| {
        let fits = IN_NAMES[byte as usize] || byte == b'.' && before != b'.';
        before = byte;
        fits
    });
    plain && before != b'.' || text.split('.').all(is_name)
}

pub(super) fn is_name(text: &str) -> bool {
    !text.is_empty()
        && (text.bytes().all(|byte| IN_NAMES[byte as usize])
            || text.chars().all(|c| c.is_alphanumeric() && !is_unseen(c) || matches!(c, '-' | '_')))
}

/// A support, or an end in a joint: `J1-` is a name like any other, `J1+` is one but for its sign.
pub(super) fn is_station(text: &str) -> bool {
    is_name(text.strip_suffix('+').unwrap_or(text))
}

/// The ASCII letters of names.
const IN_NAMES: [bool; 256] = {
    let mut is_in = [false; 256];
    let mut byte = 0;
    while byte < 128 {
        is_in[byte] = (byte as u8).is_ascii_alphanumeric() || matches!(byte as u8, b'-' | b'_');
        byte += 1;
    }
    is_in
};

/// Most words begin and end with a letter or digit.
#[inline]
pub(super) fn ends_plainly(text: &str) -> bool {
    let plain = |byte: Option<&u8>| byte.is_some_and(u8::is_ascii_alphanumeric);
    plain(text.as_bytes().first()) && plain(text.as_bytes().last())
}

/// An unquoted word without the punctuation that was joined to it; nothing where there is none.
pub(super) fn unjoined(raw: &str) -> Option<String> {
    const CURLY: [char; 7] = ['\u{201c}', '\u{201d}', '\u{201e}', '\u{2018}', '\u{2019}', '\u{ab}', '\u{bb}'];
    if ends_plainly(raw) || raw.starts_with(['"', '#']) {
        return None;
    }
    if raw.starts_with(CURLY) || raw.ends_with(CURLY) {
        return Some(format!("\"{}\"", raw.trim_matches(CURLY)));
    }
    let trimmed = raw.trim_end_matches([',', ':']);
    (trimmed.len() < raw.len() && !trimmed.is_empty()).then(|| trimmed.to_string())
}

impl ValueError {
    /// The rule, the message and the next step. `what` names the value.
    pub(super) fn explain(&self, what: &str, part: &EntryShape, entry: EntryRef) -> (RuleName, String, String) {
        let raw = entry.raw();
        let expects = part.ty.describe();
        let write = |better: String| match entry.name() {
            Some(name) => format!("write {name}={better}"),
            None => format!("write {better}"),
        };
        match self {
            ValueError::Joined { better } => (
                names::JOINED_PUNCTUATION,
                format!("the punctuation in `{raw}` is read as part of the word"),
                write(better.clone()),
            ),
            // What was meant to be a key and is none may be a secret: it is not repeated.
            ValueError::Type if part.ty == Type::Key => {
                (names::WRONG_VALUE, format!("{what} is not {expects}"), part.help.clone())
            }
            ValueError::Type => {
                let better = match part.ty {
                    Type::Quantity(_) | Type::OneOf(_) | Type::Count | Type::Date | Type::Moment => {
                        better_spelling(raw)
                    }
                    _ => None,
                };
                let next = better.map_or_else(|| part.help.clone(), write);
                (names::WRONG_VALUE, format!("{what} is {raw}, which is not {expects}"), next)
            }
            ValueError::Number(AmountError::UnknownUnit(unit)) => {
                (names::WRONG_UNIT, format!("the unit `{unit}` of {what} is not known"), unit_advice(part, raw, unit))
            }
            ValueError::Number(AmountError::WrongUnit { unit, dimension }) => (
                names::WRONG_UNIT,
                format!("the unit `{unit}` of {what} is none of a {dimension}"),
                unit_advice(part, raw, unit),
            ),
            ValueError::Number(misread) => {
                (names::WRONG_VALUE, format!("{what} is {raw}, which {misread}"), part.help.clone())
            }
            ValueError::NoUnit(unit) => (
                names::WRONG_UNIT,
                format!("{what}: the unit `{unit}` does not belong there, for it is {expects}"),
                write(raw.to_string()),
            ),
            ValueError::Word => {
                let next = match nearest(raw, part.allow.iter().map(String::as_str)) {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => format!("allowed: {}", part.allow.join(", ")),
                };
                (names::WRONG_VALUE, format!("{what} is `{raw}`, which is not one of its words"), next)
            }
            ValueError::Range => {
                let bound = match part.range {
                    Range::AboveZero => "above zero",
                    Range::UpToOne => "from zero to 1, a part of the whole",
                    Range::Any | Range::AtLeastZero => "zero or more",
                };
                (names::WRONG_VALUE, format!("{what} is {raw}; it must be {bound}"), part.help.clone())
            }
            ValueError::Blank => (
                names::WRONG_VALUE,
                format!("{what} is blank"),
                format!("leave it out until it is known, or write {expects}"),
            ),
        }
    }
}

impl ValueError {
    /// The one thing that can have been meant: what the change does, and the change.
    pub(super) fn fix(&self, part: &EntryShape, entry: EntryRef) -> Option<(String, Edit)> {
        let (word, span) = match self {
            ValueError::Word => {
                (quote(only_near(entry.text()?, part.allow.iter().map(String::as_str))?), entry.value_span())
            }
            ValueError::Number(AmountError::UnknownUnit(unit)) => (better_unit(part, unit)?, entry.ty()?.1),
            _ => return None,
        };
        Some((format!("write `{word}`"), Edit { span, text: word }))
    }
}

/// The unit that a misspelt one means.
fn better_unit(part: &EntryShape, unit: &str) -> Option<String> {
    let dimensions = part.ty.dimensions()?;
    let better = better_spelling(&format!("1{unit}"))?;
    let better = better.strip_suffix(")1")?.get(1..)?;
    let is_known = dimensions.iter().flat_map(|dimension| units_of(*dimension)).any(|unit| unit.name == better);
    is_known.then(|| better.to_string())
}

fn unit_advice(part: &EntryShape, raw: &str, unit: &str) -> String {
    let Some(dimensions) = part.ty.dimensions() else { return part.help.clone() };
    if let Some(better) = better_unit(part, unit) {
        return format!("write ({better}){raw}");
    }
    let units = dimensions.iter().map(|dimension| {
        let units: Vec<_> = units_of(*dimension).map(|unit| unit.name).collect();
        format!("units of {}: {}", dimension.with_article(), units.join(", "))
    });
    units.collect::<Vec<_>>().join("; ")
}
