//! Which supports are shimmed, and how high the target is set.
//!
//! After shimming all readings lie in one window as high as the allowed range. In a given window a support may be left as it
//! is when it reads within it; what reads outside must be shimmed, so that the fewest shims are told at a glance and windows
//! that ask for more than a plan that is known are never looked at.
//!
//! Where leaves lie under supports already, a support that is shimmed gets its stack anew: what it needs is counted from
//! its bare seat, its old leaves come back to the stock, and the target may then lie below the widest place too.

use super::super::exact::{MOST_LENGTH_NM, Ratio};
use super::effort::{ShimEffort, ShimWatch};
use super::height::{SearchHeight, thickest};
use super::leaves::{LeafStock, LeafTable};
use super::places::{PossibleReadings, ReadingWindow, SupportPlace, SupportPlaces, places, with_returned};
use super::problem::{PresentLeaves, ShimAim, ShimPlanError, ShimProblem, Stack, StackPlan};
use super::race::Cost;
use super::window::{ChosenStacks, InWindow, Question, Solver, joints_beside};

/// The best plan, or why there is none.
pub fn plan(problem: &ShimProblem) -> Result<StackPlan, ShimPlanError> {
    plan_watched(problem, &[], None)
}

/// The best plan where leaves lie under supports already; the stock is what lies nowhere. Needs are counted from how
/// the rail stands with them.
#[cfg(test)]
pub(crate) fn plan_over(problem: &ShimProblem, lying: &[PresentLeaves]) -> Result<StackPlan, ShimPlanError> {
    plan_watched(problem, lying, None)
}

/// The same while somebody looks on, who may end the search.
pub(crate) fn plan_watched(
    problem: &ShimProblem,
    lying: &[PresentLeaves],
    watch: Option<ShimWatch>,
) -> Result<StackPlan, ShimPlanError> {
    problem.check()?;
    if problem.range_nm < 0 {
        return Err(ShimPlanError::NoRange { range_nm: problem.range_nm });
    }
    if let Some((station, off)) = SupportPlaces::bent(problem) {
        return Err(ShimPlanError::Bent { station, off_nm: i64::try_from(off.ceil()).unwrap_or(i64::MAX) });
    }
    let places = SupportPlaces::new(problem, lying)?;
    let stock = with_returned(&problem.stock, lying, &everywhere(problem));
    let joints = if problem.aim == ShimAim::FewestJoints { &problem.joints[..] } else { &[] };
    let mut height = SearchHeight::of(problem, &places, &stock);
    let most_nm = most_total(&places.all, height);
    let question = Question { places: &places, lying, joints, stock: &stock, most_nm };
    let solver = Solver::new(&question, ShimEffort::new(problem.steps, watch))?;
    // Without any leaves in place nothing can be brought below the widest place.
    let least = lying.is_empty().then_some(Ratio::whole(0));
    let possible = |height: SearchHeight| places.possible(&solver.all, problem.range_nm, height.nm, least);
    let mut readings = possible(height);
    if readings.is_none() && problem.raise_most_nm.is_none() {
        height = SearchHeight::usual(problem, false);
        readings = possible(height);
    }
    let Some(possible) = readings else { return Err(ShimPlanError::Undecided) };
    let mut search =
        Search { problem, places: &places, possible, height, least, solver, shortage: None, at_least: None };
    let Some(mut best) = search.best(problem.range_nm, None)? else {
        return Err(why_not(problem, lying, &search)?);
    };
    if problem.aim == ShimAim::LeastRange {
        let width = search.least_range(&best, None)?;
        best = search.best(width, None)?.unwrap_or(best);
    }
    let proven = !search.solver.gave_up;
    if proven && problem.aim == ShimAim::FewestSupports {
        search.at_least = Some(best.stacks.iter().flatten().count());
    }
    let as_good = Cost { total: best.cost.total + search.solver.all.measure(), ..best.cost };
    let width = search.least_range(&best, Some(as_good))?;
    best = search.best(width, Some(as_good))?.unwrap_or(best);
    Ok(finish(&search, best, proven))
}

fn everywhere(problem: &ShimProblem) -> Vec<usize> {
    (0..problem.supports.len()).collect()
}

/// The greatest total that any support may get.
fn most_total(places: &[SupportPlace], height: SearchHeight) -> i64 {
    let highest = |place: &SupportPlace| {
        let bare = i64::try_from(place.bare.floor()).unwrap_or(i64::MAX);
        let high = bare.saturating_add(height.nm).min(MOST_LENGTH_NM);
        place.most.map_or(high, |most| high.min(most))
    };
    places.iter().map(highest).max().unwrap_or(0)
}

struct Search<'a> {
    problem: &'a ShimProblem,
    places: &'a SupportPlaces,
    possible: PossibleReadings,
    height: SearchHeight,
    /// The widest place as it was: no window ends below it.
    least: Option<Ratio>,
    solver: Solver<'a>,
    /// What the first plan that would do lacks of each kind.
    shortage: Option<Vec<u64>>,
    /// No plan shims fewer supports, once that is known.
    at_least: Option<usize>,
}

impl Search<'_> {
    /// The best plan within a range that costs less than `limit`.
    fn best(&mut self, range_nm: i64, limit: Option<Cost>) -> Result<Option<ChosenStacks>, ShimPlanError> {
        let mut best: Option<ChosenStacks> = None;
        let windows = self.places.windows(&self.possible, range_nm);
        self.solver.effort.spend(windows.len() as u64);
        let first = self.at_least.is_none();
        // Windows above all readings in parts, since those far up are mostly too dear.
        let (range, leaf) = (self.problem.range_nm, i128::from(thickest(&self.problem.stock).max(1)));
        let part = |high: Ratio| above(high, range).map_or(0, |above| above / leaf);
        let alike = |one: &(usize, ReadingWindow), other: &(usize, ReadingWindow)| {
            one.0 == other.0 && part(one.1.high) == part(other.1.high)
        };
        for alike in windows.chunk_by(alike) {
            let limit_now = |best: &Option<ChosenStacks>| best.as_ref().map(|best| best.cost).or(limit);
            let counts_joints = self.problem.aim == ShimAim::FewestJoints;
            if !counts_joints && limit_now(&best).is_some_and(|limit| alike[0].0 as u64 > limit.shimmed) {
                break;
            }
            if limit_now(&best).is_some_and(|limit| self.cost_above(alike[0].1.high).is_some_and(|cost| cost >= limit))
            {
                break;
            }
            // What shims fewer supports was looked through, unless joints count first.
            if first && !self.solver.gave_up && (self.at_least.is_none() || !counts_joints) {
                self.at_least = Some(alike[0].0);
                self.solver.effort.progress.at_least = alike[0].0;
            }
            let mut asked: Vec<(Cost, ReadingWindow, Vec<InWindow>)> = Vec::new();
            for (_, window) in alike {
                if self.solver.effort.over() {
                    self.solver.gave_up = true;
                    return Ok(best);
                }
                self.solver.effort.spend(self.places.all.len() as u64);
                let scene = self.solver.scene(window);
                let cost = scene.as_ref().and_then(|scene| self.solver.relaxed_cost(scene));
                if let (Some(scene), Some(cost)) = (scene, cost)
                    && limit_now(&best).is_none_or(|limit| cost < limit)
                {
                    asked.push((cost, *window, scene));
                }
            }
            asked.sort_by_key(|(cost, window, _)| (*cost, window.high));
            for (cost, window, scene) in asked {
                let limit = limit_now(&best);
                if limit.is_some_and(|limit| cost >= limit) {
                    break;
                }
                if self.shortage.is_none() {
                    let missing = self.solver.relaxed(&scene).map(|relaxed| self.solver.missing(&relaxed.stacks));
                    self.shortage = missing.filter(|missing| missing.iter().any(|&missing| missing > 0));
                }
                if let Some(chosen) = self.solver.solve(&window, &scene, limit)? {
                    self.solver.effort.progress.shimmed = Some(chosen.stacks.iter().flatten().count());
                    best = Some(chosen);
                }
            }
        }
        Ok(best)
    }

    /// What plans in windows that end there or higher cost at least, where all supports stand above the widest place
    /// in them: each has a stack, with leaves enough to be as thick.
    fn cost_above(&self, high: Ratio) -> Option<Cost> {
        let above = above(high, self.problem.range_nm)?;
        let thickest = i128::from(thickest(&self.problem.stock).max(1));
        let total = |place: &SupportPlace| place.bare.floor().saturating_add(above).max(1);
        let all = || self.places.all.iter().map(total);
        let leaves: i128 = all().map(|total| (total + thickest - 1) / thickest).sum();
        Some(Cost {
            joints: self.solver.joints(self.places.all.iter().map(|_| true)),
            shimmed: self.places.all.len() as u64,
            leaves: u64::try_from(leaves).unwrap_or(u64::MAX),
            total: i64::try_from(all().sum::<i128>()).unwrap_or(i64::MAX),
        })
    }

    /// The least range in whole nanometres within which a plan costs less than `limit`, this one being known.
    fn least_range(&mut self, known: &ChosenStacks, limit: Option<Cost>) -> Result<i64, ShimPlanError> {
        let (mut least, mut most) = (0, self.range_of(known));
        while least < most {
            let middle = least + (most - least) / 2;
            match self.best(middle, limit)? {
                Some(found) => most = self.range_of(&found),
                None => least = middle + 1,
            }
        }
        Ok(most)
    }

    fn readings(&self, chosen: &ChosenStacks) -> Vec<Ratio> {
        self.places.readings(&self.solver.totals(&chosen.stacks))
    }

    /// The height of the window that holds all readings, rounded up to whole nanometres.
    fn range_of(&self, chosen: &ChosenStacks) -> i64 {
        let mut readings = self.readings(chosen);
        let top = readings.iter().max().copied();
        readings.extend(self.least.filter(|least| top.is_some_and(|top| top < *least)));
        range(&readings)
    }
}

/// By how much all supports come to stand above the widest place in a window that ends there, where they do.
fn above(high: Ratio, range_nm: i64) -> Option<i128> {
    let above = high.minus(Ratio::whole(range_nm.into()))?;
    (above > Ratio::whole(0)).then(|| above.floor())
}

/// Greatest minus least, rounded up.
pub(super) fn range(readings: &[Ratio]) -> i64 {
    let Some((least, most)) = readings.iter().min().zip(readings.iter().max()) else { return 0 };
    let apart = most.minus(*least).map_or_else(|| most.ceil() - least.floor(), Ratio::ceil);
    i64::try_from(apart).unwrap_or(i64::MAX)
}

fn finish(search: &Search, chosen: ChosenStacks, proven: bool) -> StackPlan {
    let (problem, solver) = (search.problem, &search.solver);
    let totals = solver.totals(&chosen.stacks);
    let readings = search.readings(&chosen);
    let remaining = |at: usize| Ratio::whole(0).minus(readings[at]).unwrap_or(readings[at]);
    let stack = |(at, stack): (usize, &Option<Vec<u32>>)| Stack {
        put_in: stack.is_some(),
        total_nm: if stack.is_some() { totals[at] } else { 0 },
        leaves: stack.clone().unwrap_or_else(|| vec![0; problem.stock.kinds().len()]),
        remaining: remaining(at),
    };
    // Higher plans shim all supports.
    let shims_all = chosen.stacks.iter().all(Option::is_some);
    let enough = search.height.enough || !shims_all && problem.aim != ShimAim::LeastRange;
    StackPlan {
        stacks: chosen.stacks.iter().enumerate().map(stack).collect(),
        between: search.places.between_after(problem, &totals),
        raise_most_nm: search.height.nm,
        range_nm: range(&readings),
        shimmed: chosen.stacks.iter().flatten().count(),
        joints: joints_beside(&problem.joints, chosen.stacks.iter().map(Option::is_some)),
        leaves: chosen.cost.leaves,
        total_nm: chosen.cost.total,
        proven: proven && enough,
        range_proven: !solver.gave_up && enough,
        shimmed_at_least: search.at_least.unwrap_or(0),
        steps: solver.effort.steps(),
    }
}

/// Why no window could be met. Without counts every support would have a total with the target at the widest place, or
/// one of them has none whatever the others get.
fn why_not(problem: &ShimProblem, lying: &[PresentLeaves], search: &Search) -> Result<ShimPlanError, ShimPlanError> {
    let places = places(problem, lying);
    let all = with_returned(&problem.stock, lying, &everywhere(problem));
    // A leaf further than the greatest need, for the nearest total above.
    let thickest = all.kinds().iter().map(|kind| kind.thickness_nm).max().unwrap_or(0);
    let range = Ratio::whole(problem.range_nm.into());
    let wanting = || places.iter().enumerate().filter(|(_, place)| place.needed > range);
    let deepest = wanting().map(|(_, place)| place.bare.ceil()).max().unwrap_or(0);
    let deepest = i64::try_from(deepest).unwrap_or(MOST_LENGTH_NM);
    let table = LeafTable::new(&all, &vec![true; all.kinds().len()], (deepest + thickest).min(MOST_LENGTH_NM))?;
    let at_widest = ReadingWindow { low: Ratio::whole(-i128::from(problem.range_nm)), high: Ratio::whole(0) };
    for (support, place) in wanting() {
        let (low, high) = place.ranks(&table, &at_widest);
        if low >= high {
            let whole = |value: i128| i64::try_from(value).unwrap_or(i64::MAX);
            let from_nm = place.bare.minus(range).map_or(0, |from| whole(from.ceil())).max(0);
            let to_nm = place.most.map_or(whole(place.bare.floor()), |most| most.min(whole(place.bare.floor())));
            let (below, above) = table.ranks(from_nm, to_nm.max(from_nm - 1));
            let total = |rank: usize| table.totals().get(rank).map(|total| total.0);
            let below_nm = below.checked_sub(1).and_then(total).unwrap_or(0);
            return Ok(ShimPlanError::NoTotal { support, from_nm, to_nm, below_nm, above_nm: total(above) });
        }
    }
    let counted = |stock: &LeafStock| stock.kinds().iter().any(|kind| kind.count.is_some());
    match &search.shortage {
        _ if search.solver.gave_up || !search.height.enough => Ok(ShimPlanError::Undecided),
        Some(missing) => Ok(ShimPlanError::StockShort { missing: missing.clone() }),
        // What the best plan without counts lacks, where there is one.
        None if counted(&problem.stock) => {
            let uncounted = ShimProblem { stock: problem.stock.uncounted(), ..problem.clone() };
            let Ok(free) = plan_watched(&uncounted, lying, None) else { return Ok(ShimPlanError::NotTogether) };
            let stacks: Vec<_> = free.stacks.into_iter().map(|it| it.put_in.then_some(it.leaves)).collect();
            Ok(ShimPlanError::StockShort { missing: search.solver.missing(&stacks) })
        }
        None => Ok(ShimPlanError::NotTogether),
    }
}
