//! What all machines of a shop share: instruments, stock, profiles, blocks, fasteners.

use super::given::{Given, Name, words};
use super::named::Named;
use crate::finding::Place;
use crate::quantity::{Force, Length, Moment, PerKelvin, Ratio, Stiffness, Torque, Travel};

words!(
    /// Which way a growing reading points.
    Plus {
        Outward = "outward",
        Inward = "inward",
        Wider = "wider",
        Narrower = "narrower",
        Up = "up",
        Down = "down",
        Left = "left",
        Right = "right",
    }
);
words!(
    /// The two kinds of torque wrench.
    WrenchKind {
        /// It clicks at a setting.
        Setting = "setting",
        /// It shows the torque of each bolt.
        Indicating = "indicating",
    }
);
words!(
    /// Which way the contact lines of a profile's ball rows cross.
    Contact { Outward = "outward", Inward = "inward" }
);
words!(
    /// How a segment's end is cut.
    End { Ground = "ground", Sawn = "sawn" }
);
words!(
    /// What a bolt's thread is cut into.
    Into { Steel = "steel", CastIron = "cast-iron", Aluminium = "aluminium", Other = "other" }
);

/// One calibration of an instrument.
#[derive(Clone, Debug)]
pub struct Calibration {
    pub place: Place,
    pub on: Given<Moment>,
    pub due: Option<Given<Moment>>,
    pub certificate: Option<Given<Name>>,
    pub failed: bool,
    pub cycles: Option<Given<u32>>,
}

/// An instrument that reads lengths or forces.
#[derive(Clone, Debug)]
pub struct Gauge {
    pub name: Given<Name>,
    pub kind: Option<Given<Name>>,
    pub graduation: Option<Given<Length>>,
    pub range: Option<Given<Length>>,
    pub permissible_error: Option<Given<Length>>,
    pub local_error: Option<Given<Length>>,
    pub plus: Option<Given<Plus>>,
    pub calibrations: Vec<Calibration>,
}

/// A torque wrench.
#[derive(Clone, Debug)]
pub struct Wrench {
    pub name: Given<Name>,
    pub kind: Option<Given<WrenchKind>>,
    pub least: Option<Given<Torque>>,
    pub most: Option<Given<Torque>>,
    pub graduation: Option<Given<Torque>>,
    pub permissible_error: Option<Given<Ratio>>,
    pub calibrations: Vec<Calibration>,
    /// Its count of cycles, read on a day.
    pub cycles: Vec<(Given<u32>, Given<Moment>)>,
}

/// One thickness of leaf in stock.
#[derive(Clone, Debug)]
pub struct Leaf {
    pub thickness: Given<Length>,
    pub count: Option<Given<u32>>,
}

/// The leaves in stock.
#[derive(Clone, Debug)]
pub struct ShimStock {
    pub place: Place,
    pub leaves: Vec<Leaf>,
}

/// A rail profile.
#[derive(Clone, Debug)]
pub struct Profile {
    pub name: Given<Name>,
    pub hole_pitch: Option<Given<Length>>,
    pub end_distance: Option<Given<Length>>,
    pub bolt_edge: Option<Given<Length>>,
    pub contact: Option<Given<Contact>>,
    pub groove_half_width: Option<Given<Length>>,
    pub groove_half_height: Option<Given<Length>>,
    pub seat_depth: Option<Given<Length>>,
    pub expansion: Option<Given<PerKelvin>>,
    pub least_segment: Option<Given<Length>>,
    /// Bar lengths with how many there are of each.
    pub stock: Vec<(Given<Length>, Option<Given<u32>>)>,
    pub cutting_allowed: bool,
    pub cut_grid: Option<Given<Length>>,
    pub kerf: Option<Given<Length>>,
    pub cut_ends: Option<Given<End>>,
}

/// A block.
#[derive(Clone, Debug)]
pub struct BlockType {
    pub name: Given<Name>,
    pub length: Option<Given<Length>>,
    pub dynamic: Option<Given<Force>>,
    pub static_: Option<Given<Force>>,
    pub basis: Option<Given<Travel>>,
    pub stiffness: Option<Given<Stiffness>>,
    pub lateral_stiffness: Option<Given<Stiffness>>,
}

/// A torque window of a fastener's own.
#[derive(Clone, Debug)]
pub struct Window {
    pub place: Place,
    pub least: Torque,
    pub most: Torque,
    pub reason: String,
}

/// A bolt with its seat.
#[derive(Clone, Debug)]
pub struct Fastener {
    pub name: Given<Name>,
    pub thread: Option<Given<Name>>,
    pub class: Option<Given<Name>>,
    pub head: Option<Given<Name>>,
    pub seat_diameter: Option<Given<Length>>,
    pub into: Option<Given<Into>>,
    pub most_torque: Option<Given<Torque>>,
    pub friction: Option<(Given<Ratio>, Given<Ratio>)>,
    pub full: Option<Window>,
    pub snug: Option<Window>,
}

/// All entries that apply to a ledger, the nearest of each name.
#[derive(Clone, Debug, Default)]
pub struct Shop {
    pub title: Option<Given<Name>>,
    pub gauges: Named<Gauge>,
    pub wrenches: Named<Wrench>,
    pub shim_stock: Option<ShimStock>,
    pub profiles: Named<Profile>,
    pub blocks: Named<BlockType>,
    pub fasteners: Named<Fastener>,
}

impl Shop {
    pub fn gauge(&self, name: &str) -> Option<&Gauge> {
        self.gauges.get(name)
    }

    pub fn wrench(&self, name: &str) -> Option<&Wrench> {
        self.wrenches.get(name)
    }

    pub fn profile(&self, name: &str) -> Option<&Profile> {
        self.profiles.get(name)
    }

    pub fn block(&self, name: &str) -> Option<&BlockType> {
        self.blocks.get(name)
    }

    pub fn fastener(&self, name: &str) -> Option<&Fastener> {
        self.fasteners.get(name)
    }
}
