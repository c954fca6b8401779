//! Supports and stations in exact numbers, and the windows of readings that are worth trying.
//!
//! Readings are counted from the widest place as it was, a shim adding to them. A window holds all readings of a plan; its
//! upper end may be taken to be one of them, and of windows that begin at the same reading the highest one holds all that
//! the others hold. So only those are tried at whose upper end some station can stand, and above which the next loses one
//! at its lower end.

use super::super::exact::Ratio;
use super::leaves::{LeafStock, LeafTable};
use super::problem::{PresentLeaves, ReadBetween, ShimPlanError, ShimProblem, SupportNeed};

/// More readings that stations can come to have are not told apart.
const MOST_READINGS: usize = 1_000_000;
/// Numbers with greater denominators could overflow.
const GREATEST_DENOMINATOR: i128 = 1_000_000_000_000_000_000_000_000;

/// So many parts of a nanometre times a total of kilometres fit.
const GREATEST_PARTS: i128 = 1_000_000_000_000_000_000_000;

/// One support.
#[derive(Debug, Clone)]
pub(super) struct SupportPlace {
    /// How far it stands below the widest place, with what lies there now.
    pub(super) needed: Ratio,
    /// The same without any shim: the total that would bring it to the widest place.
    pub(super) bare: Ratio,
    /// The total that lies there now, in nm.
    pub(super) there: i64,
    pub(super) most: Option<i64>,
    /// Stations that it alone moves: what each needs now, and the share of the shim there.
    hangers: Vec<(Ratio, Ratio)>,
}

/// A station that two neighbouring supports move: what it needs now, and the share of each one's shim there.
#[derive(Debug, Clone, Copy)]
struct Coupling {
    needed: Ratio,
    shares: [Ratio; 2],
}

/// All that was read along a rail.
#[derive(Debug, Clone)]
pub(super) struct SupportPlaces {
    pub(super) all: Vec<SupportPlace>,
    /// Behind each support the stations that it and the next one move.
    couplings: Vec<Vec<Coupling>>,
    /// What stations need that no support moves.
    fixed: Vec<Ratio>,
    /// Of stations that move by less than the supports beside them: by how much less, and what they would stand above the
    /// others with all supports at the widest place.
    pub(super) lagging: Vec<(Ratio, Ratio)>,
}

/// Readings between two ends, both of which belong to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct ReadingWindow {
    pub(super) low: Ratio,
    pub(super) high: Ratio,
}

/// Readings that stations can come to have, ascending, and the lowest one at which a window may end.
#[derive(Debug)]
pub(super) struct PossibleReadings {
    all: Vec<Ratio>,
    lowest_top: Ratio,
}

/// Which totals of two neighbours bring what stands between them into a window.
pub(super) struct PairsInWindow<'p> {
    places: &'p SupportPlaces,
    support: usize,
    window: ReadingWindow,
    /// For each station the factors of both totals and the bounds of their sum, in whole parts; nothing where these would
    /// be too large.
    whole: Option<Vec<([i128; 2], i128, i128)>>,
}

impl PairsInWindow<'_> {
    pub(super) fn hold(&self, totals: [i64; 2]) -> bool {
        let Some(whole) = &self.whole else { return self.places.between_hold(self.support, totals, &self.window) };
        whole.iter().all(|([one, other], low, high)| {
            let sum = one * i128::from(totals[0]) + other * i128::from(totals[1]);
            *low <= sum && sum <= *high
        })
    }
}

impl ReadingWindow {
    fn holds(&self, reading: Ratio) -> bool {
        self.low <= reading && reading <= self.high
    }
}

fn negative(value: Ratio) -> Ratio {
    Ratio::whole(0).minus(value).unwrap_or(value)
}

/// `more · share − needed`, as it is checked to fit.
fn moved(needed: Ratio, more: [i64; 2], shares: [Ratio; 2]) -> Ratio {
    let by = |at: usize| Ratio::new(i128::from(more[at]) * shares[at].numerator(), shares[at].denominator());
    let reading = by(0).zip(by(1)).and_then(|(one, other)| one.plus(other)?.minus(needed));
    reading.unwrap_or(Ratio::whole(i128::MAX))
}

impl SupportPlace {
    /// What it reads with a shim of this total in all.
    pub(super) fn reading(&self, total: i64) -> Ratio {
        Ratio::whole(total.into()).minus(self.bare).unwrap_or(Ratio::whole(i128::MAX))
    }

    fn readings(&self, total: i64) -> impl Iterator<Item = Ratio> {
        let hanging =
            move |&(needed, share): &(Ratio, Ratio)| moved(needed, [total - self.there, 0], [share, Ratio::whole(0)]);
        std::iter::once(self.reading(total)).chain(self.hangers.iter().map(hanging))
    }

    /// Whether it and what it alone moves may be left as they are.
    pub(super) fn stays(&self, window: &ReadingWindow) -> bool {
        self.readings(self.there).all(|reading| window.holds(reading))
    }

    /// The ranks of the totals that bring it, and what it alone moves, into the window.
    pub(super) fn ranks(&self, table: &LeafTable, window: &ReadingWindow) -> (usize, usize) {
        let totals = table.totals();
        let low = totals.partition_point(|&(total, _)| self.readings(total).any(|reading| reading < window.low));
        let fits = |total: i64| self.most.is_none_or(|most| total <= most);
        let below = |&(total, _): &(i64, u32)| fits(total) && self.readings(total).all(|it| it <= window.high);
        (low, totals.partition_point(below))
    }
}

impl SupportPlaces {
    pub(super) fn new(problem: &ShimProblem, lying: &[PresentLeaves]) -> Result<Self, ShimPlanError> {
        let mut all = places(problem, lying);
        let (mut couplings, mut fixed, mut lagging) = (vec![Vec::new(); all.len()], Vec::new(), Vec::new());
        let too_fine =
            |needed: Ratio| ShimPlanError::BadLength { nm: i64::try_from(needed.floor()).unwrap_or(i64::MAX) };
        for station in &problem.between {
            let mut dens = station.moved_by.iter().map(|(_, share)| share.denominator());
            let den = dens.try_fold(station.needed.denominator(), i128::checked_mul);
            if den.is_none_or(|den| den > GREATEST_DENOMINATOR) {
                return Err(too_fine(station.needed));
            }
            let moving: Vec<_> = station.moved_by.iter().filter(|(_, share)| *share > Ratio::whole(0)).collect();
            let (line, whole) = station.line(problem).ok_or_else(|| too_fine(station.needed))?;
            let rest = Ratio::whole(1).minus(whole).filter(|rest| *rest >= Ratio::whole(0));
            let rest = rest.ok_or_else(|| too_fine(station.needed))?;
            if !moving.is_empty() && rest > Ratio::whole(0) {
                lagging.push((rest, line.minus(station.needed).ok_or_else(|| too_fine(station.needed))?));
            }
            match moving[..] {
                [] => fixed.push(station.needed),
                [&(at, share)] if at < all.len() => all[at].hangers.push((station.needed, share)),
                [&(at, share), &(next, other)] if next == at + 1 && next < all.len() => {
                    couplings[at].push(Coupling { needed: station.needed, shares: [share, other] });
                }
                _ => return Err(too_fine(station.needed)),
            }
        }
        Ok(Self { all, couplings, fixed, lagging })
    }

    /// Whether any station stands between this support and the next one.
    pub(super) fn is_coupled(&self, support: usize) -> bool {
        !self.couplings[support].is_empty()
    }

    /// Whether the stations between a support and the next one lie in the window, with these totals.
    pub(super) fn between_hold(&self, support: usize, totals: [i64; 2], window: &ReadingWindow) -> bool {
        self.between(support, totals).all(|reading| window.holds(reading))
    }

    /// Which totals of a support and the next one bring the stations between them into the window.
    pub(super) fn pairs(&self, support: usize, window: &ReadingWindow) -> PairsInWindow<'_> {
        let there = |at: usize| self.all.get(at).map_or(0, |place| i128::from(place.there));
        let whole = |it: &Coupling| {
            let [one, other] = it.shares;
            let parts = one.denominator().checked_mul(other.denominator()).filter(|parts| *parts < GREATEST_PARTS)?;
            let factors = [one.numerator() * other.denominator(), other.numerator() * one.denominator()];
            // In parts of both shares the change is whole, so that its bounds are rounded to whole parts.
            let bound = |end: Ratio| end.plus(it.needed)?.times(Ratio::whole(parts));
            let before = factors[0] * there(support) + factors[1] * there(support + 1);
            let (low, high) = (bound(window.low)?.ceil(), bound(window.high)?.floor());
            Some((factors, low.checked_add(before)?, high.checked_add(before)?))
        };
        let whole = self.couplings[support].iter().map(whole).collect();
        PairsInWindow { places: self, support, window: *window, whole }
    }

    fn between(&self, support: usize, totals: [i64; 2]) -> impl Iterator<Item = Ratio> {
        let there = |at: usize| self.all.get(at).map_or(0, |place| place.there);
        let more = [totals[0] - there(support), totals[1] - there(support + 1)];
        self.couplings[support].iter().map(move |it| moved(it.needed, more, it.shares))
    }

    /// What each station of the problem that is no support then needs, with these totals.
    pub(super) fn between_after(&self, problem: &ShimProblem, totals: &[i64]) -> Vec<Ratio> {
        let more = |at: usize| Ratio::whole((totals[at] - self.all[at].there).into());
        let after = |station: &ReadBetween| {
            let moved = station
                .moved_by
                .iter()
                .try_fold(station.needed, |needed, (at, share)| needed.minus(share.times(more(*at))?));
            moved.unwrap_or(station.needed)
        };
        problem.between.iter().map(after).collect()
    }

    /// All readings with these totals, those of the supports first.
    pub(super) fn readings(&self, totals: &[i64]) -> Vec<Ratio> {
        let supports = self.all.iter().zip(totals).map(|(place, total)| place.reading(*total));
        let hanging = self.all.iter().zip(totals).flat_map(|(place, total)| place.readings(*total).skip(1));
        let between = totals.windows(2).enumerate().flat_map(|(at, pair)| self.between(at, [pair[0], pair[1]]));
        let fixed = self.fixed.iter().map(|needed| negative(*needed));
        supports.chain(hanging).chain(between).chain(fixed).collect()
    }

    /// All readings that stations can come to have in any window; `None` where they are too many.
    pub(super) fn possible(
        &self,
        table: &LeafTable,
        range_nm: i64,
        raise_most: i64,
        least: Option<Ratio>,
    ) -> Option<PossibleReadings> {
        let range = Ratio::whole(range_nm.into());
        let bare = || self.all.iter().map(|place| negative(place.bare));
        let fixed = || self.fixed.iter().map(|needed| negative(*needed));
        // Nothing reads less than without any shim.
        let lowest_top = bare().chain(fixed()).chain(least).max()?;
        let bounds =
            ReadingWindow { low: lowest_top.minus(range)?, high: Ratio::whole(raise_most.into()).max(lowest_top) };
        let totals = |place: &SupportPlace| {
            let (low, high) = place.ranks(table, &bounds);
            let ranks = table.totals().get(low..high).unwrap_or(&[]).iter().map(|(total, _)| *total);
            ranks.chain([place.there])
        };
        let mut all: Vec<Ratio> = fixed().chain([lowest_top]).collect();
        for (at, place) in self.all.iter().enumerate() {
            for total in totals(place) {
                all.extend(place.readings(total).filter(|it| bounds.holds(*it)));
                if let Some(next) = self.all.get(at + 1).filter(|_| self.is_coupled(at)) {
                    // Both supports and what lies between them are in one window.
                    let own = place.reading(total);
                    let near = |other: i64| next.reading(other).minus(own).is_some_and(|off| off.abs() <= range);
                    for other in totals(next).filter(|other| near(*other)) {
                        all.extend(self.between(at, [total, other]).filter(|it| bounds.holds(*it)));
                    }
                }
                if all.len() > MOST_READINGS {
                    return None;
                }
            }
        }
        all.sort_unstable();
        all.dedup();
        Some(PossibleReadings { all, lowest_top })
    }

    /// The windows of this height that are worth trying, each with the least number of supports that are shimmed in it:
    /// the fewest first, of as many the lowest.
    pub(super) fn windows(&self, possible: &PossibleReadings, range_nm: i64) -> Vec<(usize, ReadingWindow)> {
        let mut now: Vec<Ratio> = self.all.iter().map(|place| negative(place.needed)).collect();
        now.sort_unstable();
        let range = Ratio::whole(range_nm.into());
        let mut windows: Vec<(usize, ReadingWindow)> = Vec::new();
        let mut next_begins = None;
        for &high in possible.all.iter().rev().take_while(|high| **high >= possible.lowest_top) {
            let Some(low) = high.minus(range) else { continue };
            let begins = possible.all.partition_point(|reading| *reading < low);
            // The next higher one loses nothing at its lower end.
            if next_begins.replace(begins) == Some(begins) {
                continue;
            }
            let window = ReadingWindow { low, high };
            if self.fixed.iter().all(|needed| window.holds(negative(*needed))) {
                let stay = now.partition_point(|it| *it <= high) - now.partition_point(|it| *it < low);
                windows.push((self.all.len() - stay, window));
            }
        }
        windows.sort_by_key(|(shimmed, window)| (*shimmed, window.high));
        windows
    }

    /// The first station that no shim brings into the range: how far it stands off the line between its neighbouring
    /// supports.
    pub(super) fn bent(problem: &ShimProblem) -> Option<(usize, Ratio)> {
        let range = Ratio::whole(problem.range_nm.into());
        let off = |(at, station): (usize, &ReadBetween)| {
            let (line, all) = station.line(problem)?;
            let off = station.needed.minus(line)?.abs();
            (all == Ratio::whole(1) && off > range).then_some((at, off))
        };
        problem.between.iter().enumerate().find_map(off)
    }
}

impl ReadBetween {
    /// What the supports that move it need, each by its share, and the sum of the shares.
    fn line(&self, problem: &ShimProblem) -> Option<(Ratio, Ratio)> {
        self.moved_by.iter().try_fold((Ratio::whole(0), Ratio::whole(0)), |(line, all), (at, share)| {
            let need = problem.supports.get(*at)?.needed;
            Some((line.plus(need.times(*share)?)?, all.plus(*share)?))
        })
    }
}

pub(super) fn places(problem: &ShimProblem, lying: &[PresentLeaves]) -> Vec<SupportPlace> {
    let there = |support: usize| lying.get(support).map_or(0, |lying| lying.total_nm.max(0));
    let place = |(at, it): (usize, &SupportNeed)| SupportPlace {
        needed: it.needed,
        bare: it.needed.plus(Ratio::whole(there(at).into())).unwrap_or(it.needed),
        there: there(at),
        most: it.most_nm,
        hangers: Vec::new(),
    };
    problem.supports.iter().enumerate().map(place).collect()
}

/// The stock together with what comes back from the supports that are shimmed anew.
pub(super) fn with_returned(stock: &LeafStock, lying: &[PresentLeaves], shimmed: &[usize]) -> LeafStock {
    let returned = |kind: usize| -> u32 {
        let of = shimmed.iter().filter_map(|&support| lying.get(support)?.leaves.get(kind));
        of.fold(0, |sum, count| sum.saturating_add(*count))
    };
    stock.with_more(returned)
}
