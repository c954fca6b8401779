//! Where a ledger names what it describes. Which part of the language names what, the schema says with `ref=`; so a word
//! that is added there is known here.

use super::desk::KnownLedger;
use crate::finding::{Place, SourceId};
use crate::language::schema::{EntryShape, NodeShape, Refers, Type, language};
use crate::ledger::{Body, JointSide, Ledger, Name, Target};
use crate::text::{EntryRef, NodeRef, Span};

/// What is named.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum MentionedThing {
    /// An entry of the shop: its sort and name.
    OfShop(Refers, Name),
    /// A beam of an axis.
    Beam(usize, Name),
    /// An axis, a rail or something on it. The support under a joint is the joint.
    Part(Target),
    /// A record.
    Record(usize),
    /// A rule.
    Rule(Name),
}

/// A place where something is named.
#[derive(Clone, Debug)]
pub(super) struct Mention {
    pub place: Place,
    pub subject: MentionedThing,
    /// It is one of several that a range names without saying it.
    pub within: bool,
    /// It is written as an address, with all that stands above it.
    pub address: bool,
}

/// Where one looks from: the names around a place.
#[derive(Clone, Copy, Default)]
struct Around {
    /// In a design that this machine is not built to now: what it describes is no part of it.
    elsewhere: bool,
    axis: Option<usize>,
    rail: Option<Target>,
}

/// All places of a ledger where something is named, in the order of the text.
pub(super) fn mentions(known: &KnownLedger) -> Vec<Mention> {
    let mut all = Vec::new();
    for (source, _) in known.ledger.sources.iter() {
        for node in known.document(source).nodes() {
            if let Some(shape) = language().node(node.name()) {
                let mut finder = MentionFinder { ledger: &known.ledger, source, all: &mut all };
                finder.top(node, shape);
            }
        }
    }
    all
}

/// What is named at a byte of a file: of several the one that is written there, not one that a range takes in.
pub(super) fn mention_at(known: &KnownLedger, source: SourceId, offset: usize) -> Option<Mention> {
    let holds = |it: &Mention| {
        let range = it.place.span.range();
        it.place.source == source && range.start <= offset && offset <= range.end
    };
    let mut found: Vec<Mention> = mentions(known).into_iter().filter(holds).collect();
    found.sort_by_key(|it| (it.within, it.place.span.len()));
    found.into_iter().next()
}

/// Where a thing is described.
pub(super) fn described(ledger: &Ledger, subject: &MentionedThing) -> Vec<Place> {
    match subject {
        MentionedThing::OfShop(refers, name) => of_shop(ledger, *refers, name).into_iter().collect(),
        MentionedThing::Beam(axis, name) => {
            let beams = ledger.machine.axes[*axis].beams.iter();
            beams.filter(|beam| beam.name.value == *name).map(|beam| beam.name.place).collect()
        }
        MentionedThing::Part(Target::Axis(axis)) => vec![ledger.machine.axes[*axis].name.place],
        MentionedThing::Part(Target::Rail(id)) => vec![ledger.machine.rail(*id).name.place],
        MentionedThing::Part(Target::Segment(id, at)) => vec![ledger.machine.rail(*id).segments[*at].place],
        MentionedThing::Part(Target::Support(id, at)) => vec![ledger.machine.rail(*id).supports[*at].place],
        MentionedThing::Part(Target::Joint(id, at)) => {
            let rail = ledger.machine.rail(*id);
            let joint = &rail.joints[*at];
            let support = joint.support.map(|support| rail.supports[support].place);
            [rail.segments[joint.before].place, joint.place].into_iter().chain(support).collect()
        }
        MentionedThing::Record(record) => vec![ledger.records[*record].place],
        MentionedThing::Rule(_) => Vec::new(),
    }
}

fn of_shop(ledger: &Ledger, refers: Refers, name: &str) -> Option<Place> {
    let shop = &ledger.shop;
    match refers {
        Refers::Gauge => shop.gauge(name).map(|it| it.name.place),
        Refers::Wrench => shop.wrench(name).map(|it| it.name.place),
        Refers::Profile => shop.profile(name).map(|it| it.name.place),
        Refers::Fastener => shop.fastener(name).map(|it| it.name.place),
        Refers::Block => shop.block(name).map(|it| it.name.place),
        _ => None,
    }
}

/// The support under a joint has the joint's name and is found with it.
fn part(ledger: &Ledger, target: Target) -> MentionedThing {
    if let Target::Support(id, support) = target
        && let Some(Some(joint)) = ledger.machine.rail(id).supports[support].joint
    {
        return MentionedThing::Part(Target::Joint(id, joint));
    }
    MentionedThing::Part(target)
}

struct MentionFinder<'l, 'a> {
    ledger: &'l Ledger,
    source: SourceId,
    all: &'a mut Vec<Mention>,
}

impl MentionFinder<'_, '_> {
    fn top(&mut self, node: NodeRef, shape: &'static NodeShape) {
        let place = Place { source: self.source, span: node.name_span() };
        let record = self.ledger.record_at(place).filter(|_| !shape.describes());
        if let Some(record) = record {
            self.all.push(Mention { place, subject: MentionedThing::Record(record), within: false, address: false });
            self.cited_records(node, record);
        }
        let rail = record.and_then(|record| self.ledger.records[record].rail()).map(Target::Rail);
        let here = Place { source: self.source, span: node.head() };
        let built_to = || self.ledger.machine.built_to.iter().any(|it| it.described == Some(here));
        self.node(node, shape, None, Around { elsewhere: node.is("design") && !built_to(), axis: None, rail });
    }

    /// The record that a void, a correction or a later release means.
    fn cited_records(&mut self, node: NodeRef, record: usize) {
        let of = &self.ledger.records[record];
        let meant = match &of.body {
            Body::Void(void) => void.withdraws.zip(node.prop("of")),
            _ => of.stands_for.zip(node.prop("replaces")),
        };
        if let Some((meant, entry)) = meant {
            self.put(entry, MentionedThing::Record(meant), false);
        }
    }

    fn put(&mut self, entry: EntryRef, subject: MentionedThing, address: bool) {
        let place = Place { source: self.source, span: entry.value_span() };
        self.all.push(Mention { place, subject, within: false, address });
    }

    /// The language is a few levels deep, and so this goes no deeper than that.
    fn node(&mut self, node: NodeRef, shape: &'static NodeShape, above: Option<&str>, around: Around) {
        let around = self.defined(node, above, around);
        let mut args = 0;
        for entry in node.entries() {
            if let Some(part) = shape.part(entry.name(), args) {
                self.cited(entry, part, around);
            }
            args += usize::from(entry.name().is_none());
        }
        for child in node.children() {
            if let Some(below) = shape.child(child.name()) {
                self.node(child, below, Some(&shape.name), around);
            }
        }
    }

    /// What a node describes by itself.
    fn defined(&mut self, node: NodeRef, above: Option<&str>, mut around: Around) -> Around {
        let Some((entry, name)) = node.args().next().and_then(|entry| Some((entry, entry.word()?))) else {
            return around;
        };
        let machine = &self.ledger.machine;
        let sort = match (above, node.name()) {
            (Some("shop"), "gauge") => Some(Refers::Gauge),
            (Some("shop"), "wrench") => Some(Refers::Wrench),
            (Some("shop"), "profile") => Some(Refers::Profile),
            (Some("shop"), "fastener") => Some(Refers::Fastener),
            (Some("shop"), "block") => Some(Refers::Block),
            _ => None,
        };
        if let Some(sort) = sort {
            self.put(entry, MentionedThing::OfShop(sort, Name::new(name)), false);
        }
        match (above, node.name(), around.axis) {
            (Some("machine" | "design"), "axis", _) if !around.elsewhere => {
                around.axis = machine.axis(name);
                if let Some(axis) = around.axis {
                    self.put(entry, MentionedThing::Part(Target::Axis(axis)), false);
                }
            }
            (Some("axis"), "beam", Some(axis)) => self.put(entry, MentionedThing::Beam(axis, Name::new(name)), false),
            (Some("axis"), "rail", Some(axis)) => {
                let address = format!("{}.{name}", *machine.axes[axis].name);
                around.rail = Target::find(machine, &address).ok();
                if let Some(rail) = around.rail {
                    self.put(entry, MentionedThing::Part(rail), false);
                }
            }
            (Some("rail"), "support", _) => self.on_rail(entry, entry.value_span(), name, around, false),
            _ => {}
        }
        around
    }

    /// Something on the rail that a place is about.
    fn on_rail(&mut self, entry: EntryRef, span: Span, name: &str, around: Around, within: bool) {
        let Some(id) = around.rail.and_then(Target::rail) else { return };
        let rail = self.ledger.machine.rail(id);
        // An end in a joint is told by a sign behind the joint's name.
        let of = JointSide::split(name).map_or(name, |(joint, _)| joint);
        let joint = || rail.joints.iter().position(|joint| joint.name == of).map(|at| Target::Joint(id, at));
        if let Some(target) = rail.support(name).map(|at| Target::Support(id, at)).or_else(joint) {
            let subject = part(self.ledger, target);
            let is_end = matches!(target, Target::Joint(..)) && of != name;
            let span = if is_end { Span::new(span.range().start, span.range().end - 1) } else { span };
            // A name in quotes is named with them.
            let span = if entry.raw().starts_with('"') { entry.value_span() } else { span };
            let place = Place { source: self.source, span };
            self.all.push(Mention { place, subject, within, address: false });
        }
    }

    fn cited(&mut self, entry: EntryRef, part: &EntryShape, around: Around) {
        let (Some(refers), Some(name)) = (part.refers, entry.word()) else { return };
        let machine = &self.ledger.machine;
        match refers {
            Refers::Gauge | Refers::Wrench | Refers::Profile | Refers::Fastener | Refers::Block => {
                self.put(entry, MentionedThing::OfShop(refers, Name::new(name)), false);
            }
            Refers::Instrument => {
                let sort = if self.ledger.shop.gauge(name).is_some() { Refers::Gauge } else { Refers::Wrench };
                self.put(entry, MentionedThing::OfShop(sort, Name::new(name)), false);
            }
            Refers::Rule => self.put(entry, MentionedThing::Rule(Name::new(name)), false),
            _ if part.ty == Type::Address => {
                if let Ok(target) = Target::find(machine, name) {
                    self.put(entry, self::part(self.ledger, target), true);
                }
            }
            Refers::Beam => {
                if let Some(axis) = around.axis {
                    self.put(entry, MentionedThing::Beam(axis, Name::new(name)), false);
                }
            }
            Refers::Rail | Refers::OtherRail => {
                let axis = around.axis.map(|axis| machine.axes[axis].name.as_str());
                let target = axis.and_then(|axis| Target::find(machine, &format!("{axis}.{name}")).ok());
                if let Some(target) = target {
                    self.put(entry, MentionedThing::Part(target), false);
                }
            }
            Refers::Joint | Refers::Support | Refers::RowPlace | Refers::Part => {
                self.on_rail_or_range(entry, name, around);
            }
            Refers::Axis | Refers::Address | Refers::Record | Refers::Hold | Refers::Design | Refers::Revision => {}
        }
    }

    /// A name, or a range with all that lies in it.
    fn on_rail_or_range(&mut self, entry: EntryRef, name: &str, around: Around) {
        let whole = entry.value_span();
        let Some((first, last)) = name.split_once("..") else {
            return self.on_rail(entry, whole, name, around, false);
        };
        let start = whole.range().start;
        self.on_rail(entry, Span::new(start, start + first.len()), first, around, false);
        self.on_rail(entry, Span::new(start + first.len() + 2, whole.range().end), last, around, false);
        let Some(id) = around.rail.and_then(Target::rail) else { return };
        let rail = self.ledger.machine.rail(id);
        let (Some(a), Some(b)) = (rail.support(first), rail.support(last)) else { return };
        for support in &rail.supports[(a.min(b) + 1).min(a.max(b))..a.max(b)] {
            self.on_rail(entry, whole, &support.name, around, true);
        }
    }
}
