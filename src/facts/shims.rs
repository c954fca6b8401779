//! Which leaves there are to shim with, and which of them make what a place needs: `0.07 needed, 0.05 + 0.02 in stock`.

use std::collections::BTreeMap;

use jiff::civil::Date;

use crate::calc::exact::Ratio;
use crate::calc::shims::{LeafKind, LeafStock, ShimProblem, StockError, SupportNeed, plain};
use crate::finding::Place;
use crate::ledger::{Ledger, RailId};
use crate::quantity::{Amount, Length};

use super::FactError;
use super::survey::length;

/// More places than this are not spelt out in one sentence.
const MOST_NAMED: usize = 6;

/// The stock as the shop describes it for a day; nothing where it describes none, or why nothing can be planned with it.
pub(crate) fn stock(ledger: &Ledger, day: Date) -> Result<Option<LeafStock>, StockError> {
    let Some(described) = &ledger.shop.shim_stock else { return Ok(None) };
    let mut kinds: Vec<LeafKind> = Vec::new();
    // What is to be had no more is not planned with.
    for leaf in described.leaves.iter().filter(|it| it.absent_on(day).is_none()) {
        let count = leaf.count.map(|count| *count);
        match kinds.iter_mut().find(|kind| kind.thickness_nm == leaf.thickness.nm()) {
            Some(kind) => kind.count = kind.count.zip(count).map(|(a, b)| a.saturating_add(b)),
            None => kinds.push(LeafKind { thickness_nm: leaf.thickness.nm(), count }),
        }
    }
    LeafStock::new(kinds).map(Some)
}

/// Why nothing can be planned with the leaves of a shop, in few words and in all that is to be said.
pub(crate) fn unfit(ledger: &Ledger, why: StockError) -> (&'static str, FactError) {
    let (lacking, next) = match why {
        StockError::Count(_) => {
            ("more leaves of one kind are in stock than can be planned with", "leave its count out of the shim-stock")
        }
        StockError::TooMany(_) => (
            "more kinds of leaf are in stock than can be planned with",
            "say `until=` of those in the shim-stock that nobody uses any more",
        ),
        StockError::Thickness(_) | StockError::Repeated(_) | StockError::TooFine { .. } => {
            ("a leaf in stock has a thickness that cannot be planned with", "correct its thickness in the shim-stock")
        }
    };
    let place = ledger.shop.shim_stock.as_ref().map_or(Place::default(), |stock| stock.place);
    let what = match why {
        StockError::Thickness(nm) => format!("a leaf of {} is no shim: at most 10 mm are planned with", Length(nm)),
        why => why.to_string(),
    };
    (lacking, FactError::new(place, what, next))
}

/// Leaves of each thickness, by number.
pub(crate) type Leaves = BTreeMap<Length, u32>;

/// The leaves that lie under the supports of every rail now.
pub(crate) fn in_machine(ledger: &Ledger) -> Leaves {
    let mut all = Leaves::new();
    for (id, _, rail) in ledger.machine.rails() {
        for support in 0..rail.supports.len() {
            for leaf in under(ledger, id, support) {
                *all.entry(leaf).or_default() += 1;
            }
        }
    }
    all
}

/// The leaves that lie in this machine and in others of the shop.
pub(crate) fn lying(ledger: &Ledger) -> Leaves {
    let mut taken = in_machine(ledger);
    for (leaf, used) in &ledger.elsewhere.leaves {
        let all = taken.entry(*leaf).or_default();
        *all = all.saturating_add(u32::try_from(*used).unwrap_or(u32::MAX));
    }
    taken
}

/// The leaves that lie under a support now.
pub(crate) fn under(ledger: &Ledger, id: RailId, support: usize) -> Vec<Length> {
    let row = ledger.shims(id, support, None);
    row.map_or_else(Vec::new, |(_, row)| row.leaves.iter().map(|leaf| leaf.value).collect())
}

/// A stock without leaves that are used elsewhere.
pub(crate) fn without(stock: &LeafStock, used: &Leaves) -> Option<LeafStock> {
    let left = |kind: &LeafKind| {
        let used = used.get(&Length(kind.thickness_nm)).copied().unwrap_or(0);
        LeafKind { count: kind.count.map(|count| count.saturating_sub(used)), ..*kind }
    };
    LeafStock::new(stock.kinds().iter().map(left).collect()).ok()
}

/// The leaves of the shop that lie in no machine.
pub(crate) fn free(ledger: &Ledger, day: Date) -> Option<LeafStock> {
    let stock = stock(ledger, day).ok()??;
    let counted = stock.kinds().iter().any(|kind| kind.count.is_some());
    if counted { without(&stock, &lying(ledger)) } else { Some(stock) }
}

/// `0.05 + 0.02`; `none` where no leaf is left.
pub(crate) fn stack(leaves: &[Length]) -> String {
    if leaves.is_empty() {
        return "none".into();
    }
    leaves.iter().map(|leaf| leaf.number()).collect::<Vec<_>>().join(" + ")
}

/// One place with its need: `S7: 0.07 needed, 0.05 + 0.02 in stock`.
pub(crate) fn one(ledger: &Ledger, need: Ratio, day: Date) -> String {
    let stacks = stacks(ledger, &[need], day);
    sentence(need, stacks.as_ref().and_then(|stacks| stacks.first()))
}

/// Places with their needs, the first few spelt out.
pub(crate) fn list(ledger: &Ledger, needs: &[(String, Ratio)], day: Date) -> String {
    let values: Vec<Ratio> = needs.iter().take(MOST_NAMED).map(|(_, need)| *need).collect();
    let stacks = stacks(ledger, &values, day);
    let mut parts: Vec<String> = needs
        .iter()
        .take(MOST_NAMED)
        .enumerate()
        .map(|(i, (name, need))| format!("{name}: {}", sentence(*need, stacks.as_ref().and_then(|all| all.get(i)))))
        .collect();
    if needs.len() > MOST_NAMED {
        parts.push(format!("and {} more", needs.len() - MOST_NAMED));
    }
    parts.join("; ")
}

fn sentence(need: Ratio, made_of: Option<&Vec<Length>>) -> String {
    let needed = length(need).number();
    match made_of {
        Some(leaves) if leaves.is_empty() => format!("{needed} needed, no leaf in stock is thin enough"),
        Some(leaves) => {
            let total: Length = leaves.iter().copied().sum();
            let text = stack(leaves);
            let nearest = if total == length(need) { "" } else { "nearest " };
            format!("{needed} needed, {nearest}{text} in stock")
        }
        None => format!("{needed} needed"),
    }
}

/// For each need the leaves whose total comes nearest to it, thick ones first.
fn stacks(ledger: &Ledger, needs: &[Ratio], day: Date) -> Option<Vec<Vec<Length>>> {
    let stock = free(ledger, day)?;
    let kinds = stock.kinds().to_vec();
    let supports = needs.iter().map(|need| SupportNeed::whole(length(*need).nm().max(0))).collect();
    let plan = plain(&ShimProblem::new(supports, 0, stock)).ok()?;
    let leaves = plan.stacks.iter().map(|stack| {
        let mut all: Vec<Length> = kinds
            .iter()
            .zip(&stack.leaves)
            .flat_map(|(kind, count)| std::iter::repeat_n(Length(kind.thickness_nm), *count as usize))
            .collect();
        all.sort_by(|a, b| b.cmp(a));
        all
    });
    Some(leaves.collect())
}
