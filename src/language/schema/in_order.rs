//! Tells at a glance that a node's own parts are in order, as nearly all are.
//!
//! Without it the lint takes 1.19 times the instructions (benches/README.md).

use super::shape::{EntryShape, FurtherArguments, NodeShape, Places, Range, Type};
use super::value;
use crate::quantity::{Amount, Dimension, Temperature};
use crate::text::{EntryRef, NodeRef};

/// Whether nothing can be said against a node's arguments and properties. Where it is not, the check says what is wrong.
pub(super) fn in_order(shape: &NodeShape, node: NodeRef) -> bool {
    let mut args = 0;
    let mut props = Places::default();
    for entry in node.entries() {
        let part = match entry.name() {
            Some(name) => match shape.prop_place(name) {
                Some(place) if !props.has(place) => {
                    props.add(place);
                    &shape.props[place]
                }
                _ => return false,
            },
            None => {
                let place = args;
                args += 1;
                match (shape.args.get(place), &shape.rest) {
                    (Some(part), _) | (None, FurtherArguments::Many { part, .. }) => part,
                    (None, FurtherArguments::Readings) if in_pairs(place - shape.args.len(), entry) => continue,
                    (None, FurtherArguments::Readings | FurtherArguments::None) => return false,
                }
            }
        };
        if !plain(part, entry) && value::check(part, entry).is_err() {
            return false;
        }
    }
    args >= shape.outline.least_args
        && props.hold(shape.outline.needed_props)
        && shape.outline.one_of.is_none_or(|some| props.meet(some))
        && (!matches!(shape.rest, FurtherArguments::Readings) || whole_pairs(args, shape))
}

/// Whether a value is a plain number, name or text where one belongs, as nearly all are.
#[inline]
fn plain(part: &EntryShape, entry: EntryRef) -> bool {
    match part.ty {
        Type::Quantity(_) | Type::OneOf(_) if part.ty != Type::Quantity(Dimension::Temperature) => {
            let enough = entry.plain().is_some_and(|number| match part.range {
                Range::Any => true,
                Range::AtLeastZero => number.digits() >= 0,
                Range::AboveZero => number.digits() > 0,
                // Seldom stated: read as any other spelling is.
                Range::UpToOne => false,
            });
            enough && entry.ty().is_none()
        }
        // What is wholly a name has no punctuation joined to it.
        Type::Name => entry.text().is_some_and(value::is_name) && entry.ty().is_none(),
        Type::Station => match entry.text() {
            Some(text) => value::is_station(text),
            None => entry.plain().is_some() && entry.ty().is_none(),
        },
        Type::Quantity(_) => {
            let likely = |number| Temperature::plain(number).is_some();
            part.range == Range::Any && entry.plain().is_some_and(likely) && entry.ty().is_none()
        }
        Type::Count => entry.plain().is_some_and(|it| it.digits() > 0 && it.places() == 0) && entry.ty().is_none(),
        Type::Text => entry.text().is_some_and(value::ends_plainly) && entry.ty().is_none(),
        Type::Word => {
            let allowed = |text: &str| value::ends_plainly(text) && part.allow.iter().any(|allowed| allowed == text);
            entry.text().is_some_and(allowed) && entry.ty().is_none()
        }
        Type::Address => entry.text().is_some_and(value::is_address) && entry.ty().is_none(),
        _ => false,
    }
}

/// Whether an entry of a row of readings, `before -> after` once or more, is what it must be at its place.
fn in_pairs(place: usize, entry: EntryRef) -> bool {
    if place % 3 == 1 {
        return entry.is_spelt("->");
    }
    entry.plain().is_some() && entry.ty().is_none() || value::reading(entry).is_ok()
}

fn whole_pairs(args: usize, shape: &NodeShape) -> bool {
    args > shape.args.len() && (args - shape.args.len()).is_multiple_of(3)
}
