//! One window of allowed readings: every shimmed support has a range of totals, and leaves may run short.
//!
//! Leaves without a limit, or with one that does not bind, leave the supports independent: a table answers. Where kinds
//! bind, a support's choices are the useful numbers of scarce leaves with the fewest others beside them, and the
//! supports compete for them: see `race`.

use std::collections::BTreeMap;

use super::leaves::{LeafStock, LeafTable, MOST_KINDS, StockError};
use super::race::{Choice, Cost, MOST_WORK, Race};

/// A stack for each shimmed support: leaves of each kind in stock, with their sum.
#[derive(Debug, Clone)]
pub(super) struct ChosenStacks {
    pub(super) cost: Cost,
    pub(super) stacks: Vec<Vec<u32>>,
}

/// Solver for all windows of one problem: keeps tables, the kinds found binding, and the work done.
pub(super) struct Solver<'a> {
    stock: &'a LeafStock,
    most_nm: i64,
    /// The totals of all kinds, each limited by its own count only.
    pub(super) all: LeafTable,
    /// The totals of the kinds not known to bind, and which kinds bind.
    free: LeafTable,
    binding: Vec<usize>,
    options: BTreeMap<(i64, i64), Vec<Choice>>,
    /// Prices of the binding kinds that served the last window well.
    prices: Vec<i128>,
    /// Prices that come nearest to showing a shortage of them; thicknesses at first.
    shortage: Vec<i128>,
    /// Ways extended so far, against a limit that keeps the planner from running without end.
    pub(super) work: u64,
    /// Some pass gave up, so that the result is not proven.
    pub(super) gave_up: bool,
}

impl<'a> Solver<'a> {
    /// A solver that goes on counting the work of an earlier one, which had another stock.
    pub(super) fn following(stock: &'a LeafStock, most_nm: i64, before: Option<&Solver>) -> Result<Self, StockError> {
        let chosen = vec![true; stock.kinds().len()];
        let (all, free) = (LeafTable::new(stock, &chosen, most_nm)?, LeafTable::new(stock, &chosen, most_nm)?);
        Ok(Self {
            stock,
            most_nm,
            all,
            free,
            binding: vec![],
            options: BTreeMap::new(),
            prices: vec![],
            shortage: vec![],
            work: before.map_or(0, |before| before.work),
            gave_up: before.is_some_and(|before| before.gave_up),
        })
    }

    /// What the supports cost at least, as if none competed for a leaf; `None` when one has no total in its range.
    pub(super) fn relaxed_cost(&self, ranges: &[(i64, i64)]) -> Option<Cost> {
        ranges.iter().try_fold((0, 0), |cost: Cost, &(from, to)| {
            let (low, high) = self.all.ranks(from, to);
            let (total, leaves) = self.all.totals()[self.all.best(low, high)?];
            Some((cost.0 + u64::from(leaves), cost.1 + total))
        })
    }

    /// The best stacks when no two supports compete for a leaf; `None` when a support has no total in its range.
    pub(super) fn relaxed(&self, ranges: &[(i64, i64)]) -> Option<ChosenStacks> {
        let cost = self.relaxed_cost(ranges)?;
        let stack = |&(from, to): &(i64, i64)| {
            let (low, high) = self.all.ranks(from, to);
            self.all.best(low, high).map(|rank| self.all.leaves(rank))
        };
        Some(ChosenStacks { cost, stacks: ranges.iter().map(stack).collect::<Option<_>>()? })
    }

    /// How many leaves of each kind are missing from stock.
    pub(super) fn missing(&self, stacks: &[Vec<u32>]) -> Vec<u64> {
        let used = |k: usize| stacks.iter().map(|stack| u64::from(stack[k])).sum::<u64>();
        let kinds = self.stock.kinds().iter().enumerate();
        kinds.map(|(k, kind)| kind.count.map_or(0, |count| used(k).saturating_sub(count.into()))).collect()
    }

    /// The best stacks within stock that cost less than `limit`; `None` when there are none (or, with `gave_up` set,
    /// when none were found).
    pub(super) fn solve(
        &mut self,
        ranges: &[(i64, i64)],
        limit: Option<Cost>,
    ) -> Result<Option<ChosenStacks>, StockError> {
        let beats = |chosen: &ChosenStacks| limit.is_none_or(|limit| chosen.cost < limit);
        let Some(mut chosen) = self.relaxed(ranges) else { return Ok(None) };
        // The same totals in the same words, so that choices are worked out once.
        let totals = self.all.totals();
        let ends = |&(from, to): &(i64, i64)| {
            let (low, high) = self.all.ranks(from, to);
            (totals[low].0, totals[high - 1].0)
        };
        let ranges: Vec<_> = ranges.iter().map(ends).collect();
        loop {
            if !beats(&chosen) {
                return Ok(None);
            }
            let missing = self.missing(&chosen.stacks);
            if missing.iter().all(|&missing| missing == 0) {
                return Ok(Some(chosen));
            }
            self.bind(&missing)?;
            match self.shared(&ranges, limit) {
                Some(found) => chosen = found,
                None => return Ok(None),
            }
        }
    }

    /// Marks the kinds that ran short as binding and rebuilds the table of the others.
    fn bind(&mut self, missing: &[u64]) -> Result<(), StockError> {
        let before = self.binding.len();
        let new = (0..missing.len()).filter(|k| missing[*k] > 0 && !self.binding.contains(k)).collect::<Vec<_>>();
        self.binding.extend(new);
        if self.binding.len() != before {
            let chosen: Vec<bool> = (0..missing.len()).map(|k| !self.binding.contains(&k)).collect();
            self.free = LeafTable::new(self.stock, &chosen, self.most_nm)?;
            self.options.clear();
        }
        Ok(())
    }

    /// The best stacks with the binding kinds shared among all supports.
    fn shared(&mut self, ranges: &[(i64, i64)], limit: Option<Cost>) -> Option<ChosenStacks> {
        // Equal ranges side by side: their ways coincide most.
        let mut order: Vec<usize> = (0..ranges.len()).collect();
        order.sort_by_key(|&i| (std::cmp::Reverse(ranges[i]), i));
        for &range in ranges {
            if !self.options.contains_key(&range) {
                let choices = self.choices(range);
                if self.work > MOST_WORK {
                    self.gave_up = true;
                    return None;
                }
                self.options.insert(range, choices);
            }
        }
        let groups: Vec<&[Choice]> = order.iter().map(|&i| self.options[&ranges[i]].as_slice()).collect();
        if groups.iter().any(|choices| choices.is_empty()) {
            return None;
        }
        let counts: Vec<u32> = self.binding.iter().map(|&k| self.stock.kinds()[k].count.unwrap_or(u32::MAX)).collect();
        self.prices.resize(counts.len(), 0);
        if self.shortage.len() != counts.len() {
            self.shortage = self.binding.iter().map(|&k| self.stock.kinds()[k].thickness_nm.into()).collect();
        }
        let race = Race::new(&groups, &counts, self.all.measure());
        let outcome = race.run(limit, &mut self.prices, &mut self.shortage, &mut self.work);
        self.gave_up |= !outcome.complete;
        let picked = outcome.picked?;
        let mut chosen = ChosenStacks { cost: (0, 0), stacks: vec![vec![]; ranges.len()] };
        for ((&support, choices), pick) in order.iter().zip(&groups).zip(picked) {
            let choice = choices[pick as usize];
            let mut stack = self.free.leaves(choice.free_rank as usize);
            for (&kind, &n) in self.binding.iter().zip(&choice.scarce) {
                stack[kind] += u32::from(n);
            }
            chosen.cost.0 += choice.leaves.unsigned_abs();
            chosen.cost.1 += choice.total;
            chosen.stacks[support] = stack;
        }
        Some(chosen)
    }

    /// All useful choices for one range of totals: none uses as many scarce leaves as another and costs no less.
    fn choices(&mut self, (from, to): (i64, i64)) -> Vec<Choice> {
        let mut all = Vec::new();
        let start = Choice { scarce: [0; MOST_KINDS], free_rank: 0, leaves: 0, total: 0 };
        let mut work = self.work;
        self.extend(&mut all, &mut work, start, 0, (from, to));
        self.work = work;
        all.sort_by_key(|c| (c.leaves, c.total, c.scarce));
        let mut kept: Vec<Choice> = Vec::new();
        for choice in all {
            if !kept.iter().any(|k| k.scarce.iter().zip(&choice.scarce).all(|(a, b)| a <= b)) {
                kept.push(choice);
            }
        }
        kept
    }

    fn extend(&self, all: &mut Vec<Choice>, work: &mut u64, so_far: Choice, at: usize, (from, to): (i64, i64)) {
        *work += 1;
        if *work > MOST_WORK {
            return;
        }
        let Some(&kind) = self.binding.get(at) else {
            let (low, high) = self.free.ranks(from - so_far.total, to - so_far.total);
            if let Some(rank) = self.free.best(low, high) {
                let (total, leaves) = self.free.totals()[rank];
                all.push(Choice {
                    free_rank: u32::try_from(rank).unwrap_or(u32::MAX),
                    leaves: so_far.leaves + i64::from(leaves),
                    total: so_far.total + total,
                    ..so_far
                });
            }
            return;
        };
        let leaf = self.stock.kinds()[kind];
        let most = u16::try_from(leaf.count.unwrap_or(u32::MAX)).unwrap_or(u16::MAX);
        let mut next = so_far;
        for n in 0..=most {
            next.scarce[at] = n;
            self.extend(all, work, next, at + 1, (from, to));
            next.leaves += 1;
            next.total += leaf.thickness_nm;
            if next.total > to {
                break;
            }
        }
    }
}
