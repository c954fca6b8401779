//! Which supports are shimmed, and how high the target is set.
//!
//! With the target `raise` above the widest place and an allowed range R, a support that needs `n` must get a total in
//! `n + raise − R ..= n + raise`. It may stay without a shim exactly when `n + raise ≤ R`. So a lower target never
//! shims more supports: targets fall into levels, from "at the widest" upward, in each of which the same supports are
//! shimmed, and the first level that can be met has the fewest. Inside a level only targets matter at which some
//! support hits its target exactly, or the level's lowest one.
//!
//! Where leaves lie under supports already, a support that is shimmed gets its stack anew: what it needs is counted from
//! its bare seat, its old leaves come back to the stock, and the target may then lie below the widest place too.

use super::super::exact::{MOST_LENGTH_NM, in_range};
use super::leaves::{LeafStock, LeafTable, StockError};
use super::race::Cost;
use super::window::{ChosenStacks, Solver};

/// The greatest number of supports in one plan.
pub(crate) const MOST_SUPPORTS: usize = 2_000;

/// What one support needs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct SupportNeed {
    /// How far it stands below the widest place (above the narrowest where shims narrow), in nm; at least 0.
    pub needed_nm: i64,
    /// The greatest total allowed there in nm; 0 where no shim can go.
    pub most_nm: Option<i64>,
}

/// What the planner is asked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ShimProblem {
    /// The supports in order along the axis.
    pub supports: Vec<SupportNeed>,
    /// The range that the readings may have after shimming, in nm: the limit less the measuring uncertainty. Needs that
    /// were rounded up to whole nm cost one nm of it.
    pub range_nm: i64,
    /// Leaves in stock.
    pub stock: LeafStock,
    /// How far above the widest place the target may lie, in nm. `None`: the range plus the thickest leaf.
    pub raise_most_nm: Option<i64>,
}

/// What lies under a support already.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct PresentLeaves {
    /// Its total in nm, leaves that are not of the stock's kinds included.
    pub total_nm: i64,
    /// Leaves of each kind, in the order of the stock: they come back when the support is shimmed anew.
    pub leaves: Vec<u32>,
}

/// What goes under one support.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stack {
    /// The total in nm of the stack that is put in; 0 without a shim, and where the support is left as it is.
    pub total_nm: i64,
    /// Leaves of each kind, in the order of the stock.
    pub leaves: Vec<u32>,
    /// How far the support then stands below the widest place as it was, in nm; negative above.
    pub remaining_nm: i64,
}

impl Stack {
    /// Whether the support is shimmed anew, be it that all its leaves come out, and not left as it is.
    pub fn is_put_in(&self, needed_nm: i64) -> bool {
        self.total_nm > 0 || self.remaining_nm != needed_nm
    }
}

/// A plan, the best by its order unless `proven` says otherwise.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StackPlan {
    /// For every support in order.
    pub stacks: Vec<Stack>,
    /// How far the target lies above the widest place, in nm.
    pub raise_nm: i64,
    /// How far above the widest place targets were looked for, in nm.
    pub raise_most_nm: i64,
    /// The range of the supports' readings to expect, in nm.
    pub range_nm: i64,
    /// Supports with a shim.
    pub shimmed: usize,
    /// Leaves in all.
    pub leaves: u64,
    /// The sum of all totals in nm.
    pub total_nm: i64,
    /// No plan is better: fewest shimmed supports, then fewest leaves, then thinnest total. False only when scarce
    /// stock made the search too long.
    pub proven: bool,
    /// Search steps spent.
    pub steps: u64,
}

/// Why there is no plan.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ShimPlanError {
    /// The uncertainty leaves nothing of the range.
    #[error("the allowed range of {range_nm} nm leaves nothing to plan with")]
    NoRange {
        /// The range asked for in nm.
        range_nm: i64,
    },
    /// One support has no total in stock that would do, whatever the others get.
    #[error("support {support} needs {from_nm} to {to_nm} nm, which no leaves in stock make")]
    NoTotal {
        /// Its index.
        support: usize,
        /// The least total that would do with the target at the widest place, in nm.
        from_nm: i64,
        /// The greatest, in nm: its need, or the most that may go there.
        to_nm: i64,
        /// The nearest total below that can be had, in nm.
        below_nm: i64,
        /// The nearest total above that can be had, in nm, whether or not it is too much for the place.
        above_nm: Option<i64>,
    },
    /// Every support could be served alone, but there are not enough leaves for all.
    #[error("the leaves in stock do not suffice for all supports together")]
    StockShort {
        /// For each kind of leaf, how many more the best plan without counts would take.
        missing: Vec<u64>,
    },
    /// The search grew too long before a plan was found.
    #[error("no plan was found within the work allowed")]
    Undecided,
    /// A need or a limit is negative or out of range.
    #[error("a need or limit of {nm} nm makes no sense")]
    BadLength {
        /// The refused length in nm.
        nm: i64,
    },
    /// More supports than [`MOST_SUPPORTS`].
    #[error("{0} supports are more than one plan may hold")]
    TooManySupports(usize),
    /// The totals of these leaves are too many to tell apart.
    #[error(transparent)]
    Stock(#[from] StockError),
}

/// The best plan, or why there is none.
pub fn plan(problem: &ShimProblem) -> Result<StackPlan, ShimPlanError> {
    plan_over(problem, &[])
}

/// The best plan where leaves lie under supports already; the stock is what lies nowhere. Needs are counted from how
/// the rail stands with them.
pub(crate) fn plan_over(problem: &ShimProblem, lying: &[PresentLeaves]) -> Result<StackPlan, ShimPlanError> {
    check(problem)?;
    if problem.range_nm < 0 {
        return Err(ShimPlanError::NoRange { range_nm: problem.range_nm });
    }
    let places = places(problem, lying);
    let thickest = problem.stock.kinds().iter().map(|kind| kind.thickness_nm).max().unwrap_or(0);
    let raise_most = problem.raise_most_nm.unwrap_or(problem.range_nm + thickest);
    let highest = places.iter().map(|place| (place.bare + raise_most).min(MOST_LENGTH_NM));
    let most_nm = places.iter().zip(highest).map(|(place, high)| place.most.map_or(high, |most| high.min(most)));
    let most_nm = most_nm.max().unwrap_or(0);
    let mut levels = levels(&places, problem.range_nm, raise_most);
    // Fewest shimmed supports first; of as many, low targets first.
    levels.sort_by_key(|level| level.shimmed.len());
    let stocks: Vec<LeafStock> =
        levels.iter().map(|level| with_returned(&problem.stock, lying, &level.shimmed)).collect();
    let (mut solver, mut of) = (None, 0);
    let mut shortage = None;
    let mut best: Option<(ChosenStacks, usize)> = None;
    for (at, level) in levels.iter().enumerate() {
        if best.as_ref().is_some_and(|(_, best)| levels[*best].shimmed.len() < level.shimmed.len()) {
            break;
        }
        // Targets at which the same leaves come back share their tables.
        let solver = match &mut solver {
            Some(solver) if stocks[of] == stocks[at] => solver,
            other => {
                let before: Option<Solver> = other.take();
                of = at;
                other.insert(Solver::following(&stocks[at], most_nm, before.as_ref())?)
            }
        };
        let limit = best.as_ref().map(|(chosen, _)| chosen.cost);
        if let Some(chosen) = solve_level(&places, problem.range_nm, level, solver, limit, &mut shortage)? {
            best = Some((chosen, at));
        }
    }
    let solver = match solver {
        Some(solver) => solver,
        None => Solver::following(&problem.stock, most_nm, None)?,
    };
    match best {
        Some((chosen, at)) => Ok(finish(problem, &places, &levels[at].shimmed, chosen, raise_most, &solver)),
        None => Err(why_not(problem, &places, lying, shortage, solver.gave_up)?),
    }
}

/// One support as the planner sees it.
#[derive(Debug, Clone, Copy)]
struct SupportState {
    /// How far it stands below the widest place, with what lies there now.
    needed: i64,
    /// The same without any shim: the total that would bring it to the widest place.
    bare: i64,
    most: Option<i64>,
}

fn places(problem: &ShimProblem, lying: &[PresentLeaves]) -> Vec<SupportState> {
    let there = |support: usize| lying.get(support).map_or(0, |lying| lying.total_nm.max(0));
    let supports = problem.supports.iter().enumerate();
    supports
        .map(|(i, it)| SupportState { needed: it.needed_nm, bare: it.needed_nm + there(i), most: it.most_nm })
        .collect()
}

/// The stock together with what comes back from the supports that are shimmed anew.
fn with_returned(stock: &LeafStock, lying: &[PresentLeaves], shimmed: &[usize]) -> LeafStock {
    let returned = |kind: usize| -> u32 {
        let of = shimmed.iter().filter_map(|&support| lying.get(support)?.leaves.get(kind));
        of.fold(0, |sum, count| sum.saturating_add(*count))
    };
    stock.with_more(returned)
}

fn check(problem: &ShimProblem) -> Result<(), ShimPlanError> {
    if problem.supports.len() > MOST_SUPPORTS {
        return Err(ShimPlanError::TooManySupports(problem.supports.len()));
    }
    let limits = problem.supports.iter().flat_map(|s| [Some(s.needed_nm), s.most_nm]).flatten();
    for nm in limits.chain(problem.raise_most_nm) {
        if nm < 0 || in_range(nm).is_err() {
            return Err(ShimPlanError::BadLength { nm });
        }
    }
    in_range(problem.range_nm).map_err(|error| ShimPlanError::BadLength { nm: error.nm })?;
    Ok(())
}

/// Targets, lowest to highest above the widest place, at which the same supports are shimmed.
#[derive(Debug, Clone)]
struct Level {
    lowest: i64,
    highest: i64,
    shimmed: Vec<usize>,
}

/// All levels, from the lowest target that is worth a thought to the highest.
fn levels(places: &[SupportState], range_nm: i64, raise_most: i64) -> Vec<Level> {
    // No stack can be less than none, so the bare seats bound how low the target may lie; and where the widest place
    // itself has no shim to lose, it cannot be brought down.
    let widest = places.iter().any(|place| place.needed == 0);
    let lowest = if widest { -places.iter().map(|place| place.bare).min().unwrap_or(0) } else { 0 };
    // A support that needs n stays as it is while −n ≤ raise ≤ R − n.
    let ends = places.iter().flat_map(|place| [-place.needed, range_nm - place.needed + 1]);
    let mut starts: Vec<i64> = ends.filter(|start| (lowest + 1..=raise_most).contains(start)).collect();
    starts.push(lowest);
    starts.sort_unstable();
    starts.dedup();
    let lasts = starts.iter().skip(1).map(|next| next - 1).chain([raise_most]);
    let level = |(&lowest, highest): (&i64, i64)| {
        let stays = |place: &SupportState| (-place.needed..=range_nm - place.needed).contains(&lowest);
        Level { lowest, highest, shimmed: (0..places.len()).filter(|&i| !stays(&places[i])).collect() }
    };
    starts.iter().zip(lasts).map(level).collect()
}

/// The totals a shimmed support may have with the target at `raise`.
fn range_at(place: &SupportState, range_nm: i64, raise: i64) -> (i64, i64) {
    let from = (place.bare + raise - range_nm).max(0);
    let to = place.bare + raise;
    (from, place.most.map_or(to, |most| to.min(most)))
}

fn solve_level(
    places: &[SupportState],
    range_nm: i64,
    level: &Level,
    solver: &mut Solver<'_>,
    limit: Option<Cost>,
    shortage: &mut Option<Vec<u64>>,
) -> Result<Option<ChosenStacks>, ShimPlanError> {
    let mut windows = Vec::new();
    for raise in raises(places, range_nm, level, &solver.all) {
        let ranges: Vec<_> = level.shimmed.iter().map(|&i| range_at(&places[i], range_nm, raise)).collect();
        if let Some(cost) = solver.relaxed_cost(&ranges) {
            windows.push((cost, raise, ranges));
        }
    }
    windows.sort_by_key(|window| (window.0, window.1));
    let mut best: Option<ChosenStacks> = None;
    for (cost, _, ranges) in windows {
        let limit = best.as_ref().map(|best| best.cost).or(limit);
        if limit.is_some_and(|limit| cost >= limit) {
            break;
        }
        if shortage.is_none() {
            *shortage = solver.relaxed(&ranges).map(|relaxed| solver.missing(&relaxed.stacks));
        }
        if let Some(chosen) = solver.solve(&ranges, limit)? {
            best = Some(chosen);
        }
    }
    Ok(best)
}

/// The targets worth trying in a level, those dropped whose choices another target offers as well.
fn raises(places: &[SupportState], range_nm: i64, level: &Level, table: &LeafTable) -> Vec<i64> {
    let mut raises = vec![level.lowest];
    for &i in &level.shimmed {
        let need = places[i].bare;
        let (low, high) = table.ranks(need + level.lowest, need + level.highest);
        raises.extend(table.totals()[low..high].iter().map(|&(total, _)| total - need));
    }
    raises.sort_unstable();
    raises.dedup();
    let ranks = |raise: i64| -> Vec<(usize, usize)> {
        let range = |&i: &usize| range_at(&places[i], range_nm, raise);
        level.shimmed.iter().map(range).map(|(from, to)| table.ranks(from, to)).collect()
    };
    let mut kept: Vec<(i64, Vec<(usize, usize)>)> = Vec::new();
    for raise in raises {
        let new = ranks(raise);
        // Both ends rise with the target: the same lower ends offer more, the same upper ends offer less.
        if let Some((_, old)) = kept.last() {
            if old.iter().zip(&new).all(|(old, new)| old.1 == new.1) {
                continue;
            }
            if old.iter().zip(&new).all(|(old, new)| old.0 == new.0) {
                kept.pop();
            }
        }
        kept.push((raise, new));
    }
    kept.into_iter().map(|(raise, _)| raise).collect()
}

fn finish(
    problem: &ShimProblem,
    places: &[SupportState],
    shimmed: &[usize],
    chosen: ChosenStacks,
    raise_most: i64,
    solver: &Solver<'_>,
) -> StackPlan {
    let kinds = problem.stock.kinds();
    let none = |s: &SupportNeed| Stack { total_nm: 0, leaves: vec![0; kinds.len()], remaining_nm: s.needed_nm };
    let mut stacks: Vec<Stack> = problem.supports.iter().map(none).collect();
    for (&i, leaves) in shimmed.iter().zip(chosen.stacks) {
        let total_nm = leaves.iter().zip(kinds).map(|(&n, kind)| i64::from(n) * kind.thickness_nm).sum();
        stacks[i] = Stack { total_nm, leaves, remaining_nm: places[i].bare - total_nm };
    }
    let least = stacks.iter().map(|s| s.remaining_nm).min().unwrap_or(0);
    let most = stacks.iter().map(|s| s.remaining_nm).max().unwrap_or(0);
    StackPlan {
        raise_nm: (-least).max(0),
        raise_most_nm: raise_most,
        range_nm: most - least,
        shimmed: shimmed.len(),
        leaves: chosen.cost.0,
        total_nm: chosen.cost.1,
        stacks,
        proven: !solver.gave_up,
        steps: solver.work,
    }
}

/// Why no level could be met. Without counts every support would have a total at the lowest target, or one of them has
/// none whatever the others get.
fn why_not(
    problem: &ShimProblem,
    places: &[SupportState],
    lying: &[PresentLeaves],
    shortage: Option<Vec<u64>>,
    gave_up: bool,
) -> Result<ShimPlanError, ShimPlanError> {
    let everywhere: Vec<usize> = (0..places.len()).collect();
    let all = with_returned(&problem.stock, lying, &everywhere);
    // A leaf further than the greatest need, for the nearest total above.
    let thickest = all.kinds().iter().map(|kind| kind.thickness_nm).max().unwrap_or(0);
    let wanting = || everywhere.iter().filter(|&&i| places[i].needed > problem.range_nm);
    let deepest = wanting().map(|&i| places[i].bare).max().unwrap_or(0);
    let table = LeafTable::new(&all, &vec![true; all.kinds().len()], (deepest + thickest).min(MOST_LENGTH_NM))?;
    for &support in wanting() {
        let (from_nm, to_nm) = range_at(&places[support], problem.range_nm, 0);
        let (low, high) = table.ranks(from_nm, to_nm);
        if low >= high {
            let (below, above) = table.ranks(from_nm, to_nm.max(from_nm - 1));
            let total = |rank: usize| table.totals().get(rank).map(|total| total.0);
            let below_nm = below.checked_sub(1).and_then(total).unwrap_or(0);
            return Ok(ShimPlanError::NoTotal { support, from_nm, to_nm, below_nm, above_nm: total(above) });
        }
    }
    match shortage {
        _ if gave_up => Ok(ShimPlanError::Undecided),
        Some(missing) => Ok(ShimPlanError::StockShort { missing }),
        // Leaves would have to come from supports that are left as they are: what the best plan without counts lacks.
        None => {
            let free = plan_over(&ShimProblem { stock: problem.stock.uncounted(), ..problem.clone() }, lying)?;
            let put_in = |i: &usize| free.stacks[*i].is_put_in(problem.supports[*i].needed_nm);
            let shimmed: Vec<usize> = everywhere.into_iter().filter(put_in).collect();
            let stock = with_returned(&problem.stock, lying, &shimmed);
            let used = |k: usize| free.stacks.iter().map(|stack| u64::from(stack.leaves[k])).sum::<u64>();
            let had = |k: usize| stock.kinds()[k].count.map_or(u64::MAX, u64::from);
            let missing = (0..stock.kinds().len()).map(|k| used(k).saturating_sub(had(k))).collect();
            Ok(ShimPlanError::StockShort { missing })
        }
    }
}

/// The plain method: every support shimmed up to the widest place with the nearest total.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlainPlan {
    /// For every support in order.
    pub stacks: Vec<Stack>,
    /// The range of the supports' readings to expect, in nm; it may be more than allowed.
    pub range_nm: i64,
    /// Supports with a shim.
    pub shimmed: usize,
    /// Leaves in all.
    pub leaves: u64,
    /// The sum of all totals in nm.
    pub total_nm: i64,
    /// Leaves of each kind missing from stock.
    pub missing: Vec<u64>,
}

/// Shims every support up to the widest place with the nearest total that its own leaves make, the thinner of two equally
/// near ones. Supports do not compete: `missing` says what the stock lacks.
pub(crate) fn plain(problem: &ShimProblem) -> Result<PlainPlan, ShimPlanError> {
    plain_over(problem, &[])
}

/// The same where leaves lie under supports already: whatever needs more gets its stack anew.
pub(crate) fn plain_over(problem: &ShimProblem, lying: &[PresentLeaves]) -> Result<PlainPlan, ShimPlanError> {
    check(problem)?;
    let places = places(problem, lying);
    let wanting: Vec<usize> = (0..places.len()).filter(|&i| places[i].needed > 0).collect();
    let stock = with_returned(&problem.stock, lying, &wanting);
    let thickest = stock.kinds().iter().map(|kind| kind.thickness_nm).max().unwrap_or(0);
    let highest = places.iter().map(|place| place.bare).max().unwrap_or(0) + thickest;
    let solver = Solver::following(&stock, highest, None)?;
    let none =
        |place: &SupportState| Stack { total_nm: 0, leaves: vec![0; stock.kinds().len()], remaining_nm: place.needed };
    let mut stacks: Vec<Stack> = places.iter().map(none).collect();
    for &support in &wanting {
        let place = &places[support];
        let (at, _) = solver.all.ranks(place.bare, place.bare);
        let near = [at.checked_sub(1), Some(at)].into_iter().flatten();
        let fits =
            |rank: &usize| solver.all.totals().get(*rank).is_some_and(|t| place.most.is_none_or(|most| t.0 <= most));
        let off = |rank: &usize| (solver.all.totals()[*rank].0 - place.bare).abs();
        let rank = match near.filter(fits).min_by_key(off) {
            Some(rank) => rank,
            // The place is too low for its need: the most that fits.
            None => solver.all.ranks(0, place.most.unwrap_or(0)).1.saturating_sub(1),
        };
        let total_nm = solver.all.totals()[rank].0;
        // No leaf brings it nearer than what lies there does.
        if (total_nm - place.bare).abs() < place.needed {
            let leaves = solver.all.leaves(rank);
            stacks[support] = Stack { total_nm, leaves, remaining_nm: place.bare - total_nm };
        }
    }
    let least = stacks.iter().map(|s| s.remaining_nm).min().unwrap_or(0);
    let most = stacks.iter().map(|s| s.remaining_nm).max().unwrap_or(0);
    let leaves: Vec<Vec<u32>> = stacks.iter().map(|s| s.leaves.clone()).collect();
    Ok(PlainPlan {
        range_nm: most - least,
        shimmed: stacks.iter().zip(&problem.supports).filter(|(stack, need)| stack.is_put_in(need.needed_nm)).count(),
        leaves: leaves.iter().flatten().map(|&n| u64::from(n)).sum(),
        total_nm: stacks.iter().map(|s| s.total_nm).sum(),
        missing: solver.missing(&leaves),
        stacks,
    })
}
