//! What happened at each support and joint in order, and which proofs that undid.
//!
//! Slackening or shimming a support makes stale what was proven there and beside it: inspections of joints whose own
//! support or a neighbour is touched, readings of stations in the adjoining spans. Tightening again does not.

use smallvec::{SmallVec, smallvec};

use super::groups::Groups;
use super::machine::{Machine, Rail, RailId};
use super::record::{Body, FastenRow, Interface, Record, Stage, Tightened};
use super::timeline::Timeline;
use crate::finding::Place;
use crate::quantity::Torque;

/// Something that was done to the bolts of one support.
#[derive(Clone, Copy, Debug)]
pub struct Event {
    pub record: usize,
    pub place: Place,
    pub what: What,
    /// The row of a fastening or shimming record.
    pub row: usize,
    /// Which bolts; nothing means both kinds.
    pub interface: Option<Interface>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum What {
    Snug,
    Full,
    Slackened,
    /// Shims were put in, taken out or changed, for which it was slackened too.
    Shimmed,
}

impl Event {
    /// It slackened bolts of that kind.
    pub fn slackens(&self, interface: Interface) -> bool {
        matches!(self.what, What::Slackened | What::Shimmed) && self.interface.is_none_or(|which| which == interface)
    }

    /// It slackened some bolts.
    pub fn undoes(&self) -> bool {
        matches!(self.what, What::Slackened | What::Shimmed)
    }
}

/// All that happened to one rail.
#[derive(Clone, Debug)]
pub struct RailHistory {
    /// For each support, what was done to it, in order.
    pub supports: Groups<Event>,
    /// For each joint, the records of its inspections, in order.
    pub inspections: Groups<usize>,
    /// The records of surveys of this rail, in order.
    pub surveys: Vec<usize>,
}

/// What one bolt was tightened to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Held {
    pub record: usize,
    pub place: Place,
    /// The torque read; nothing where it clicked at the record's setting.
    pub torque: Option<Torque>,
}

/// What each bolt of a support holds. Few supports have more than four bolts.
pub type Bolts = SmallVec<[Option<Held>; 4]>;

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
                    Some(Stage::Snug) => What::Snug,
                    Some(Stage::Full) => What::Full,
                    None => continue,
                };
                for (row, done) in fasten.rows.iter().enumerate() {
                    happened(done.support, done.place, what, row, Some(fasten.interface));
                }
            }
            Body::Loosen(loosen) => {
                for (row, support) in loosen.supports.iter().enumerate() {
                    happened(support.value, support.place, What::Slackened, row, loosen.interface);
                }
            }
            Body::Shim(shim) => {
                for (row, done) in shim.rows.iter().enumerate() {
                    happened(done.support, done.place, What::Shimmed, row, None);
                }
            }
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
        Body::Fasten(fasten) => fasten.rows.len(),
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

impl super::Ledger {
    /// What happened to a rail.
    pub fn history(&self, id: RailId) -> &RailHistory {
        &self.histories[id.axis][id.rail]
    }

    /// The correction that stands in the place of a record; a `void` that withdrew it is none, be it a correction itself.
    pub fn corrected_by(&self, index: usize) -> Option<usize> {
        let origin = self.records[index].stands_for.unwrap_or(index);
        self.records[index].void.filter(|by| self.records[*by].stands_for == Some(origin))
    }

    /// Whether record `a` counts after record `b`.
    pub fn after(&self, a: usize, b: usize) -> bool {
        self.timeline.rank[a] > self.timeline.rank[b]
    }

    /// The full torque that each bolt of a support has now, or nothing.
    /// Where the number of bolts is not known, one entry stands for all of them.
    pub fn torqued(&self, id: RailId, support: usize, interface: Interface) -> Bolts {
        self.held(id, support, interface, Stage::Full)
    }

    /// What each bolt of a support holds of one stage of tightening since it was last slackened, or nothing. Where the
    /// number of bolts is not known, one entry stands for all of them.
    pub fn held(&self, id: RailId, support: usize, interface: Interface, stage: Stage) -> Bolts {
        let count = self.machine.rail(id).supports[support].bolt_count(interface);
        let mut now: Bolts = smallvec![None; count.unwrap_or(1)];
        for event in &self.history(id).supports[support] {
            if event.slackens(interface) {
                now.fill(None);
            }
            let Some(row) = self.tightening(event, interface, stage) else { continue };
            if count.is_none() && row.readings() > now.len() {
                now.resize(row.readings(), None);
            }
            self.tighten(event, row, &mut now);
        }
        now
    }

    /// The row of a fastening event, where it is of that interface and stage.
    pub fn tightening(&self, event: &Event, interface: Interface, stage: Stage) -> Option<&FastenRow> {
        let what = if stage == Stage::Full { What::Full } else { What::Snug };
        if event.what != what || event.interface != Some(interface) {
            return None;
        }
        let Body::Fasten(fasten) = &self.records[event.record].body else { return None };
        fasten.rows.get(event.row)
    }

    /// What a row of a fastening record did to the bolts of its support.
    fn tighten(&self, event: &Event, row: &FastenRow, bolts: &mut [Option<Held>]) {
        let Body::Fasten(fasten) = &self.records[event.record].body else { return };
        match row.what {
            Tightened::Clicked if fasten.missed.is_empty() => {
                bolts.fill(Some(Held { record: event.record, place: event.place, torque: None }));
            }
            Tightened::Clicked => {
                for (bolt, held) in bolts.iter_mut().enumerate() {
                    *held = self.bolt_tightened(event, row, bolt).or(*held);
                }
            }
            Tightened::Read { .. } => {
                for (held, torque) in bolts.iter_mut().zip(fasten.torques_of(row)) {
                    let read = torque.map(|torque| Held {
                        record: event.record,
                        place: torque.place,
                        torque: Some(torque.value),
                    });
                    *held = read.or(*held);
                }
            }
        }
    }

    /// What a row of a fastening record did to one bolt of its support.
    pub fn bolt_tightened(&self, event: &Event, row: &FastenRow, bolt: usize) -> Option<Held> {
        let Body::Fasten(fasten) = &self.records[event.record].body else { return None };
        match row.what {
            Tightened::Clicked => {
                let missed = fasten.missed.binary_search_by_key(&(row.support, bolt), |missed| missed.value).is_ok();
                (!missed).then_some(Held { record: event.record, place: event.place, torque: None })
            }
            Tightened::Read { .. } => {
                let torque = (*fasten.torques_of(row).get(bolt)?)?;
                Some(Held { record: event.record, place: torque.place, torque: Some(torque.value) })
            }
        }
    }

    /// What undid a proof about a joint that record `since` gave: the nearest slackening after it, up to two supports
    /// away. A segment that is loosened as a whole is loose at the support next to the joint.
    pub fn joint_undone(&self, id: RailId, joint: usize, since: usize) -> Option<Undone> {
        let rail = self.machine.rail(id);
        let (near, far) = around(rail, rail.joints[joint].support, rail.joints[joint].position);
        // Without a support of its own, a joint has a neighbour on either side.
        let closest = usize::from(rail.joints[joint].support.is_none());
        let distance = |support: usize| match support < near {
            true => closest + near - support,
            false => closest + (support + 1).saturating_sub(far),
        };
        let first = near.saturating_sub(2 - closest);
        let last = (far + 2 - closest).min(rail.supports.len());
        let mut nearest: Option<Undone> = None;
        for support in first..last {
            let Some(event) = self.first_slackening(id, support, since) else { continue };
            let found = Undone { record: event.record, place: event.place, support, distance: distance(support) };
            if nearest.is_none_or(|nearest| found.distance < nearest.distance) {
                nearest = Some(found);
            }
        }
        nearest
    }

    /// What undid a reading that record `since` took at a position along a rail: a slackening in the adjoining spans.
    pub fn station_undone(&self, id: RailId, position: crate::quantity::Length, since: usize) -> Option<Undone> {
        self.adjoining(id, position).find_map(|support| {
            let event = self.first_slackening(id, support, since)?;
            Some(Undone { record: event.record, place: event.place, support, distance: 1 })
        })
    }

    /// The first slackening of a support after a record.
    fn first_slackening(&self, id: RailId, support: usize, since: usize) -> Option<&Event> {
        self.history(id).supports[support].iter().find(|event| event.undoes() && self.after(event.record, since))
    }
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
