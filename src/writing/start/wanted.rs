//! What is wanted of a new ledger.

use crate::quantity::Length;

/// A machine to be written down.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Wanted {
    pub name: String,
    pub title: String,
    pub axis: String,
    pub length: Length,
    pub rails: Vec<Wish>,
    pub profile: WantedProfile,
    pub supports: WantedSupports,
    pub carriage: Option<WantedCarriage>,
}

/// One rail on its own beam.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Wish {
    pub name: String,
    pub pieces: Vec<Length>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct WantedProfile {
    pub name: String,
    pub hole_pitch: Length,
    pub end_distance: Length,
    pub bolt_edge: Length,
    pub stock: Vec<(Length, Option<u32>)>,
    pub cutting: Option<WantedCutting>,
    pub least_segment: Length,
    /// A shop file describes it already.
    pub known: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct WantedCutting {
    pub grid: Length,
    pub kerf: Length,
}

/// Equal supports under every rail.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct WantedSupports {
    pub first: Length,
    pub pitch: Length,
    pub count: u32,
    pub covers: Length,
    pub joint_covers: Length,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct WantedCarriage {
    pub length: Length,
    /// Middles of the blocks on every rail, from the carriage's middle.
    pub blocks: Vec<Length>,
    pub block_length: Length,
}

impl Wanted {
    /// How far the carriage's middle travels: its ends stay over the rails.
    pub(crate) fn stroke(&self) -> Option<(Length, Length)> {
        let half = Length(self.carriage.as_ref()?.length.0 / 2);
        (half.0 * 2 < self.length.0).then(|| (half, self.length - half))
    }
}
