//! What happened at each support and joint in order, and which proofs that undid.
//!
//! Slackening or shimming a support makes stale what was proven there and beside it: inspections of joints whose own
//! support or a neighbour is touched, readings of stations in the adjoining spans. Tightening again does not.

use smallvec::SmallVec;

use super::groups::Groups;
use super::machine::{Interface, Machine, Rail};
use super::record::{Body, Record, Stage};
use super::timeline::Timeline;
use crate::finding::Place;
use crate::quantity::Torque;

/// Something that was done to the bolts of one support.
#[derive(Clone, Copy, Debug)]
pub struct Event {
    pub record: usize,
    pub place: Place,
    pub what: EventKind,
    /// The row of a fastening or shimming record; of a bolt that turned, its place among those.
    pub row: usize,
    /// Which bolts; nothing means both kinds.
    pub interface: Option<Interface>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EventKind {
    Snug,
    Full,
    Slackened,
    /// Shims were put in, taken out or changed, for which it was slackened too.
    Shimmed,
    /// A bolt turned before it held: it had come loose, and nobody knows when.
    Turned,
    /// A bolt did not reach its full torque.
    Missed,
}

impl EventKind {
    /// What was done to a support by which it was loose, in a word behind "was".
    pub fn done(self) -> &'static str {
        match self {
            EventKind::Shimmed => "shimmed",
            EventKind::Turned => "found with a bolt that turned",
            EventKind::Missed => "found with a bolt that missed its torque",
            EventKind::Slackened | EventKind::Snug | EventKind::Full => "loosened",
        }
    }
}

impl Event {
    /// It slackened bolts of that kind.
    pub fn slackens(&self, interface: Interface) -> bool {
        matches!(self.what, EventKind::Slackened | EventKind::Shimmed)
            && self.interface.is_none_or(|which| which == interface)
    }

    /// Some bolts were loose then, so that what was read beside them before says nothing any more.
    pub fn undoes(&self) -> bool {
        matches!(self.what, EventKind::Slackened | EventKind::Shimmed | EventKind::Turned)
    }
}

/// All that happened to one rail.
#[derive(Clone, Debug)]
pub struct RailHistory {
    /// For each support, what was done to it, in order.
    pub supports: Groups<Event>,
    /// For each joint, the records of its inspections, in order.
    pub inspections: Groups<usize>,
    /// The records of surveys of this rail, in order; those that were made while it was set are left out.
    pub surveys: Vec<usize>,
}

/// What one bolt was tightened to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct HeldTorque {
    pub record: usize,
    pub place: Place,
    /// The torque read; nothing where it clicked at the record's setting.
    pub torque: Option<Torque>,
}

/// What each bolt of a support holds. Few supports have more than four bolts.
pub(crate) type HeldBolts = SmallVec<[Option<HeldTorque>; 4]>;

/// What undid a proof.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Undone {
    pub record: usize,
    pub place: Place,
    pub support: usize,
    /// 0 at the joint's own support, 1 at a neighbour, 2 beyond it.
    pub distance: usize,
}

/// The histories of all rails, by axis and rail.
pub(super) fn histories(machine: &Machine, records: &[Record], timeline: &Timeline) -> Vec<Vec<RailHistory>> {
    let mut all: Vec<Vec<Happened>> =
        machine.axes.iter().map(|axis| axis.rails.iter().map(|_| Happened::default()).collect()).collect();
    for record in records {
        if let Some(id) = record.rail() {
            all[id.axis][id.rail].most += rows(&record.body);
        }
    }
    for rail in all.iter_mut().flatten() {
        rail.events.reserve(rail.most);
    }
    for &index in &timeline.order {
        let record = &records[index];
        let Some(id) = record.rail() else { continue };
        let rail = &mut all[id.axis][id.rail];
        let mut happened = |support, place, what, row, interface| {
            rail.events.push((support, Event { record: index, place, what, row, interface }));
        };
        match &record.body {
            Body::Fasten(fasten) => {
                let what = match fasten.stage.map(|stage| stage.value) {
                    Some(Stage::Snug) => EventKind::Snug,
                    Some(Stage::Full) => EventKind::Full,
                    None => continue,
                };
                // They turned before they were tightened.
                for (row, turned) in fasten.turned.iter().enumerate() {
                    happened(turned.0, turned.place, EventKind::Turned, row, Some(fasten.interface));
                }
                // One that did not click has not its full torque, whatever it had before.
                if what == EventKind::Full {
                    for (row, missed) in fasten.missed.iter().enumerate() {
                        happened(missed.0, missed.place, EventKind::Missed, row, Some(fasten.interface));
                    }
                }
                for (row, done) in fasten.rows.iter().enumerate() {
                    happened(done.support, done.place, what, row, Some(fasten.interface));
                }
            }
            Body::Loosen(loosen) => {
                for (row, support) in loosen.supports.iter().enumerate() {
                    happened(support.value, support.place, EventKind::Slackened, row, loosen.interface);
                }
            }
            Body::Shim(shim) => {
                for (row, done) in shim.rows.iter().enumerate() {
                    happened(done.support, done.place, EventKind::Shimmed, row, None);
                }
            }
            // What was read while the rail was set says nothing of how it lies.
            Body::Inspect(_) | Body::Survey(_) if record.is_aligning() => {}
            Body::Inspect(_) => {
                if let Some(super::Target::Joint(_, joint)) = record.target {
                    rail.inspections.push((joint, index));
                }
            }
            Body::Survey(_) => rail.surveys.push(index),
            _ => {}
        }
    }
    let sorted = |(rail, happened): (&Rail, Happened)| RailHistory {
        supports: Groups::new(rail.supports.len(), &happened.events),
        inspections: Groups::new(rail.joints.len(), &happened.inspections),
        surveys: happened.surveys,
    };
    machine.axes.iter().zip(all).map(|(axis, all)| axis.rails.iter().zip(all).map(sorted).collect()).collect()
}

/// How many rows of a record are events.
fn rows(body: &Body) -> usize {
    match body {
        Body::Fasten(fasten) => fasten.rows.len() + fasten.turned.len() + fasten.missed.len(),
        Body::Loosen(loosen) => loosen.supports.len(),
        Body::Shim(shim) => shim.rows.len(),
        _ => 0,
    }
}

/// What happened to one rail, in the order it happened.
#[derive(Default)]
struct Happened {
    /// There are no more events than this.
    most: usize,
    /// With the support it happened to.
    events: Vec<(usize, Event)>,
    /// With the joint that was inspected.
    inspections: Vec<(usize, usize)>,
    surveys: Vec<usize>,
}

/// The supports at a place: its own one, or the one on either side, as a range of indexes.
pub(super) fn around(rail: &Rail, own: Option<usize>, position: crate::quantity::Length) -> (usize, usize) {
    match own {
        Some(own) => (own, own + 1),
        None => {
            let after = rail.supports.partition_point(|support| support.at < position);
            (after.saturating_sub(1), (after + 1).min(rail.supports.len()))
        }
    }
}
