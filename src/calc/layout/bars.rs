//! The least waste: which bars suffice for a layout that is as good in all else.
//!
//! The segments of a layout are packed into the fewest metres of bars first. Whether other segments would do with less is
//! then asked choice by choice, the shortest bars together first: each choice is a stock of its own.

use super::graph::Paths;
use super::meter::Meter;
use super::model::{LayoutAnswer, Model};
use super::packing::{Packing, PackingGoal};
use super::stock::{BarRoom, open_items, supplied};

/// A layout with the bars that its segments come from.
#[derive(Clone)]
pub(super) struct Supplied {
    pub paths: Paths,
    /// By profile.
    pub packings: Vec<Packing>,
    pub waste: i64,
    /// No other choice of bars for the same segments wastes less.
    pub at_least: i64,
}

/// Steps that may be spent on packing a layout when the budget is used up, so that there is a way to tell, and not the
/// first one that comes.
const PACKING_STEPS: u64 = 200_000;

/// Settles which bars the segments come from, with the least waste; `None` where no way was found.
pub(super) fn supply(model: &Model, paths: &Paths, meter: &mut Meter) -> Option<Supplied> {
    let stock = model.stock();
    let mut all = Supplied { paths: paths.clone(), packings: Vec::new(), waste: 0, at_least: 0 };
    for profile in 0..model.task.profiles.len() {
        let mut answer = stock.pack(&model.graphs, paths, profile, PackingGoal::Least, meter);
        if answer.best.is_none() {
            let mut more = Meter::new(PACKING_STEPS);
            answer = stock.pack(&model.graphs, paths, profile, PackingGoal::Least, &mut more);
        }
        let packing = answer.best?;
        let length = from_stock(model, paths, profile);
        all.waste += packing.length - length;
        all.at_least += answer.at_least - length;
        all.paths = supplied(model.task, &model.graphs, &all.paths, profile, &packing);
        all.packings.push(packing);
    }
    Some(all)
}

/// Length of all segments of a profile that are no owned bars.
fn from_stock(model: &Model, paths: &Paths, profile: usize) -> i64 {
    open_items(model.task, &model.graphs, paths, profile).iter().map(|open| open.item.length).sum()
}

/// No layout of these rails wastes less: the shortest bars that are together as long as all rails, less the owned bars.
/// Where an owned bar need not be used nothing is known.
pub(super) fn least_waste(model: &Model, paths: &Paths) -> i64 {
    let stock = model.stock();
    let waste = |profile| {
        let length = from_stock(model, paths, profile);
        stock.least_bars(profile, length).map_or(0, |bars| bars - length)
    };
    (0..model.task.profiles.len()).map(waste).sum()
}

/// A choice of bars: their length together, and how many of each kind.
type BarChoice = (i64, BarRoom);

/// Looks for a layout with this slack and these joints that takes less of the stock. Returns the best and the least waste
/// that is not ruled out.
pub(super) fn shorter_bars(
    model: &Model,
    mut best: Supplied,
    (slack, joints): (i64, u32),
    meter: &mut Meter,
) -> (Supplied, i64) {
    let lengths: Vec<i64> =
        (0..model.task.profiles.len()).map(|profile| from_stock(model, &best.paths, profile)).collect();
    let segments: i64 = lengths.iter().sum();
    meter.allow(2);
    let (choices, ruled) = choices(model, &lengths, segments + best.waste, meter);
    let mut open = choices;
    // Few steps for each choice first, so that one that is hard to rule out does not keep the others waiting.
    for share in [64, 8, 1] {
        let asked = std::mem::take(&mut open);
        for (length, room) in asked {
            if length - segments >= best.waste {
                break;
            }
            if meter.spent() {
                open.push((length, room));
                continue;
            }
            meter.allow(share);
            match model.ask(&room, slack, joints, meter) {
                Ok(LayoutAnswer::Found(paths)) => {
                    meter.allow(1);
                    if let Some(better) = supply(model, &paths, meter).filter(|better| better.waste < best.waste) {
                        best = better;
                    }
                }
                Ok(LayoutAnswer::Missing { .. }) => {}
                Err(_) => open.push((length, room)),
            }
        }
    }
    let least = open.first().map_or(ruled, |(length, _)| *length) - segments;
    let at_least = least.min(best.waste);
    (best, at_least)
}

/// So many beginnings of choices are looked at.
const MOST_LOOKED: u32 = 400_000;

/// Choices of bars at least as long as the segments of each profile and shorter than `below` together, the shortest
/// first; and the length below which these are all.
fn choices(model: &Model, lengths: &[i64], below: i64, meter: &mut Meter) -> (Vec<BarChoice>, i64) {
    let mut below = below;
    let least: i64 = lengths.iter().sum();
    loop {
        let mut found = Vec::new();
        let mut room: BarRoom = model.task.profiles.iter().map(|profile| vec![0; profile.stock.len()]).collect();
        let rest: Vec<i64> = (0..lengths.len() + 1).map(|from| lengths[from..].iter().sum()).collect();
        let mut chooser = Chooser { model, lengths, rest, below, looked: 0, meter, found: &mut found };
        if chooser.choose((0, 0), (0, 0), &mut room) {
            found.sort_unstable();
            return (found, below);
        }
        if below == least || meter.step().is_err() {
            return (Vec::new(), least);
        }
        below = least + (below - least) / 2;
    }
}

struct Chooser<'a> {
    model: &'a Model<'a>,
    lengths: &'a [i64],
    /// Length of the segments of a profile and all after it.
    rest: Vec<i64>,
    below: i64,
    looked: u32,
    meter: &'a mut Meter,
    found: &'a mut Vec<BarChoice>,
}

impl Chooser<'_> {
    /// Chooses from a kind of bar on: `own` is chosen of this profile, `before` of those before it. `false` when there
    /// are too many choices.
    fn choose(&mut self, (profile, bar): (usize, usize), (own, before): (i64, i64), room: &mut BarRoom) -> bool {
        self.looked += 1;
        if self.looked > MOST_LOOKED || self.meter.step().is_err() {
            return false;
        }
        let Some(&length) = self.lengths.get(profile) else {
            if before < self.below {
                self.found.push((before, room.clone()));
            }
            return true;
        };
        let Some(kind) = self.model.task.profiles[profile].stock.get(bar) else {
            return own < length || self.choose((profile + 1, 0), (0, before + own), room);
        };
        let mut count = 0;
        loop {
            let own = own + kind.length * i64::from(count);
            if before + own.max(length) + self.rest[profile + 1] >= self.below {
                break;
            }
            room[profile][bar] = count;
            if !self.choose((profile, bar + 1), (own, before), room) {
                return false;
            }
            if count == self.model.room[profile][bar] {
                break;
            }
            count += 1;
        }
        room[profile][bar] = 0;
        true
    }
}

#[cfg(test)]
mod tests {
    use super::super::requirement::Requirement;
    use super::super::task::{Bar, CuttingSpec, LayoutTask, ProfileSpec, RailSpec, SupportsSpec};
    use super::*;

    const MM: i64 = 1_000_000;

    /// Four segments of 2400 from bars of 4200 and 6000. Each on the shortest bar that is long enough leaves four times 1800;
    /// by hand, two on each of two bars of 6000 leave 2400, and no fewer bars will do.
    #[test]
    fn segments_are_packed_well_with_no_steps_left() {
        let bar = |length: i64| Bar { length: length * MM, near: 30 * MM, far: 30 * MM, count: None };
        let cutting = CuttingSpec { grid: 60 * MM, kerf: 3 * MM, hole_keep: 6 * MM, in_joints: true };
        let profile = ProfileSpec {
            pitch: 60 * MM,
            pattern_tolerance: 0,
            stock: vec![bar(4200), bar(6000)],
            cutting: Some(cutting),
            least_segment: 600 * MM,
            least_end: 0,
            most_end: None,
        };
        let rail = RailSpec { profile: 0, seams: vec![], seam_clearance: 0, supports: SupportsSpec::default() };
        let task = LayoutTask {
            from: 0,
            to: 2400 * MM,
            profiles: vec![profile],
            rails: vec![rail; 4],
            owned: vec![],
            stagger: None,
            carriage: None,
            budget: 1_000_000,
        };
        let mut meter = Meter::new(task.budget);
        let active = Requirement::all_for(&task).into_iter().collect();
        let model = Model::new(&task, active, &mut meter).expect("steps enough");
        let Ok(LayoutAnswer::Found(paths)) = model.ask(&model.room, 0, 0, &mut meter) else { panic!("whole segments") };
        let supplied = supply(&model, &paths, &mut Meter::new(0)).expect("a packing");
        assert_eq!((supplied.waste, supplied.packings[0].cut.len()), (2400 * MM, 2));
        assert!(supplied.at_least <= supplied.waste);
    }
}
