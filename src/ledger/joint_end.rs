//! The two ends of a rail that meet in a joint, as stations of a survey: `J1-` is the end before joint J1, `J1+` the beginning
//! behind it. A station that names neither is the mean of both.
//!
//! Stations are known by where they lie. So each end lies on its own side, by the least length there is, and both are stations
//! like any other; people are told where the joint lies.

use smol_str::format_smolstr;

use super::spanned::Name;
use crate::quantity::Length;

/// A side of a joint.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum JointSide {
    Before,
    Behind,
}

/// An end of a rail in a joint.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct JointEnd {
    /// Where the joint lies.
    pub(crate) at: Length,
    pub(crate) side: JointSide,
}

impl JointSide {
    pub(crate) const ALL: [JointSide; 2] = [JointSide::Before, JointSide::Behind];

    /// What stands behind the name of the joint.
    pub(crate) const fn sign(self) -> char {
        match self {
            JointSide::Before => '-',
            JointSide::Behind => '+',
        }
    }

    /// The end on this side of a joint of that name.
    pub(crate) fn named(self, joint: &str) -> Name {
        format_smolstr!("{joint}{}", self.sign())
    }

    /// A name and the side that it names, where it names one.
    pub(crate) fn split(name: &str) -> Option<(&str, JointSide)> {
        JointSide::ALL.into_iter().find_map(|side| Some((name.strip_suffix(side.sign())?, side)))
    }
}

impl JointEnd {
    /// Where it is known as a station.
    pub(crate) fn position(self) -> Length {
        const LEAST: Length = Length(1);
        match self.side {
            JointSide::Before => self.at - LEAST,
            JointSide::Behind => self.at + LEAST,
        }
    }
}
