//! Parts live in time: how a rail was before parts of it went, came or were changed, and which of its parts are still
//! the same.
//!
//! A record means what stood there on its day. What it says of a part that is still there as it was, speaks of that part;
//! all else is history.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use super::address::{AddressError, Target};
use super::faults::Faults;
use super::lifetime::Lifetime;
use super::machine::{FormerRail, Machine, Rail, RailId, Segment, StillThere, Support};
use super::spanned::Spanned;
use super::totals::CountedPart;
use crate::finding::names;
use crate::finding::{Finding, Grade, Place};
use crate::quantity::{Length, Moment};

/// Puts what a rail has had in its place in time: what went is taken out of it, and kept as it was before each change.
pub(super) fn part_in_time(rail: &mut Rail, faults: &mut Faults) {
    let lives =
        || rail.segments.iter().map(|it| (it.place, it.life)).chain(rail.supports.iter().map(|it| (it.place, it.life)));
    let days: BTreeSet<Date> = lives().flat_map(|(_, life)| life.days()).collect();
    if days.is_empty() {
        return;
    }
    let mut told = BTreeSet::new();
    for (place, life) in lives() {
        // Of two days of one row the check of the text tells.
        let of_one_row = |since: Place, until: Place| since.lies_in(place) && until.lies_in(place);
        if let (Some(since), Some(until)) = (life.since, life.until)
            && until.date < since.date
            && !of_one_row(since.place, until.place)
            && told.insert(place)
        {
            let message = format!("it went on {}, before it came on {}", until.date, since.date);
            let finding = Finding::new(names::WRONG_VALUE, Grade::Nonconformity, "", until.place, message);
            faults.found.push(finding.here("too early").also(since.place, "it came").next("correct one of them"));
        }
    }
    for day in days.into_iter().rev() {
        let segments: Vec<Segment> = segments_before(&rail.segments, day);
        let supports: Vec<Support> = supports_before(&rail.supports, day);
        let few = faults.take(CountedPart::Segments, segments.len(), rail.place)
            && faults.take(CountedPart::Supports, supports.len(), rail.place);
        if !few {
            break;
        }
        let (all_segments, all_supports) = (std::mem::take(&mut rail.segments), std::mem::take(&mut rail.supports));
        let former = std::mem::take(&mut rail.former);
        let was = Rail { segments, supports, ..rail.clone() };
        (rail.segments, rail.supports, rail.former) = (all_segments, all_supports, former);
        rail.former.push(FormerRail {
            until: day,
            rail: was,
            supports: Vec::new(),
            segments: Vec::new(),
            joints: Vec::new(),
        });
    }
    rail.segments.retain(|segment| segment.life.is_now());
    rail.supports.retain(|support| support.life.is_now());
}

/// Gives each former state of a rail the words that the rail had then: each of `heads` holds before its day.
pub(super) fn with_heads(rail: &mut Rail, heads: &[(Date, Rail)]) {
    for former in &mut rail.former {
        let Some((_, head)) = heads.iter().find(|(until, _)| former.until <= *until) else { continue };
        let (segments, supports) =
            (std::mem::take(&mut former.rail.segments), std::mem::take(&mut former.rail.supports));
        former.rail = Rail { segments, supports, ..head.clone() };
    }
}

/// The segments before a day. One that came in the place of none that is described had one of its length before it.
fn segments_before(all: &[Segment], day: Date) -> Vec<Segment> {
    let replaced: BTreeSet<Date> = all.iter().filter_map(|it| it.life.until).map(|until| until.date).collect();
    let was = |it: &Segment| {
        let alone = it.life.since.is_some_and(|since| !replaced.contains(&since.date));
        match it.life.before(day) {
            true => Some(it.clone()),
            false if it.life.came_after(day) && alone => {
                let mut before = it.clone();
                before.life.stand_in = true;
                Some(before)
            }
            false => None,
        }
    };
    all.iter().filter_map(was).collect()
}

/// The supports before a day. One that came later had one of its name before it, as far as anybody knows.
fn supports_before(all: &[Support], day: Date) -> Vec<Support> {
    let mut before: Vec<Support> = all.iter().filter(|it| it.life.before(day)).cloned().collect();
    let mut named: BTreeSet<&str> = all.iter().filter(|it| it.life.before(day)).map(|it| it.name.as_str()).collect();
    // Where another of that name had gone by then, there was none.
    let gone: BTreeSet<&str> = all
        .iter()
        .filter(|it| it.life.until.is_some_and(|until| until.date < day))
        .map(|it| it.name.as_str())
        .collect();
    for it in all.iter().filter(|it| it.life.came_after(day) && !gone.contains(it.name.as_str())) {
        if named.insert(&it.name) {
            let mut it = it.clone();
            it.life.stand_in = true;
            before.push(it);
        }
    }
    before
}

impl Rail {
    /// The day from which what was recorded at a support or a place of the rail speaks of what is there now: that of the
    /// part that came last.
    pub(crate) fn stands_since(&self, support: Option<usize>, at: Length) -> Option<Spanned<Moment>> {
        let over = self.segments.iter().filter(|it| it.from <= at && at <= it.to).map(|it| it.life);
        let under = support.map(|support| self.supports[support].life);
        over.chain(under).filter_map(|life| life.since).max_by_key(|since| since.date)
    }
}

/// A segment that lies on its rail no more.
#[derive(Clone, Debug)]
pub(crate) struct GoneSegment<'r> {
    pub segment: &'r Segment,
    /// Its number then, counted from 0.
    pub number: usize,
    /// The day it went.
    pub until: Date,
    /// The names of the joints that it met.
    pub joints: Vec<&'r str>,
    /// Its rail as it stood then.
    pub rail: &'r Rail,
}

impl Rail {
    /// Whether parts of it went, came or were changed since it was first described.
    pub(crate) fn has_changed(&self) -> bool {
        !self.former.is_empty()
    }

    /// The segments that lay there on a day, or now where none is said, in their order; of the day of a change, what came.
    pub(crate) fn segments_on(&self, day: Option<Date>) -> Vec<&Segment> {
        let Some(day) = day.filter(|_| self.has_changed()) else { return self.segments.iter().collect() };
        RailThen::on(self, Some(day)).rail().segments.iter().filter(|it| !it.life.stand_in).collect()
    }

    /// The segments that went, the last first, each once.
    pub(crate) fn gone_segments(&self) -> Vec<GoneSegment<'_>> {
        if !self.has_changed() {
            return Vec::new();
        }
        let mut told: BTreeSet<Place> = self.segments.iter().map(|it| it.place).collect();
        let mut all = Vec::new();
        for former in &self.former {
            for (number, segment) in former.rail.segments.iter().enumerate() {
                if segment.life.stand_in || !told.insert(segment.place) {
                    continue;
                }
                let until = segment.life.until.map_or(former.until, |until| until.date);
                let meets = former.rail.joints.iter().filter(|it| it.before == number || it.before + 1 == number);
                let joints = meets.map(|joint| joint.name.as_str()).collect();
                all.push(GoneSegment { segment, number, until, joints, rail: &former.rail });
            }
        }
        all
    }
}

impl FormerRail {
    /// Finds what of it is still there, once both are derived.
    pub(super) fn compare(&mut self, now: &Rail) {
        let by_place: BTreeMap<Place, usize> = now.segments.iter().zip(0..).map(|(it, at)| (it.place, at)).collect();
        let segment = |it: &Segment| {
            let same = *by_place.get(&it.place)?;
            (!it.life.stand_in && now.segments[same].from == it.from).then_some(same)
        };
        self.segments = self.rail.segments.iter().map(segment).collect();
        let support = |it: &Support| {
            let index = now.support(&it.name)?;
            let other = &now.supports[index];
            let born = |life: &Lifetime| life.since.map(|since| since.date);
            let same = other.place == it.place && other.at == it.at && born(&other.life) == born(&it.life);
            (same && !it.life.stand_in).then(|| StillThere { index, under_same_rail: self.is_kept(it.at) })
        };
        self.supports = self.rail.supports.iter().map(support).collect();
        let joint = |at: usize| {
            let joint = &self.rail.joints[at];
            let index = self.segments[joint.before]?;
            let after = self.segments[joint.before + 1]?;
            let support = match joint.support {
                None => None,
                Some(support) => Some(self.supports[support]?.index),
            };
            let same = after == index + 1 && now.joints.get(index)?.support == support;
            same.then_some(index)
        };
        self.joints = (0..self.rail.joints.len()).map(joint).collect();
    }

    /// Whether the rail at a position is still the one that lay there.
    fn is_kept(&self, at: Length) -> bool {
        let mut over = self.rail.segments.iter().zip(&self.segments).filter(|(it, _)| it.from <= at && at <= it.to);
        over.all(|(_, now)| now.is_some())
    }
}

/// What an address meant on a day.
pub(super) enum MeantPart<'a> {
    /// It is there now.
    There(Target),
    /// It was there, and went or was changed since: the rail that it was on.
    Gone(RailId),
    Unknown(AddressError<'a>),
}

/// What an address meant on a day.
pub(super) fn meant<'a>(machine: &Machine, address: &'a str, day: Option<Date>) -> MeantPart<'a> {
    let found = Target::find(machine, address);
    let id = match &found {
        Ok(target) => target.rail(),
        Err(AddressError::Part(id, _)) => Some(*id),
        Err(_) => None,
    };
    let part = address.rsplit('.').next().unwrap_or_default();
    let on_rail = match found {
        Ok(Target::Axis(_) | Target::Rail(_)) => None,
        _ => id.zip(day).filter(|(id, _)| !machine.rail(*id).former.is_empty()),
    };
    if let Some((id, day)) = on_rail {
        let stood = RailThen::on(machine.rail(id), Some(day));
        if let Some(former) = stood.former {
            match former.rail.part(id, part).map(|part| former.now(id, part)) {
                Some(Some(target)) => return MeantPart::There(target),
                Some(None) => return MeantPart::Gone(id),
                None => {}
            }
        } else if let Ok(target) = found {
            return MeantPart::There(target);
        }
        if stood.until_that_day.is_some_and(|former| former.rail.part(id, part).is_some()) {
            return MeantPart::Gone(id);
        }
        return match found {
            // It came later.
            Ok(_) => {
                let name = &address[address.len() - part.len()..];
                MeantPart::Unknown(AddressError::Part(id, name))
            }
            Err(lost) => MeantPart::Unknown(lost),
        };
    }
    match found {
        Ok(target) => MeantPart::There(target),
        Err(lost) => MeantPart::Unknown(lost),
    }
}

impl FormerRail {
    /// What a part of it is now.
    fn now(&self, id: RailId, part: Target) -> Option<Target> {
        match part {
            Target::Joint(_, joint) => self.joints[joint].map(|joint| Target::Joint(id, joint)),
            Target::Segment(_, segment) => self.segments[segment].map(|segment| Target::Segment(id, segment)),
            Target::Support(_, support) => self.supports[support].map(|it| Target::Support(id, it.index)),
            Target::Axis(_) | Target::Rail(_) => Some(part),
        }
    }
}

/// A rail as it stood on the day of a record.
#[derive(Clone, Copy)]
pub(super) struct RailThen<'a> {
    /// Nothing where it is so now.
    former: Option<&'a FormerRail>,
    /// As it was until that very day.
    until_that_day: Option<&'a FormerRail>,
    /// As it is now.
    now: &'a Rail,
}

impl<'a> RailThen<'a> {
    pub(super) fn on(now: &'a Rail, day: Option<Date>) -> RailThen<'a> {
        let Some(day) = day.filter(|_| !now.former.is_empty()) else {
            return RailThen { former: None, until_that_day: None, now };
        };
        // The last change stands first.
        let later = now.former.partition_point(|former| former.until > day);
        let former = later.checked_sub(1).map(|at| &now.former[at]);
        RailThen { former, until_that_day: now.former.get(later).filter(|former| former.until == day), now }
    }

    /// In which the names of a record are looked up.
    pub(super) fn rail(&self) -> &'a Rail {
        self.former.map_or(self.now, |former| &former.rail)
    }

    /// Whether a name of that very day means what went then.
    pub(super) fn went_that_day(&self, name: &str) -> bool {
        self.until_that_day.is_some_and(|former| former.rail.support(name).is_some())
    }

    /// Which support one of its supports is now; with the rail over it, where that matters.
    #[inline]
    pub(super) fn support_now(&self, support: usize, with_rail: bool) -> Option<usize> {
        let Some(former) = self.former else { return Some(support) };
        let still = former.supports[support]?;
        (still.under_same_rail || !with_rail).then_some(still.index)
    }

    /// The same of a joint.
    pub(super) fn joint_went_that_day(&self, name: &str) -> bool {
        self.until_that_day.is_some_and(|former| former.rail.joints.iter().any(|joint| joint.name == name))
    }

    /// Which joint one of its joints is now.
    pub(super) fn joint_now(&self, joint: usize) -> Option<usize> {
        self.former.map_or(Some(joint), |former| former.joints[joint])
    }

    /// Whether the rail at a position is the one that lies there now.
    pub(super) fn is_kept(&self, at: Length) -> bool {
        self.former.is_none_or(|former| former.is_kept(at))
    }
}
