//! Tells at a glance that a node's own parts are in order, as nearly all are.

use std::cmp::Ordering;

use super::shape::{Arguments, NodeShape, Part, Places, Range, Type};
use super::value;
use crate::quantity::{Dimension, plain_sign};
use crate::syntax::{EntryRef, NodeRef, Value};

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
                    (Some(part), _) | (None, Arguments::Many { part, .. }) => part,
                    (None, Arguments::Readings) if in_pairs(place - shape.args.len(), entry) => continue,
                    (None, Arguments::Readings | Arguments::None) => return false,
                }
            }
        };
        if !plain(part, entry) && value::check(part, entry).is_err() {
            return false;
        }
    }
    args >= shape.outline.least_args
        && props.hold(shape.outline.needed_props)
        && (!matches!(shape.rest, Arguments::Readings) || whole_pairs(args, shape))
}

/// Whether a value is a plain number or name where one belongs, as nearly all are.
#[inline]
fn plain(part: &Part, entry: EntryRef) -> bool {
    match (part.ty, entry.value()) {
        (Type::Quantity(dimension), Value::Number(raw)) if dimension != Dimension::Temperature => {
            let sign = plain_sign(raw);
            let enough = match part.range {
                Range::Any => sign.is_some(),
                Range::AtLeastZero => sign.is_some_and(Ordering::is_ge),
                Range::AboveZero => sign == Some(Ordering::Greater),
            };
            enough && entry.ty().is_none()
        }
        // What is wholly a name has no punctuation joined to it.
        (Type::Name, Value::Text(text)) => value::is_name(text) && entry.ty().is_none(),
        (Type::Station, Value::Text(text)) => value::is_name(text),
        _ => false,
    }
}

/// Whether an entry of a row of readings, `before -> after` once or more, is what it must be at its place.
fn in_pairs(place: usize, entry: EntryRef) -> bool {
    match entry.value() {
        _ if place % 3 == 1 => entry.raw() == "->",
        Value::Number(raw) if entry.ty().is_none() && plain_sign(raw).is_some() => true,
        _ => value::reading(entry).is_ok(),
    }
}

fn whole_pairs(args: usize, shape: &NodeShape) -> bool {
    args > shape.args.len() && (args - shape.args.len()).is_multiple_of(3)
}
