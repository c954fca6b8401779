//! What a reading rests on: the full torque of the supports that hold the rail where it was read.
//!
//! The grooves, the light and the feeler of a joint rest on its own support and one on either side; straightness on the
//! station's support, or the two that it lies between; gap and height on the same of both rails; the running force on all
//! supports of its axis. A rail moves when a support is loosened, and when it is tightened for the first time. What was
//! read before says nothing any more of how it lies: it is to be read again, and a break that it showed is history. A
//! support that still waits for its torque is torque-missing's business.

use std::borrow::Cow;
use std::ops::Range;

use super::Case;
use super::facts::Torque;
use super::fitting::certain;
use super::gap::reference;
use super::gap::survey_stale::{loosened, shims_count};
use crate::facts::survey::{ReadStation, SurveyReadings};
use crate::ledger::{EventKind, RailId, SurveyKind};
use crate::quantity::Length;

impl<'l> Case<'l> {
    /// How the full torque of a support stands to a record that read what rests on it.
    pub(super) fn torque_at(&self, id: RailId, support: usize, record: usize) -> Torque {
        // A record without a date stands nowhere in time.
        let dated = |record: usize| self.ledger.records[record].date.is_some();
        if !dated(record) || self.settled_at(id, record) {
            return Torque::There;
        }
        let plain = self.ledger.machine.rail(id).supports[support].base_bolts.is_none();
        let course = &self.courses(id)[support];
        let tight = course.tight;
        if let Some(tight) = tight.filter(|_| plain) {
            if dated(tight) && !certain(self, tight, record) {
                return Torque::Unsure;
            }
            let held = |(from, until): &(usize, usize)| self.after(record, *from) && !self.after(record, *until);
            if self.after(record, tight) || !dated(tight) || course.tight_before.iter().any(held) {
                return Torque::There;
            }
        }
        if tight.is_none() && !self.ledger.tight(id, support, None) {
            return Torque::There;
        }
        let full = || self.ledger.history(id).supports[support].iter().filter(|event| event.what == EventKind::Full);
        if !full().all(|event| dated(event.record)) {
            return Torque::There;
        }
        if (tight.is_none() || !plain) && !full().all(|event| certain(self, event.record, record)) {
            return Torque::Unsure;
        }
        let there = self.ledger.tight(id, support, Some(record)) || !self.ledger.tight(id, support, None);
        if there { Torque::There } else { Torque::Later }
    }

    /// Some support of a stretch got its full torque only after a record.
    pub(super) fn tightened_since(&self, id: RailId, mut supports: Range<usize>, record: usize) -> bool {
        !self.settled_at(id, record) && supports.any(|support| self.torque_at(id, support, record) == Torque::Later)
    }

    /// A joint's own support or a neighbour was slackened after a record.
    pub(super) fn joint_slackened(&self, id: RailId, joint: usize, record: usize) -> bool {
        self.slackened_since(id, record)
            && self.joint_undone(id, joint, record).is_some_and(|undone| undone.distance < 2)
    }

    /// Whether what a record read at a joint still says how it lies.
    pub(super) fn joint_stands(&self, id: RailId, joint: usize, record: usize) -> bool {
        !self.joint_slackened(id, joint, record) && !self.tightened_since(id, self.beside_joint(id, joint), record)
    }

    /// The rails that a survey of a rail rests on.
    pub(super) fn rails_read(&self, id: RailId, kind: SurveyKind) -> impl Iterator<Item = RailId> + use<> {
        let other = (kind != SurveyKind::Straightness).then(|| reference(self, id)).flatten();
        std::iter::once(id).chain(other)
    }

    /// A support beside a station was loosened after a record, as survey-stale tells of it.
    pub(super) fn station_slackened(&self, id: RailId, kind: SurveyKind, at: Length, record: usize) -> bool {
        self.rails_read(id, kind).any(|rail| {
            let shims = shims_count(self, id, rail, kind);
            let loose = |support| loosened(self, rail, support, record, shims).is_some();
            self.slackened_since(rail, record) && self.adjoining(rail, at).any(loose)
        })
    }

    /// Whether a reading at a position still says how the rails lie there.
    fn station_stands(&self, id: RailId, kind: SurveyKind, at: Length, record: usize) -> bool {
        let tightened = |rail| self.tightened_since(rail, self.holding(rail, at), record);
        !self.station_slackened(id, kind, at, record) && !self.rails_read(id, kind).any(tightened)
    }

    /// A survey without the stations that no longer say how the rails lie; nothing where none is left.
    pub(super) fn still_standing<'r>(
        &self,
        id: RailId,
        readings: &'r SurveyReadings<'l>,
    ) -> Option<Cow<'r, SurveyReadings<'l>>> {
        // Mostly nothing happened since.
        if self.all_stations_stand(id, readings) {
            return Some(Cow::Borrowed(readings));
        }
        let kind = readings.kind();
        readings.only(|it| self.station_stands(id, kind, it.row.position, it.record)).map(Cow::Owned)
    }

    /// Whether every station of a survey still says how the rails lie there.
    pub(super) fn all_stations_stand(&self, id: RailId, readings: &SurveyReadings) -> bool {
        let kind = readings.kind();
        let stands = |it: &ReadStation| self.station_stands(id, kind, it.row.position, it.record);
        readings.ties.is_empty() && self.survey_undisturbed(readings.record) || readings.stations.iter().all(stands)
    }

    /// Shims were put in since a survey was made, or beside a station of it since that was read.
    pub(super) fn shimmed_since_read(&self, id: RailId, readings: &SurveyReadings) -> bool {
        self.shimmed_since(id, readings.record)
            || !readings.ties.is_empty() && readings.stations.iter().any(|it| self.station_shimmed(id, it))
    }

    /// Shims were put in beside a station since it was read.
    pub(super) fn station_shimmed(&self, id: RailId, station: &ReadStation) -> bool {
        self.shimmed_since(id, station.record)
            && self.adjoining(id, station.row.position).any(|support| {
                let mut events = self.ledger.history(id).supports[support].iter();
                events.any(|it| it.what == EventKind::Shimmed && self.after(it.record, station.record))
            })
    }
}
