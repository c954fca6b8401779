//! What a nearer shop file says otherwise than one above it: nothing is wrong with that, and nobody should be surprised by it.

use std::collections::{BTreeMap, BTreeSet};

use super::inherit::Inherits;
use super::named::Named;
use super::person::{Days, Permission, Person};
use super::shop::{Gauge, ShimStock, Shop};
use super::shop_entries::InstrumentCounting;
use super::spanned::{Name, SourcedEntry, SourcedNode, Spanned};
use super::stated_limits::stated_limits;
use crate::finding::{Finding, Grade, Place, RuleName, names};
use crate::language::public_key::PublicKey;
use crate::language::rulebook::Rulebook;
use crate::quantity::Moment;

/// What some shop nodes of one file say otherwise than those of the files above, nearest first.
pub(super) fn overridden(near: &[SourcedNode], above: &[SourcedNode]) -> Vec<Finding> {
    if near.is_empty() || above.is_empty() {
        return Vec::new();
    }
    let counting = InstrumentCounting::of(near.iter().chain(above).copied());
    let shop = |nodes: &[SourcedNode]| {
        let mut shop = Shop::default();
        nodes.iter().for_each(|node| shop.add(*node, &counting, &mut |_, _| {}));
        shop
    };
    let (own, farther) = (shop(near), shop(above));
    let mut found = Vec::new();
    entries("gauge", &own.gauges, &farther.gauges, &|gauge| figures(gauge, above, &counting), &mut found);
    entries("wrench", &own.wrenches, &farther.wrenches, &|_| Vec::new(), &mut found);
    entries("profile", &own.profiles, &farther.profiles, &|_| Vec::new(), &mut found);
    entries("block", &own.blocks, &farther.blocks, &|_| Vec::new(), &mut found);
    entries("fastener", &own.fasteners, &farther.fasteners, &|_| Vec::new(), &mut found);
    leaves(own.shim_stock.as_ref(), farther.shim_stock.as_ref(), &mut found);
    for person in own.persons.iter() {
        let Some(other) = farther.persons.get(person.as_str()) else { continue };
        let parts = said_otherwise(person, other);
        if !parts.is_empty() {
            found.push(told("person", &person.name, other.name.place, &parts));
        }
    }
    mappings(near, above, &mut found);
    limits(near, above, &mut found);
    found
}

/// One finding an entry, with all that it hides; `more` is what else that is.
fn entries<T: Inherits + Clone>(
    what: &str,
    own: &Named<T>,
    above: &Named<T>,
    more: &dyn Fn(&T) -> Vec<&'static str>,
    found: &mut Vec<Finding>,
) {
    for entry in own.iter() {
        let Some(other) = above.get(entry.name()) else { continue };
        let mut parts = entry.clone().inherit(other.clone());
        for part in more(entry) {
            if !parts.iter().any(|told| told.replace('_', "-") == part) {
                parts.push(part);
            }
        }
        if !parts.is_empty() {
            found.push(told(what, entry.name(), other.name().place, &parts));
        }
    }
}

fn leaves(own: Option<&ShimStock>, above: Option<&ShimStock>, found: &mut Vec<Finding>) {
    let (Some(own), Some(above)) = (own, above) else { return };
    for leaf in &own.leaves {
        let of = |stock: &ShimStock| {
            let of = stock.leaves.iter().filter(|of| *of.thickness == *leaf.thickness);
            let day = |day: Option<Spanned<Moment>>| day.map(|day| *day);
            let said: (Vec<_>, (Vec<_>, Vec<_>)) =
                of.map(|of| (of.count.map(|count| *count), (day(of.since), day(of.until)))).unzip();
            said
        };
        let Some(other) = above.leaves.iter().find(|of| *of.thickness == *leaf.thickness) else { continue };
        let ((count, (since, until)), (count_above, (since_above, until_above))) = (of(own), of(above));
        let differs =
            [("count", count != count_above), ("since", since != since_above), ("until", until != until_above)];
        let parts: Vec<&str> = differs.into_iter().filter_map(|(part, differs)| differs.then_some(part)).collect();
        if !parts.is_empty() {
            let name = Spanned { value: Name::from(leaf.thickness.to_string()), place: leaf.thickness.place };
            found.push(told("leaf", &name, other.thickness.place, &parts));
        }
    }
}

/// What the nearer file says otherwise of a person, be it by leaving it out: of persons it alone counts.
fn said_otherwise(own: &Person, above: &Person) -> Vec<&'static str> {
    // Taken apart by its fields: one that is added must be thought of here.
    let Person { name: _, days, successor, may, keys } = above;
    let rights = |may: &[(Spanned<Permission>, Days)]| {
        let mut all: Vec<_> = may.iter().map(|(what, days)| (what.spelt(), days.words())).collect();
        all.sort_unstable();
        all
    };
    let own_keys = |keys: &[(Spanned<PublicKey>, Days)]| {
        let mut all: Vec<_> = keys.iter().map(|(key, days)| (key.fingerprint(), days.words())).collect();
        all.sort_unstable();
        all
    };
    let differs = [
        ("from", own.days.from != days.from),
        ("until", own.days.until != days.until),
        ("successor", own.successor.as_ref().map(|by| by.as_str()) != successor.as_ref().map(|by| by.as_str())),
        ("may", rights(&own.may) != rights(may)),
        ("key", own_keys(&own.keys) != own_keys(keys)),
    ];
    differs.into_iter().filter_map(|(part, differs)| differs.then_some(part)).collect()
}

/// Figures of a gauge in the files above that are no figures of it by what the nearer file says of its kind: nothing is read
/// there.
fn figures(own: &Gauge, above: &[SourcedNode], counting: &InstrumentCounting) -> Vec<&'static str> {
    let counted_above = InstrumentCounting::of(above.iter().copied());
    let rows = above.iter().flat_map(|node| node.named("gauge"));
    let rows = rows.filter(|row| row.arg_text::<&str>(0).is_some_and(|name| name.value == own.name.as_str()));
    rows.flat_map(|row| {
        let at_fault: Vec<&str> = counted_above.unfit_figures(row).map(|(figure, _)| figure).collect();
        counting.unfit_figures(row).map(|(figure, _)| figure).filter(move |figure| !at_fault.contains(figure))
    })
    .collect()
}

/// Mappings of exported files: the nearer one is taken whole, so that it hides all of one above that it does not say alike.
fn mappings(near: &[SourcedNode], above: &[SourcedNode], found: &mut Vec<Finding>) {
    for own in near.iter().flat_map(|node| node.named("readings-file")) {
        let Some(name) = own.arg_text::<Name>(0) else { continue };
        let of_name = |row: &SourcedNode| row.arg_text::<&str>(0).is_some_and(|it| it.value == name.as_str());
        let Some(other) = above.iter().flat_map(|node| node.named("readings-file")).find(of_name) else { continue };
        // What each says of a part, in its order.
        let said = |row: SourcedNode, part: &str| {
            let below = row.children().filter(|child| child.name() == part);
            (row.prop(part).map(entry_words), below.map(node_words).collect::<Vec<_>>())
        };
        let names = |row: SourcedNode| {
            let props = row.props().map(|(prop, _)| prop.to_owned());
            props.chain(row.children().map(|child| child.name().to_owned())).collect::<Vec<String>>()
        };
        let parts: BTreeSet<String> = names(own).into_iter().chain(names(other)).collect();
        let differ: Vec<&str> =
            parts.iter().map(String::as_str).filter(|part| said(own, part) != said(other, part)).collect();
        if !differ.is_empty() {
            found.push(told("readings-file", &name, other.place(), &differ));
        }
    }
}

/// A value as it is spelt, with its unit.
fn entry_words(cell: SourcedEntry) -> String {
    format!("{:?} {:?}", cell.entry.ty().map(|(unit, _)| unit), cell.entry.value())
}

/// What a row says, whatever the order of its properties.
fn node_words(row: SourcedNode) -> (Vec<String>, BTreeMap<String, String>) {
    let props = row.props().map(|(name, cell)| (name.to_owned(), entry_words(cell)));
    (row.args().map(entry_words).collect(), props.collect())
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
