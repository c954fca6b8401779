//! A machine that is built to a design: the axes of the revision in force, with what went when an earlier one was left, the
//! names of its parts, and where it departs from the design.
//!
//! A later revision dates every part that differs, so that what was recorded of the earlier one is history, as of any other
//! part that went. What is described here is told where it stands: in the design's file.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;

use jiff::civil::Date;

use super::built_to::{BuiltTo, DesignDeviation, StatedPart};
use super::describe;
use super::faults::Faults;
use super::former;
use super::lifetime::Lifetime;
use super::machine::{Axis, Block, Carriage, Machine, Rail, Segment, Support};
use super::spanned::{Name, SourcedNode, Spanned};
use crate::finding::{Finding, Grade, Place, names, within};
use crate::language::schema::Refers;
use crate::quantity::{Amount, Length, Moment};

/// How rails were before a revision was taken over, by axis and rail: their own words without their parts.
type FormerHeads = BTreeMap<(Name, Name), Vec<(Date, Rail)>>;

/// Builds a machine to the designs that it names. `all` are those described, the nearest first; the ones in force come back.
pub(super) fn build<'d>(machine: &mut Machine, all: &[SourcedNode<'d>], faults: &mut Faults) -> Vec<SourcedNode<'d>> {
    let revisions = revisions(&mut machine.built_to, all, faults);
    let mut heads = FormerHeads::new();
    let mut stays = RailStays::default();
    let mut axes: Vec<Axis> = Vec::new();
    for (at, (node, since)) in revisions.iter().enumerate() {
        let mut new = describe::axes(*node, faults);
        without_days(&mut new, faults);
        if let Some(since) = since.filter(|_| at > 0) {
            take_over(&axes, &mut new, since, &mut heads);
            stays.take_over(&axes, &new, since.date);
            machine.gone.extend(gone(&axes, &new).map(|address| (address, since.date)));
        }
        axes = new;
    }
    // Without a design there is nothing that could be named or otherwise.
    if !revisions.is_empty() {
        name_parts(machine, &mut axes, &mut stays, faults);
        depart_all(machine, &mut axes, &mut stays, faults);
    }
    for axis in &mut axes {
        for rail in &mut axis.rails {
            former::part_in_time(rail, faults);
            let key = (axis.name.value.clone(), rail.name.value.clone());
            former::with_heads(rail, heads.get(&key).map_or(&[][..], |all| all));
        }
    }
    for own in std::mem::take(&mut machine.axes) {
        match axes.iter().find(|axis| *axis.name == *own.name) {
            Some(first) => faults.duplicate("axes", own.name.word(), first.name.place),
            None => axes.push(own),
        }
    }
    machine.axes = axes;
    revisions.last().map(|(node, _)| *node).into_iter().collect()
}

/// The description of each revision that the machine names, in order, with the day from which it holds.
fn revisions<'d>(
    named: &mut [BuiltTo],
    all: &[SourcedNode<'d>],
    faults: &mut Faults,
) -> Vec<(SourcedNode<'d>, Option<Spanned<Moment>>)> {
    let mut found = Vec::new();
    let mut last: Option<Spanned<Moment>> = None;
    for (at, said) in named.iter_mut().enumerate() {
        let later = said.since.is_some_and(|since| last.is_none_or(|last| last.date < since.date));
        if at > 0 && !later {
            let message = format!("revision {} does not say from which later day on it holds", *said.revision);
            let finding = Finding::new(names::MISSING_PART, Grade::Nonconformity, "", said.place, message);
            faults.found.push(finding.here("this one").next("add since=\"…\": the day on which it was taken over"));
            continue;
        }
        last = said.since.or(last);
        let of_name = |node: &&SourcedNode| node.arg_text::<&str>(0).is_some_and(|name| *name == said.design.as_str());
        let revision = |node: &SourcedNode| node.count("revision").map(|count| *count);
        if !all.iter().any(|node| of_name(&node)) {
            let known = || all.iter().filter_map(|node| Some(node.arg_text::<&str>(0)?.value)).collect();
            faults.unknown_among(Refers::Design, said.design.word(), known, "");
            continue;
        }
        match all.iter().filter(of_name).find(|node| revision(node) == Some(*said.revision)) {
            Some(node) => {
                said.described = Some(node.place());
                found.push((*node, said.since));
            }
            None => {
                let known: Vec<String> =
                    all.iter().filter(of_name).filter_map(revision).map(|it| it.to_string()).collect();
                let name = said.revision.value.to_string();
                let cited = Spanned { value: name.as_str(), place: said.revision.place };
                faults.unknown_among(Refers::Revision, cited, || known.iter().map(String::as_str).collect(), "");
            }
        }
    }
    found
}

/// A design has no days of its own: a new revision says what changes.
fn without_days(axes: &mut [Axis], faults: &mut Faults) {
    let mut told = |place: Place, here: &str, next: &str| {
        let message = "a design says since when a part is there".to_owned();
        let finding = Finding::new(names::WRONG_VALUE, Grade::Nonconformity, "", place, message);
        faults.found.push(finding.here(here).next(next));
    };
    for axis in axes {
        for rail in axis.rails.iter_mut().filter(|rail| !rail.former.is_empty()) {
            rail.former.clear();
            rail.segments.iter_mut().for_each(|it| it.life = Lifetime::default());
            rail.supports.iter_mut().for_each(|it| it.life = Lifetime::default());
            let next =
                "take `since` and `until` out: a new revision says what changes, and each machine since when it has it";
            told(rail.place, "on this rail", next);
        }
        let Some(carriage) = &mut axis.carriage else { continue };
        let own = carriage.blocks.iter().filter(|block| block.life.since.is_some());
        for block in own.chain(&carriage.former_blocks) {
            told(block.place, "this block", "take `since` and `until` out: a new revision says what changes");
        }
        carriage.former_blocks.clear();
        carriage.blocks.iter_mut().for_each(|it| it.life = Lifetime::default());
    }
}

/// Dates what differs between two revisions: what went is kept beside what came.
fn take_over(was: &[Axis], new: &mut [Axis], since: Spanned<Moment>, heads: &mut FormerHeads) {
    for axis in new {
        let before = was.iter().find(|old| *old.name == *axis.name);
        for rail in &mut axis.rails {
            place_segments(rail);
            let Some(old) = before.and_then(|axis| axis.rails.iter().find(|old| *old.name == *rail.name)) else {
                rail.segments.iter_mut().for_each(|it| it.life.since = Some(since));
                rail.supports.iter_mut().for_each(|it| it.life.since = Some(since));
                continue;
            };
            let key = (axis.name.value.clone(), rail.name.value.clone());
            let head = Rail { segments: Vec::new(), supports: Vec::new(), former: Vec::new(), ..old.clone() };
            heads.entry(key).or_default().push((since.date, head));
            let mut old = old.clone();
            place_segments(&mut old);
            take_over_rail(old, rail, since);
        }
        if let Some(carriage) = &mut axis.carriage {
            take_over_blocks(before.and_then(|axis| axis.carriage.as_ref()), carriage, since);
        }
    }
}

/// A block of a type of which one rode there before is that one, wherever it rides now; one of another type came.
fn take_over_blocks(old: Option<&Carriage>, new: &mut Carriage, since: Spanned<Moment>) {
    let kind = |block: &Block| block.kind.as_ref().map(|kind| kind.value.clone());
    let mut before: Vec<Block> = old.map_or(Vec::new(), |old| old.blocks.clone());
    for block in &mut new.blocks {
        block.life = match before.iter().position(|old| kind(old) == kind(block)) {
            Some(at) => before.remove(at).life,
            None => Lifetime { since: Some(since), ..Lifetime::default() },
        };
    }
    new.former_blocks = old.map_or(Vec::new(), |old| old.former_blocks.clone());
    new.former_blocks.extend(before.into_iter().map(|mut gone| {
        gone.life.until = Some(since);
        gone
    }));
}

/// The addresses of rails, and of whole axes, that a revision has no more.
fn gone<'a>(was: &'a [Axis], new: &'a [Axis]) -> impl Iterator<Item = String> + 'a {
    was.iter().flat_map(|axis| {
        let now = new.iter().find(|it| *it.name == *axis.name);
        let is_there = |rail: &Rail| now.is_some_and(|axis| axis.rails.iter().any(|it| *it.name == *rail.name));
        let rails = axis.rails.iter().filter(move |rail| now.is_some() && !is_there(rail));
        let rails: Vec<String> = rails.map(|rail| format!("{}.{}", *axis.name, *rail.name)).collect();
        now.is_none().then(|| axis.name.to_string()).into_iter().chain(rails)
    })
}

/// Where each segment of a revision begins.
fn place_segments(rail: &mut Rail) {
    let mut at = rail.from;
    for segment in rail.segments.iter_mut().filter(|it| it.life.until.is_none()) {
        segment.from = at;
        at = at + segment.length.value;
    }
}

fn take_over_rail(old: Rail, rail: &mut Rail, since: Spanned<Moment>) {
    let name = |name: &Option<Spanned<Name>>| name.as_ref().map(|name| name.value.clone());
    let other_rail = name(&old.profile) != name(&rail.profile);
    let other_seat = other_rail
        || name(&old.beam) != name(&rail.beam)
        || name(&old.rail_bolt) != name(&rail.rail_bolt)
        || name(&old.base_bolt) != name(&rail.base_bolt)
        || old.seat.map(|seat| *seat) != rail.seat.map(|seat| *seat);
    let mut gone: Vec<Segment> = Vec::new();
    let mut kept: Vec<Option<Lifetime>> = vec![None; rail.segments.len()];
    for mut it in old.segments {
        let same = |new: &Segment| !other_rail && it.life.until.is_none() && is_same_segment(new, &it);
        match rail.segments.iter().position(same) {
            Some(at) => kept[at] = Some(it.life),
            None => {
                it.life.until = it.life.until.or(Some(since));
                gone.push(it);
            }
        }
    }
    for (it, kept) in rail.segments.iter_mut().zip(kept) {
        it.life = kept.unwrap_or(Lifetime { since: Some(since), ..Lifetime::default() });
    }
    rail.segments.extend(gone);
    rail.segments.sort_by_key(|it| it.from);
    let mut gone: Vec<Support> = Vec::new();
    let mut kept: Vec<Option<Lifetime>> = vec![None; rail.supports.len()];
    for mut it in old.supports {
        let same = |new: &Support| !other_seat && it.life.until.is_none() && is_same_support(new, &it);
        match rail.supports.iter().position(same) {
            Some(at) => kept[at] = Some(it.life),
            None => {
                it.life.until = it.life.until.or(Some(since));
                gone.push(it);
            }
        }
    }
    for (it, kept) in rail.supports.iter_mut().zip(kept) {
        it.life = kept.unwrap_or(Lifetime { since: Some(since), ..Lifetime::default() });
    }
    rail.supports.extend(gone);
}

fn is_same_segment(a: &Segment, b: &Segment) -> bool {
    let size = |it: Option<Spanned<Length>>| it.map(|it| *it);
    let ends = |it: &Segment| (it.near_end.map(|end| *end), it.far_end.map(|end| *end));
    (a.from, *a.length) == (b.from, *b.length)
        && (size(a.near_distance), size(a.far_distance)) == (size(b.near_distance), size(b.far_distance))
        && ends(a) == ends(b)
}

fn is_same_support(a: &Support, b: &Support) -> bool {
    let stiffness = |it: &Support| (it.stiffness.map(|it| *it), it.lateral_stiffness.map(|it| *it));
    (&a.name, a.at, a.covers, a.base_bolts) == (&b.name, b.at, b.covers, b.base_bolts)
        && a.joint.is_some() == b.joint.is_some()
        && a.bolts == b.bolts
        && stiffness(a) == stiffness(b)
}

/// Gives the segments what the machine says of them, each on the rail that was there on its days.
fn name_parts(machine: &mut Machine, axes: &mut [Axis], stays: &mut RailStays, faults: &mut Faults) {
    let parts = &mut machine.parts;
    let meant: Vec<StayMeant> =
        parts.iter().map(|it| stays.of_days(axes, &it.on, it.life.since, it.life.until)).collect();
    let rows = parts.iter().zip(&meant).map(|(it, stay)| (&it.on, it.place, *stay, it.life.until));
    told_twice("part", rows, faults);
    for at in gone_first(parts) {
        let part = &mut parts[at];
        let of = match meant[at] {
            StayMeant::Now => &mut *axes,
            StayMeant::Went(stay) => {
                part.went = Some(stays.went[stay].until);
                std::slice::from_mut(&mut stays.went[stay].axis)
            }
            StayMeant::Unclear => {
                let dated = part.life.days().next().is_some();
                let next = "say by `until` that it was on the one that went, or by `since` that it came with the one that came back";
                faults.found.push(stays.unclear("part", &part.on, part.place, dated, next));
                continue;
            }
        };
        if name_part(of, part).is_none() {
            unknown(&part.on, "seg", of, faults);
        }
    }
}

/// Departs from the design where the machine says so, each on the rail that was there on its day.
fn depart_all(machine: &mut Machine, axes: &mut [Axis], stays: &mut RailStays, faults: &mut Faults) {
    let deviations = &mut machine.deviations;
    let meant = |it: &DesignDeviation| match it.since {
        Some(_) => stays.of_days(axes, &it.on, it.since, None),
        None => stays.declared(axes, &it.on, it.date),
    };
    let meant: Vec<StayMeant> = deviations.iter().map(meant).collect();
    let rows = deviations.iter().zip(&meant).map(|(it, stay)| (&it.on, it.place, *stay, it.since));
    told_twice("deviation", rows, faults);
    for (deviation, meant) in deviations.iter_mut().zip(meant) {
        match meant {
            StayMeant::Now => depart(axes, deviation, faults),
            StayMeant::Went(stay) => {
                deviation.went = Some(stays.went[stay].until);
                depart(std::slice::from_mut(&mut stays.went[stay].axis), deviation, faults);
            }
            StayMeant::Unclear => {
                let next =
                    "correct the day: a deviation of the rail that came back holds from the day it came or later";
                faults.found.push(stays.unclear("deviation", &deviation.on, deviation.place, true, next));
            }
        }
    }
}

/// A rail that was there and went, alone on its axis as it was then.
struct RailStay {
    since: Option<Date>,
    until: Date,
    axis: Axis,
}

/// From when to when rails were there that a revision left out. A later revision may have one of that name again: it is
/// another rail, and what the machine says of a part is said of the one that was there on the day.
#[derive(Default)]
struct RailStays {
    /// Those that went, in the order in which they did.
    went: Vec<RailStay>,
    /// The days on which rails came that the first revision did not have, by axis and rail.
    came: BTreeMap<(Name, Name), Date>,
}

/// Of which rail of one name a row speaks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum StayMeant {
    /// The one that is there, or there never was one.
    Now,
    /// One that went.
    Went(usize),
    /// Nobody knows.
    Unclear,
}

impl RailStays {
    /// Notes which rails came and went with a revision.
    fn take_over(&mut self, was: &[Axis], new: &[Axis], since: Date) {
        let all = |axes: &[Axis]| {
            let each = |axis: &Axis| {
                let keys = axis.rails.iter().map(|rail| (axis.name.value.clone(), rail.name.value.clone()));
                keys.collect::<Vec<_>>()
            };
            axes.iter().flat_map(each).collect::<Vec<(Name, Name)>>()
        };
        let (before, now) = (all(was), all(new));
        for axis in was {
            for rail in &axis.rails {
                let key = (axis.name.value.clone(), rail.name.value.clone());
                if now.contains(&key) {
                    continue;
                }
                let mut rail = rail.clone();
                place_segments(&mut rail);
                let axis = Axis { rails: vec![rail], ..axis.clone() };
                self.went.push(RailStay { since: self.came.remove(&key), until: since, axis });
            }
        }
        self.came.extend(now.into_iter().filter(|key| !before.contains(key)).map(|key| (key, since)));
    }

    /// The stays of the rail that an address is on, the first first; the one that is not over has no last day.
    fn of<'s>(
        &'s self,
        axes: &[Axis],
        on: &'s str,
    ) -> impl Iterator<Item = (StayMeant, Option<Date>, Option<Date>)> + Clone + use<'s> {
        let of_rail = |it: &RailStay| within(on, &format!("{}.{}", *it.axis.name, *it.axis.rails[0].name));
        let went = self.went.iter().enumerate().filter(move |(_, it)| of_rail(it));
        let went = went.map(|(at, it)| (StayMeant::Went(at), it.since, Some(it.until)));
        let is_now = |rail: &Rail, axis: &Axis| within(on, &format!("{}.{}", *axis.name, *rail.name));
        let is_there = axes.iter().any(|axis| axis.rails.iter().any(|rail| is_now(rail, axis)));
        let is_on = move |(axis, rail): &(Name, Name)| within(on, &format!("{axis}.{rail}"));
        let came = self.came.iter().find(|(key, _)| is_on(key)).map(|(_, day)| *day);
        went.chain(is_there.then_some((StayMeant::Now, came, None)))
    }

    /// That of a row with the day it came and the day it went, as far as they are said.
    fn of_days(
        &self,
        axes: &[Axis],
        on: &str,
        since: Option<Spanned<Moment>>,
        until: Option<Spanned<Moment>>,
    ) -> StayMeant {
        let mut all = self.of(axes, on);
        if !all.clone().any(|(stay, ..)| stay != StayMeant::Now) {
            return StayMeant::Now;
        }
        let (since, until) = (since.map(|day| day.date), until.map(|day| day.date));
        if (since, until) == (None, None) && all.clone().count() > 1 {
            return StayMeant::Unclear;
        }
        let fits = |(_, came, went): &(StayMeant, Option<Date>, Option<Date>)| {
            let came_by = |day: Date| came.is_none_or(|came| came <= day);
            let not_yet_gone = |day: Date| went.is_none_or(|went| day <= went);
            since.is_none_or(|day| came_by(day) && not_yet_gone(day))
                && until.is_none_or(|day| came.is_none_or(|came| came < day) && not_yet_gone(day))
        };
        all.find(fits).map_or(StayMeant::Unclear, |(stay, ..)| stay)
    }

    /// That of what was declared on a day and says of no change: the one that was there, or the next one that came.
    fn declared(&self, axes: &[Axis], on: &str, date: Option<Spanned<Moment>>) -> StayMeant {
        let date = date.map(|day| day.date);
        let fits = |(_, _, went): &(StayMeant, Option<Date>, Option<Date>)| {
            went.is_none_or(|went| date.is_some_and(|date| date <= went))
        };
        let mut all = self.of(axes, on);
        let nothing = match date {
            // All of that name went before.
            Some(_) if all.clone().next().is_some() => StayMeant::Unclear,
            _ => StayMeant::Now,
        };
        all.find(fits).map_or(nothing, |(stay, ..)| stay)
    }

    /// A row of which nobody knows whether it speaks of a rail that went or of one that came in its place; `dated` where it
    /// says of a day.
    fn unclear(&self, what: &str, on: &Spanned<Name>, place: Place, dated: bool, next: &str) -> Finding {
        let rail = on.rsplit_once('.').map_or(on.as_str(), |(rail, _)| rail);
        let of_rail = |it: &&RailStay| within(on, &format!("{}.{}", *it.axis.name, *it.axis.rails[0].name));
        let went = self.went.iter().rfind(of_rail).map_or(String::new(), |it| format!(" went on {}", it.until));
        let is_on = |(axis, name): &(Name, Name)| within(on, &format!("{axis}.{name}"));
        let came = self.came.iter().find(|(key, _)| is_on(key)).map(|(_, day)| format!(" and came back on {day}"));
        if let (None, true, Some(last)) = (&came, dated, self.went.iter().rfind(of_rail)) {
            let message = format!("{rail}{went}, and was not there on the day of this `{what}`");
            let finding = Finding::new(names::WRONG_VALUE, Grade::Nonconformity, on.as_str(), place, message);
            let from = last.since.map_or(String::new(), |since| format!("from {since} "));
            return finding.here("not there").next(format!("correct the day: it was there {from}until {}", last.until));
        }
        let message = format!(
            "{rail}{went}{}, and this `{what}` does not say which of the rails it means",
            came.unwrap_or_default()
        );
        let finding = Finding::new(names::WRONG_VALUE, Grade::Nonconformity, on.as_str(), place, message);
        finding.here("of which rail?").next(next)
    }
}

/// Tells the rows that say again of a part and a time what an earlier one says: nobody knows which of them holds.
fn told_twice<'r>(
    what: &str,
    rows: impl Iterator<Item = (&'r Spanned<Name>, Place, StayMeant, Option<Spanned<Moment>>)>,
    faults: &mut Faults,
) {
    let mut first: BTreeMap<(&str, StayMeant, Option<Date>), Place> = BTreeMap::new();
    for (on, place, stay, day) in rows {
        match first.entry((on.as_str(), stay, day.map(|day| day.date))) {
            Entry::Vacant(free) => {
                free.insert(place);
            }
            Entry::Occupied(taken) => {
                let message = format!("two rows `{what}` speak of {} at one time", **on);
                let finding = Finding::new(names::DUPLICATE_NAME, Grade::Nonconformity, on.as_str(), place, message);
                let finding = finding.here("the second one").also(*taken.get(), "the first one");
                faults.found.push(finding.next("make one row of them, or say in each from or until when it holds"));
            }
        }
    }
}

/// What went first, the earliest of it before the others: what came in its place is found by it.
fn gone_first(parts: &[StatedPart]) -> Vec<usize> {
    let mut all: Vec<usize> = (0..parts.len()).collect();
    let until = |at: usize| parts[at].life.until.map(|until| until.date);
    all.sort_by_key(|at| (until(*at).is_none(), until(*at)));
    all
}

/// A rail of some axes by its address, and the name of the part on it.
fn rail_of<'m, 'a>(axes: &'m mut [Axis], on: &'a str) -> Option<(&'m mut Rail, &'a str)> {
    let (axis, rest) = on.split_once('.')?;
    let (rail, part) = rest.split_once('.')?;
    let axis = axes.iter_mut().find(|it| it.name.as_str() == axis)?;
    Some((axis.rails.iter_mut().find(|it| it.name.as_str() == rail)?, part))
}

/// The segment of that name among those that some lifetimes have.
fn segment_of(rail: &Rail, name: &str, there: impl Fn(&Lifetime) -> bool) -> Option<usize> {
    let number: usize = name.strip_prefix("seg")?.parse().ok()?;
    let mut all = rail.segments.iter().enumerate().filter(|(_, it)| there(&it.life));
    all.nth(number.checked_sub(1)?).map(|(at, _)| at)
}

/// Gives a segment its serial number, lot and marks.
fn name_part(axes: &mut [Axis], part: &StatedPart) -> Option<()> {
    let (rail, name) = rail_of(axes, &part.on)?;
    let at = match part.life.until {
        None => segment_of(rail, name, |life| life.until.is_none())?,
        Some(until) => segment_of(rail, name, |life| life.before(until.date))?,
    };
    if part.life.until.is_some() && rail.segments[at].life.until.is_none() {
        // It was exchanged, and the design stayed as it is.
        let mut gone = rail.segments[at].clone();
        gone.place = part.place;
        gone.life = Lifetime { since: part.life.since.or(gone.life.since), ..part.life };
        rail.segments[at].life.since = part.life.until;
        rail.segments.insert(at, gone);
    } else if part.life.since.is_some() {
        rail.segments[at].life.since = part.life.since;
    }
    let segment = &mut rail.segments[at];
    (segment.serial, segment.lot) = (part.serial.clone(), part.lot.clone());
    (segment.near_mark, segment.far_mark) = (part.near_mark.clone(), part.far_mark.clone());
    Some(())
}

/// Puts a support or segment where the machine has it, and keeps in words what the design says.
fn depart(axes: &mut [Axis], deviation: &mut DesignDeviation, faults: &mut Faults) {
    let on = deviation.on.value.clone();
    let Some((rail, name)) = rail_of(axes, &on) else {
        return unknown(&deviation.on, "", axes, faults);
    };
    let support = rail.supports.iter().position(|it| it.name == *name && it.life.until.is_none());
    let segment = segment_of(rail, name, |life| life.until.is_none());
    let unfit: Option<(&str, Place)> = match (support, segment) {
        (Some(at), _) => {
            if let Some(since) = deviation.since {
                let mut gone = rail.supports[at].clone();
                gone.life.until = Some(since);
                rail.supports.push(gone);
                rail.supports[at].life.since = Some(since);
                rail.supports[at].place = deviation.place;
            }
            depart_support(&mut rail.supports[at], deviation);
            let near = deviation.near_distance.map(|it| ("near-distance", it.place));
            near.or(deviation.far_distance.map(|it| ("far-distance", it.place)))
        }
        (None, Some(mut at)) => {
            if let Some(since) = deviation.since {
                let mut gone = rail.segments[at].clone();
                gone.life.until = Some(since);
                rail.segments.insert(at, gone);
                at += 1;
                let was = rail.segments[at].life;
                // Of what came on that very day nobody had it before.
                let only_changed = was.only_changed || was.since.is_none_or(|came| came.date < since.date);
                rail.segments[at].life = Lifetime { since: Some(since), only_changed, ..was };
                rail.segments[at].place = deviation.place;
            }
            depart_segment(&mut rail.segments[at], deviation);
            let at = deviation.at.map(|it| ("at", it.place));
            at.or(deviation.base_bolts.map(|it| ("base-bolts", it.place)))
        }
        (None, None) => return unknown(&deviation.on, "", axes, faults),
    };
    if let Some((word, place)) = unfit {
        let message = format!("`{word}` says nothing of {on}");
        let finding = Finding::new(names::WRONG_VALUE, Grade::Nonconformity, on.as_str(), place, message);
        faults.found.push(finding.here("not of this part").next("take it out: a support has `at`, `length` and `base-bolts`, a segment `length`, `near-distance` and `far-distance`"));
    }
}

fn depart_support(support: &mut Support, deviation: &mut DesignDeviation) {
    let length = |it: Option<Length>| it.map_or("nothing".to_owned(), Amount::number);
    if let Some(at) = deviation.at {
        deviation.departs.push(departs("at", at.number(), support.at.number()));
        let moved = *at - support.at;
        support.at = *at;
        support.bolts.iter_mut().flatten().for_each(|bolt| bolt.position = bolt.position + moved);
    }
    if let Some(covers) = deviation.length {
        deviation.departs.push(departs("length", covers.number(), length(support.covers)));
        support.covers = Some(*covers);
    }
    if let Some(bolts) = deviation.base_bolts {
        let was = support.base_bolts.map_or("nothing".to_owned(), |count| count.to_string());
        deviation.departs.push(departs("base-bolts", bolts.to_string(), was));
        support.base_bolts = Some(*bolts);
    }
}

fn depart_segment(segment: &mut Segment, deviation: &mut DesignDeviation) {
    let stated = |it: Option<Spanned<Length>>| it.map_or("nothing".to_owned(), |it| it.number());
    if let Some(length) = deviation.length {
        deviation.departs.push(departs("length", length.number(), segment.length.number()));
        segment.length = length;
    }
    if let Some(near) = deviation.near_distance {
        deviation.departs.push(departs("near-distance", near.number(), stated(segment.near_distance)));
        segment.near_distance = Some(near);
    }
    if let Some(far) = deviation.far_distance {
        deviation.departs.push(departs("far-distance", far.number(), stated(segment.far_distance)));
        segment.far_distance = Some(far);
    }
}

fn departs(what: &str, is: impl std::fmt::Display, designed: impl std::fmt::Display) -> String {
    format!("{what} {is} (designed: {designed})")
}

/// No part of the design has the address; those that begin so are offered.
fn unknown(on: &Spanned<Name>, begins: &str, axes: &mut [Axis], faults: &mut Faults) {
    // Of a rail whose text is at fault nobody knows the parts.
    if rail_of(axes, on).is_some_and(|(rail, _)| rail.damaged) {
        return;
    }
    let mut known: Vec<String> = Vec::new();
    for axis in axes.iter() {
        for rail in &axis.rails {
            let address = |part: &str| format!("{}.{}.{part}", *axis.name, *rail.name);
            let now = rail.segments.iter().filter(|it| it.life.until.is_none()).count();
            known.extend((1..=now).map(|number| address(&format!("seg{number}"))));
            known.extend(
                rail.supports.iter().map(|it| it.name.as_str()).filter(|it| it.starts_with(begins)).map(address),
            );
        }
    }
    faults.unknown_among(Refers::Part, on.word(), || known.iter().map(String::as_str).collect(), on.value.clone());
}
