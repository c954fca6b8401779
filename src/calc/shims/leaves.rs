//! Leaves in stock, and a table of the totals one stack can have with the fewest leaves for each.

use super::super::exact::gcd;

/// The greatest number of leaf kinds in one stock.
pub(crate) const MOST_KINDS: usize = 16;
/// A single leaf is at most this thick (ten millimetres).
const MOST_THICKNESS_NM: i64 = 10_000_000;
/// A counted stock of one kind holds at most so many leaves.
const MOST_COUNT: u32 = 50_000;
/// The greatest number of totals a table may hold; beyond it the thicknesses have too fine a common measure.
const MOST_TOTALS: i64 = 4_000_000;

/// One kind of leaf.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct LeafKind {
    /// Thickness in nm.
    pub thickness_nm: i64,
    /// How many are in stock; `None`: as many as wanted.
    pub count: Option<u32>,
}

/// Why leaves make no stock, or a table of totals cannot be built.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum StockError {
    /// A thickness is not above 0 and at most ten millimetres.
    #[error("a leaf of {0} nm is no shim")]
    Thickness(i64),
    /// More leaves of one kind than anyone counts.
    #[error("{0} leaves of one kind are more than the planner counts: at most {MOST_COUNT}")]
    Count(u32),
    /// Two kinds have one thickness.
    #[error("two kinds of leaf are {0} nm thick")]
    Repeated(i64),
    /// More than [`MOST_KINDS`] kinds.
    #[error("{0} kinds of leaf are more than the planner takes: at most {MOST_KINDS}")]
    TooMany(usize),
    /// The thicknesses have so small a common measure that too many totals would have to be told apart.
    #[error("leaves with a common measure of {measure_nm} nm make too many totals up to {most_nm} nm")]
    TooFine {
        /// Greatest common divisor of the thicknesses in nm.
        measure_nm: i64,
        /// The greatest total asked for, in nm.
        most_nm: i64,
    },
}

/// Leaves in stock, kinds in the order given.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LeafStock {
    kinds: Vec<LeafKind>,
}

impl LeafStock {
    /// Checks thicknesses and counts; an empty stock is allowed and makes no total but 0.
    pub fn new(kinds: Vec<LeafKind>) -> Result<Self, StockError> {
        if kinds.len() > MOST_KINDS {
            return Err(StockError::TooMany(kinds.len()));
        }
        for (i, kind) in kinds.iter().enumerate() {
            if !(1..=MOST_THICKNESS_NM).contains(&kind.thickness_nm) {
                return Err(StockError::Thickness(kind.thickness_nm));
            }
            if let Some(count) = kind.count
                && count > MOST_COUNT
            {
                return Err(StockError::Count(count));
            }
            if kinds[..i].iter().any(|other| other.thickness_nm == kind.thickness_nm) {
                return Err(StockError::Repeated(kind.thickness_nm));
            }
        }
        Ok(Self { kinds })
    }

    /// The stock with so many leaves more of each kind that is counted.
    pub(super) fn with_more(&self, more: impl Fn(usize) -> u32) -> Self {
        let with = |(at, kind): (usize, &LeafKind)| LeafKind {
            count: kind.count.map(|count| count.saturating_add(more(at)).min(MOST_COUNT)),
            ..*kind
        };
        Self { kinds: self.kinds.iter().enumerate().map(with).collect() }
    }

    /// The same kinds, as many as wanted of each.
    pub(super) fn uncounted(&self) -> Self {
        Self { kinds: self.kinds.iter().map(|kind| LeafKind { count: None, ..*kind }).collect() }
    }

    /// The kinds, in the order given.
    pub fn kinds(&self) -> &[LeafKind] {
        &self.kinds
    }
}

/// The fewest leaves in stock that make exactly this total, as a count for each kind; `None` when none do.
pub(crate) fn fewest_leaves(total_nm: i64, stock: &LeafStock) -> Result<Option<Vec<u32>>, StockError> {
    if total_nm < 0 {
        return Ok(None);
    }
    let table = LeafTable::new(stock, &vec![true; stock.kinds.len()], total_nm)?;
    Ok(table.rank_of(total_nm).map(|rank| table.leaves(rank)))
}

/// All totals that one stack of the chosen kinds can have up to a greatest one, each with its fewest leaves.
#[derive(Debug)]
pub(super) struct LeafTable {
    /// Attainable totals in nm with their fewest leaves, ascending; the first is 0.
    totals: Vec<(i64, u32)>,
    /// Over `totals`: the rank with the fewest leaves of every node's stretch, the first of equals.
    tree: Vec<u32>,
    /// How many leaves of each chosen kind end the best stack of a grid point, counting only kinds up to that one.
    used: Vec<(usize, Vec<u32>)>,
    thickness: Vec<i64>,
    measure: i64,
}

const NEVER: u32 = u32::MAX;

impl LeafTable {
    /// Builds the table for the kinds marked in `chosen`, each limited by its own count.
    pub(super) fn new(stock: &LeafStock, chosen: &[bool], most_nm: i64) -> Result<Self, StockError> {
        let thickness: Vec<i64> = stock.kinds.iter().map(|kind| kind.thickness_nm).collect();
        let kinds: Vec<usize> = (0..thickness.len()).filter(|&k| chosen[k]).collect();
        let common = kinds.iter().fold(0, |common, &k| gcd(common, thickness[k].unsigned_abs().into()));
        let measure = i64::try_from(common).unwrap_or(i64::MAX).max(1);
        let most_nm = most_nm.max(0);
        let points = if kinds.is_empty() { 0 } else { most_nm / measure };
        if points > MOST_TOTALS {
            return Err(StockError::TooFine { measure_nm: measure, most_nm });
        }
        let points = usize::try_from(points).unwrap_or(0) + 1;
        let mut fewest = vec![NEVER; points];
        fewest[0] = 0;
        let mut used = Vec::new();
        for k in kinds {
            let step = usize::try_from(thickness[k] / measure).unwrap_or(usize::MAX);
            let count = stock.kinds[k].count.map_or(usize::MAX, |count| count as usize);
            used.push((k, add_kind(&mut fewest, step, count)));
        }
        let totals: Vec<(i64, u32)> =
            (0..).zip(&fewest).filter(|&(_, &n)| n != NEVER).map(|(x, &n)| (x * measure, n)).collect();
        let tree = build_tree(&totals);
        Ok(Self { totals, tree, used, thickness, measure })
    }

    /// The greatest common divisor of the thicknesses in nm, which divides every total.
    pub(super) fn measure(&self) -> i64 {
        self.measure
    }

    /// Attainable totals with their fewest leaves, ascending.
    pub(super) fn totals(&self) -> &[(i64, u32)] {
        &self.totals
    }

    /// The ranks of the totals within `from_nm ..= to_nm`.
    pub(super) fn ranks(&self, from_nm: i64, to_nm: i64) -> (usize, usize) {
        (self.totals.partition_point(|t| t.0 < from_nm), self.totals.partition_point(|t| t.0 <= to_nm))
    }

    /// The rank of a total that can be had exactly.
    pub(super) fn rank_of(&self, total_nm: i64) -> Option<usize> {
        self.totals.binary_search_by_key(&total_nm, |t| t.0).ok()
    }

    /// The rank within `from .. to` with the fewest leaves, the thinnest of equals.
    pub(super) fn best(&self, from: usize, to: usize) -> Option<usize> {
        if from >= to {
            return None;
        }
        let size = self.tree.len() / 2;
        let (mut left, mut right) = (from + size, to + size);
        let (mut best_left, mut best_right) = (NEVER, NEVER);
        while left < right {
            if left % 2 == 1 {
                best_left = better(&self.totals, best_left, self.tree[left]);
                left += 1;
            }
            if right % 2 == 1 {
                right -= 1;
                best_right = better(&self.totals, self.tree[right], best_right);
            }
            left /= 2;
            right /= 2;
        }
        usize::try_from(better(&self.totals, best_left, best_right)).ok()
    }

    /// A stack with the fewest leaves for the total of this rank, as a count for each kind in stock.
    pub(super) fn leaves(&self, rank: usize) -> Vec<u32> {
        let mut counts = vec![0; self.thickness.len()];
        let mut rest = self.totals[rank].0;
        for (k, used) in self.used.iter().rev() {
            let point = usize::try_from(rest / self.measure).unwrap_or(0);
            counts[*k] = used[point];
            rest -= i64::from(used[point]) * self.thickness[*k];
        }
        counts
    }
}

/// Lets every total use up to `count` leaves of `step` more; returns how many each total uses.
///
/// On the totals of one remainder, using j − i leaves from total i to total j costs j − i: the least of
/// `fewest[i] − i` over the last `count` totals, which a queue of rising candidates keeps at its front.
fn add_kind(fewest: &mut [u32], step: usize, count: usize) -> Vec<u32> {
    let mut used = vec![0; fewest.len()];
    let mut queue: std::collections::VecDeque<(usize, i64)> = std::collections::VecDeque::new();
    for remainder in 0..step.min(fewest.len()) {
        queue.clear();
        for (j, point) in (remainder..fewest.len()).step_by(step).enumerate() {
            let along = i64::try_from(j).unwrap_or(i64::MAX);
            if fewest[point] != NEVER {
                let value = i64::from(fewest[point]) - along;
                while queue.back().is_some_and(|&(_, last)| last >= value) {
                    queue.pop_back();
                }
                queue.push_back((j, value));
            }
            while queue.front().is_some_and(|&(i, _)| j - i > count) {
                queue.pop_front();
            }
            if let Some(&(i, value)) = queue.front() {
                fewest[point] = u32::try_from(value + along).unwrap_or(NEVER);
                used[point] = u32::try_from(j - i).unwrap_or(0);
            }
        }
    }
    used
}

fn build_tree(totals: &[(i64, u32)]) -> Vec<u32> {
    let size = totals.len();
    let mut tree = vec![NEVER; 2 * size];
    for (leaf, rank) in tree[size..].iter_mut().zip(0..) {
        *leaf = rank;
    }
    for node in (1..size).rev() {
        tree[node] = better(totals, tree[2 * node], tree[2 * node + 1]);
    }
    tree
}

/// The rank with fewer leaves, the lower one of equals; [`NEVER`] is no rank.
fn better(totals: &[(i64, u32)], a: u32, b: u32) -> u32 {
    let leaves = |rank: u32| totals.get(rank as usize).map_or((NEVER, NEVER), |t| (t.1, rank));
    if leaves(a) <= leaves(b) { a } else { b }
}
