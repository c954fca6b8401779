//! How a rail stood at some record: the shims that lay under it, the supports that were loose.

use smallvec::{SmallVec, smallvec};

use std::ops::Range;

use super::history::{Event, EventKind, around};
use super::machine::{Interface, RailId};
use super::record::{Body, FastenRow, ShimRow, Stage};
use crate::quantity::Length;

impl super::Ledger {
    /// The shims that lie under a support, or lay there when record `before` was made.
    pub fn shims(&self, id: RailId, support: usize, before: Option<usize>) -> Option<(&Event, &ShimRow)> {
        let event = self.history(id).supports[support].iter().rev().find(|event| {
            event.what == EventKind::Shimmed && before.is_none_or(|before| self.after(before, event.record))
        })?;
        let Body::Shim(shim) = &self.records[event.record].body else { return None };
        Some((event, shim.rows.get(event.row)?))
    }

    /// The total of the shims under a support now or when record `before` was made; 0 without any.
    pub fn shim_total(&self, id: RailId, support: usize, before: Option<usize>) -> Length {
        self.shims(id, support, before).map_or(Length::ZERO, |(_, row)| row.total())
    }

    /// The supports whose slackening undoes what was read at a position: its own and both neighbours, or the two that
    /// it lies between.
    pub fn adjoining(&self, id: RailId, position: Length) -> Range<usize> {
        let rail = self.machine.rail(id);
        let at = rail.supports.partition_point(|support| support.at < position);
        let own = rail.supports.get(at).filter(|support| support.at == position).map(|_| at);
        let (near, far) = around(rail, own, position);
        let wide = usize::from(own.is_some());
        near.saturating_sub(wide)..(far + wide).min(rail.supports.len())
    }

    /// The supports whose slackening undoes what was proven about a joint: its own, and one on either side.
    pub fn beside_joint(&self, id: RailId, joint: usize) -> Range<usize> {
        let rail = self.machine.rail(id);
        let (near, far) = around(rail, rail.joints[joint].support, rail.joints[joint].position);
        let wide = usize::from(rail.joints[joint].support.is_some());
        near.saturating_sub(wide)..(far + wide).min(rail.supports.len())
    }

    /// The supports that hold the rail where it was read at a position: its own one, or the two that it lies between.
    pub fn holding(&self, id: RailId, position: Length) -> Range<usize> {
        let rail = self.machine.rail(id);
        let at = rail.supports.partition_point(|support| support.at < position);
        let own = rail.supports.get(at).filter(|support| support.at == position).map(|_| at);
        let (near, far) = around(rail, own, position);
        near..far
    }

    /// Whether every bolt of a support had its full torque when record `when` was made, or has it now. Base bolts count
    /// where it is known how many there are.
    pub fn tight(&self, id: RailId, support: usize, when: Option<usize>) -> bool {
        let base = self.machine.rail(id).supports[support].base_bolts.is_some();
        let interfaces = if base { &[Interface::Rail, Interface::Base][..] } else { &[Interface::Rail] };
        interfaces.iter().all(|interface| self.all_held(id, support, when, *interface))
    }

    fn all_held(&self, id: RailId, support: usize, when: Option<usize>, interface: Interface) -> bool {
        let events = &self.history(id).supports[support];
        let before = |event: &&Event| when.is_none_or(|when| self.after(when, event.record));
        let events = &events[..events.iter().take_while(before).count()];
        // Where the holes are not known, there are as many bolts as were ever read.
        let count = self.machine.rail(id).supports[support].bolt_count(interface);
        let mut held: SmallVec<[bool; 16]> = smallvec![false; count.unwrap_or(1)];
        for event in events {
            if event.slackens(interface) {
                held.fill(false);
            }
            if let Some(held) = self.left_loose(event, interface).and_then(|bolt| held.get_mut(bolt)) {
                *held = false;
            }
            let Some(row) = self.tightening(event, interface, Stage::Full) else { continue };
            if count.is_none() && row.readings() > held.len() {
                held.resize(row.readings(), false);
            }
            for (bolt, held) in held.iter_mut().enumerate() {
                *held |= self.bolt_tightened(event, row, bolt).is_some();
            }
        }
        !held.contains(&false)
    }

    /// The slackening that still left a support loose when record `when` was made: not every bolt had its full torque
    /// again. Base bolts count where it is known how many there are.
    pub fn loose_at(&self, id: RailId, support: usize, when: usize) -> Option<&Event> {
        self.loose_before(id, support, Some(when))
    }

    /// The slackening that still leaves a support loose now.
    pub fn loose(&self, id: RailId, support: usize) -> Option<&Event> {
        self.loose_before(id, support, None)
    }

    fn loose_before(&self, id: RailId, support: usize, when: Option<usize>) -> Option<&Event> {
        let base = self.machine.rail(id).supports[support].base_bolts.is_some();
        let interfaces = if base { &[Interface::Rail, Interface::Base][..] } else { &[Interface::Rail] };
        interfaces.iter().find_map(|interface| self.loose_bolts(id, support, when, *interface))
    }

    fn loose_bolts(&self, id: RailId, support: usize, when: Option<usize>, interface: Interface) -> Option<&Event> {
        let events = &self.history(id).supports[support];
        let before = |event: &&Event| when.is_none_or(|when| self.after(when, event.record));
        let events = &events[..events.iter().take_while(before).count()];
        // Most supports are never slackened. What was done before the last time says nothing.
        let last = events.iter().rposition(|event| event.slackens(interface))?;
        let count = self.machine.rail(id).supports[support].bolt_count(interface);
        let mut held: SmallVec<[bool; 16]> = smallvec![false; count.unwrap_or(1)];
        let earlier = events[..last].iter().filter_map(|event| self.tightening(event, interface, Stage::Full));
        if count.is_none() {
            held.resize(earlier.map(FastenRow::readings).fold(held.len(), usize::max), false);
        }
        for event in &events[last + 1..] {
            let Some(row) = self.tightening(event, interface, Stage::Full) else { continue };
            if count.is_none() && row.readings() > held.len() {
                held.resize(row.readings(), false);
            }
            for (bolt, held) in held.iter_mut().enumerate() {
                *held |= self.bolt_tightened(event, row, bolt).is_some();
            }
        }
        held.contains(&false).then_some(&events[last])
    }
}
