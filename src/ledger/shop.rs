//! What all machines of a shop share: instruments, stock, profiles, blocks, fasteners.

use std::fmt;

use jiff::civil::Date;

use super::lifetime::Absent;
use super::named::Named;
use super::not_applicable::NotApplicable;
use super::person::Person;
use super::spanned::{Name, Spanned, words};
use crate::finding::Place;
use crate::quantity::{
    Angle, Force, Length, Moment, PerKelvin, Ratio, SecondMoment, Stiffness, Stress, Torque, Travel,
};

words!(
    /// What rolls in a block.
    RollingElement { Balls = "balls", Rollers = "rollers" }
);
words!(
    /// Which way a growing reading points.
    PlusDirection {
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
    /// What a gauge reads.
    GaugedQuantity {
        Groove = "groove",
        Gap = "gap",
        Straightness = "straightness",
        Height = "height",
        Force = "force",
        /// From station to station along a rail: a survey adds them up to straightness.
        Angle = "angle",
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
    /// In which order the bolts of a rail get their full torque.
    TighteningOrder {
        /// From each joint to both sides.
        Outward = "outward",
        /// From one end of the rail to the other.
        Along = "along",
    }
);
words!(
    /// How a segment's end is cut.
    EndCut { Ground = "ground", Sawn = "sawn" }
);
words!(
    /// How a calibration found an instrument, before anything was done to it.
    AsFound { Within = "within", Outside = "outside" }
);
words!(
    /// What a bolt's thread is cut into.
    ThreadedInto { Steel = "steel", CastIron = "cast-iron", Aluminium = "aluminium", Other = "other" }
);

/// One calibration of an instrument.
#[derive(Clone, Debug)]
pub struct Calibration {
    pub place: Place,
    pub on: Spanned<Moment>,
    pub due: Option<Spanned<Moment>>,
    pub certificate: Option<Spanned<Name>>,
    pub laboratory: Option<Spanned<Name>>,
    /// It is not in order since: it failed, or was found outside and nothing says that it was put right.
    pub failed: bool,
    /// It was adjusted.
    pub adjusted: bool,
    /// How it was found, where that is said; one that failed was found outside unless it is said otherwise.
    pub as_found: Option<AsFound>,
    /// By how much it was found to be off at most.
    pub error: Option<Spanned<CalibrationError>>,
    pub cycles: Option<Spanned<u32>>,
}

impl fmt::Display for CalibrationError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            CalibrationError::Length(error) => error.fmt(f),
            CalibrationError::Force(error) => error.fmt(f),
            CalibrationError::Angle(error) => error.fmt(f),
            CalibrationError::Share(share) => write!(f, "{} %", share.percent()),
        }
    }
}

/// How far an instrument was found to be off.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CalibrationError {
    Length(Length),
    Force(Force),
    Angle(Angle),
    /// Of a wrench: a share of the torque.
    Share(Ratio),
}

/// What somebody says against an instrument.
#[derive(Clone, Debug)]
pub struct StatedDoubt {
    pub place: Place,
    /// The first day that is in doubt.
    pub from: Spanned<Moment>,
    /// The last one, where it is said.
    pub to: Option<Spanned<Moment>>,
    /// Who states it, when and why: the day says nothing of when the instrument was wrong.
    pub said: Said,
    /// By how much it was off at most; nothing where that is not said or cannot be read.
    pub error: Option<Spanned<CalibrationError>>,
    /// It was taken back.
    pub void: Option<Said>,
}

impl StatedDoubt {
    /// It was not taken back.
    pub fn stands(&self) -> bool {
        self.void.is_none()
    }
}

/// Who says something, when and why.
#[derive(Clone, Debug)]
pub struct Said {
    pub on: Option<Spanned<Moment>>,
    pub by: Option<Spanned<Name>>,
    pub reason: Option<Spanned<Name>>,
}

impl fmt::Display for Said {
    /// As a sentence says it: `inspector-1 on 2026-09-01: stylus found bent`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let by = self.by.as_ref().map_or("somebody", |by| by.as_str());
        let on = self.on.map_or(String::new(), |on| format!(" on {}", on.value));
        let reason = self.reason.as_ref().map_or(String::new(), |reason| format!(": {}", **reason));
        write!(f, "{by}{on}{reason}")
    }
}

/// What a gauge shows that reads no lengths: in forces, or in angles.
#[derive(Clone, Copy, Debug)]
pub struct GaugeFigures<A> {
    pub graduation: Option<Spanned<A>>,
    pub range: Option<Spanned<A>>,
    pub permissible_error: Option<Spanned<A>>,
    pub repeatability: Option<Spanned<A>>,
}

impl<A> Default for GaugeFigures<A> {
    fn default() -> Self {
        GaugeFigures { graduation: None, range: None, permissible_error: None, repeatability: None }
    }
}

/// An instrument that reads lengths, forces or angles.
#[derive(Clone, Debug)]
pub struct Gauge {
    pub name: Spanned<Name>,
    pub kind: Option<Spanned<Name>>,
    /// Of a kind of its own: what it reads, as far as that is said.
    pub reads: Vec<GaugedQuantity>,
    pub graduation: Option<Spanned<Length>>,
    pub range: Option<Spanned<Length>>,
    pub permissible_error: Option<Spanned<Length>>,
    pub local_error: Option<Spanned<Length>>,
    /// The standard deviation of one reading.
    pub repeatability: Option<Spanned<Length>>,
    /// Of a force gauge, in place of the lengths.
    pub forces: GaugeFigures<Force>,
    /// Of a level and the like, in place of the lengths.
    pub angles: GaugeFigures<Angle>,
    /// How it is always carried over a joint: reach and travel.
    pub carrier: Option<(Spanned<Length>, Spanned<Length>)>,
    pub plus: Option<Spanned<PlusDirection>>,
    /// The first and the last day on which the shop had it.
    pub since: Option<Spanned<Moment>>,
    pub until: Option<Spanned<Moment>>,
    pub calibrations: Vec<Calibration>,
    pub doubts: Vec<StatedDoubt>,
}

impl Gauge {
    /// It is of a kind that the language has no word for.
    pub fn is_of_own_kind(&self) -> bool {
        self.is_of_kind("other")
    }

    /// It reads against gravity, which points another way a little farther along the earth.
    pub fn follows_gravity(&self) -> bool {
        self.is_of_kind("level")
    }

    pub(crate) fn is_of_kind(&self, word: &str) -> bool {
        self.kind.as_ref().is_some_and(|kind| kind.as_str() == word)
    }
}

/// A torque wrench.
#[derive(Clone, Debug)]
pub struct Wrench {
    pub name: Spanned<Name>,
    pub kind: Option<Spanned<WrenchKind>>,
    pub least: Option<Spanned<Torque>>,
    pub most: Option<Spanned<Torque>>,
    pub graduation: Option<Spanned<Torque>>,
    pub permissible_error: Option<Spanned<Ratio>>,
    /// The first and the last day on which the shop had it.
    pub since: Option<Spanned<Moment>>,
    pub until: Option<Spanned<Moment>>,
    pub calibrations: Vec<Calibration>,
    pub doubts: Vec<StatedDoubt>,
    /// Its count of cycles, read on a day.
    pub cycles: Vec<(Spanned<u32>, Spanned<Moment>)>,
}

/// One thickness of leaf in stock.
#[derive(Clone, Debug)]
pub struct Leaf {
    pub thickness: Spanned<Length>,
    pub count: Option<Spanned<u32>>,
    /// The first and the last day on which it was to be had.
    pub since: Option<Spanned<Moment>>,
    pub until: Option<Spanned<Moment>>,
}

impl Leaf {
    pub(crate) fn absent_on(&self, day: Date) -> Option<Absent> {
        Absent::on(day, self.since, self.until)
    }
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
    pub name: Spanned<Name>,
    pub hole_pitch: Option<Spanned<Length>>,
    pub end_distance: Option<Spanned<Length>>,
    /// For the drawing of a layout.
    pub hole_diameter: Option<Spanned<Length>>,
    pub bolt_edge: Option<Spanned<Length>>,
    pub contact: Option<Spanned<Contact>>,
    pub groove_half_width: Option<Spanned<Length>>,
    pub groove_half_height: Option<Spanned<Length>>,
    pub seat_depth: Option<Spanned<Length>>,
    pub expansion: Option<Spanned<PerKelvin>>,
    pub tighten: Option<Spanned<TighteningOrder>>,
    pub least_segment: Option<Spanned<Length>>,
    /// Against bending up and down, and sideways; it counts as stiff where nothing is said.
    pub second_moment: Option<Spanned<SecondMoment>>,
    pub lateral_second_moment: Option<Spanned<SecondMoment>>,
    /// Bar lengths with how many there are of each.
    pub stock: Vec<(Spanned<Length>, Option<Spanned<u32>>)>,
    /// What is said of cutting it.
    pub cutting: Option<Cutting>,
    /// The first and the last day on which it was to be had.
    pub since: Option<Spanned<Moment>>,
    pub until: Option<Spanned<Moment>>,
}

/// How bars of a profile may be cut.
#[derive(Clone, Debug)]
pub struct Cutting {
    pub allowed: bool,
    pub grid: Option<Spanned<Length>>,
    pub kerf: Option<Spanned<Length>>,
    pub ends: Option<Spanned<EndCut>>,
}

impl Profile {
    pub(crate) fn absent_on(&self, day: Date) -> Option<Absent> {
        Absent::on(day, self.since, self.until)
    }

    /// From the near end of a segment to its first hole; nothing where neither the segment nor the profile says so.
    pub fn first_hole(&self, near_distance: Option<Spanned<Length>>) -> Option<Length> {
        near_distance.or(self.end_distance).map(|near| near.value)
    }

    /// Its bars may be cut.
    pub fn cutting_allowed(&self) -> bool {
        self.cutting.as_ref().is_some_and(|cutting| cutting.allowed)
    }

    pub fn cut_grid(&self) -> Option<Spanned<Length>> {
        self.cutting.as_ref()?.grid
    }

    pub fn kerf(&self) -> Option<Spanned<Length>> {
        self.cutting.as_ref()?.kerf
    }

    pub fn cut_ends(&self) -> Option<Spanned<EndCut>> {
        self.cutting.as_ref()?.ends
    }
}

/// A block.
#[derive(Clone, Debug)]
pub struct BlockType {
    pub name: Spanned<Name>,
    pub length: Option<Spanned<Length>>,
    pub dynamic: Option<Spanned<Force>>,
    pub static_: Option<Spanned<Force>>,
    pub basis: Option<Spanned<Travel>>,
    pub stiffness: Option<Spanned<Stiffness>>,
    pub lateral_stiffness: Option<Spanned<Stiffness>>,
    /// The torque that turns it by 1 mrad in roll, pitch and yaw.
    pub moment_stiffness: [Option<Spanned<Torque>>; 3],
    /// Moment ratings in roll, pitch and yaw.
    pub dynamic_moments: [Option<Spanned<Torque>>; 3],
    pub static_moments: [Option<Spanned<Torque>>; 3],
    pub rolling: Option<Spanned<RollingElement>>,
    /// The force between its opposite rows, or its share of the dynamic rating.
    pub preload: Option<Spanned<Force>>,
    pub preload_share: Option<Spanned<Ratio>>,
    /// What it takes to push it: a share of its preload, and what its seals take.
    pub friction: Option<Spanned<Ratio>>,
    pub seal_drag: Option<Spanned<Force>>,
    /// The first and the last day on which it was to be had.
    pub since: Option<Spanned<Moment>>,
    pub until: Option<Spanned<Moment>>,
}

impl BlockType {
    pub(crate) fn absent_on(&self, day: Date) -> Option<Absent> {
        Absent::on(day, self.since, self.until)
    }
}

/// A torque window of a fastener's own.
#[derive(Clone, Debug)]
pub struct TorqueWindow {
    pub place: Place,
    pub least: Torque,
    pub most: Torque,
    pub reason: String,
}

/// A bolt with its seat.
#[derive(Clone, Debug)]
pub struct Fastener {
    pub name: Spanned<Name>,
    pub thread: Option<Spanned<Name>>,
    pub class: Option<Spanned<Name>>,
    pub head: Option<Spanned<Name>>,
    pub seat_diameter: Option<Spanned<Length>>,
    pub into: Option<Spanned<ThreadedInto>>,
    pub engagement: Option<Spanned<Length>>,
    pub shear_strength: Option<Spanned<Stress>>,
    pub most_torque: Option<Spanned<Torque>>,
    pub friction: Option<(Spanned<Ratio>, Spanned<Ratio>)>,
    pub full: Option<TorqueWindow>,
    pub snug: Option<TorqueWindow>,
}

/// All entries that apply to a ledger, the nearest of each name.
#[derive(Clone, Debug, Default)]
pub struct Shop {
    pub title: Option<Spanned<Name>>,
    pub gauges: Named<Gauge>,
    pub wrenches: Named<Wrench>,
    pub shim_stock: Option<ShimStock>,
    pub profiles: Named<Profile>,
    pub blocks: Named<BlockType>,
    pub fasteners: Named<Fastener>,
    /// What is said not to apply to any machine of it.
    pub not_applicable: Vec<NotApplicable>,
    /// Whose word counts in the records; none where the shop does not say.
    pub persons: Named<Person>,
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
