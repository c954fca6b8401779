//! What a nearer shop file says otherwise than one above it: nothing is wrong with that, and nobody should be surprised by it.

use super::inherit::Inherits;
use super::named::Named;
use super::person::Person;
use super::shop::{ShimStock, Shop};
use super::spanned::{Name, SourcedNode, Spanned};
use super::stated_limits::stated_limits;
use crate::finding::{Finding, Grade, Place, RuleName, names};
use crate::language::rulebook::Rulebook;

/// What some shop nodes of one file say otherwise than those of the files above, nearest first.
pub(super) fn overridden(near: &[SourcedNode], above: &[SourcedNode]) -> Vec<Finding> {
    if near.is_empty() || above.is_empty() {
        return Vec::new();
    }
    let shop = |nodes: &[SourcedNode]| {
        let mut shop = Shop::default();
        nodes.iter().for_each(|node| shop.add(*node, &mut |_, _| {}));
        shop
    };
    let (own, farther) = (shop(near), shop(above));
    let mut found = Vec::new();
    entries("gauge", &own.gauges, &farther.gauges, &mut found);
    entries("wrench", &own.wrenches, &farther.wrenches, &mut found);
    entries("profile", &own.profiles, &farther.profiles, &mut found);
    entries("block", &own.blocks, &farther.blocks, &mut found);
    entries("fastener", &own.fasteners, &farther.fasteners, &mut found);
    leaves(own.shim_stock.as_ref(), farther.shim_stock.as_ref(), &mut found);
    for person in own.persons.iter() {
        let Some(other) = farther.persons.get(person.as_str()) else { continue };
        let parts = rights_left_out(person, other);
        if !parts.is_empty() {
            found.push(told("person", &person.name, other.name.place, &parts));
        }
    }
    limits(near, above, &mut found);
    found
}

fn entries<T: Inherits + Clone>(what: &str, own: &Named<T>, above: &Named<T>, found: &mut Vec<Finding>) {
    for entry in own.iter() {
        let Some(other) = above.get(entry.name()) else { continue };
        let parts = entry.clone().inherit(other.clone());
        if !parts.is_empty() {
            found.push(told(what, entry.name(), other.name().place, &parts));
        }
    }
}

fn leaves(own: Option<&ShimStock>, above: Option<&ShimStock>, found: &mut Vec<Finding>) {
    let (Some(own), Some(above)) = (own, above) else { return };
    for leaf in &own.leaves {
        let count = |stock: &ShimStock| {
            let of = stock.leaves.iter().filter(|of| *of.thickness == *leaf.thickness);
            of.map(|of| of.count.map(|count| *count)).collect::<Vec<_>>()
        };
        let other = above.leaves.iter().find(|of| *of.thickness == *leaf.thickness);
        if let Some(other) = other.filter(|_| count(own) != count(above)) {
            let name = Spanned { value: Name::from(leaf.thickness.to_string()), place: leaf.thickness.place };
            found.push(told("leaf", &name, other.thickness.place, &["count"]));
        }
    }
}

/// What the nearer file leaves out of what a person may do and sign with: of persons it alone counts.
fn rights_left_out(own: &Person, above: &Person) -> Vec<&'static str> {
    let may = |person: &Person| person.may.iter().map(|(what, days)| (what.value, *days)).collect::<Vec<_>>();
    let keys = |person: &Person| person.keys.iter().map(|(key, days)| (key.value.clone(), *days)).collect::<Vec<_>>();
    let (own_may, own_keys) = (may(own), keys(own));
    let mut parts = Vec::new();
    if may(above).iter().any(|right| !own_may.contains(right)) {
        parts.push("may");
    }
    if keys(above).iter().any(|key| !own_keys.contains(key)) {
        parts.push("key");
    }
    parts
}

fn told(what: &str, name: &Spanned<Name>, above: Place, parts: &[&str]) -> Finding {
    let otherwise = parts.join(", ").replace('_', "-");
    let message = format!("the {what} `{}` says otherwise here than in the file above: {otherwise}", **name);
    Finding::new(names::DUPLICATE_NAME, Grade::Observation, "", name.place, message)
        .here("counts below this folder")
        .also(above, "hidden there")
        .next("look whether it is meant: where it is the same thing, say here only what differs; where not, give one of them another name")
}

/// The limits that let more pass below the nearer file than the files above want. Whose rule that is, who stands above the
/// rules says.
fn limits(near: &[SourcedNode], above: &[SourcedNode], found: &mut Vec<Finding>) {
    let book = |nodes: &mut dyn Iterator<Item = &SourcedNode>| {
        let mut book = Rulebook::default();
        for row in nodes.flat_map(|node| node.named("rulebook")) {
            stated_limits(row, "shop").for_each(|change| book.apply(change));
        }
        book
    };
    // The nearest change must win, so the farthest is taken first.
    let farther = book(&mut above.iter().rev());
    let both = book(&mut above.iter().rev().chain(near));
    for change in book(&mut near.iter()).changes() {
        let Some(other) = farther.change(change.entry.limit) else { continue };
        if both.is_wider(&farther, change.entry) {
            let message = format!(
                "{} is {} below this folder, and the file above wants {}",
                change.entry.name,
                both.printed(change.entry),
                farther.printed(change.entry)
            );
            found.push(
                Finding::new(RuleName::NONE, Grade::Observation, "", change.place, message)
                    .here("lets more pass")
                    .also(other.place, "wanted there")
                    .next("look whether who set the limit above agrees; machines below this folder are judged by this one"),
            );
        }
    }
}
