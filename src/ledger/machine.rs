//! The machine as described, with what is derived from it: joints, seams, holes, supports and their bolts.

use std::cmp::Ordering;

use smallvec::SmallVec;

use super::given::{Given, Name, words};
use super::named::NameKey;
use super::shop::End;
use crate::finding::Place;
use crate::quantity::{Acceleration, Force, Length, Mass, Moment, PerKelvin, Ratio, Temperature, Travel};

words!(
    /// Which bolts: rail to support, or support to beam.
    Interface { Rail = "rail", Base = "base" }
);
words!(
    /// A side, seen along increasing position.
    Side { Left = "left", Right = "right" }
);
words!(
    /// What a shim under a rail does.
    ShimSense {
        /// It widens the gap.
        Widen = "widen",
        /// It narrows the gap.
        Narrow = "narrow",
        /// It lifts the rail and leaves the gap.
        Lift = "lift",
    }
);
words!(
    /// What a beam is made of.
    Material { Steel = "steel", Aluminium = "aluminium", CastIron = "cast-iron", Granite = "granite", Other = "other" }
);
words!(
    /// Which way a load pulls.
    Towards { Down = "down", Up = "up", Left = "left", Right = "right", Forward = "forward", Backward = "backward" }
);
words!(
    /// What is due again and again, or was serviced.
    Task {
        ReTorque = "re-torque",
        ReInspect = "re-inspect",
        ReSurvey = "re-survey",
        Lubricate = "lubricate",
        /// Only the distance travelled was read.
        Reading = "reading",
    }
);

#[derive(Clone, Debug, Default)]
pub struct Machine {
    pub name: Option<Given<Name>>,
    pub title: Option<Given<Name>>,
    pub axes: Vec<Axis>,
}

#[derive(Clone, Debug)]
pub struct Axis {
    pub name: Given<Name>,
    /// The head of the axis's node.
    pub place: Place,
    pub run: Option<Stretch>,
    pub stroke: Option<Stroke>,
    pub temperature: Option<TemperatureSpan>,
    pub life_required: Option<LifeRequired>,
    pub beams: Vec<Beam>,
    pub rails: Vec<Rail>,
    pub carriage: Option<Carriage>,
    pub intervals: Vec<Interval>,
}

/// A stretch of positions along an axis.
#[derive(Clone, Copy, Debug)]
pub struct Stretch {
    pub place: Place,
    pub from: Length,
    pub to: Length,
}

/// How far the carriage's middle travels.
#[derive(Clone, Copy, Debug)]
pub struct Stroke {
    pub place: Place,
    pub from: Given<Length>,
    pub to: Given<Length>,
    pub overtravel: Option<Given<Length>>,
}

#[derive(Clone, Copy, Debug)]
pub struct TemperatureSpan {
    pub place: Place,
    pub least: Given<Temperature>,
    pub most: Given<Temperature>,
    pub fitted: Option<Given<Temperature>>,
}

#[derive(Clone, Copy, Debug)]
pub struct LifeRequired {
    pub place: Place,
    pub distance: Given<Travel>,
    pub reliability: Option<Given<Ratio>>,
}

/// What must be done again, and how often.
#[derive(Clone, Copy, Debug)]
pub struct Interval {
    pub place: Place,
    pub task: Given<Task>,
    pub months: Option<Given<u32>>,
    pub travelled: Option<Given<Travel>>,
}

#[derive(Clone, Debug)]
pub struct Beam {
    pub name: Given<Name>,
    pub place: Place,
    pub from: Length,
    pub material: Option<Given<Material>>,
    pub expansion: Option<Given<PerKelvin>>,
    pub pieces: Vec<Given<Length>>,
    pub seams: Vec<Seam>,
}

impl Beam {
    pub fn to(&self) -> Length {
        self.from + self.pieces.iter().map(|piece| piece.value).sum()
    }
}

/// Where two pieces of a beam meet.
#[derive(Clone, Copy, Debug)]
pub struct Seam {
    pub position: Length,
    /// The piece that begins here.
    pub place: Place,
}

#[derive(Clone, Debug)]
pub struct Rail {
    pub name: Given<Name>,
    pub place: Place,
    /// Its whole node, block included.
    pub whole: Place,
    /// Its text has a fault: where its joints and supports lie cannot be relied on.
    pub damaged: bool,
    pub beam: Option<Given<Name>>,
    pub profile: Option<Given<Name>>,
    pub from: Length,
    pub datum: Option<Given<Side>>,
    pub follows: Option<Given<Name>>,
    pub shims: Option<Given<ShimSense>>,
    pub rail_bolt: Option<Given<Name>>,
    pub base_bolt: Option<Given<Name>>,
    pub segments: Vec<Segment>,
    pub joints: Vec<Joint>,
    /// In order of position; two at one place in the order they are written.
    pub supports: Vec<Support>,
    /// The names of the supports as numbers.
    pub(super) keys: Vec<NameKey>,
    /// The supports in the order of their names, each name once.
    pub(super) by_name: Vec<(NameKey, u32)>,
}

impl Rail {
    pub fn to(&self) -> Length {
        self.segments.last().map_or(self.from, |segment| segment.to)
    }

    /// No two supports have one name.
    #[inline]
    pub fn distinct(&self) -> bool {
        self.by_name.len() == self.supports.len()
    }

    /// Whether there is a support at that index and it has that name, of which the key is given too.
    #[inline]
    pub(super) fn has_at(&self, index: usize, key: NameKey, name: &str) -> bool {
        self.keys.get(index) == Some(&key) && (!key.is_shared() || self.supports[index].name == name)
    }

    /// The support of that name.
    pub fn support(&self, name: &str) -> Option<usize> {
        let key = NameKey::of(name);
        let by_name = |of: &(NameKey, u32)| {
            of.0.cmp(&key).then_with(|| match key.is_shared() {
                true => (*self.supports[of.1 as usize].name).cmp(name),
                false => Ordering::Equal,
            })
        };
        self.by_name.binary_search_by(by_name).ok().map(|at| self.by_name[at].1 as usize)
    }
}

#[derive(Clone, Debug)]
pub struct Segment {
    pub place: Place,
    pub length: Given<Length>,
    pub from: Length,
    pub to: Length,
    pub serial: Option<Given<Name>>,
    pub lot: Option<Given<Name>>,
    pub near_mark: Option<Given<Name>>,
    pub far_mark: Option<Given<Name>>,
    pub near_distance: Option<Given<Length>>,
    pub far_distance: Option<Given<Length>>,
    pub near_end: Option<Given<End>>,
    pub far_end: Option<Given<End>>,
    pub owned: bool,
    pub since: Option<Given<Moment>>,
    /// Positions of its holes along the axis; empty where the profile does not say the pitch.
    pub holes: Vec<Length>,
}

impl Segment {
    /// A segment of which only the length is known.
    pub(super) fn of(place: Place, length: Given<Length>) -> Segment {
        Segment {
            place,
            length,
            from: Length::ZERO,
            to: Length::ZERO,
            serial: None,
            lot: None,
            near_mark: None,
            far_mark: None,
            near_distance: None,
            far_distance: None,
            near_end: None,
            far_end: None,
            owned: false,
            since: None,
            holes: Vec::new(),
        }
    }
}

/// Where segment `before` and the next one meet.
#[derive(Clone, Debug)]
pub struct Joint {
    /// J1 is the first.
    pub name: Name,
    pub position: Length,
    /// The index of the segment that ends here.
    pub before: usize,
    /// The segment that begins here.
    pub place: Place,
    /// The support that has this joint's name.
    pub support: Option<usize>,
}

#[derive(Clone, Debug)]
pub struct Support {
    pub name: Name,
    pub place: Place,
    pub at: Length,
    pub covers: Option<Length>,
    /// Present for a joint support: the index of its joint, where that joint exists.
    pub joint: Option<Option<usize>>,
    /// The bolts between rail and support in order of position; nothing where the holes are not known.
    pub bolts: Option<Bolts>,
    pub base_bolts: Option<u32>,
    pub since: Option<Given<Moment>>,
}

impl Support {
    /// A support of which only the name and the position are known.
    pub(super) fn of(name: Name, place: Place, at: Length) -> Support {
        Support { name, place, at, covers: None, joint: None, bolts: None, base_bolts: None, since: None }
    }

    pub fn from(&self) -> Length {
        Length(self.at.0 - self.covers.map_or(0, |covers| covers.0 / 2))
    }

    pub fn to(&self) -> Length {
        Length(self.at.0 + self.covers.map_or(0, |covers| covers.0 / 2))
    }

    /// How many bolts a row of torques may name.
    pub fn bolt_count(&self, interface: Interface) -> Option<usize> {
        match interface {
            Interface::Rail => self.bolts.as_ref().map(|bolts| bolts.len()),
            Interface::Base => self.base_bolts.map(|count| count as usize),
        }
    }
}

/// The bolts of one support: most have two.
pub type Bolts = SmallVec<[Bolt; 2]>;

/// A bolt between rail and support.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bolt {
    pub position: Length,
    /// The rail's hole it sits in: segment and hole, both counted from 0; nothing where the rail has none there.
    pub hole: Option<(u32, u32)>,
    /// How far the bolt lies off the nearest hole.
    pub off: Length,
}

#[derive(Clone, Debug)]
pub struct Carriage {
    pub place: Place,
    pub length: Option<Given<Length>>,
    pub mass: Option<Given<Mass>>,
    pub acceleration: Option<Given<Acceleration>>,
    pub blocks: Vec<Block>,
    pub rails_at: Vec<Track>,
    pub loads: Vec<Load>,
}

#[derive(Clone, Debug)]
pub struct Block {
    pub place: Place,
    /// The index of the rail it rides on, where it exists.
    pub rail: Option<usize>,
    /// From the carriage's middle.
    pub at: Given<Length>,
    pub kind: Option<Given<Name>>,
    /// Effective length, its own or its type's.
    pub length: Option<Given<Length>>,
}

/// Where a rail runs across the carriage.
#[derive(Clone, Debug)]
pub struct Track {
    pub place: Place,
    pub rail: Option<usize>,
    pub y: Length,
    pub z: Length,
}

#[derive(Clone, Debug)]
pub struct Load {
    pub place: Place,
    pub force: Given<Force>,
    pub x: Length,
    pub y: Length,
    pub z: Length,
    pub towards: Towards,
    pub share: Option<Given<Ratio>>,
    pub case: Option<Given<Name>>,
}

/// A rail by its place in the machine.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct RailId {
    pub axis: usize,
    pub rail: usize,
}

impl Machine {
    pub fn axis(&self, name: &str) -> Option<usize> {
        self.axes.iter().position(|axis| *axis.name == name)
    }

    pub fn rail(&self, id: RailId) -> &Rail {
        &self.axes[id.axis].rails[id.rail]
    }

    /// All rails in the order they are written.
    pub fn rails(&self) -> impl Iterator<Item = (RailId, &Axis, &Rail)> {
        self.axes
            .iter()
            .enumerate()
            .flat_map(|(axis, of)| of.rails.iter().enumerate().map(move |(rail, it)| (RailId { axis, rail }, of, it)))
    }

    /// `X.port`.
    pub fn rail_address(&self, id: RailId) -> String {
        format!("{}.{}", *self.axes[id.axis].name, *self.rail(id).name)
    }

    /// `X.port.S4`.
    pub fn support_address(&self, id: RailId, support: usize) -> String {
        format!("{}.{}", self.rail_address(id), self.rail(id).supports[support].name)
    }

    /// `X.port.J1`.
    pub fn joint_address(&self, id: RailId, joint: usize) -> String {
        format!("{}.{}", self.rail_address(id), self.rail(id).joints[joint].name)
    }

    /// `X.port.seg2`.
    pub fn segment_address(&self, id: RailId, segment: usize) -> String {
        format!("{}.seg{}", self.rail_address(id), segment + 1)
    }
}
