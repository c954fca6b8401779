//! What a rule says of one subject, whether or not it finds fault.

use crate::finding::{Grade, Place};
use crate::ledger::RailId;

/// What a rule says of one subject. A subject that does not exist is not asked about.
///
/// A check returns what it says apart from what it found: what it adds to the findings goes before, and an observation
/// stands beside any verdict.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// In order, as at least this fact shows, which was read for that subject.
    Conforms(Place),
    Broken,
    Outstanding,
    /// The same, for want of this, which another rule asks for, as `no survey of the gap`.
    Awaits(&'static str),
    /// Nobody can tell; this is lacking, as `no carriage is described`.
    NotJudged(&'static str),
    /// It judges what somebody asks for, and nobody asks for it.
    NotRequired,
}

impl Verdict {
    /// Of two things that a rule says of one subject, the one that must be said.
    pub(super) fn and(self, other: Verdict) -> Verdict {
        let weight = |verdict: &Verdict| match verdict {
            Verdict::NotRequired => 0,
            Verdict::Conforms(_) => 1,
            Verdict::NotJudged(_) => 2,
            Verdict::Outstanding | Verdict::Awaits(_) => 3,
            Verdict::Broken => 4,
        };
        if weight(&other) > weight(&self) { other } else { self }
    }

    /// The verdict once the worst that was found meanwhile is taken into account.
    #[inline]
    pub(super) fn with(self, worst: Option<Grade>) -> Verdict {
        match worst {
            Some(Grade::Nonconformity) => Verdict::Broken,
            Some(Grade::Outstanding) => Verdict::Outstanding,
            Some(Grade::NotJudged | Grade::Observation) | None => self,
        }
    }
}

impl From<Result<Place, &'static str>> for Verdict {
    /// What shows that a subject is in order, or the reading that is lacking.
    fn from(shown: Result<Place, &'static str>) -> Verdict {
        shown.map_or_else(Verdict::Awaits, Verdict::Conforms)
    }
}

/// What a verdict is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Subject {
    Machine,
    Axis(usize),
    Pair([RailId; 2]),
    Rail(RailId),
    Segment(RailId, usize),
    Joint(RailId, usize),
    Support(RailId, usize),
    /// By its number in the ledger.
    Record(usize),
    /// A gauge or wrench, by its number in the shop: the gauges first.
    Instrument(usize),
}
