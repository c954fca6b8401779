//! Which supports are shimmed, and how high the target is set.
//!
//! With the target `raise` above the widest place and an allowed range R, a support that needs `n` must get a total in
//! `n + raise − R ..= n + raise`. It may stay without a shim exactly when `n + raise ≤ R`. So a lower target never
//! shims more supports: targets fall into levels, from "at the widest" upward, in each of which the same supports are
//! shimmed, and the first level that can be met has the fewest. Inside a level only targets matter at which some
//! support hits its target exactly, or the level's lowest one.

use super::super::exact::{MOST_LENGTH_NM, in_range};
use super::leaves::{LeafTable, Stock, StockError};
use super::window::{Chosen, Solver};

/// The greatest number of supports in one plan.
pub const MOST_SUPPORTS: usize = 2_000;

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
    pub stock: Stock,
    /// How far above the widest place the target may lie, in nm. `None`: the range plus the thickest leaf.
    pub raise_most_nm: Option<i64>,
}

/// What goes under one support.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stack {
    /// The total in nm; 0 without a shim.
    pub total_nm: i64,
    /// Leaves of each kind, in the order of the stock.
    pub leaves: Vec<u32>,
    /// How far the support then stands below the widest place as it was, in nm; negative above.
    pub remaining_nm: i64,
}

/// A plan, the best by its order unless `proven` says otherwise.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Plan {
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
pub enum NoPlan {
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
pub fn plan(problem: &ShimProblem) -> Result<Plan, NoPlan> {
    check(problem)?;
    if problem.range_nm < 0 {
        return Err(NoPlan::NoRange { range_nm: problem.range_nm });
    }
    let thickest = problem.stock.kinds().iter().map(|kind| kind.thickness_nm).max().unwrap_or(0);
    let raise_most = problem.raise_most_nm.unwrap_or(problem.range_nm + thickest);
    let highest = problem.supports.iter().map(|s| s.needed_nm + raise_most).map(|sum| sum.min(MOST_LENGTH_NM));
    let most_nm = problem.supports.iter().zip(highest).map(|(s, high)| s.most_nm.map_or(high, |most| high.min(most)));
    let mut solver = Solver::new(&problem.stock, most_nm.max().unwrap_or(0))?;
    let mut shortage = None;
    for level in levels(problem, raise_most) {
        if let Some((chosen, shimmed)) = solve_level(problem, &level, &mut solver, &mut shortage)? {
            return Ok(finish(problem, &shimmed, chosen, raise_most, &solver));
        }
    }
    Err(why_not(problem, &solver, shortage)?)
}

fn check(problem: &ShimProblem) -> Result<(), NoPlan> {
    if problem.supports.len() > MOST_SUPPORTS {
        return Err(NoPlan::TooManySupports(problem.supports.len()));
    }
    let limits = problem.supports.iter().flat_map(|s| [Some(s.needed_nm), s.most_nm]).flatten();
    for nm in limits.chain(problem.raise_most_nm) {
        if nm < 0 || in_range(nm).is_err() {
            return Err(NoPlan::BadLength { nm });
        }
    }
    in_range(problem.range_nm).map_err(|error| NoPlan::BadLength { nm: error.nm })?;
    Ok(())
}

/// Targets, lowest to highest above the widest place, at which the same supports are shimmed.
#[derive(Debug, Clone, Copy)]
struct Level {
    lowest: i64,
    highest: i64,
}

fn levels(problem: &ShimProblem, raise_most: i64) -> Vec<Level> {
    // A support that needs n joins the shimmed ones once raise > R − n.
    let mut joins: Vec<i64> = problem
        .supports
        .iter()
        .map(|s| problem.range_nm - s.needed_nm)
        .filter(|&last| last >= 0 && last < raise_most)
        .collect();
    joins.sort_unstable();
    joins.dedup();
    joins.push(raise_most);
    let starts = std::iter::once(0).chain(joins.iter().map(|last| last + 1));
    starts.zip(&joins).map(|(lowest, &highest)| Level { lowest, highest }).collect()
}

/// The totals a support may have with the target at `raise`.
fn range_at(support: &SupportNeed, range_nm: i64, raise: i64) -> (i64, i64) {
    let from = (support.needed_nm + raise - range_nm).max(0);
    let to = support.needed_nm + raise;
    (from, support.most_nm.map_or(to, |most| to.min(most)))
}

type Solved = Option<(Chosen, Vec<usize>)>;

fn solve_level(
    problem: &ShimProblem,
    level: &Level,
    solver: &mut Solver<'_>,
    shortage: &mut Option<Vec<u64>>,
) -> Result<Solved, NoPlan> {
    let needs = |i: &usize| problem.supports[*i].needed_nm + level.lowest > problem.range_nm;
    let shimmed: Vec<usize> = (0..problem.supports.len()).filter(needs).collect();
    let mut windows = Vec::new();
    for raise in raises(problem, level, &shimmed, &solver.all) {
        let ranges: Vec<_> = shimmed.iter().map(|&i| range_at(&problem.supports[i], problem.range_nm, raise)).collect();
        if let Some(cost) = solver.relaxed_cost(&ranges) {
            windows.push((cost, raise, ranges));
        }
    }
    windows.sort_by_key(|window| (window.0, window.1));
    let mut best: Option<Chosen> = None;
    for (cost, _, ranges) in windows {
        let limit = best.as_ref().map(|best| best.cost);
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
    Ok(best.map(|chosen| (chosen, shimmed)))
}

/// The targets worth trying in a level, those dropped whose choices another target offers as well.
fn raises(problem: &ShimProblem, level: &Level, shimmed: &[usize], table: &LeafTable) -> Vec<i64> {
    let mut raises = vec![level.lowest];
    for &i in shimmed {
        let need = problem.supports[i].needed_nm;
        let (low, high) = table.ranks(need + level.lowest, need + level.highest);
        raises.extend(table.totals()[low..high].iter().map(|&(total, _)| total - need));
    }
    raises.sort_unstable();
    raises.dedup();
    let ranks = |raise: i64| -> Vec<(usize, usize)> {
        let range = |&i: &usize| range_at(&problem.supports[i], problem.range_nm, raise);
        shimmed.iter().map(range).map(|(from, to)| table.ranks(from, to)).collect()
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

fn finish(problem: &ShimProblem, shimmed: &[usize], chosen: Chosen, raise_most: i64, solver: &Solver<'_>) -> Plan {
    let kinds = problem.stock.kinds();
    let none = |s: &SupportNeed| Stack { total_nm: 0, leaves: vec![0; kinds.len()], remaining_nm: s.needed_nm };
    let mut stacks: Vec<Stack> = problem.supports.iter().map(none).collect();
    for (&i, leaves) in shimmed.iter().zip(chosen.stacks) {
        let total_nm = leaves.iter().zip(kinds).map(|(&n, kind)| i64::from(n) * kind.thickness_nm).sum();
        stacks[i] = Stack { total_nm, leaves, remaining_nm: stacks[i].remaining_nm - total_nm };
    }
    let least = stacks.iter().map(|s| s.remaining_nm).min().unwrap_or(0);
    let most = stacks.iter().map(|s| s.remaining_nm).max().unwrap_or(0);
    Plan {
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

fn why_not(problem: &ShimProblem, solver: &Solver<'_>, shortage: Option<Vec<u64>>) -> Result<NoPlan, StockError> {
    for (support, need) in problem.supports.iter().enumerate() {
        let (from_nm, to_nm) = range_at(need, problem.range_nm, 0);
        let (low, high) = solver.all.ranks(from_nm, to_nm);
        if low >= high {
            // The solver's table ends at the greatest total asked for; look a leaf further for the nearest above.
            let thickest = problem.stock.kinds().iter().map(|kind| kind.thickness_nm).max().unwrap_or(0);
            let further =
                LeafTable::new(&problem.stock, &vec![true; problem.stock.kinds().len()], need.needed_nm + thickest)?;
            let (below, above) = further.ranks(from_nm, to_nm.max(from_nm - 1));
            let total = |rank: usize| further.totals().get(rank).map(|total| total.0);
            let below_nm = below.checked_sub(1).and_then(total).unwrap_or(0);
            return Ok(NoPlan::NoTotal { support, from_nm, to_nm, below_nm, above_nm: total(above) });
        }
    }
    Ok(match shortage {
        _ if solver.gave_up => NoPlan::Undecided,
        Some(missing) => NoPlan::StockShort { missing },
        None => NoPlan::Undecided,
    })
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
pub fn plain(problem: &ShimProblem) -> Result<PlainPlan, NoPlan> {
    check(problem)?;
    let thickest = problem.stock.kinds().iter().map(|kind| kind.thickness_nm).max().unwrap_or(0);
    let highest = problem.supports.iter().map(|s| s.needed_nm).max().unwrap_or(0) + thickest;
    let solver = Solver::new(&problem.stock, highest)?;
    let mut stacks = Vec::with_capacity(problem.supports.len());
    for support in &problem.supports {
        let (at, _) = solver.all.ranks(support.needed_nm, support.needed_nm);
        let near = [at.checked_sub(1), Some(at)].into_iter().flatten();
        let fits = |rank: &usize| {
            solver.all.totals().get(*rank).is_some_and(|t| support.most_nm.is_none_or(|most| t.0 <= most))
        };
        let off = |rank: &usize| (solver.all.totals()[*rank].0 - support.needed_nm).abs();
        let rank = match near.filter(fits).min_by_key(off) {
            Some(rank) => rank,
            // The place is too low for its need: the most that fits.
            None => solver.all.ranks(0, support.most_nm.unwrap_or(0)).1.saturating_sub(1),
        };
        let total_nm = solver.all.totals()[rank].0;
        stacks.push(Stack { total_nm, leaves: solver.all.leaves(rank), remaining_nm: support.needed_nm - total_nm });
    }
    let least = stacks.iter().map(|s| s.remaining_nm).min().unwrap_or(0);
    let most = stacks.iter().map(|s| s.remaining_nm).max().unwrap_or(0);
    let leaves: Vec<Vec<u32>> = stacks.iter().map(|s| s.leaves.clone()).collect();
    Ok(PlainPlan {
        range_nm: most - least,
        shimmed: stacks.iter().filter(|s| s.total_nm > 0).count(),
        leaves: leaves.iter().flatten().map(|&n| u64::from(n)).sum(),
        total_nm: stacks.iter().map(|s| s.total_nm).sum(),
        missing: solver.missing(&leaves),
        stacks,
    })
}
