//! The machine as described, with what is derived from it: joints, seams, holes, supports and their bolts.

use std::cmp::Ordering;

use jiff::civil::Date;
use smallvec::SmallVec;

use super::built_to::{BuiltTo, DesignDeviation, StatedPart};
use super::corrected::Corrected;
use super::lifetime::Lifetime;
use super::named::NameKey;
use super::not_applicable::NotApplicable;
use super::shop::{EndCut, TighteningOrder};
use super::spanned::{Name, Spanned, words};
use crate::finding::{Place, within};
use crate::quantity::{Acceleration, Force, Length, Mass, PerKelvin, Ratio, Stiffness, Temperature, Travel};

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
    /// What a rail lies on.
    RailSeat {
        /// On supports with free spans between them.
        Supports = "supports",
        /// On one machined face over its whole length.
        Continuous = "continuous",
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

/// A machine: its axes.
#[derive(Clone, Debug, Default)]
pub struct Machine {
    /// Its short name.
    pub name: Option<Spanned<Name>>,
    /// Its long name, as on papers.
    pub title: Option<Spanned<Name>>,
    /// In the order in which they are described.
    pub axes: Vec<Axis>,
    /// What is said not to apply to it.
    pub not_applicable: Vec<NotApplicable>,
    /// What is said to have been described wrong.
    pub corrected: Vec<Corrected>,
    /// The revisions of a design that it was built to, one after the other; empty where it is described on its own.
    pub built_to: Vec<BuiltTo>,
    /// What parts of the design are in it.
    pub parts: Vec<StatedPart>,
    /// Where it departs from the design.
    pub deviations: Vec<DesignDeviation>,
    /// The axes and rails that a later revision has no more, by address, each with the day on which they went.
    pub gone: Vec<(String, Date)>,
}

impl Machine {
    /// Whether an address is on a rail or an axis that went, and was there on a day.
    pub(super) fn is_on_gone(&self, address: &str, day: Option<Date>) -> bool {
        let was_there = |until: Date| day.is_none_or(|day| day <= until);
        self.gone.iter().any(|(gone, until)| within(address, gone) && was_there(*until))
    }
}

/// An axis: parallel rails and what rides on them.
#[derive(Clone, Debug)]
pub struct Axis {
    /// Its name: `X`.
    pub name: Spanned<Name>,
    /// The head of the axis's node.
    pub place: Place,
    /// From where to where its rails reach.
    pub run: Option<Stretch>,
    /// How far its carriage travels.
    pub stroke: Option<Stroke>,
    /// Between which temperatures it works.
    pub temperature: Option<TemperatureSpan>,
    /// The life that it must reach.
    pub life_required: Option<LifeRequired>,
    /// What its rails lie on.
    pub beams: Vec<Beam>,
    /// In the order in which they are described.
    pub rails: Vec<Rail>,
    /// What rides on its rails.
    pub carriage: Option<Carriage>,
    /// What is due again and again.
    pub intervals: Vec<Interval>,
}

/// A stretch of positions along an axis.
#[derive(Clone, Copy, Debug)]
pub struct Stretch {
    /// Where it is told.
    pub place: Place,
    /// The least position.
    pub from: Length,
    /// The greatest position.
    pub to: Length,
}

/// How far the carriage's middle travels.
#[derive(Clone, Copy, Debug)]
pub struct Stroke {
    /// Where it is told.
    pub place: Place,
    /// The least position of the middle of the carriage.
    pub from: Spanned<Length>,
    /// The greatest.
    pub to: Spanned<Length>,
    /// How far beyond either end it may get.
    pub overtravel: Option<Spanned<Length>>,
}

#[derive(Clone, Copy, Debug)]
pub struct TemperatureSpan {
    pub place: Place,
    pub least: Spanned<Temperature>,
    pub most: Spanned<Temperature>,
    pub fitted: Option<Spanned<Temperature>>,
}

#[derive(Clone, Copy, Debug)]
pub struct LifeRequired {
    pub place: Place,
    pub distance: Spanned<Travel>,
    pub reliability: Option<Spanned<Ratio>>,
}

/// What must be done again, and how often.
#[derive(Clone, Copy, Debug)]
pub struct Interval {
    pub place: Place,
    pub task: Spanned<Task>,
    pub months: Option<Spanned<u32>>,
    pub travelled: Option<Spanned<Travel>>,
}

/// A beam in pieces, on which rails lie.
#[derive(Clone, Debug)]
pub struct Beam {
    /// Its name.
    pub name: Spanned<Name>,
    /// The head of its node.
    pub place: Place,
    /// Where its first piece begins.
    pub from: Length,
    /// What it is made of.
    pub material: Option<Spanned<Material>>,
    /// How much it grows with temperature, where that is stated.
    pub expansion: Option<Spanned<PerKelvin>>,
    /// The lengths of its pieces.
    pub pieces: Vec<Spanned<Length>>,
    /// Where they meet.
    pub seams: Vec<Seam>,
}

impl Beam {
    /// Where its last piece ends.
    pub fn to(&self) -> Length {
        self.from + self.pieces.iter().map(|piece| piece.value).sum()
    }
}

/// Where two pieces of a beam meet.
#[derive(Clone, Copy, Debug)]
pub struct Seam {
    /// Along the axis.
    pub position: Length,
    /// The piece that begins here.
    pub place: Place,
}

/// A rail: segments that are butt-joined, on supports.
#[derive(Clone, Debug)]
pub struct Rail {
    /// Its name.
    pub name: Spanned<Name>,
    /// The head of its node.
    pub place: Place,
    /// Its whole node, block included.
    pub whole: Place,
    /// Its text has a fault: where its joints and supports lie cannot be relied on.
    pub damaged: bool,
    /// The beam that it lies on.
    pub beam: Option<Spanned<Name>>,
    /// Its profile, which the shop knows.
    pub profile: Option<Spanned<Name>>,
    /// Where its first segment begins.
    pub from: Length,
    /// The side of its datum edge.
    pub datum: Option<Spanned<Side>>,
    /// The rail that it is aligned to.
    pub follows: Option<Spanned<Name>>,
    /// What a shim under it does.
    pub shims: Option<Spanned<ShimSense>>,
    /// What it lies on; on supports where nothing is said.
    pub seat: Option<Spanned<RailSeat>>,
    /// In which order its bolts are tightened, as stated for it or for its profile; outward where nothing is said.
    pub tighten: Option<Spanned<TighteningOrder>>,
    /// The fastener of the rail to its supports.
    pub rail_bolt: Option<Spanned<Name>>,
    /// The fastener of its supports to the beam.
    pub base_bolt: Option<Spanned<Name>>,
    /// From one end to the other.
    pub segments: Vec<Segment>,
    /// Where segments meet; the first lies behind the first segment.
    pub joints: Vec<Joint>,
    /// In order of position; two at one place in the order they are written.
    pub supports: Vec<Support>,
    /// The names of the supports as numbers.
    pub(super) keys: Vec<NameKey>,
    /// The supports in the order of their names, each name once.
    pub(super) by_name: Vec<(NameKey, u32)>,
    /// How it was before parts of it changed, the last change first.
    pub(super) former: Vec<FormerRail>,
}

impl Rail {
    /// Where its last segment ends.
    pub fn to(&self) -> Length {
        self.segments.last().map_or(self.from, |segment| segment.to)
    }

    /// Its bolts are tightened one way along it.
    pub fn tightened_along(&self) -> bool {
        self.tighten.is_some_and(|order| *order == TighteningOrder::Along)
    }

    /// The machined face that it lies on over its whole length, where that is said.
    pub fn continuous_seat(&self) -> Option<Place> {
        self.seat.filter(|seat| **seat == RailSeat::Continuous).map(|seat| seat.place)
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
        let key = NameKey::new(name);
        let by_name = |of: &(NameKey, u32)| {
            of.0.cmp(&key).then_with(|| match key.is_shared() {
                true => (*self.supports[of.1 as usize].name).cmp(name),
                false => Ordering::Equal,
            })
        };
        self.by_name.binary_search_by(by_name).ok().map(|at| self.by_name[at].1 as usize)
    }
}

/// A rail as it was until something of it changed.
#[derive(Clone, Debug)]
pub(super) struct FormerRail {
    /// The day of the change.
    pub(super) until: Date,
    pub(super) rail: Rail,
    /// What each of its supports is now; nothing where it went or was changed.
    pub(super) supports: Vec<Option<StillThere>>,
    /// What each of its segments is now, where it lies as it lay.
    pub(super) segments: Vec<Option<usize>>,
    pub(super) joints: Vec<Option<usize>>,
}

/// A support that stands as it stood.
#[derive(Clone, Copy, Debug)]
pub(super) struct StillThere {
    pub index: usize,
    /// The rail over it is still the same too.
    pub under_same_rail: bool,
}

/// A piece of rail between two joints or ends.
#[derive(Clone, Debug)]
pub struct Segment {
    /// The head of its node.
    pub place: Place,
    /// From end to end.
    pub length: Spanned<Length>,
    /// Where it begins along the axis.
    pub from: Length,
    /// Where it ends.
    pub to: Length,
    /// The serial number on it.
    pub serial: Option<Spanned<Name>>,
    /// The lot that it came from.
    pub lot: Option<Spanned<Name>>,
    /// The mark on its near end.
    pub near_mark: Option<Spanned<Name>>,
    /// The mark on its far end.
    pub far_mark: Option<Spanned<Name>>,
    /// From its near end to the first hole, where that is stated.
    pub near_distance: Option<Spanned<Length>>,
    /// From its last hole to its far end.
    pub far_distance: Option<Spanned<Length>>,
    /// How its near end was made.
    pub near_end: Option<Spanned<EndCut>>,
    /// How its far end was made.
    pub far_end: Option<Spanned<EndCut>>,
    /// It was there before the layout was planned.
    pub owned: bool,
    /// From when to when it is there.
    pub life: Lifetime,
    /// Positions of its holes along the axis; empty where the profile does not say the pitch.
    pub holes: Vec<Length>,
}

impl Segment {
    /// A segment of which only the length is known.
    pub(super) fn new(place: Place, length: Spanned<Length>) -> Segment {
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
            life: Lifetime::default(),
            holes: Vec::new(),
        }
    }
}

/// Where segment `before` and the next one meet.
#[derive(Clone, Debug)]
pub struct Joint {
    /// J1 is the first.
    pub name: Name,
    /// Along the axis.
    pub position: Length,
    /// The index of the segment that ends here.
    pub before: usize,
    /// The segment that begins here.
    pub place: Place,
    /// The support that has this joint's name.
    pub support: Option<usize>,
}

/// What a rail is bolted to at one place.
#[derive(Clone, Debug)]
pub struct Support {
    /// Its name: `S4`, or the name of the joint over it.
    pub name: Name,
    /// Where it is described.
    pub place: Place,
    /// Where its middle lies along the axis.
    pub at: Length,
    /// Its length along the rail.
    pub covers: Option<Length>,
    /// Present for a joint support: the index of its joint, where that joint exists.
    pub joint: Option<Option<usize>>,
    /// The bolts between rail and support in order of position; nothing where the holes are not known.
    pub bolts: Option<Bolts>,
    /// Those bolts are the holes that it covers; else they are described.
    pub bolts_counted: bool,
    /// How many bolts hold it to the beam.
    pub base_bolts: Option<u32>,
    /// From when to when it is there.
    pub life: Lifetime,
    /// How stiff it stands upright; it does not yield where nothing is said.
    pub stiffness: Option<Spanned<Stiffness>>,
    /// The same sideways.
    pub lateral_stiffness: Option<Spanned<Stiffness>>,
}

impl Support {
    /// A support of which only the name and the position are known.
    pub(super) fn new(name: Name, place: Place, at: Length) -> Support {
        Support {
            name,
            place,
            at,
            covers: None,
            joint: None,
            bolts: None,
            bolts_counted: false,
            base_bolts: None,
            life: Lifetime::default(),
            stiffness: None,
            lateral_stiffness: None,
        }
    }

    /// Where it begins along the axis.
    pub fn from(&self) -> Length {
        Length(self.at.0 - self.covers.map_or(0, |covers| covers.0 / 2))
    }

    /// Where it ends.
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
pub(crate) type Bolts = SmallVec<[Bolt; 2]>;

/// A bolt between rail and support.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bolt {
    pub(crate) position: Length,
    /// The rail's hole it sits in: segment and hole, both counted from 0; nothing where the rail has none there.
    pub hole: Option<(u32, u32)>,
    /// How far the bolt lies off the nearest hole.
    pub off: Length,
}

/// What rides on the rails of an axis.
#[derive(Clone, Debug)]
pub struct Carriage {
    /// The head of its node.
    pub place: Place,
    /// From end to end.
    pub length: Option<Spanned<Length>>,
    /// With what it carries.
    pub mass: Option<Spanned<Mass>>,
    /// The greatest.
    pub acceleration: Option<Spanned<Acceleration>>,
    /// What it rides by.
    pub blocks: Vec<Block>,
    /// Those that rode on it and went.
    pub(crate) former_blocks: Vec<Block>,
    /// Where its rails lie across the axis.
    pub rails_at: Vec<Track>,
    /// What pulls at it.
    pub loads: Vec<Load>,
    /// Masses on it beside its own.
    pub masses: Vec<OnCarriage<Spanned<Mass>>>,
    /// An arrow away from the earth.
    pub up: Option<OnCarriage<()>>,
    /// A place on the line in which the drive pulls.
    pub drive: Option<OnCarriage<()>>,
    /// Places on it that work, by name.
    pub tools: Vec<OnCarriage<WorkingPoint>>,
    /// What any of its blocks may carry at most.
    pub most_block_load: Option<Spanned<Force>>,
}

/// What works at a place of the carriage.
#[derive(Clone, Debug)]
pub struct WorkingPoint {
    pub name: Spanned<Name>,
    /// How far it may wander over the stroke, sideways and upright.
    pub most: [Option<Spanned<Length>>; 2],
}

/// Something at a place of the carriage.
#[derive(Clone, Debug)]
pub struct OnCarriage<T> {
    /// Where it is described.
    pub place: Place,
    pub what: T,
    pub x: Length,
    pub y: Length,
    pub z: Length,
}

/// A block that rides on a rail.
#[derive(Clone, Debug)]
pub struct Block {
    /// Where it is described.
    pub place: Place,
    /// The index of the rail it rides on, where it exists.
    pub rail: Option<usize>,
    /// From the carriage's middle.
    pub at: Spanned<Length>,
    /// Its type, which the shop knows.
    pub kind: Option<Spanned<Name>>,
    /// Effective length, its own or its type's.
    pub length: Option<Spanned<Length>>,
    /// From when to when it rides there.
    pub(crate) life: Lifetime,
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
    pub force: Spanned<Force>,
    pub x: Length,
    pub y: Length,
    pub z: Length,
    pub towards: Towards,
    pub share: Option<Spanned<Ratio>>,
    pub case: Option<Spanned<Name>>,
}

/// A rail by its place in the machine.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct RailId {
    /// The place of the axis in the machine.
    pub axis: usize,
    /// The place of the rail on the axis.
    pub rail: usize,
}

impl Machine {
    /// The place of an axis by its name.
    pub fn axis(&self, name: &str) -> Option<usize> {
        self.axes.iter().position(|axis| *axis.name == name)
    }

    /// A rail of this machine.
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
