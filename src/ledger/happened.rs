//! What the history of a rail says when it is asked: what each bolt holds now, what undid a proof.

use smallvec::smallvec;

use super::history::{Event, EventKind, HeldBolts, HeldTorque, RailHistory, Undone, around};
use super::load::Ledger;
use super::machine::{Interface, RailId};
use super::record::{Body, FastenRow, Record, Stage, TorqueReading};
use crate::finding::Place;

impl Ledger {
    /// The record that a place lies in. Records stand in the order of their places.
    pub fn record_at(&self, place: Place) -> Option<usize> {
        let starts = |record: &Record| (record.whole.source, record.whole.span.start);
        let after = self.records.partition_point(|record| starts(record) <= (place.source, place.span.start));
        let index = after.checked_sub(1)?;
        let whole = self.records[index].whole;
        (whole.source == place.source && place.span.end <= whole.span.end).then_some(index)
    }

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
    pub fn torqued(&self, id: RailId, support: usize, interface: Interface) -> HeldBolts {
        self.held(id, support, interface, Stage::Full)
    }

    /// What each bolt of a support holds of one stage of tightening since it was last slackened, or nothing. Where the
    /// number of bolts is not known, one entry stands for all of them.
    pub fn held(&self, id: RailId, support: usize, interface: Interface, stage: Stage) -> HeldBolts {
        self.held_where(id, support, interface, stage, &|_| true)
    }

    /// The same, as far as some records tell it: tightening by another one changes nothing.
    pub fn held_where(
        &self,
        id: RailId,
        support: usize,
        interface: Interface,
        stage: Stage,
        counts: &dyn Fn(usize) -> bool,
    ) -> HeldBolts {
        let count = self.machine.rail(id).supports[support].bolt_count(interface);
        let mut now: HeldBolts = smallvec![None; count.unwrap_or(1)];
        for event in &self.history(id).supports[support] {
            if event.slackens(interface) {
                now.fill(None);
            }
            if let Some(bolt) = self.left_loose(event, interface).filter(|_| stage == Stage::Full)
                && let Some(held) = now.get_mut(bolt)
            {
                *held = None;
            }
            let Some(row) = self.tightening(event, interface, stage).filter(|_| counts(event.record)) else { continue };
            if count.is_none() && row.readings() > now.len() {
                now.resize(row.readings(), None);
            }
            self.tighten(event, row, &mut now);
        }
        now
    }

    /// The row of a fastening event, where it is of that interface and stage.
    pub fn tightening(&self, event: &Event, interface: Interface, stage: Stage) -> Option<&FastenRow> {
        let what = if stage == Stage::Full { EventKind::Full } else { EventKind::Snug };
        if event.what != what || event.interface != Some(interface) {
            return None;
        }
        let Body::Fasten(fasten) = &self.records[event.record].body else { return None };
        fasten.rows.get(event.row)
    }

    /// The bolt of an interface that turned before it held: it had come loose.
    pub fn turned(&self, event: &Event, interface: Interface) -> Option<usize> {
        if event.what != EventKind::Turned || event.interface != Some(interface) {
            return None;
        }
        let Body::Fasten(fasten) = &self.records[event.record].body else { return None };
        Some(fasten.turned.get(event.row)?.value.1)
    }

    /// The bolt of an interface that turned, where its record does not say that it was tightened then; or one that missed its
    /// full torque.
    pub fn left_loose(&self, event: &Event, interface: Interface) -> Option<usize> {
        if event.what == EventKind::Missed && event.interface == Some(interface) {
            let Body::Fasten(fasten) = &self.records[event.record].body else { return None };
            return Some(fasten.missed.get(event.row)?.value.1);
        }
        let bolt = self.turned(event, interface)?;
        let Body::Fasten(fasten) = &self.records[event.record].body else { return None };
        let support = fasten.turned.get(event.row)?.value.0;
        let mut rows = fasten.rows.iter().filter(|row| row.support == support);
        let full = fasten.stage.is_some_and(|stage| *stage == Stage::Full);
        let tightened = full && rows.any(|row| self.bolt_tightened(event, row, bolt).is_some());
        (!tightened).then_some(bolt)
    }

    /// What a row of a fastening record did to the bolts of its support.
    fn tighten(&self, event: &Event, row: &FastenRow, bolts: &mut [Option<HeldTorque>]) {
        let Body::Fasten(fasten) = &self.records[event.record].body else { return };
        match row.what {
            TorqueReading::Clicked if fasten.missed.is_empty() => {
                bolts.fill(Some(HeldTorque { record: event.record, place: event.place, torque: None }));
            }
            TorqueReading::Clicked => {
                for (bolt, held) in bolts.iter_mut().enumerate() {
                    *held = self.bolt_tightened(event, row, bolt).or(*held);
                }
            }
            TorqueReading::Read { .. } => {
                for (held, torque) in bolts.iter_mut().zip(fasten.torques_of(row)) {
                    let read = torque.map(|torque| HeldTorque {
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
    pub fn bolt_tightened(&self, event: &Event, row: &FastenRow, bolt: usize) -> Option<HeldTorque> {
        let Body::Fasten(fasten) = &self.records[event.record].body else { return None };
        match row.what {
            TorqueReading::Clicked => {
                let missed = fasten.missed.binary_search_by_key(&(row.support, bolt), |missed| missed.value).is_ok();
                (!missed).then_some(HeldTorque { record: event.record, place: event.place, torque: None })
            }
            TorqueReading::Read { .. } => {
                let torque = (*fasten.torques_of(row).get(bolt)?)?;
                Some(HeldTorque { record: event.record, place: torque.place, torque: Some(torque.value) })
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
