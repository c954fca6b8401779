//! Which bars the segments of a layout come from: some are whole bars, the others are cut in the cheapest way.
//!
//! The model of cutting: a piece comes from one bar; a bar may give several pieces, at most one of which keeps its
//! near end and at most one its far end; the blade takes one kerf between two pieces.

use std::collections::BTreeSet;

use super::meter::{BudgetError, Meter};
use super::pieces::{KeptEnd, PieceKind, place_on_bar};
use super::task::{Bar, ProfileSpec};

/// One segment, and all that it may be made of.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) struct PackItem {
    pub length: i64,
    /// Bars of the stock that it may be as they are.
    pub whole: Vec<usize>,
    /// Kinds of pieces that it may be.
    pub pieces: Vec<u32>,
}

/// A piece on a bar: the item it is for, its kind, and where it starts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct PlacedPiece {
    pub item: usize,
    pub piece: u32,
    pub start: i64,
}

/// A bar that is cut, and the pieces on it from its near end to its far end.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct PackedBar {
    pub bar: usize,
    pub pieces: Vec<PlacedPiece>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Packing {
    /// Length of all bars taken.
    pub length: i64,
    /// Items that are whole bars, with the bar.
    pub whole: Vec<(usize, usize)>,
    pub cut: Vec<PackedBar>,
}

/// What is looked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum PackingGoal {
    /// Any way in which the bars suffice.
    Any,
    /// The least length of bars.
    Least,
}

/// The packing found, and the least length of bars that is not ruled out.
#[derive(Clone, Debug)]
pub(super) struct PackingAnswer {
    pub best: Option<Packing>,
    pub at_least: i64,
    /// Whether the budget sufficed. If so and there is no `best`, the bars do not suffice.
    pub done: bool,
}

/// Makes the items from bars, of which `room` says how many there are.
pub(super) fn pack(
    spec: &ProfileSpec,
    list: &[PieceKind],
    items: &[PackItem],
    room: &[u32],
    goal: PackingGoal,
    meter: &mut Meter,
) -> PackingAnswer {
    let mut order: Vec<usize> = (0..items.len()).collect();
    order.sort_by(|&a, &b| items[b].length.cmp(&items[a].length).then_with(|| items[a].cmp(&items[b])));
    let total: i64 = items.iter().map(|item| item.length).sum();
    // Any way will do as soon as there is one: how little suffices need not be known.
    let least = match goal {
        PackingGoal::Any => (all_bars(spec, room) >= total).then_some(total),
        PackingGoal::Least => least_bars(spec, room, total),
    };
    let Some(least) = least else { return PackingAnswer { best: None, at_least: i64::MAX, done: true } };
    let packing = Packing { length: 0, whole: Vec::new(), cut: Vec::new() };
    let enough = if goal == PackingGoal::Any { i64::MAX } else { least };
    let room = room.to_vec();
    let mut packer = Packer { spec, list, items, order: &order, room, packing, best: None, enough, meter };
    let done = packer.next(0, total, 0).is_ok();
    let best = packer.best;
    let at_least = match &best {
        Some(best) if done => best.length,
        _ => least,
    };
    PackingAnswer { best, at_least, done }
}

/// More sums than this are not told apart, nor are more added up for one kind of bar, equal ones among them.
const MOST_SUMS: usize = 20_000;
const MOST_ADDED: usize = 1_000_000;

/// The length of all bars together.
fn all_bars(spec: &ProfileSpec, room: &[u32]) -> i64 {
    let of_kind = |(bar, &count): (&Bar, &u32)| bar.length.saturating_mul(i64::from(count));
    spec.stock.iter().zip(room).map(of_kind).fold(0, i64::saturating_add)
}

/// The least length of bars that is `total` or more; `None` when all of them together are less.
pub(super) fn least_bars(spec: &ProfileSpec, room: &[u32], total: i64) -> Option<i64> {
    let mut sums = vec![0_i64];
    let mut least = if total <= 0 { Some(0) } else { None };
    for (bar, &count) in spec.stock.iter().zip(room) {
        let wanted = u32::try_from(total.div_euclid(bar.length) + 1).unwrap_or(u32::MAX);
        let count = count.min(wanted);
        let mut more = sums.clone();
        for &sum in &sums {
            for sum in (1..=i64::from(count)).map(|n| sum + n * bar.length) {
                if sum >= total {
                    least = Some(least.map_or(sum, |least: i64| least.min(sum)));
                    break;
                }
                more.push(sum);
            }
            if more.len() > MOST_ADDED {
                break;
            }
        }
        let all = more.len() <= MOST_ADDED;
        more.sort_unstable();
        more.dedup();
        if !all || more.len() > MOST_SUMS {
            return (all_bars(spec, room) >= total).then_some(total);
        }
        sums = more;
    }
    least
}

/// Branch and bound over which bar each item comes from, long items first.
struct Packer<'a> {
    spec: &'a ProfileSpec,
    list: &'a [PieceKind],
    items: &'a [PackItem],
    order: &'a [usize],
    room: Vec<u32>,
    packing: Packing,
    best: Option<Packing>,
    /// A packing no longer than this needs no better one.
    enough: i64,
    meter: &'a mut Meter,
}

impl Packer<'_> {
    /// Packs the items from `index` on, `left` long together. Of equal items a later one takes no earlier choice than
    /// `from`: whole bars first, then cut bars in the order in which they were begun.
    fn next(&mut self, index: usize, left: i64, from: usize) -> Result<(), BudgetError> {
        self.meter.step()?;
        if self.settled() || self.hopeless(left) {
            return Ok(());
        }
        let Some(&item) = self.order.get(index) else {
            self.best = Some(self.packing.clone());
            return Ok(());
        };
        let items = self.items;
        let of = &items[item];
        let from = if index > 0 && items[self.order[index - 1]] == *of { from } else { 0 };
        let left = left - of.length;
        for &bar in of.whole.iter().filter(|&&bar| bar >= from) {
            if self.room[bar] == 0 {
                continue;
            }
            self.room[bar] -= 1;
            self.packing.length += of.length;
            self.packing.whole.push((item, bar));
            let rest = self.next(index + 1, left, bar);
            self.packing.whole.pop();
            self.packing.length -= of.length;
            self.room[bar] += 1;
            rest?;
            if self.settled() {
                return Ok(());
            }
        }
        if of.pieces.is_empty() {
            return Ok(());
        }
        self.on_open_bars(index, item, left, from)?;
        self.on_new_bars(index, item, left)
    }

    fn on_open_bars(&mut self, index: usize, item: usize, left: i64, from: usize) -> Result<(), BudgetError> {
        let kinds = self.spec.stock.len();
        let mut seen = BTreeSet::new();
        let free = |packer: &Self, i: usize| packer.free(&packer.packing.cut[i]);
        let mut bars: Vec<usize> = (0..self.packing.cut.len()).filter(|i| kinds + i >= from).collect();
        bars.sort_by_key(|&i| free(self, i));
        for i in bars {
            if self.settled() {
                return Ok(());
            }
            let open = &self.packing.cut[i];
            let mut together: Vec<usize> = open.pieces.iter().map(|placed| placed.item).collect();
            together.push(item);
            let mut alike: Vec<&PackItem> = together.iter().map(|&item| &self.items[item]).collect();
            alike.sort_unstable();
            if !seen.insert((open.bar, alike)) {
                continue;
            }
            if let Some(places) = self.arrange(open.bar, together)? {
                let before = std::mem::replace(&mut self.packing.cut[i].pieces, places);
                let rest = self.next(index + 1, left, kinds + i);
                self.packing.cut[i].pieces = before;
                rest?;
            }
        }
        Ok(())
    }

    fn on_new_bars(&mut self, index: usize, item: usize, left: i64) -> Result<(), BudgetError> {
        let mut bars: Vec<usize> = (0..self.spec.stock.len()).filter(|&bar| self.room[bar] > 0).collect();
        bars.sort_by_key(|&bar| (self.spec.stock[bar].length, bar));
        for bar in bars {
            if self.settled() {
                return Ok(());
            }
            if let Some(pieces) = self.arrange(bar, vec![item])? {
                let length = self.spec.stock[bar].length;
                self.room[bar] -= 1;
                self.packing.length += length;
                self.packing.cut.push(PackedBar { bar, pieces });
                let rest = self.next(index + 1, left, self.spec.stock.len() + self.packing.cut.len() - 1);
                self.packing.cut.pop();
                self.packing.length -= length;
                self.room[bar] += 1;
                rest?;
            }
        }
        Ok(())
    }

    fn settled(&self) -> bool {
        self.best.as_ref().is_some_and(|best| best.length <= self.enough)
    }

    /// Whether what is left cannot be packed, or not better than the best so far.
    fn hopeless(&self, left: i64) -> bool {
        let free: i64 = self.packing.cut.iter().map(|open| self.free(open)).sum();
        let wanted = (left - free).max(0);
        let bars = self.spec.stock.iter().zip(&self.room);
        let there = bars.fold(0_i64, |sum, (bar, &count)| sum.saturating_add(bar.length.saturating_mul(count.into())));
        let better = |best: &Packing| self.packing.length.saturating_add(wanted) < best.length;
        there < wanted || !self.best.as_ref().is_none_or(better)
    }

    /// Length left on a bar once one more cut is made.
    fn free(&self, open: &PackedBar) -> i64 {
        let kerf = self.spec.cutting.map_or(0, |cutting| cutting.kerf);
        let used: i64 = open.pieces.iter().map(|placed| self.items[placed.item].length + kerf).sum();
        (self.spec.stock[open.bar].length - used).max(0)
    }

    /// Places the items on one bar, in whatever order works.
    fn arrange(&mut self, bar: usize, items: Vec<usize>) -> Result<Option<Vec<PlacedPiece>>, BudgetError> {
        let kerf = self.spec.cutting.map_or(0, |cutting| cutting.kerf);
        let total: i64 = items.iter().map(|&item| self.items[item].length + kerf).sum();
        if total - kerf > self.spec.stock[bar].length {
            return Ok(None);
        }
        let mut places = Vec::new();
        Ok(self.arrange_from(bar, &mut items.clone(), 0, &mut places)?.then_some(places))
    }

    fn arrange_from(
        &mut self,
        bar: usize,
        rest: &mut Vec<usize>,
        free: i64,
        places: &mut Vec<PlacedPiece>,
    ) -> Result<bool, BudgetError> {
        if rest.is_empty() {
            return Ok(true);
        }
        self.meter.step()?;
        let kerf = self.spec.cutting.map_or(0, |cutting| cutting.kerf);
        let items = self.items;
        for i in 0..rest.len() {
            let item = rest[i];
            if rest[..i].iter().any(|&before| items[before] == items[item]) {
                continue;
            }
            for &piece in &items[item].pieces {
                let kind = &self.list[piece as usize];
                // The piece at the far end comes last.
                if kind.form == KeptEnd::Far && rest.len() > 1 {
                    continue;
                }
                let Some(start) = place_on_bar(kind, self.spec, &self.spec.stock[bar], free) else { continue };
                rest.remove(i);
                places.push(PlacedPiece { item, piece, start });
                if self.arrange_from(bar, rest, start + kind.length + kerf, places)? {
                    return Ok(true);
                }
                places.pop();
                rest.insert(i, item);
            }
        }
        Ok(false)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calc::tests::layout::random::Dice;

    /// Against a plain table of all lengths that the bars make up, a bar at a time. Eighty bars of four kinds make up the same
    /// lengths in very many ways.
    #[test]
    fn the_least_length_of_bars_is_that_of_a_plain_table() {
        let mut dice = Dice::new(7);
        for case in 0..60 {
            let kinds = dice.roll(1, 4) as usize;
            let mut lengths: Vec<i64> = (0..kinds).map(|_| dice.roll(20, 60)).collect();
            let mut room: Vec<u32> = (0..kinds).map(|_| dice.roll(0, 25) as u32).collect();
            if case == 0 {
                // Four rails of 2668 together were said to be too long for these.
                (lengths, room) = (vec![24, 50, 45, 48], vec![19, 20, 19, 22]);
            }
            let bar = |&length: &i64| Bar { length, near: 1, far: 1, count: None };
            let stock = lengths.iter().map(bar).collect();
            let (pattern_tolerance, least_segment, least_end, most_end) = (0, 0, 0, None);
            let cutting = None;
            let spec = ProfileSpec { pitch: 1, pattern_tolerance, stock, cutting, least_segment, least_end, most_end };
            let all: i64 = lengths.iter().zip(&room).map(|(length, count)| length * i64::from(*count)).sum();
            let mut made = vec![false; all as usize + 1];
            made[0] = true;
            for (&length, &count) in lengths.iter().zip(&room) {
                for _ in 0..count {
                    for sum in (length as usize..made.len()).rev() {
                        made[sum] |= made[sum - length as usize];
                    }
                }
            }
            for total in [2668, dice.roll(0, all), dice.roll(0, all), all, all + 1] {
                let least = (total..=all).find(|sum| made[*sum as usize]);
                assert_eq!(least_bars(&spec, &room, total), least, "{lengths:?} {room:?} {total}");
            }
        }
    }
}
