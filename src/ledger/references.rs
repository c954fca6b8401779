//! The names that are cited, held against those that are described. Which part of the language cites what, the schema
//! says with `ref=`; which names there are to cite is listed here and nowhere else.

use std::collections::BTreeSet;

use super::faults::Faults;
use super::machine::{Axis, Machine, Rail};
use super::shop::Shop;
use super::spanned::{SourcedNode, Spanned};
use crate::finding::names;
use crate::finding::{Finding, Grade, Place};
use crate::language::schema::{NodeShape, Refers, language, nearest};

/// Where a name is cited: what there is to cite from there.
#[derive(Clone, Copy, Default)]
pub(super) struct Scope<'l> {
    /// Nothing where its text is too damaged to know its entries.
    pub shop: Option<&'l Shop>,
    pub machine: Option<&'l Machine>,
    pub axis: Option<&'l Axis>,
    pub rail: Option<&'l Rail>,
}

impl<'l> Scope<'l> {
    /// The names of that sort that may be cited, in the order they are described.
    pub(crate) fn known(&self, refers: Refers) -> Vec<&'l str> {
        match refers {
            Refers::Gauge => self.shop(|shop| names(shop.gauges.iter(), |it| it.name.as_str())),
            Refers::Wrench => self.shop(|shop| names(shop.wrenches.iter(), |it| it.name.as_str())),
            Refers::Instrument => [self.known(Refers::Gauge), self.known(Refers::Wrench)].concat(),
            Refers::Profile => self.shop(|shop| names(shop.profiles.iter(), |it| it.name.as_str())),
            Refers::Fastener => self.shop(|shop| names(shop.fasteners.iter(), |it| it.name.as_str())),
            Refers::Block => self.shop(|shop| names(shop.blocks.iter(), |it| it.name.as_str())),
            Refers::Beam => self.axis.map_or(Vec::new(), |axis| names(axis.beams.iter(), |it| it.name.as_str())),
            Refers::Axis => {
                self.machine.map_or(Vec::new(), |machine| names(machine.axes.iter(), |it| it.name.as_str()))
            }
            Refers::Rail => self.axis.map_or(Vec::new(), |axis| names(axis.rails.iter(), |it| it.name.as_str())),
            Refers::OtherRail => self.axis.map_or(Vec::new(), |axis| {
                let own = |rail: &&Rail| self.rail.is_none_or(|own| !std::ptr::eq(*rail, own));
                names(axis.rails.iter().filter(own), |it| it.name.as_str())
            }),
            Refers::Joint => self.rail.map_or(Vec::new(), |rail| names(rail.joints.iter(), |it| it.name.as_str())),
            Refers::Support => self.rail.map_or(Vec::new(), |rail| names(rail.supports.iter(), |it| it.name.as_str())),
            Refers::Part => [self.known(Refers::Joint), self.known(Refers::Support)].concat(),
            // Those are many, or not of the description: who looks for them finds them.
            Refers::Design
            | Refers::Revision
            | Refers::RowPlace
            | Refers::Address
            | Refers::Rule
            | Refers::Record
            | Refers::Hold => Vec::new(),
        }
    }

    fn shop(&self, list: impl Fn(&'l Shop) -> Vec<&'l str>) -> Vec<&'l str> {
        self.shop.map_or(Vec::new(), list)
    }

    /// Whether a name is described, for the sorts that a property cites; nothing where that cannot be told.
    fn has(&self, refers: Refers, name: &str) -> Option<bool> {
        Some(match refers {
            Refers::Gauge => self.shop?.gauge(name).is_some(),
            Refers::Wrench => self.shop?.wrench(name).is_some(),
            Refers::Profile => self.shop?.profile(name).is_some(),
            Refers::Fastener => self.shop?.fastener(name).is_some(),
            Refers::Block => self.shop?.block(name).is_some(),
            Refers::Beam | Refers::OtherRail => self.known(refers).contains(&name),
            // Those are resolved where they are read.
            _ => return None,
        })
    }
}

fn names<'l, T: 'l>(all: impl Iterator<Item = &'l T>, name: impl Fn(&'l T) -> &'l str) -> Vec<&'l str> {
    all.map(name).collect()
}

impl Faults {
    /// Says that nothing of that sort has the name.
    pub(crate) fn unknown(&mut self, refers: Refers, name: Spanned<&str>, scope: Scope, address: impl Into<String>) {
        self.unknown_among(refers, name, || scope.known(refers), address);
    }

    /// The same, of names that are no part of the description.
    pub(crate) fn unknown_among<'n>(
        &mut self,
        refers: Refers,
        name: Spanned<&str>,
        known: impl FnOnce() -> Vec<&'n str>,
        address: impl Into<String>,
    ) {
        // A word that cannot be read is no unknown name.
        if self.damage.hits(name.place) || self.half_told.contains(*name) {
            return;
        }
        let what = refers.called();
        let known = if self.may_compare() { known() } else { Vec::new() };
        self.compared += known.len();
        let next = match nearest(&name, known.iter().copied()) {
            Some(near) => format!("did you mean `{near}`?"),
            None if !self.may_compare() => format!("see what {what} is described, and mend the names above first"),
            None if known.is_empty() => format!("describe it first: there is no {what} yet"),
            None if known.len() <= 12 => format!("known here: {}", known.join(", ")),
            None => format!("known here: {} … {}", known[..3].join(", "), known[known.len() - 1]),
        };
        let message = match name.is_empty() {
            true => format!("the name of the {what} is empty"),
            false => format!("there is no {what} `{}`", *name),
        };
        self.found.push(
            Finding::new(names::UNKNOWN_REFERENCE, Grade::Nonconformity, address, name.place, message)
                .here("not described anywhere")
                .next(next),
        );
    }

    /// Holds the names that a node's properties cite against those there are.
    pub(super) fn cited(&mut self, row: SourcedNode, shape: &NodeShape, scope: Scope, address: impl Fn() -> String) {
        for part in &shape.props {
            let Some(refers) = part.refers else { continue };
            if let Some(name) = row.text::<&str>(&part.name).filter(|name| scope.has(refers, name) == Some(false)) {
                self.unknown(refers, name, scope, address());
            }
        }
    }
}

/// The names that the description of a machine cites: its own node, or a design that it is built to.
pub(super) fn of_machine(row: SourcedNode, machine: &Machine, shop: &Shop, faults: &mut Faults) {
    let below = |shape: Option<&'static NodeShape>, name| shape.and_then(|shape| shape.child(name));
    let of_axis = below(language().node(row.node.name()), "axis");
    let (of_rail, of_block) = (below(of_axis, "rail"), below(below(of_axis, "carriage"), "block"));
    // A row whose name came before, or that is one too many, was not taken.
    for row in row.named("axis") {
        let Some(axis) = machine.axes.iter().find(|axis| axis.place == row.place()) else { continue };
        let scope = Scope { shop: Some(shop), machine: Some(machine), axis: Some(axis), rail: None };
        let mut rails = axis.rails.iter().peekable();
        for (row, shape) in row.named("rail").filter_map(|row| Some((row, of_rail?))) {
            let Some(rail) = rails.next_if(|rail| rail.place == row.place()) else { continue };
            let scope = Scope { rail: Some(rail), ..scope };
            faults.cited(row, shape, scope, || format!("{}.{}", *axis.name, *rail.name));
        }
        let blocks = axis.carriage.iter().flat_map(|it| it.blocks.iter().chain(&it.former_blocks));
        let taken: BTreeSet<Place> = blocks.map(|block| block.place).collect();
        for row in row.named("carriage").take(1).flat_map(|carriage| carriage.named("block")) {
            let Some(shape) = of_block.filter(|_| taken.contains(&row.place())) else { continue };
            faults.cited(row, shape, scope, || axis.name.value.to_string());
        }
    }
}
