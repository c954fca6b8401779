//! The planner: fewest joints, then the largest smallest slack, then least waste, each proven before the next.

use std::collections::BTreeSet;

use super::assemble::{assemble, slack_of, taken};
use super::contradiction::contradiction;
use super::meter::{BudgetError, Meter};
use super::model::{LayoutAnswer, Model};
use super::plan::{LayoutOutcome, PlanProof};
use super::requirement::Requirement;
use super::search::{Goal, LayoutSearch, Paths, WasteFloors, fewest_alone};
use super::sweep::Sweep;
use super::task::{LayoutTask, TaskError};

/// Lays out the rails of an axis.
///
/// Exact: the number of joints is the fewest possible; with it the smallest slack beyond the required clearances is the
/// largest possible; with both the waste is the least possible, in the model of cutting where a piece comes from one
/// bar and a bar may give several. Of equals the first in a fixed order is taken, so the answer depends on the task
/// alone. Where the budget ends first, [`PlanProof`] says which figure is not proven and what it could still be.
pub fn plan(task: &LayoutTask) -> Result<LayoutOutcome, TaskError> {
    task.check()?;
    let mut task = task.clone();
    for rail in &mut task.rails {
        rail.supports.grid.sort_by_key(|support| (support.at, support.covers));
        rail.seams.sort_unstable();
    }
    let mut meter = Meter::new(task.budget);
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
    let (paths, waste_bound) = least_waste(&model, paths, joints, &mut meter);
    let proof = PlanProof { joints: joints_bound, slack: slack_bound, waste: waste_bound, steps: meter.used() };
    match assemble(&model, &paths, proof) {
        Some(plan) => Ok(LayoutOutcome::Planned(Box::new(plan))),
        None => Ok(LayoutOutcome::Unsettled { joints_at_least: joints_bound.unwrap_or(joints) }),
    }
}

enum FewestJoints {
    /// A layout, its joints, and the proven bound where they may not be the fewest.
    Found((Paths, u32, Option<u32>)),
    None,
    Unsettled {
        at_least: u32,
    },
}

/// Tries one number of joints after the other, from what the rails need each by itself.
fn fewest_joints(model: &Model, meter: &mut Meter) -> FewestJoints {
    let Ok(mut joints) = model.fewest_alone() else { return FewestJoints::None };
    let mut proven = joints;
    let mut open = false;
    let mut sure = false;
    loop {
        meter.allow(4);
        match model.ask(0, joints, meter) {
            Ok(LayoutAnswer::Found(paths)) => {
                let count: usize = paths.iter().map(|path| path.len() - 1).sum();
                return FewestJoints::Found((paths, count as u32, open.then_some(proven)));
            }
            Ok(LayoutAnswer::Missing { more: Some(more), .. }) => {
                if !open {
                    proven = more;
                }
                joints = more;
                // Before trying ever more joints, find out whether any number will do.
                if !sure {
                    meter.allow(4);
                    sure = match model.possible(meter) {
                        Ok(false) => return FewestJoints::None,
                        Ok(true) | Err(BudgetError) => true,
                    };
                }
            }
            Ok(LayoutAnswer::Missing { more: None, .. }) => return FewestJoints::None,
            Err(BudgetError) if meter.left() < 64 => return FewestJoints::Unsettled { at_least: proven },
            Err(BudgetError) => {
                // Not settled for this number; a layout with more joints may be easier to find.
                open = true;
                joints += 1;
            }
        }
    }
}

/// More than any slack inside ±10 km can be.
const UNBOUND: i64 = 1_000_000_000_000_000;

/// Raises the slack by halving. Every refusal tells the next slack that could make a difference, so the steps are few.
fn largest_slack(model: &Model, mut paths: Paths, joints: u32, meter: &mut Meter) -> (Paths, Option<i64>) {
    let Some(mut best) = slack_of(model, &paths) else { return (paths, None) };
    // No layout has more than `ceiling`; above `doubt` the budget did not suffice to tell.
    let mut ceiling = UNBOUND - 1;
    let mut doubt = ceiling;
    while best < doubt.min(ceiling) {
        let top = doubt.min(ceiling);
        let slack = best + (top - best + 1) / 2;
        meter.allow(4);
        match model.ask(slack, joints, meter) {
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
            Err(BudgetError) if meter.left() < 64 => return (paths, Some(ceiling)),
            Err(BudgetError) => doubt = slack - 1,
        }
    }
    (paths, (best < ceiling).then_some(ceiling))
}

/// Among layouts with these joints and this slack, the one that wastes least.
fn least_waste(model: &Model, paths: Paths, joints: u32, meter: &mut Meter) -> (Paths, Option<i64>) {
    // Without any clearance to keep, only layouts that have none to keep either are as good.
    let slack = slack_of(model, &paths).unwrap_or(UNBOUND);
    let mut stock = model.stock();
    meter.allow(1);
    let first = taken(model, &stock, &paths);
    let below = match stock.waste(&first, meter) {
        Ok(Some(0)) => return (paths, None),
        Ok(Some(waste)) => waste,
        Ok(None) | Err(BudgetError) => i64::MAX,
    };
    let views = model.views(slack, true);
    let Some(fewest) = fewest_alone(&views) else { return (paths, Some(0)) };
    let sweep = Sweep::new(&model.graphs, &views, &model.clash, slack, meter);
    let floors = WasteFloors::new(model.task, &stock, &sweep, model.loose());
    let least = floors.least();
    if below <= least {
        return (paths, None);
    }
    let goal = Goal::LeastWaste { below, floors: &floors };
    let rails = (0..model.task.rails.len()).collect();
    let mut search = LayoutSearch::new(sweep, &mut stock, model.task, rails, goal);
    let done = search.run(joints.saturating_sub(fewest));
    let (better, waste) = match search.found {
        Some((better, waste)) => (better, waste.unwrap_or(below)),
        None => (paths, below),
    };
    let bound = match done {
        Ok(_) => None,
        Err(BudgetError) => (least < waste).then_some(least),
    };
    (better, bound)
}
