//! What several rules ask of a ledger, as data: each is worked out once, when the first of them asks, and kept here.
//!
//! It stands below the case that holds it. The files that work it out stand above: `answers.rs`, `evidence.rs`, `known.rs`.

use std::cell::{Cell, OnceCell};
use std::collections::BTreeMap;

use jiff::civil::Date;
use smallvec::SmallVec;

use super::flaws::Evidence;
use super::torques::RecordTorques;
use crate::calc::exact::Ratio;
use crate::calc::layout::FewestAnswer;
use crate::facts::FactError;
use crate::facts::motion::BorneLoads;
use crate::facts::shim_plan::ShimPlan;
use crate::facts::steps::JointState;
use crate::facts::survey::SurveyReadings;
use crate::facts::survey_state::CurrentSurveys;
use crate::facts::torque_sides::Sides;
use crate::finding::Place;
use crate::ledger::{Instrument, Name, RailId, ReceivedPart, Spanned};
use crate::quantity::{Length, Moment};

/// What is known so far.
#[derive(Default)]
pub(super) struct Facts<'l> {
    pub slips: OnceCell<Vec<(usize, Slip)>>,
    pub work: OnceCell<WorkByPerson<'l>>,
    pub first_releases: OnceCell<Vec<Option<Moment>>>,
    pub lifts: OnceCell<Vec<(usize, usize)>>,
    pub voids: OnceCell<Vec<(usize, &'l Spanned<Name>)>>,
    pub last_work: OnceCell<BTreeMap<&'l str, LastWork>>,
    pub held_now: OnceCell<Vec<(&'l Spanned<Name>, Place)>>,
    pub readings: OnceCell<Vec<SurveyReadings<'l>>>,
    pub torques: OnceCell<Vec<RecordTorques>>,
    /// Those of the rail bolts, those of the base bolts.
    pub courses: [OnceCell<Courses>; 2],
    pub settled: OnceCell<Vec<(RailId, Option<Settled>)>>,
    pub joints: OnceCell<Vec<(RailId, Vec<JointState<'l>>)>>,
    pub slackened: OnceCell<Vec<(RailId, Slackened)>>,
    /// The surveys that count, in the order of the timeline.
    pub counting_surveys: OnceCell<Vec<(RailId, Vec<usize>)>>,
    pub before_shims: OnceCell<Vec<((RailId, usize), SurveyReadings<'l>)>>,
    pub predicted: OnceCell<Vec<(RailId, Vec<Ratio>)>>,
    pub order_is_certain: OnceCell<bool>,
    pub uses: OnceCell<InstrumentUses<'l>>,
    pub evidence: OnceCell<Evidence>,
    pub measured: OnceCell<Vec<(Measured, usize)>>,
    pub sides: OnceCell<Vec<(RailId, Vec<Sides>)>>,
    pub parts: OnceCell<Parts<'l>>,
    pub planes: OnceCell<Vec<(RailId, Planes<'l>)>>,
    pub undisturbed: OnceCell<Vec<(usize, bool)>>,
    pub joints_shown: OnceCell<Vec<(RailId, Vec<OfJoint>)>>,
    pub copies: OnceCell<Vec<((RailId, usize), ReadJoint)>>,
    pub followed: OnceCell<Vec<RailId>>,
    pub received: OnceCell<BTreeMap<&'l str, Place>>,
    pub in_another_unit: OnceCell<Vec<usize>>,
    pub in_use: OnceCell<InUse>,
    pub too_many: OnceCell<Result<TooMany, &'static str>>,
    pub shim_plans: OnceCell<BTreeMap<RailId, Result<ShimPlan, FactError>>>,
    pub fewest_joints: OnceCell<FewestOfAxes>,
    pub borne: OnceCell<Vec<OnceCell<Result<BorneLoads, FactError>>>>,
    /// What stands where nothing was read.
    pub nothing: CurrentSurveys<'l>,
}

/// The fewest joints of each axis that was asked about, and the search steps that are left for the others.
pub(super) struct FewestOfAxes {
    pub of_axes: Vec<OnceCell<Option<FewestAnswer>>>,
    pub steps_left: Cell<u64>,
}

/// The place of what shows something, or what is lacking for it, as a verdict says it.
pub(super) type Shown = Result<Place, &'static str>;

/// What was measured or tightened: an axis as a whole, or one of its rails.
pub(super) type Measured = (usize, Option<RailId>);

/// The records that slackened or shimmed supports of one rail.
#[derive(Clone, Copy)]
pub(super) struct Slackened {
    pub first: usize,
    pub last: usize,
    /// The last one that put in shims, took them out or changed them.
    pub shimmed: Option<usize>,
}

/// When all supports of a rail plainly had their full torque.
pub(super) struct Settled {
    /// The record that gave it to the last of them, and the first one after which one was slackened.
    pub first: usize,
    pub until: Option<usize>,
    /// The record that gave to the last of them what they hold now.
    pub now: usize,
}

/// The course of one support and interface.
pub(super) struct Course {
    /// The first record that gave all its bolts full torque since they were last slackened.
    pub tight: Option<usize>,
    /// The stretches of that kind before: the record that each began with, and the one that slackened it.
    pub tight_before: SmallVec<[(usize, usize); 1]>,
    /// Each full torque certainly came after a snugging of all bolts.
    pub snugged: bool,
    /// It was slackened, other than for shims.
    pub slackened: bool,
    /// When any of its bolts first got full torque.
    pub first: Option<When>,
    /// When any of them did since they were last slackened.
    pub current: Option<When>,
}

/// The courses of each rail, support by support.
pub(super) type Courses = Vec<(RailId, Vec<Course>)>;

/// A place on the timeline: the record's rank, then the row.
pub(super) type When = (usize, usize);

/// One record that was made with an instrument.
#[derive(Clone, Copy)]
pub(super) struct InstrumentUse {
    pub record: usize,
    pub date: Date,
    pub place: Place,
    /// Bolts tightened with a wrench whose cycles count: in all records before this one, and in this one.
    pub before: i64,
    pub bolts: i64,
}

/// The uses of instruments, by whether it is a wrench and its name.
pub(super) type InstrumentUses<'l> = BTreeMap<(bool, &'l str), (Instrument<'l>, Vec<InstrumentUse>)>;

/// What is known of a serial number.
#[derive(Default)]
pub(super) struct SerialPart<'l> {
    /// The latest word on what came in under it.
    pub received: Option<&'l ReceivedPart>,
    /// Where it is fitted, the first that says so.
    pub fitted: Option<(RailId, usize)>,
}

pub(super) type Parts<'l> = BTreeMap<&'l str, SerialPart<'l>>;

/// What somebody did on an axis or on one of its rails, and the first record of it.
pub(super) type WorkDone = (&'static str, Place);

/// What somebody did, by the axis and the rail.
type WorkByPlace = BTreeMap<(usize, Option<RailId>), Vec<WorkDone>>;

/// What each person did, by their name as it is spelt and then by the axis, and the rail where only that is asked for.
#[derive(Default)]
pub(super) struct WorkByPerson<'l> {
    pub of: BTreeMap<&'l str, WorkByPlace>,
    /// The spellings of each person's name, by what they have in common.
    pub spelt: BTreeMap<String, Vec<&'l str>>,
}

/// The last work or reading at an address.
#[derive(Clone, Copy, Default)]
pub(super) struct LastWork {
    /// Of that very address.
    pub own: Option<usize>,
    /// Of it or of a part of it.
    pub within: Option<usize>,
}

/// What is wrong with where a record stands among the others.
#[derive(Clone, Copy)]
pub(super) enum Slip {
    /// It is earlier than this record above it.
    Earlier(usize),
    /// It is later than this record below it.
    Later(usize),
    /// Nothing says whether it came before this one, and it matters to what the last one of the two is about.
    Unsure { other: usize, about: usize },
}

/// The surveys that stand of each kind, by plane: gap, straightness, height.
pub(super) type Planes<'l> = [Vec<CurrentSurveys<'l>>; 3];

pub(super) struct OfJoint {
    pub undisturbed: bool,
    /// Where something moved: of each of the latest records whether what it read still stands.
    pub stands: SmallVec<[(usize, bool); 2]>,
    pub steps: Shown,
}

/// A joint and the record that inspected it last.
#[derive(Clone, Copy)]
pub(super) struct ReadJoint {
    pub rail: RailId,
    pub joint: usize,
    pub last: usize,
}

/// The leaves of each thickness that lie in the machine: when they were put in, where, and their place in the text.
pub(super) type InUse = BTreeMap<Length, Vec<(Option<usize>, RailId, usize, Spanned<Length>)>>;

/// Supports, each with the leaves that would do.
pub(super) type TooMany = Vec<((RailId, usize), Option<Vec<Length>>)>;

/// Whether a support had its full torque when something was read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Torque {
    /// It had, or it has none yet.
    There,
    /// It got it only later.
    Later,
    /// The ledger does not say which came first.
    Unsure,
}

/// What is known of a record, in a list by records.
pub(super) fn of_record<T>(all: &[(usize, T)], record: usize) -> &[(usize, T)] {
    let start = all.partition_point(|(of, _)| *of < record);
    let end = start + all[start..].partition_point(|(of, _)| *of == record);
    &all[start..end]
}

/// What is known of a rail, among what is known of others in the order of the machine.
pub(super) fn of_rail<T>(all: &[(RailId, T)], id: RailId) -> Option<&T> {
    // On the first axis each stands at its own number, as long as something is known of all of them.
    let own = all.get(id.rail).filter(|(of, _)| *of == id);
    let found = || Some(&all[all.binary_search_by_key(&id, |(id, _)| *id).ok()?]);
    own.or_else(found).map(|(_, of)| of)
}

/// What is known of a part of a rail, among what is known of others in the order of the machine.
pub(super) fn of_part<T>(all: &[((RailId, usize), T)], part: (RailId, usize)) -> Option<&T> {
    let at = all.binary_search_by_key(&part, |(part, _)| *part).ok()?;
    Some(&all[at].1)
}
