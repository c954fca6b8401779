//! The planner: fewest joints, then the largest smallest slack, then least waste, each proven before the next.
//!
//! Every question is asked with few steps first and with more once the easy ones are settled, so that a good plan is there
//! soon and what is left of the budget goes into proofs.

use std::collections::BTreeSet;

use super::assemble::{assemble, slack_of};
use super::bars::{Supplied, least_waste, shorter_bars, supply};
use super::contradiction::contradiction;
use super::graph::Paths;
use super::meter::{BudgetError, Meter, Watch};
use super::model::{LayoutAnswer, Model};
use super::plan::{LayoutOutcome, NO_SLACK_BOUND, PlanProof};
use super::requirement::Requirement;
use super::search::{Goal, LayoutSearch, WasteFloors, fewest_alone};
use super::stock::BarRoom;
use super::sweep::Sweep;
use super::task::{LayoutTask, TaskError};

/// Lays out the rails of an axis.
///
/// Exact: the number of joints is the fewest possible; with it the smallest slack beyond the required clearances is the
/// largest possible; with both the waste is the least possible, in the model of cutting where a piece comes from one
/// bar and a bar may give several. Of equals the first in a fixed order is taken, so the answer depends on the task
/// alone. Where the budget ends first, [`PlanProof`] says which figure is not proven and what it could still be.
pub fn plan(task: &LayoutTask) -> Result<LayoutOutcome, TaskError> {
    plan_watched(task, None)
}

/// The same while somebody looks on, who may end the search.
pub(crate) fn plan_watched(task: &LayoutTask, watch: Option<Watch>) -> Result<LayoutOutcome, TaskError> {
    let task = in_order(task)?;
    let mut meter = Meter::watched(task.budget, watch);
    let active: BTreeSet<Requirement> = Requirement::all_for(&task).into_iter().collect();
    let Ok(model) = Model::new(&task, active, &mut meter) else {
        return Ok(LayoutOutcome::Unsettled { joints_at_least: 0 });
    };
    let fewest = match fewest_joints(&model, &mut meter) {
        FewestJoints::Found(fewest) => fewest,
        FewestJoints::None => return Ok(LayoutOutcome::Infeasible(contradiction(&task, &mut meter))),
        FewestJoints::Unsettled { at_least } => return Ok(LayoutOutcome::Unsettled { joints_at_least: at_least }),
    };
    let (paths, joints, joints_bound) = fewest;
    let (paths, slack_bound) = largest_slack(&model, paths, joints, &mut meter);
    let unsettled = LayoutOutcome::Unsettled { joints_at_least: joints_bound.unwrap_or(joints) };
    let Some((supplied, waste_bound)) = least_wasted(&model, &paths, joints, &mut meter) else { return Ok(unsettled) };
    let proof = PlanProof { joints: joints_bound, slack: slack_bound, waste: waste_bound, steps: meter.used() };
    Ok(LayoutOutcome::Planned(Box::new(assemble(&model, &supplied, proof))))
}

/// A task that can be worked on, what lies along a rail in order.
fn in_order(task: &LayoutTask) -> Result<LayoutTask, TaskError> {
    task.check()?;
    let mut task = task.clone();
    for rail in &mut task.rails {
        rail.supports.grid.sort_by_key(|support| (support.at, support.covers));
        rail.seams.sort_unstable();
    }
    Ok(task)
}

/// How many joints a layout needs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum FewestAnswer {
    /// No layout has fewer than `at_least`; the one found has these segments, rail by rail.
    Found { at_least: u32, segments: Vec<Vec<i64>> },
    /// No layout meets all requirements.
    Infeasible,
    /// The budget ended before a layout was found; none has fewer joints.
    Unsettled { at_least: u32 },
}

/// The fewest joints alone, whatever the slack and the waste; and the search steps spent.
pub(crate) fn fewest(task: &LayoutTask) -> Result<(FewestAnswer, u64), TaskError> {
    let task = in_order(task)?;
    let mut meter = Meter::new(task.budget);
    let active: BTreeSet<Requirement> = Requirement::all_for(&task).into_iter().collect();
    let Ok(model) = Model::new(&task, active, &mut meter) else {
        return Ok((FewestAnswer::Unsettled { at_least: 0 }, meter.used()));
    };
    let answer = match fewest_joints(&model, &mut meter) {
        FewestJoints::Found((paths, joints, bound)) => {
            let segments = paths.iter().enumerate().map(|(rail, path)| {
                let joints = model.joints(rail, path);
                let ends = joints.iter().copied().chain([task.to]);
                ends.scan(task.from, |from, to| Some(to - std::mem::replace(from, to))).collect()
            });
            FewestAnswer::Found { at_least: bound.unwrap_or(joints), segments: segments.collect() }
        }
        FewestJoints::None => FewestAnswer::Infeasible,
        FewestJoints::Unsettled { at_least } => FewestAnswer::Unsettled { at_least },
    };
    Ok((answer, meter.used()))
}

/// Parts of what is left of the budget that one question may take, in one round after the other.
const ROUNDS: [u64; 4] = [64, 16, 4, 1];
const SLACK_ROUNDS: [u64; 4] = [32, 8, 2, 1];

enum FewestJoints {
    /// A layout, its joints, and the proven bound where they may not be the fewest.
    Found((Paths, u32, Option<u32>)),
    None,
    Unsettled {
        at_least: u32,
    },
}

/// Looks for a layout with so much slack and so few joints with a part of what is left of the budget. Many rails from
/// counted bars are laid one after the other first.
fn seek(
    model: &Model,
    (slack, joints): (i64, u32),
    share: u64,
    meter: &mut Meter,
) -> Result<LayoutAnswer, BudgetError> {
    if share > 1 && model.task.rails.len() > 2 && model.bars_limited() {
        meter.allow(2 * share);
        if let Ok(Some(paths)) = model.in_turn(slack, joints, meter) {
            return Ok(LayoutAnswer::Found(paths));
        }
    }
    meter.allow(share);
    model.ask(&model.room, slack, joints, meter)
}

/// Tries one number of joints after the other, from what the rails need each by itself. Where one cannot be settled
/// yet, a layout with more joints may be easier to find.
fn fewest_joints(model: &Model, meter: &mut Meter) -> FewestJoints {
    let Ok(mut proven) = model.fewest_alone() else { return FewestJoints::None };
    let most_beyond = 4 + 2 * model.task.rails.len() as u32;
    let mut found: Option<(Paths, u32)> = None;
    let mut possible = false;
    // Where one number after the other is refused without a search, the questions themselves are what takes time.
    let mut refusals = 0;
    for share in ROUNDS {
        let mut joints = proven;
        let mut asked = false;
        while found.as_ref().map_or(joints <= proven + most_beyond, |(_, count)| joints < *count) {
            if meter.spent() {
                break;
            }
            meter.progress.joints_at_least = proven;
            match seek(model, (0, joints), share, meter) {
                Ok(LayoutAnswer::Found(paths)) => {
                    let count = paths.iter().map(|path| path.len() - 1).sum::<usize>() as u32;
                    meter.progress.joints = Some(count);
                    found = Some((paths, count));
                }
                Ok(LayoutAnswer::Missing { more: Some(more), .. }) => {
                    (proven, joints) = (more, more);
                    refusals += 1;
                    if refusals > most_beyond && meter.charge(model.size()).is_err() {
                        continue;
                    }
                    // Before trying ever more joints, find out whether any number will do.
                    if !possible && !asked && found.is_none() {
                        asked = true;
                        meter.allow(share.max(4));
                        match model.possible(meter) {
                            Ok(false) => return FewestJoints::None,
                            Ok(true) => possible = true,
                            Err(BudgetError) => {}
                        }
                    }
                }
                Ok(LayoutAnswer::Missing { more: None, .. }) => return FewestJoints::None,
                Err(BudgetError) => joints += 1,
            }
        }
    }
    meter.progress.joints_at_least = proven;
    match found {
        Some((paths, count)) => FewestJoints::Found((paths, count, (proven < count).then_some(proven))),
        None => FewestJoints::Unsettled { at_least: proven },
    }
}

/// More than any slack inside ±10 km can be.
const UNBOUND: i64 = NO_SLACK_BOUND + 1;

/// So many questions may stay open in one round: a slack a little smaller is as hard to settle.
const MOST_UNSETTLED: u32 = 2;

/// Raises the slack by halving. Every refusal tells the next slack that could make a difference, so the steps are few.
fn largest_slack(model: &Model, mut paths: Paths, joints: u32, meter: &mut Meter) -> (Paths, Option<i64>) {
    let Some(mut best) = slack_of(model, &paths) else { return (paths, None) };
    // No layout has more than `ceiling`; above `doubt` the budget did not suffice to tell.
    let mut ceiling = NO_SLACK_BOUND;
    let limited = model.bars_limited();
    if limited {
        ceiling = slack_with_plenty(model, best, joints, meter);
    }
    for share in SLACK_ROUNDS {
        let mut doubt = ceiling;
        let mut at_once = limited;
        let mut unsettled = 0;
        while best < doubt.min(ceiling) && unsettled < MOST_UNSETTLED && !meter.spent() {
            let top = doubt.min(ceiling);
            // What plenty of bars allow, few often allow as well.
            let slack = if at_once { top } else { best + (top - best + 1) / 2 };
            at_once = false;
            meter.progress.slack = Some(best);
            meter.progress.slack_at_most = known(ceiling);
            match seek(model, (slack, joints), share, meter) {
                Ok(LayoutAnswer::Found(better)) => {
                    paths = better;
                    match slack_of(model, &paths) {
                        Some(slack) => best = slack,
                        None => return (paths, None),
                    }
                }
                Ok(LayoutAnswer::Missing { refused, .. }) => {
                    ceiling = refused.unwrap_or(best).max(best);
                }
                Err(BudgetError) => {
                    doubt = slack - 1;
                    unsettled += 1;
                }
            }
        }
    }
    meter.progress.slack = Some(best);
    meter.progress.slack_at_most = known(ceiling);
    (paths, (best < ceiling).then_some(ceiling))
}

/// A bound, where there is one.
fn known(ceiling: i64) -> Option<i64> {
    (ceiling < NO_SLACK_BOUND).then_some(ceiling)
}

/// The largest slack with so many joints if there were as many bars of each kind as wanted: the true one is no larger.
fn slack_with_plenty(model: &Model, mut best: i64, joints: u32, meter: &mut Meter) -> i64 {
    let plenty: BarRoom = model.room.iter().map(|bars| vec![u32::MAX; bars.len()]).collect();
    let mut ceiling = NO_SLACK_BOUND;
    while best < ceiling {
        meter.allow(16);
        let slack = best + (ceiling - best + 1) / 2;
        match model.ask(&plenty, slack, joints, meter) {
            Ok(LayoutAnswer::Found(paths)) => match slack_of(model, &paths) {
                Some(slack) => best = slack,
                None => return NO_SLACK_BOUND,
            },
            Ok(LayoutAnswer::Missing { refused, .. }) => ceiling = refused.unwrap_or(best).max(best),
            Err(BudgetError) => return ceiling,
        }
    }
    ceiling
}

/// Among layouts with these joints and this slack, the one that wastes least, and the least waste where that is not
/// proven; `None` where no way was found to make the segments from the bars.
fn least_wasted(model: &Model, paths: &Paths, joints: u32, meter: &mut Meter) -> Option<(Supplied, Option<i64>)> {
    // Without any clearance to keep, only layouts that have none to keep either are as good.
    let slack = slack_of(model, paths).unwrap_or(UNBOUND);
    meter.allow(4);
    let best = supply(model, paths, meter)?;
    let mut at_least = least_waste(model, paths);
    if best.waste <= at_least {
        return Some((best, None));
    }
    let (best, known) = if model.bars_limited() || model.loose() {
        shorter_bars(model, best, (slack, joints), meter)
    } else {
        least_cut(model, best, (slack, joints), meter)
    };
    at_least = at_least.max(known);
    let bound = (at_least < best.waste).then_some(at_least);
    Some((best, bound))
}

/// Looks through all layouts with this slack and these joints, where there are bars of each kind as wanted and cuts lie
/// at the ends of the rails alone. Returns the best and the least waste that is not ruled out.
fn least_cut(model: &Model, best: Supplied, (slack, joints): (i64, u32), meter: &mut Meter) -> (Supplied, i64) {
    let mut stock = model.stock();
    meter.allow(1);
    let views = model.views(slack, true);
    let Some(fewest) = fewest_alone(&views) else { return (best, 0) };
    let sweep = Sweep::new(&model.graphs, &views, &model.clash, slack, meter);
    let floors = WasteFloors::new(model.task, &stock, &sweep, model.loose());
    let least = floors.least();
    if best.waste <= least {
        return (best, least);
    }
    let goal = Goal::LeastWaste { below: best.waste, floors: &floors };
    let rails = (0..model.task.rails.len()).collect();
    let mut search = LayoutSearch::new(sweep, &mut stock, model.task, rails, goal);
    let done = search.run(joints.saturating_sub(fewest)).is_ok();
    let found = search.found.take();
    let better = found.and_then(|(paths, _)| supply(model, &paths, meter));
    let best = better.filter(|better| better.waste < best.waste).unwrap_or(best);
    let at_least = if done { best.waste } else { least };
    (best, at_least)
}
