//! Stations of a survey at the joints of a rail.

use super::joint_end::{JointEnd, JointSide};
use super::machine::Rail;
use super::record::StationReading;
use super::spanned::Name;
use crate::quantity::Length;

impl StationReading {
    /// Where it lies, as people are told: an end at its joint.
    pub(crate) fn told_at(&self) -> Length {
        self.end.map_or(self.position, |end| end.at)
    }

    /// The name of the joint whose end it is.
    pub(crate) fn joint_named(&self) -> Option<&str> {
        self.end.map(|end| self.name.trim_end_matches(end.side.sign()))
    }
}

impl Rail {
    /// The joint that a station of it lies at, whichever end it names.
    pub(crate) fn joint_at(&self, station: &StationReading) -> Option<usize> {
        let at = station.told_at();
        let is = |support: Option<usize>| support.is_some() && support == station.support;
        self.joints.iter().position(|joint| joint.position == at || is(joint.support))
    }

    /// Both ends that meet in a joint, the one before first.
    pub(crate) fn ends_of(&self, joint: usize) -> [JointEnd; 2] {
        JointSide::ALL.map(|side| JointEnd { at: self.joints[joint].position, side })
    }

    /// Where shims move a station of it: both ends in a joint go with the support under it.
    pub(crate) fn carried_at(&self, station: &StationReading) -> Length {
        let under = station.support.filter(|_| station.end.is_some());
        under.map_or(station.told_at(), |support| self.supports[support].at)
    }

    /// The names of all ends that meet in its joints.
    pub(crate) fn joint_ends(&self) -> impl Iterator<Item = Name> {
        self.joints.iter().flat_map(|joint| JointSide::ALL.map(|side| side.named(&joint.name)))
    }
}
