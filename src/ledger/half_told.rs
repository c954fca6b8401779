//! What the text tells only half: names described in nodes that nobody knows, and records of which something is lost.
//!
//! A misspelt `rial port` has its own finding. That nobody then knows a rail `port`, or when it was snugged, is the
//! same mistake and must not be told again, least of all with advice to loosen a rail.

use std::collections::BTreeSet;

use super::machine::{Machine, RailId};
use super::recording::KINDS;
use crate::language::schema::{NodeShape, language, nearest};
use crate::text::{Document, NodeRef};

/// A record of which something is lost: a misspelt node, a value that cannot be read, an address that leads nowhere.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct HalfToldRecord {
    pub(crate) kind: &'static str,
    /// The rail it is probably about; nothing where it could be about any.
    pub rail: Option<RailId>,
}

/// The names that nodes unknown at their place would describe.
pub(super) fn names(document: &Document) -> BTreeSet<String> {
    let mut names = BTreeSet::new();
    for node in document.nodes() {
        let shape = language().node(node.name());
        names_in(node, shape, &mut names);
    }
    names
}

/// The language is a few levels deep and unknown nodes are walked without it, so this may call itself.
fn names_in(node: NodeRef, shape: Option<&NodeShape>, names: &mut BTreeSet<String>) {
    let Some(shape) = shape else {
        let mut open = vec![node];
        while let Some(node) = open.pop() {
            names.extend(node.args().next().and_then(super::spanned::text));
            open.extend(node.children());
        }
        return;
    };
    // Rows of a rail or a carriage are no names that others cite from outside.
    for child in node.children().filter(|_| !matches!(shape.name.as_str(), "rail" | "carriage" | "beam")) {
        names_in(child, shape.child(child.name()), names);
    }
}

/// What a node at the top of a file, unknown by its name, was probably meant to record.
pub(super) fn misspelt(node: NodeRef, machine: &Machine) -> Option<HalfToldRecord> {
    if language().top.iter().any(|shape| shape.name == node.name()) {
        return None;
    }
    let kind = nearest(node.name(), KINDS)?;
    let rail = node.args().filter_map(super::spanned::text).find_map(|word| probable_rail(machine, &word));
    Some(HalfToldRecord { kind, rail })
}

/// The rail that an address was probably meant to name.
pub(super) fn probable_rail(machine: &Machine, address: &str) -> Option<RailId> {
    let mut parts = address.trim_matches(|c: char| !c.is_alphanumeric()).split('.');
    let (axis, rail) = (parts.next()?, parts.next()?);
    let axes = machine.axes.iter().map(|axis| axis.name.as_str());
    let axis = machine.axis(axis).or_else(|| machine.axis(nearest(axis, axes)?))?;
    let rails = &machine.axes[axis].rails;
    let find = |name: &str| rails.iter().position(|rail| *rail.name == name);
    let rail = find(rail).or_else(|| find(nearest(rail, rails.iter().map(|rail| rail.name.as_str()))?))?;
    Some(RailId { axis, rail })
}
