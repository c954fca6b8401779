//! Supports that compete for leaves which run short: the best choice for all of them together.
//!
//! Supports are taken one after the other, keeping for each amount of scarce leaves used so far the cheapest way
//! (dynamic programming). A way is dropped when even the most favourable rest cannot beat the best plan known. That
//! favourable rest prices each scarce leaf instead of counting it, which is a lower bound whatever the prices are
//! (Lagrange). Prices and costs are whole numbers, so the bound is exact. A second set of prices, with no costs
//! beside them, shows that the leaves cannot suffice (Farkas). Passes that keep only the most promising ways come first, for
//! a good plan to beat; the answer is proven once a pass dropped nothing but what cannot win.

use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hasher};

use super::effort::ShimEffort;
use super::leaves::MOST_KINDS;

/// Ways kept at once in the first and the last pass.
const WIDTHS: [usize; 4] = [64, 1_024, 16_384, 131_072];

/// The order in which plans compare.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Cost {
    /// Joints to be inspected again, where these are counted.
    pub(super) joints: u64,
    pub(super) shimmed: u64,
    pub(super) leaves: u64,
    pub(super) total: i64,
}

/// One way to serve one support: scarce leaves used, and the rest from the table of free ones.
#[derive(Debug, Clone, Copy)]
pub(super) struct Choice {
    pub(super) scarce: [u16; MOST_KINDS],
    /// The rank among the totals of the free kinds; nothing where the support is left as it is.
    pub(super) free_rank: Option<u32>,
    /// Of what is put in.
    pub(super) leaves: i64,
    pub(super) total: i64,
    /// The total that then lies there.
    pub(super) there: i64,
}

/// What ties supports to each other beside the leaves. Where anything does, groups stand in the order of the supports.
#[derive(Default)]
pub(super) struct SupportTies<'a> {
    /// For each group but the last which of its choices go with which of the next one's; nothing where all do.
    pub(super) allowed: Vec<Option<Vec<Vec<bool>>>>,
    /// Joints that are inspected again once one of these groups is shimmed.
    pub(super) joints: &'a [std::ops::Range<usize>],
}

impl SupportTies<'_> {
    fn next_allowed(&self, group: usize) -> Option<&Vec<Vec<bool>>> {
        self.allowed.get(group)?.as_ref()
    }

    /// How many joints must be inspected again for the first time once a group is shimmed, the last one before it being
    /// `last`.
    fn more_joints(&self, group: usize, last: Option<u32>) -> i128 {
        let new =
            |of: &&std::ops::Range<usize>| of.contains(&group) && last.is_none_or(|last| (last as usize) < of.start);
        self.joints.iter().filter(new).count() as i128
    }

    /// Whether any joint of a group has one behind `group` beside it too.
    fn matters_behind(&self, last: u32, group: usize) -> bool {
        self.joints.iter().any(|of| of.contains(&(last as usize)) && of.end > group + 1)
    }
}

/// Supports in a row, each with its choices, and the counts of the scarce kinds.
pub(super) struct Race<'a> {
    groups: &'a [&'a [Choice]],
    counts: &'a [u32],
    ties: &'a SupportTies<'a>,
    /// One leaf as a total: more than all totals together, so that one number compares leaves first.
    heavy: i128,
    /// Likewise one shimmed support as leaves, and one joint as supports.
    support: i128,
    joint: i128,
    /// All costs are multiples of this, so a better way is better by as much.
    measure: i128,
    fields: Fields,
}

/// What came of a race.
pub(super) struct RaceOutcome {
    /// The choice of every support in the best way below the limit.
    pub(super) picked: Option<Vec<u32>>,
    /// Nothing was dropped that could have won.
    pub(super) complete: bool,
}

/// Amounts of all scarce kinds side by side in one number, each with a spare bit that tells when a count is exceeded.
#[derive(Debug, Clone)]
struct Fields {
    shifts: Vec<u32>,
    /// Every count, with the spare bits set; `None` when the counts do not fit side by side.
    capacity: Option<u128>,
    spare: u128,
}

impl Fields {
    fn new(counts: &[u32]) -> Self {
        let (mut shifts, mut at, mut capacity, mut spare) = (vec![], 0, 0_u128, 0_u128);
        for &count in counts {
            let bits = u32::BITS - count.leading_zeros() + 1;
            if at + bits > u128::BITS {
                return Self { shifts, capacity: None, spare };
            }
            shifts.push(at);
            capacity |= u128::from(count) << at;
            spare |= 1 << (at + bits - 1);
            at += bits;
        }
        Self { shifts, capacity: Some(capacity | spare), spare }
    }

    /// The amounts as one number; `None` when one is beyond its count.
    fn pack(&self, scarce: &[u32], counts: &[u32]) -> Option<u128> {
        let mut packed = 0;
        for ((&n, &count), &shift) in scarce.iter().zip(counts).zip(&self.shifts) {
            if n > count {
                return None;
            }
            packed |= u128::from(n) << shift;
        }
        Some(packed)
    }
}

/// One way to serve the supports so far.
#[derive(Clone, Copy)]
struct PartialChoice {
    scarce: u128,
    cost: i128,
    /// The cost with scarce leaves priced.
    priced: i128,
    /// Scarce leaves at the prices that show a shortage.
    short: i128,
    parent: u32,
    choice: u32,
    /// The last support that is shimmed, while joints that it is beside have others behind.
    last: Option<u32>,
}

/// Prices, what each choice costs at them, and what the supports from each one on cost at least.
struct Priced {
    choices: Vec<Vec<i128>>,
    rest: Vec<i128>,
    /// What the stock is worth.
    stock: i128,
}

impl<'a> Race<'a> {
    /// `measure` divides every thickness.
    pub(super) fn new(groups: &'a [&'a [Choice]], counts: &'a [u32], measure: i64, ties: &'a SupportTies<'a>) -> Self {
        let measure = i128::from(measure.max(1));
        let most = |of: fn(&Choice) -> i64| -> i128 {
            groups.iter().map(|choices| i128::from(choices.iter().map(of).max().unwrap_or(0))).sum()
        };
        let heavy = measure + most(|choice| choice.total);
        let support = heavy * (1 + most(|choice| choice.leaves));
        let joint = support * (1 + groups.len() as i128);
        Self { groups, counts, ties, heavy, support, joint, measure, fields: Fields::new(counts) }
    }

    /// What costs less than `limit` and no other way costs less than this number; each part is below the next one's unit.
    fn below(&self, limit: Cost) -> i128 {
        let (mut below, mut full) = (i128::from(limit.joints) * self.joint, false);
        let parts = [
            (limit.shimmed.into(), self.support, self.joint),
            (limit.leaves.into(), self.heavy, self.support),
            (limit.total.into(), 1, self.heavy),
        ];
        for (many, unit, above) in parts {
            let part = i128::saturating_mul(many, unit);
            if !full {
                below += part.min(above);
            }
            full |= part >= above;
        }
        below
    }

    /// The best way that costs less than `limit`. Starts from `prices` (for the bound) and `shortage` (to show one), and
    /// leaves better ones there.
    pub(super) fn run(
        &self,
        limit: Option<Cost>,
        prices: &mut Vec<i128>,
        shortage: &mut Vec<i128>,
        effort: &mut ShimEffort,
    ) -> RaceOutcome {
        let nothing = RaceOutcome { picked: None, complete: true };
        let mut bound = limit.map_or(self.ceiling(), |limit| self.below(limit).min(self.ceiling()));
        let enough = bound - self.measure + 1;
        if self.bound(shortage, false).0 > 0 || self.bound(prices, true).0 >= enough {
            return nothing;
        }
        if self.climb(shortage, false, 1) > 0 || self.climb(prices, true, enough) >= enough {
            return nothing;
        }
        let priced = self.price(prices, true);
        let short = self.price(shortage, false);
        // One target must not use up what others need.
        let allowed = effort.share();
        let mut picked = None;
        for width in WIDTHS {
            let pass = self.pass(&priced, &short, width, bound, (effort, allowed));
            if let Some((cost, found)) = pass.found {
                (bound, picked) = (cost, Some(found));
            }
            if pass.complete {
                return RaceOutcome { picked, complete: true };
            }
        }
        RaceOutcome { picked, complete: false }
    }

    fn cost(&self, choice: &Choice) -> i128 {
        let shimmed = if choice.free_rank.is_some() { self.support } else { 0 };
        shimmed + i128::from(choice.leaves) * self.heavy + i128::from(choice.total)
    }

    /// Above the cost of any way at all: a bound when no plan is known yet, and a price that no leaf is worth.
    fn ceiling(&self) -> i128 {
        let dearest = |choices: &&[Choice]| choices.iter().map(|c| self.cost(c)).max().unwrap_or(0);
        let joints = self.joint * self.ties.joints.len() as i128;
        self.measure + joints + self.groups.iter().map(dearest).sum::<i128>()
    }

    fn priced(&self, choice: &Choice, prices: &[i128], with_cost: bool) -> i128 {
        let scarce = prices.iter().zip(&choice.scarce).map(|(p, &n)| p * i128::from(n)).sum::<i128>();
        if with_cost { self.cost(choice) + scarce } else { scarce }
    }

    fn stock_at(&self, prices: &[i128]) -> i128 {
        prices.iter().zip(self.counts).map(|(p, &n)| p * i128::from(n)).sum()
    }

    /// The lower bound at these prices, and by how much the supports then ask for more of each kind than there is.
    fn bound(&self, prices: &[i128], with_cost: bool) -> (i128, Vec<i64>) {
        let mut least = -self.stock_at(prices);
        let mut asked: Vec<i64> = self.counts.iter().map(|&n| -i64::from(n)).collect();
        for choices in self.groups {
            let best = choices.iter().map(|c| (self.priced(c, prices, with_cost), c)).min_by_key(|(priced, _)| *priced);
            if let Some((priced, choice)) = best {
                least += priced;
                asked.iter_mut().zip(&choice.scarce).for_each(|(asked, &n)| *asked += i64::from(n));
            }
        }
        (least, asked)
    }

    /// Better prices: a higher lower bound, along what the supports ask for too much of, in shrinking steps, until it is
    /// `enough`. Without costs only the proportions of prices matter, and a bound above 0 proves a shortage.
    fn climb(&self, prices: &mut Vec<i128>, with_cost: bool, enough: i128) -> i128 {
        let unit = if with_cost { self.heavy as f64 } else { 1e6 };
        let mut trial: Vec<f64> = prices.iter().map(|&p| p as f64 / unit).collect();
        let (mut best, mut size, mut since) = (i128::MIN, if with_cost { 2.0 } else { 0.5 }, 0);
        for _ in 0..300 {
            let largest = trial.iter().copied().fold(0.0, f64::max);
            if !with_cost && largest > 0.0 {
                trial.iter_mut().for_each(|p| *p /= largest);
            }
            let whole: Vec<i128> = trial.iter().map(|p| (p * unit) as i128).collect();
            let (bound, asked) = self.bound(&whole, with_cost);
            if bound > best && (with_cost || largest > 0.0) {
                (best, since) = (bound, 0);
                *prices = whole;
                if best >= enough {
                    break;
                }
            } else {
                since += 1;
                if since >= 8 {
                    // Overshooting: go on from the best prices with smaller steps.
                    (size, since) = (size * 0.6, 0);
                    trial = prices.iter().map(|&p| p as f64 / unit).collect();
                    if size < 1e-5 {
                        break;
                    }
                }
            }
            step(&mut trial, &asked, size);
        }
        best
    }

    fn price(&self, prices: &[i128], with_cost: bool) -> Priced {
        let of = |choices: &&[Choice]| choices.iter().map(|c| self.priced(c, prices, with_cost)).collect::<Vec<_>>();
        let choices: Vec<Vec<i128>> = self.groups.iter().map(of).collect();
        let mut rest = vec![0; choices.len() + 1];
        for (i, priced) in choices.iter().enumerate().rev() {
            rest[i] = rest[i + 1] + priced.iter().copied().min().unwrap_or(0);
        }
        Priced { choices, rest, stock: self.stock_at(prices) }
    }

    /// For every support and the ones after it, the least they take of each scarce kind, packed; `None` when that is
    /// more than there is.
    fn reserves(&self) -> Option<Vec<u128>> {
        let mut sums = vec![0_u32; self.counts.len()];
        let mut reserves = vec![0; self.groups.len() + 1];
        for (i, choices) in self.groups.iter().enumerate().rev() {
            for (k, sum) in sums.iter_mut().enumerate() {
                *sum = sum.saturating_add(choices.iter().map(|c| c.scarce[k].into()).min().unwrap_or(0));
            }
            reserves[i] = self.fields.pack(&sums, self.counts)?;
        }
        Some(reserves)
    }

    /// One pass along the supports that keeps at most `width` ways at once.
    fn pass(
        &self,
        priced: &Priced,
        short: &Priced,
        width: usize,
        bound: i128,
        (effort, allowed): (&mut ShimEffort, u64),
    ) -> Pass {
        let Some(capacity) = self.fields.capacity else { return Pass { found: None, complete: false } };
        let Some(reserves) = self.reserves() else { return Pass { found: None, complete: true } };
        let mut complete = true;
        let nothing = PartialChoice { scarce: 0, cost: 0, priced: 0, short: 0, parent: 0, choice: 0, last: None };
        let mut ways = vec![nothing];
        let mut trail: Vec<Vec<(u32, u32)>> = Vec::with_capacity(self.groups.len());
        for (i, choices) in self.groups.iter().enumerate() {
            // Cheapest first, so that the rest can be left out once one is too dear.
            let mut order: Vec<usize> = (0..choices.len()).collect();
            order.sort_by_key(|&c| (priced.choices[i][c], c));
            let too_dear = bound - self.measure + 1 + priced.stock - priced.rest[i + 1];
            let too_short = short.stock - short.rest[i + 1];
            let packed: Vec<Option<u128>> = choices.iter().map(|c| self.pack(c)).collect();
            let mut next: Vec<PartialChoice> = Vec::new();
            let mut place: HashMap<(u128, u32, u32), usize, BuildHasherDefault<AmountHasher>> = HashMap::default();
            let together = i.checked_sub(1).and_then(|before| self.ties.next_allowed(before));
            let coupled = self.ties.next_allowed(i).is_some();
            for (parent, way) in (0..).zip(&ways) {
                if effort.over() || effort.steps() > allowed {
                    return Pass { found: None, complete: false };
                }
                for &c in &order {
                    effort.spend(1);
                    let put_in = choices[c].free_rank.is_some();
                    let joints = if put_in { self.joint * self.ties.more_joints(i, way.last) } else { 0 };
                    let last = if put_in { u32::try_from(i).ok() } else { way.last };
                    let new = PartialChoice {
                        scarce: 0,
                        cost: way.cost + self.cost(&choices[c]) + joints,
                        priced: way.priced + priced.choices[i][c] + joints,
                        short: way.short + short.choices[i][c],
                        parent,
                        choice: u32::try_from(c).unwrap_or(u32::MAX),
                        last: last.filter(|last| self.ties.matters_behind(*last, i)),
                    };
                    if new.priced - joints >= too_dear {
                        break;
                    }
                    if new.priced >= too_dear || together.is_some_and(|together| !together[way.choice as usize][c]) {
                        continue;
                    }
                    let Some(taken) = packed[c] else { continue };
                    let scarce = way.scarce + taken;
                    let spare = self.fields.spare;
                    // Amounts so far keep within their counts, so a sum never runs into its spare bit's neighbour.
                    if new.short > too_short
                        || (capacity - scarce) & spare != spare
                        || (capacity - scarce - reserves[i + 1]) & spare != spare
                    {
                        continue;
                    }
                    let new = PartialChoice { scarce, ..new };
                    let from_here = if coupled { new.choice } else { u32::MAX };
                    match place.entry((scarce, from_here, new.last.unwrap_or(u32::MAX))) {
                        std::collections::hash_map::Entry::Vacant(free) => {
                            free.insert(next.len());
                            next.push(new);
                        }
                        std::collections::hash_map::Entry::Occupied(taken) => {
                            let old = &mut next[*taken.get()];
                            if new.cost < old.cost {
                                *old = new;
                            }
                        }
                    }
                }
            }
            if next.len() > width {
                complete = false;
                next.sort_by_key(|way| (way.priced, way.scarce));
                next.truncate(width);
            }
            trail.push(next.iter().map(|way| (way.parent, way.choice)).collect());
            ways = next;
        }
        let winner = (0_u32..).zip(&ways).min_by_key(|(_, way)| (way.cost, way.scarce));
        let found = winner.filter(|(_, way)| way.cost < bound).map(|(index, way)| (way.cost, walk_back(&trail, index)));
        Pass { found, complete }
    }

    fn pack(&self, choice: &Choice) -> Option<u128> {
        let scarce: Vec<u32> = choice.scarce[..self.counts.len()].iter().map(|&n| n.into()).collect();
        self.fields.pack(&scarce, self.counts)
    }
}

struct Pass {
    /// Cost and the choice of every support, when a way was found below the bound.
    found: Option<(i128, Vec<u32>)>,
    /// Nothing was dropped that could have won.
    complete: bool,
}

/// Goes a step of this length along a direction, staying at or above 0.
fn step(prices: &mut [f64], direction: &[i64], size: f64) {
    let length = direction.iter().map(|&d| (d as f64) * (d as f64)).sum::<f64>().sqrt();
    if length > 0.0 {
        prices.iter_mut().zip(direction).for_each(|(p, &d)| *p = (*p + size * d as f64 / length).max(0.0));
    }
}

/// The choice of every support along the way that ends at `index`.
fn walk_back(trail: &[Vec<(u32, u32)>], mut index: u32) -> Vec<u32> {
    let mut picked: Vec<u32> = Vec::with_capacity(trail.len());
    for stage in trail.iter().rev() {
        let (parent, choice) = stage[index as usize];
        picked.push(choice);
        index = parent;
    }
    picked.reverse();
    picked
}

/// Hashes one packed number; order never depends on it, only the speed of finding equal amounts.
#[derive(Default)]
struct AmountHasher(u64);

impl Hasher for AmountHasher {
    fn finish(&self) -> u64 {
        self.0
    }

    fn write(&mut self, bytes: &[u8]) {
        for chunk in bytes.chunks(8) {
            let mut word = [0; 8];
            word[..chunk.len()].copy_from_slice(chunk);
            self.0 = (self.0.rotate_left(29) ^ u64::from_le_bytes(word)).wrapping_mul(0x9e37_79b9_7f4a_7c15);
        }
        self.0 ^= self.0 >> 32;
    }
}
