//! Two ends of one span that stand the wrong way round: a least above its most, a beginning behind its end.

use super::shape::{Ends, NodeShape, Type};
use crate::quantity::{
    Acceleration, Amount, Angle, Dimension, Force, Length, Mass, Moment, PerKelvin, Ratio, SecondMoment, Stiffness,
    Stress, Temperature, TemperatureDifference, Torque, Travel,
};
use crate::text::{EntryRef, NodeRef, Value};

/// What is wrong with the two ends of a node.
pub(super) struct WrongEnds<'d, 's> {
    /// The lower and the upper one, each with its name.
    pub ends: [(&'s str, EntryRef<'d>); 2],
    /// They lie in one place and must be apart; else the lower one lies above the upper one.
    pub same: bool,
    /// They are days.
    pub days: bool,
}

/// The two ends of a node where they stand the wrong way round, or in one place and must be apart.
pub(super) fn wrong<'d, 's>(shape: &'s NodeShape, ends: Ends, node: NodeRef<'d>) -> Option<WrongEnds<'d, 's>> {
    let entries = ends.entries(shape, node)?;
    let [lower, upper] = ends.parts(shape);
    let reversed = above(lower.ty, entries);
    let wrong = reversed || shape.apart && !above(upper.ty, [entries[1], entries[0]]);
    let ends = [(lower.name.as_str(), entries[0]), (upper.name.as_str(), entries[1])];
    wrong.then_some(WrongEnds { ends, same: !reversed, days: lower.ty.is_day() })
}

/// Whether the first of two numbers of one type is the larger one. What cannot be read is not.
fn above(ty: Type, of: [EntryRef; 2]) -> bool {
    match ty {
        Type::Date | Type::Moment => {
            let [Some(first), Some(second)] = of.map(|entry| entry.text().and_then(Moment::read)) else { return false };
            // A day without a time is all of it.
            first.date > second.date || first.date == second.date && larger([first.minute, second.minute])
        }
        Type::Count => larger(of.map(|entry| entry.raw().parse::<u64>().ok())),
        Type::Quantity(dimension) => match dimension {
            Dimension::Length => larger(of.map(amount::<Length>)),
            Dimension::Travel => larger(of.map(amount::<Travel>)),
            Dimension::Torque => larger(of.map(amount::<Torque>)),
            Dimension::Force => larger(of.map(amount::<Force>)),
            Dimension::Mass => larger(of.map(amount::<Mass>)),
            Dimension::Temperature => larger(of.map(amount::<Temperature>)),
            Dimension::TemperatureDifference => larger(of.map(amount::<TemperatureDifference>)),
            Dimension::Acceleration => larger(of.map(amount::<Acceleration>)),
            Dimension::Stiffness => larger(of.map(amount::<Stiffness>)),
            Dimension::SecondMoment => larger(of.map(amount::<SecondMoment>)),
            Dimension::Stress => larger(of.map(amount::<Stress>)),
            Dimension::PerKelvin => larger(of.map(amount::<PerKelvin>)),
            Dimension::Ratio => larger(of.map(amount::<Ratio>)),
            Dimension::Angle => larger(of.map(amount::<Angle>)),
        },
        _ => false,
    }
}

fn larger<T: Ord>([first, second]: [Option<T>; 2]) -> bool {
    matches!((first, second), (Some(first), Some(second)) if first > second)
}

fn amount<A: Amount>(entry: EntryRef) -> Option<A> {
    let Value::Number(raw) = entry.value() else { return None };
    A::read(raw, entry.ty().map(|(unit, _)| unit)).ok()
}
