//! The plain method, as it is done by hand.

use super::super::exact::Ratio;
use super::leaves::{LeafKind, LeafTable};
use super::places::{SupportPlace, SupportPlaces, places, with_returned};
use super::plan::range;
use super::problem::{PresentLeaves, ShimPlanError, ShimProblem, Stack};

/// The plain method: every support shimmed up to the widest place with the nearest total.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlainPlan {
    /// For every support in order.
    pub stacks: Vec<Stack>,
    /// The range to expect of the readings at supports and between them, in nm; it may be more than allowed.
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
    problem.check()?;
    let places = places(problem, lying);
    let wanting: Vec<usize> = (0..places.len()).filter(|&i| places[i].needed > Ratio::whole(0)).collect();
    let stock = with_returned(&problem.stock, lying, &wanting);
    let kinds = stock.kinds();
    let thickest = kinds.iter().map(|kind| kind.thickness_nm).max().unwrap_or(0);
    let highest = places.iter().map(|place| place.bare.ceil()).max().unwrap_or(0);
    let highest = i64::try_from(highest).unwrap_or(i64::MAX).saturating_add(thickest);
    let table = LeafTable::new(&stock, &vec![true; kinds.len()], highest)?;
    let none = |place: &SupportPlace| Stack {
        put_in: false,
        total_nm: 0,
        leaves: vec![0; kinds.len()],
        remaining: place.needed,
    };
    let mut stacks: Vec<Stack> = places.iter().map(none).collect();
    for &support in &wanting {
        let place = &places[support];
        let off = |total: i64| place.reading(total).abs();
        let at = table.totals().partition_point(|(total, _)| place.reading(*total) < Ratio::whole(0));
        let fits = |rank: &usize| table.totals().get(*rank).is_some_and(|t| place.most.is_none_or(|most| t.0 <= most));
        let near = [at.checked_sub(1), Some(at)].into_iter().flatten();
        let rank = match near.filter(fits).min_by_key(|rank| off(table.totals()[*rank].0)) {
            Some(rank) => rank,
            // The place is too low for its need: the most that fits.
            None => table.ranks(0, place.most.unwrap_or(0)).1.saturating_sub(1),
        };
        let total_nm = table.totals()[rank].0;
        // No leaf brings it nearer than what lies there does.
        if off(total_nm) < place.needed {
            let leaves = table.leaves(rank);
            let remaining = Ratio::whole(0).minus(place.reading(total_nm)).unwrap_or(place.needed);
            stacks[support] = Stack { put_in: true, total_nm, leaves, remaining };
        }
    }
    let lies = |(stack, place): (&Stack, &SupportPlace)| if stack.put_in { stack.total_nm } else { place.there };
    let totals: Vec<i64> = stacks.iter().zip(&places).map(lies).collect();
    // Stations between supports move with them.
    let left = SupportPlaces::new(problem, lying)?.readings(&totals);
    let used = |k: usize| stacks.iter().map(|stack| u64::from(stack.leaves[k])).sum::<u64>();
    let missing = |(k, kind): (usize, &LeafKind)| kind.count.map_or(0, |count| used(k).saturating_sub(count.into()));
    Ok(PlainPlan {
        range_nm: range(&left),
        shimmed: stacks.iter().filter(|stack| stack.put_in).count(),
        leaves: stacks.iter().flat_map(|stack| &stack.leaves).map(|&n| u64::from(n)).sum(),
        total_nm: stacks.iter().map(|s| s.total_nm).sum(),
        missing: kinds.iter().enumerate().map(missing).collect(),
        stacks,
    })
}
