//! Which nodes of a ledger an axis rests on, as groups of facts.

use std::collections::{BTreeMap, BTreeSet};

use super::super::inherit::NOT_TAKEN_OVER;
use super::facts::{Fact, facts};
use super::group::{FactGroup, MACHINE};
use crate::finding::{Place, SourceId, within};
use crate::language::schema::{NodeShape, language};
use crate::ledger::{Axis, Body, Ledger, Record, Void};
use crate::quantity::Moment;
use crate::text::{EntryRef, NodeRef, Value};

/// The moment up to which records belong to a release.
#[derive(Clone, Copy, Debug)]
pub(super) struct Until {
    pub moment: Moment,
    /// The release record, where it is written already.
    pub record: Option<usize>,
}

/// Everything that an axis rests on at a moment, the limits left out.
pub(super) fn groups(ledger: &Ledger, axis: usize, until: Until) -> Vec<FactGroup> {
    let of = &ledger.machine.axes[axis];
    let mut all = Vec::new();
    all.extend(machine(ledger));
    description(ledger, of, &mut all);
    let stood = |index: &usize| about(ledger, axis, *index) && stood(ledger, *index, until);
    let mut records: Vec<usize> = (0..ledger.records.len()).filter(stood).collect();
    shop(ledger, of, &records, until, &mut all);
    // What files are called and which record stands in which means nothing by itself.
    records.sort_by_key(|index| ledger.timeline.place[*index]);
    let heads = heads(ledger);
    for index in records {
        let of = of_record(&heads, &ledger.records[index]);
        all.extend(of.map(|of| FactGroup { record: Some(index), ..of }));
    }
    all
}

/// What the machine is called: by that people know which one was released.
fn machine(ledger: &Ledger) -> Option<FactGroup> {
    let source = ledger.machine.name.as_ref()?.place.source;
    let document = &ledger.sources.get(source).document;
    let node = document.nodes().find(|node| node.name() == "machine")?;
    Some(FactGroup::from_node(MACHINE.into(), top("machine"), node, source, |child| child.name() == "title"))
}

/// The nodes of a ledger's files by where they begin.
pub(super) type Heads<'l> = BTreeMap<(SourceId, u32), NodeRef<'l>>;

pub(super) fn heads(ledger: &Ledger) -> Heads<'_> {
    let sources = ledger.sources.iter();
    sources.flat_map(|(id, source)| source.document.nodes().map(move |node| ((id, node.head().start), node))).collect()
}

/// The facts of a record.
pub(super) fn of_record(heads: &Heads, record: &Record) -> Option<FactGroup> {
    let node = heads.get(&(record.place.source, record.place.span.start))?;
    Some(FactGroup::from_node(record_name(record), top(record.kind), *node, record.place.source, |_| true))
}

/// The row of a release that stands under its seal, and not in it.
pub(super) const SIGNATURE: &str = "signature";

/// What a release says itself: the sealed groups have digests of their own, and the seal is over all the rest.
pub(super) fn own_facts(ledger: &Ledger, release: usize) -> Vec<Fact> {
    let place = ledger.records[release].place;
    let mut nodes = ledger.sources.get(place.source).document.nodes();
    nodes.find(|node| node.head() == place.span).map_or_else(Vec::new, |node| facts_of_release(node, place.source))
}

pub(super) fn facts_of_release(node: NodeRef, source: SourceId) -> Vec<Fact> {
    let mut own = facts(top("release"), node, source, |child| !matches!(child.name(), "sealed" | SIGNATURE));
    own.retain(|fact| fact.address != "seal");
    own
}

/// What a record is called: its kind, what it is about, and when.
pub(super) fn record_name(record: &Record) -> String {
    let mut words = vec![record.kind.to_string()];
    words.extend(record.on.as_ref().map(|on| on.to_string()));
    words.extend(record.written.map(|date| date.value.to_string()));
    words.join(" ")
}

/// Whether a record is about an axis or something on it, a release left out. Goods received count where their serial numbers are built in.
pub(crate) fn about(ledger: &Ledger, axis: usize, index: usize) -> bool {
    let record = &ledger.records[index];
    match &record.body {
        // A release holds facts about everything else and is none of them.
        Body::Release(_) => return false,
        // These say how things stand, and may come at any time: under the seal they would alter it.
        Body::Hold(_) | Body::Lift(_) => return false,
        Body::Void(void) if void.kind.as_ref().is_some_and(|kind| matches!(kind.as_str(), "hold" | "lift")) => {
            return false;
        }
        Body::Receive(receive) => {
            let built_in = |serial: &str| {
                let rails = &ledger.machine.axes[axis].rails;
                rails
                    .iter()
                    .flat_map(|rail| &rail.segments)
                    .any(|segment| segment.serial.as_ref().is_some_and(|own| **own == *serial))
            };
            return receive.parts.iter().any(|part| part.serial.as_ref().is_some_and(|serial| built_in(serial)));
        }
        Body::Void(_) if record.on.is_none() => {
            let withdrawn = withdrawn_in_the_end(ledger, index);
            return !matches!(ledger.records[withdrawn].body, Body::Void(_)) && about(ledger, axis, withdrawn);
        }
        _ => {}
    }
    match record.target {
        Some(target) => target.axis() == axis,
        None => {
            record.on.as_ref().is_some_and(|on| on.split('.').next() == Some(ledger.machine.axes[axis].name.as_str()))
        }
    }
}

/// What a void withdraws; through voids of voids to the record that they are about.
fn withdrawn_in_the_end(ledger: &Ledger, void: usize) -> usize {
    let mut at = void;
    // No void withdraws one that withdraws it, so this ends.
    while let Body::Void(Void { withdraws: Some(next), .. }) = &ledger.records[at].body {
        at = *next;
    }
    at
}

/// Whether a record belongs to what a release was written over: all that does not certainly come after it, so that nothing
/// is put under a seal on its own day.
fn stood(ledger: &Ledger, index: usize, until: Until) -> bool {
    let record = &ledger.records[index];
    let Some(date) = record.written else { return true };
    if date.date != until.moment.date {
        return date.date < until.moment.date;
    }
    if let (Some(own), Some(most)) = (date.minute, until.moment.minute)
        && own != most
    {
        return own < most;
    }
    // Before the release is written, all that is there of the day belongs to it.
    until.record.is_none_or(|release| ledger.records[release].place.source != record.place.source || index < release)
}

fn top(name: &str) -> Option<&'static NodeShape> {
    language().node(name)
}

/// The axis, its beams and rails, its carriage.
pub(crate) fn description(ledger: &Ledger, of: &Axis, all: &mut Vec<FactGroup>) {
    let source = of.place.source;
    let document = &ledger.sources.get(source).document;
    let machine = document.nodes().filter(|node| matches!(node.name(), "machine" | "design"));
    let axes = machine.flat_map(|node| node.children());
    let Some(node) = axes.into_iter().find(|node| node.name() == "axis" && node.head() == of.place.span) else {
        return;
    };
    let shape = top("machine").and_then(|shape| shape.child("axis"));
    let name = of.name.as_str();
    let own = |child: NodeRef| !matches!(child.name(), "beam" | "rail" | "carriage");
    all.push(FactGroup::from_node(format!("axis {name}"), shape, node, source, own));
    for child in node.children().filter(|child| !own(*child)) {
        let below = shape.and_then(|shape| shape.child(child.name()));
        let first = match child.args().next().map(|entry| entry.value()) {
            Some(Value::Text(text)) => text,
            _ => "",
        };
        let title = match child.name() {
            "carriage" => format!("carriage {name}"),
            word => format!("{word} {name}.{first}"),
        };
        all.push(FactGroup::from_node(title, below, child, source, |_| true));
    }
    for declared in ledger.machine.not_applicable.iter().chain(&ledger.shop.not_applicable) {
        let on = declared.on.as_ref().map_or(name, |on| on.as_str());
        if within(on, name) {
            let title = format!("not-applicable {} {on}", *declared.rule);
            all.extend(declaration(ledger, title, declared.place));
        }
    }
    for corrected in ledger.machine.corrected.iter().filter(|it| within(&it.on, name)) {
        all.extend(declaration(ledger, format!("corrected {}", *corrected.on), corrected.place));
    }
    let machine = &ledger.machine;
    for built in &machine.built_to {
        let title = format!("built-to {} {}", *built.design, *built.revision);
        all.extend(declaration(ledger, title, built.place));
    }
    for part in machine.parts.iter().filter(|it| within(&it.on, name)) {
        all.extend(declaration(ledger, format!("part {}", *part.on), part.place));
    }
    for deviation in machine.deviations.iter().filter(|it| within(&it.on, name)) {
        all.extend(declaration(ledger, format!("deviation {}", *deviation.on), deviation.place));
    }
}

/// What is declared not to apply, in the machine's own file or in one of the shop.
fn declaration(ledger: &Ledger, title: String, place: Place) -> Option<FactGroup> {
    let document = &ledger.sources.get(place.source).document;
    let tops = document.nodes().filter(|node| matches!(node.name(), "machine" | "shop"));
    let row = tops.flat_map(|node| node.children()).find(|node| node.head() == place.span)?;
    let shape = top("machine").and_then(|shape| shape.child(row.name()));
    Some(FactGroup::from_node(title, shape, row, place.source, |_| true))
}

/// The entries of the shop that the axis and its records cite, with the calibrations there were.
fn shop(ledger: &Ledger, of: &Axis, records: &[usize], until: Until, all: &mut Vec<FactGroup>) {
    let mut cited: BTreeSet<(&str, &str)> = BTreeSet::new();
    for rail in &of.rails {
        cited.extend(rail.profile.as_ref().map(|name| ("profile", name.as_str())));
        cited.extend([&rail.rail_bolt, &rail.base_bolt].into_iter().flatten().map(|name| ("fastener", name.as_str())));
    }
    let blocks = of.carriage.iter().flat_map(|carriage| &carriage.blocks);
    cited.extend(blocks.filter_map(|block| block.kind.as_ref().map(|name| ("block", name.as_str()))));
    for index in records {
        let instrument = match &ledger.records[*index].body {
            Body::Fasten(fasten) => fasten.wrench.as_ref().map(|name| ("wrench", name.as_str())),
            Body::Inspect(inspect) => inspect.gauge.as_ref().map(|name| ("gauge", name.as_str())),
            Body::Survey(survey) => survey.gauge.as_ref().map(|name| ("gauge", name.as_str())),
            Body::RunningForce(force) => force.gauge.as_ref().map(|name| ("gauge", name.as_str())),
            _ => None,
        };
        cited.extend(instrument);
    }
    for (kind, name) in cited {
        let place = match kind {
            "profile" => ledger.shop.profile(name).map(|it| it.name.place),
            "fastener" => ledger.shop.fastener(name).map(|it| it.name.place),
            "block" => ledger.shop.block(name).map(|it| it.name.place),
            "wrench" => ledger.shop.wrench(name).map(|it| it.name.place),
            _ => ledger.shop.gauge(name).map(|it| it.name.place),
        };
        let Some(place) = place else { continue };
        let shape = top("shop").and_then(|shape| shape.child(kind));
        // What is bought or calibrated later is no part of what was released.
        let keep = |child: NodeRef| match child.name() {
            "stock" | "cutting" => false,
            "calibrated" => date_of(child.args().next()).is_none_or(|date| date <= until.moment.date),
            "cycles" => date_of(child.prop("on")).is_none_or(|date| date <= until.moment.date),
            _ => true,
        };
        // What the nearest entry leaves out stands in the files above.
        let mut whole: Option<FactGroup> = None;
        for (source, file) in ledger.sources.iter().filter(|(source, file)| {
            *source == place.source || *source > place.source && file.path.name() == crate::world::ledgers::SHOP
        }) {
            let shops = file.document.nodes().filter(|node| node.name() == "shop").flat_map(|node| node.children());
            let named = |node: &NodeRef| node.args().next().and_then(EntryRef::word).is_some_and(|it| it == name);
            let Some(node) = shops.into_iter().find(|node| node.name() == kind && named(node)) else { continue };
            let mut group = FactGroup::from_node(format!("{kind} {name}"), shape, node, source, keep);
            // Nor is from when to when the shop had it: a gauge that is retired later changes no release, and one that it had
            // not on the day of a reading is told there.
            group.facts.retain(|fact| !matches!(fact.address.as_str(), "since" | "until"));
            match &mut whole {
                None => whole = Some(group),
                Some(whole) => {
                    let said: BTreeSet<String> = whole.facts.iter().map(|fact| fact.address.clone()).collect();
                    let word = |address: &str| address.split(' ').next().map(str::to_owned);
                    let words: BTreeSet<String> = said.iter().filter_map(|address| word(address)).collect();
                    let hidden = |fact: &Fact| {
                        let hides = |(own, other): &(&str, &str)| {
                            words.contains(*own) && word(&fact.address).as_deref() == Some(*other)
                        };
                        said.contains(&fact.address) || NOT_TAKEN_OVER.iter().any(hides)
                    };
                    whole.facts.extend(group.facts.into_iter().filter(|fact| !hidden(fact)));
                }
            }
        }
        all.extend(whole);
    }
}

fn date_of(entry: Option<EntryRef>) -> Option<jiff::civil::Date> {
    match entry?.value() {
        Value::Text(text) => Moment::read(text).map(|moment| moment.date),
        _ => None,
    }
}
