//! One window of readings: every support is left as it is or has a range of totals, and leaves may run short.
//!
//! Leaves without a limit, or with one that does not bind, leave the supports independent: a table answers. Where kinds
//! bind, or a station between two supports does not come into the window by itself, the supports are taken together: see
//! `race`. Leaves that lie under a support belong to the stock, and a support that is left as it is uses them.

use std::collections::BTreeMap;
use std::ops::Range;

use super::effort::ShimEffort;
use super::leaves::{LeafStock, LeafTable, MOST_KINDS, StockError};
use super::places::{ReadingWindow, SupportPlace, SupportPlaces};
use super::problem::PresentLeaves;
use super::race::{Choice, Cost, Race, SupportTies};

/// So many pairs of choices are looked at in the time of a step.
const PAIRS_A_STEP: usize = 16;

/// What each support gets: leaves of each kind in stock, or nothing where it is left as it is.
#[derive(Debug, Clone)]
pub(super) struct ChosenStacks {
    pub(super) cost: Cost,
    pub(super) stacks: Vec<Option<Vec<u32>>>,
}

/// A support in one window.
#[derive(Debug, Clone, Copy)]
pub(super) struct InWindow {
    /// The ranks of its totals that lie in the window.
    ranks: (usize, usize),
    stays: bool,
}

/// What is planned, whatever the window.
pub(super) struct Question<'a> {
    pub(super) places: &'a SupportPlaces,
    pub(super) lying: &'a [PresentLeaves],
    /// Joints, where their number counts.
    pub(super) joints: &'a [Range<usize>],
    /// All leaves, those that lie under the supports included.
    pub(super) stock: &'a LeafStock,
    pub(super) most_nm: i64,
}

/// Solver for all windows of one problem: keeps tables, the kinds found binding, and the work done.
pub(super) struct Solver<'a> {
    of: &'a Question<'a>,
    /// The totals of all kinds, each limited by its own count only.
    pub(super) all: LeafTable,
    /// The totals of the kinds not known to bind, and which kinds bind.
    free: LeafTable,
    binding: Vec<usize>,
    /// Choices by range, and whether each total is one of its own.
    options: BTreeMap<(i64, i64, bool), Vec<Choice>>,
    /// Prices of the binding kinds that served the last window well.
    prices: Vec<i128>,
    /// Prices that come nearest to showing a shortage of them; thicknesses at first.
    shortage: Vec<i128>,
    /// Ways extended so far, against a limit that keeps the planner from running without end.
    pub(super) effort: ShimEffort,
    /// Some pass gave up, so that the result is not proven.
    pub(super) gave_up: bool,
}

impl<'a> Solver<'a> {
    pub(super) fn new(of: &'a Question<'a>, effort: ShimEffort) -> Result<Self, StockError> {
        let chosen = vec![true; of.stock.kinds().len()];
        let table = || LeafTable::new(of.stock, &chosen, of.most_nm);
        Ok(Self {
            of,
            all: table()?,
            free: table()?,
            binding: vec![],
            options: BTreeMap::new(),
            prices: vec![],
            shortage: vec![],
            effort,
            gave_up: false,
        })
    }

    /// The supports in a window; `None` when one has no place in it.
    pub(super) fn scene(&self, window: &ReadingWindow) -> Option<Vec<InWindow>> {
        let of = |place: &SupportPlace| {
            let here = InWindow { ranks: place.ranks(&self.all, window), stays: place.stays(window) };
            (here.stays || here.ranks.0 < here.ranks.1).then_some(here)
        };
        self.of.places.all.iter().map(of).collect()
    }

    /// What the supports cost at least, as if none competed for a leaf and nothing lay between them.
    pub(super) fn relaxed_cost(&self, scene: &[InWindow]) -> Option<Cost> {
        let mut cost = Cost { joints: self.joints(scene.iter().map(|here| !here.stays)), ..Cost::default() };
        for here in scene.iter().filter(|here| !here.stays) {
            let (total, leaves) = self.all.totals()[self.all.best(here.ranks.0, here.ranks.1)?];
            cost.shimmed += 1;
            cost.leaves += u64::from(leaves);
            cost.total += total;
        }
        Some(cost)
    }

    pub(super) fn joints(&self, shimmed: impl Iterator<Item = bool>) -> u64 {
        if self.of.joints.is_empty() { 0 } else { joints_beside(self.of.joints, shimmed) as u64 }
    }

    /// The best stacks when no two supports have anything to do with each other.
    pub(super) fn relaxed(&self, scene: &[InWindow]) -> Option<ChosenStacks> {
        let stack = |here: &InWindow| match here.stays {
            true => Some(None),
            false => self.all.best(here.ranks.0, here.ranks.1).map(|rank| Some(self.all.leaves(rank))),
        };
        Some(ChosenStacks { cost: self.relaxed_cost(scene)?, stacks: scene.iter().map(stack).collect::<Option<_>>()? })
    }

    fn lying(&self, support: usize, kind: usize) -> u32 {
        self.of.lying.get(support).and_then(|lying| lying.leaves.get(kind)).copied().unwrap_or(0)
    }

    /// How many leaves of each kind are missing from stock.
    pub(super) fn missing(&self, stacks: &[Option<Vec<u32>>]) -> Vec<u64> {
        let of = |kind: usize, (support, stack): (usize, &Option<Vec<u32>>)| match stack {
            Some(stack) => u64::from(stack[kind]),
            None => u64::from(self.lying(support, kind)),
        };
        let used = |kind: usize| stacks.iter().enumerate().map(|stack| of(kind, stack)).sum::<u64>();
        let kinds = self.of.stock.kinds().iter().enumerate();
        kinds.map(|(k, kind)| kind.count.map_or(0, |count| used(k).saturating_sub(count.into()))).collect()
    }

    /// The totals that then lie under the supports.
    pub(super) fn totals(&self, stacks: &[Option<Vec<u32>>]) -> Vec<i64> {
        let kinds = self.of.stock.kinds();
        let of = |(place, stack): (&SupportPlace, &Option<Vec<u32>>)| match stack {
            Some(stack) => stack.iter().zip(kinds).map(|(&n, kind)| i64::from(n) * kind.thickness_nm).sum(),
            None => place.there,
        };
        self.of.places.all.iter().zip(stacks).map(of).collect()
    }

    /// Whether the stations between supports come into the window too.
    fn between_hold(&self, stacks: &[Option<Vec<u32>>], window: &ReadingWindow) -> bool {
        let places = self.of.places;
        if !(0..stacks.len()).any(|support| places.is_coupled(support)) {
            return true;
        }
        let totals = self.totals(stacks);
        totals.windows(2).enumerate().all(|(at, pair)| places.between_hold(at, [pair[0], pair[1]], window))
    }

    /// The best stacks within stock that cost less than `limit`; `None` when there are none (or, with `gave_up` set,
    /// when none were found).
    pub(super) fn solve(
        &mut self,
        window: &ReadingWindow,
        scene: &[InWindow],
        limit: Option<Cost>,
    ) -> Result<Option<ChosenStacks>, StockError> {
        let Some(mut chosen) = self.relaxed(scene) else { return Ok(None) };
        loop {
            if limit.is_some_and(|limit| chosen.cost >= limit) {
                return Ok(None);
            }
            let missing = self.missing(&chosen.stacks);
            let short = missing.iter().any(|&missing| missing > 0);
            if !short && self.between_hold(&chosen.stacks, window) {
                return Ok(Some(chosen));
            }
            self.bind(&missing)?;
            match self.shared(window, scene, limit) {
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
            self.free = LeafTable::new(self.of.stock, &chosen, self.of.most_nm)?;
            self.options.clear();
        }
        Ok(())
    }

    /// The best stacks with the binding kinds shared among all supports, and what lies between them in the window.
    fn shared(&mut self, window: &ReadingWindow, scene: &[InWindow], limit: Option<Cost>) -> Option<ChosenStacks> {
        let places = self.of.places;
        let coupled = |support: usize| places.is_coupled(support);
        let each_total = |support: usize| coupled(support) || support > 0 && coupled(support - 1);
        let tied = !self.of.joints.is_empty() || (0..scene.len()).any(coupled);
        let mut groups: Vec<Vec<Choice>> = Vec::with_capacity(scene.len());
        for (support, here) in scene.iter().enumerate() {
            let choices = self.of_support(support, here, each_total(support))?;
            if choices.is_empty() {
                return None;
            }
            groups.push(choices);
        }
        // What is looked at before the first way is extended: pairs of choices of neighbours, and prices climbing over all choices.
        let pairs = |at: usize| if coupled(at) { groups[at].len() * groups.get(at + 1).map_or(0, Vec::len) } else { 0 };
        let looks =
            (0..groups.len()).map(pairs).sum::<usize>() / PAIRS_A_STEP + 8 * groups.iter().map(Vec::len).sum::<usize>();
        self.effort.spend(looks as u64);
        if self.effort.over() {
            self.gave_up = true;
            return None;
        }
        // Equal ranges side by side, where nothing ties neighbours: their ways coincide most.
        let mut order: Vec<usize> = (0..scene.len()).collect();
        if !tied {
            // What has no choice comes first.
            order.sort_by_key(|&i| (groups[i].len() > 1, std::cmp::Reverse(scene[i].ranks), i));
        }
        let allowed = |at: usize| {
            let (first, second) = (groups.get(at)?, groups.get(at + 1)?);
            coupled(at).then(|| {
                let pairs = places.pairs(at, window);
                let of = |one: &Choice, other: &Choice| pairs.hold([one.there, other.there]);
                first.iter().map(|one| second.iter().map(|other| of(one, other)).collect()).collect()
            })
        };
        let ties = SupportTies { allowed: (0..scene.len()).map(allowed).collect(), joints: self.of.joints };
        let ordered: Vec<&[Choice]> = order.iter().map(|&i| groups[i].as_slice()).collect();
        let kinds = self.of.stock.kinds();
        let counts: Vec<u32> = self.binding.iter().map(|&k| kinds[k].count.unwrap_or(u32::MAX)).collect();
        self.prices.resize(counts.len(), 0);
        if self.shortage.len() != counts.len() {
            self.shortage = self.binding.iter().map(|&k| kinds[k].thickness_nm.into()).collect();
        }
        let race = Race::new(&ordered, &counts, self.all.measure(), &ties);
        let outcome = race.run(limit, &mut self.prices, &mut self.shortage, &mut self.effort);
        self.gave_up |= !outcome.complete;
        let picked = outcome.picked?;
        let mut chosen = ChosenStacks { cost: Cost::default(), stacks: vec![None; scene.len()] };
        for ((&support, choices), pick) in order.iter().zip(&ordered).zip(picked) {
            let choice = choices[pick as usize];
            let Some(rank) = choice.free_rank else { continue };
            let mut stack = self.free.leaves(rank as usize);
            for (&kind, &n) in self.binding.iter().zip(&choice.scarce) {
                stack[kind] += u32::from(n);
            }
            chosen.cost.shimmed += 1;
            chosen.cost.leaves += choice.leaves.unsigned_abs();
            chosen.cost.total += choice.total;
            chosen.stacks[support] = Some(stack);
        }
        chosen.cost.joints = self.joints(chosen.stacks.iter().map(Option::is_some));
        Some(chosen)
    }

    /// The choices of one support; `None` when there are too many to look at.
    fn of_support(&mut self, support: usize, here: &InWindow, each_total: bool) -> Option<Vec<Choice>> {
        let mut scarce = [0; MOST_KINDS];
        for (scarce, &kind) in scarce.iter_mut().zip(&self.binding) {
            *scarce = u16::try_from(self.lying(support, kind)).unwrap_or(u16::MAX);
        }
        let there = self.of.places.all[support].there;
        let stay = Choice { scarce, free_rank: None, leaves: 0, total: 0, there };
        // Left as it is, it costs nothing: what uses no scarce leaf less is worse.
        if here.stays && !each_total && scarce.iter().all(|&n| n == 0) {
            return Some(vec![stay]);
        }
        let mut choices: Vec<Choice> = here.stays.then_some(stay).into_iter().collect();
        if here.ranks.0 < here.ranks.1 {
            // The same totals in the same words, so that choices are worked out once.
            let totals = self.all.totals();
            let range = (totals[here.ranks.0].0, totals[here.ranks.1 - 1].0);
            let key = (range.0, range.1, each_total);
            if !self.options.contains_key(&key) {
                let found = self.choices(range, each_total);
                if self.effort.over() {
                    self.gave_up = true;
                    return None;
                }
                self.options.insert(key, found);
            }
            choices.extend(&self.options[&key]);
        }
        if !here.stays {
            return Some(choices);
        }
        let worse = |choice: &Choice| {
            choice.free_rank.is_some()
                && (!each_total || choice.there == there)
                && scarce.iter().zip(&choice.scarce).all(|(a, b)| a <= b)
        };
        choices.retain(|choice| !worse(choice));
        Some(choices)
    }

    /// All useful choices for one range of totals: none uses as many scarce leaves as another and costs no less. Where a
    /// station stands beside it each total is a choice of its own.
    fn choices(&mut self, (from, to): (i64, i64), each_total: bool) -> Vec<Choice> {
        let mut all = Vec::new();
        let start = Choice { scarce: [0; MOST_KINDS], free_rank: None, leaves: 0, total: 0, there: 0 };
        let mut effort = std::mem::take(&mut self.effort);
        self.extend(&mut all, &mut effort, start, 0, (from, to, each_total));
        self.effort = effort;
        all.sort_by_key(|c| (c.leaves, c.total, c.scarce));
        let mut kept: Vec<Choice> = Vec::new();
        for choice in all {
            let covers = |k: &Choice| {
                (!each_total || k.there == choice.there) && k.scarce.iter().zip(&choice.scarce).all(|(a, b)| a <= b)
            };
            if !kept.iter().any(covers) {
                kept.push(choice);
            }
        }
        kept
    }

    /// Scarce leaves with a total of the free kinds beside them.
    fn with_free(&self, scarce: &Choice, rank: usize) -> Choice {
        let (more, leaves) = self.free.totals()[rank];
        let total = scarce.total + more;
        let mut choice = *scarce;
        choice.free_rank = u32::try_from(rank).ok();
        choice.leaves += i64::from(leaves);
        (choice.total, choice.there) = (total, total);
        choice
    }

    fn extend(
        &self,
        all: &mut Vec<Choice>,
        effort: &mut ShimEffort,
        so_far: Choice,
        at: usize,
        (from, to, each_total): (i64, i64, bool),
    ) {
        effort.spend(1);
        if effort.over() {
            return;
        }
        let Some(&kind) = self.binding.get(at) else {
            let (low, high) = self.free.ranks(from - so_far.total, to - so_far.total);
            if each_total {
                effort.spend((high - low) as u64);
                all.extend((low..high).map(|rank| self.with_free(&so_far, rank)));
            } else {
                all.extend(self.free.best(low, high).map(|rank| self.with_free(&so_far, rank)));
            }
            return;
        };
        let leaf = self.of.stock.kinds()[kind];
        let most = u16::try_from(leaf.count.unwrap_or(u32::MAX)).unwrap_or(u16::MAX);
        let mut next = so_far;
        for n in 0..=most {
            next.scarce[at] = n;
            self.extend(all, effort, next, at + 1, (from, to, each_total));
            next.leaves += 1;
            next.total += leaf.thickness_nm;
            if next.total > to {
                break;
            }
        }
    }
}

/// How many joints have a shimmed support beside them.
pub(super) fn joints_beside(joints: &[Range<usize>], shimmed: impl Iterator<Item = bool>) -> usize {
    let shimmed: Vec<bool> = shimmed.collect();
    joints.iter().filter(|of| shimmed.get((*of).clone()).is_some_and(|of| of.contains(&true))).count()
}
