//! How high above the widest place targets have to be looked for, so that no better plan lies higher.
//!
//! Take a plan whose target T lies above the range R. Every support reads at least T − R, above the widest place, so each
//! has a stack of at least T − R. Let L be the least common multiple of the thicknesses. Whatever the counts are, a stack
//! with no leaves among it that make L in all is thin: count leaves of a kind that divides a thicker one in bundles as
//! thick as the thinnest such kind, from the thinnest kind on. Fewer than one bundle's worth is left over of each, that is at most
//! bundle less leaf; and of a kind that divides none, less than L, or the bundle would be L. So where T − R is more than
//! the sum of what may be left over, leaves that make L can be taken out of every stack. All readings come down by L
//! together, their range stays, and no support, joint or leaf is added: the lower plan is better. Going on like this, one ends at a
//! target no higher than R and that sum.
//!
//! A kind of which there are few leaves may be left out of L: all its leaves count as left over then. Where all kinds are counted,
//! the stacks can be no thicker than all leaves together either. A station that moves by less than the supports beside it,
//! one of them lying outside the survey, rises against the others when these come down: it bounds how far.

use super::super::exact::{MOST_LENGTH_NM, Ratio, gcd};
use super::leaves::{LeafKind, LeafStock};
use super::places::SupportPlaces;
use super::problem::ShimProblem;

/// Beyond so many totals in a table it costs more than it is worth.
const MOST_POINTS: i64 = 50_000;

/// More than any sum of lengths here.
const BEYOND_ALL: i128 = 1_000_000_000_000_000_000;

/// Up to where targets are looked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct SearchHeight {
    /// Above the widest place, in nm.
    pub(super) nm: i64,
    /// No better plan lies higher.
    pub(super) enough: bool,
}

impl SearchHeight {
    /// What was asked for, else what is proven to be enough, else, where the leaves have too fine a common measure, what
    /// mostly is.
    pub(super) fn of(problem: &ShimProblem, places: &SupportPlaces, stock: &LeafStock) -> SearchHeight {
        if let Some(nm) = problem.raise_most_nm {
            return SearchHeight { nm, enough: true };
        }
        let usual = Self::usual(problem, true);
        let enough = enough(problem, places, stock);
        let measure = stock.kinds().iter().fold(0, |sum, kind| gcd(sum, kind.thickness_nm.unsigned_abs().into()));
        let deepest = places.all.iter().map(|place| place.bare.ceil()).max().unwrap_or(0);
        let points = (deepest + enough) / i128::try_from(measure).unwrap_or(1).max(1);
        match i64::try_from(enough) {
            Ok(nm) if points <= MOST_POINTS.into() || nm <= usual.nm => SearchHeight { nm, enough: true },
            _ => SearchHeight { enough: false, ..usual },
        }
    }

    /// The range and the thickest leaf: where plans mostly lie.
    pub(super) fn usual(problem: &ShimProblem, enough: bool) -> SearchHeight {
        SearchHeight { nm: problem.range_nm + thickest(&problem.stock), enough }
    }
}

pub(super) fn thickest(stock: &LeafStock) -> i64 {
    stock.kinds().iter().map(|kind| kind.thickness_nm).max().unwrap_or(0)
}

/// No better plan has a target above this.
fn enough(problem: &ShimProblem, places: &SupportPlaces, stock: &LeafStock) -> i128 {
    let range = i128::from(problem.range_nm);
    let mut kinds: Vec<LeafKind> = stock.kinds().iter().copied().filter(|kind| kind.count != Some(0)).collect();
    if kinds.is_empty() || places.all.is_empty() {
        return range;
    }
    // The kinds with the least of all their leaves first: those are left out of the common multiple, one after the other.
    let all_of =
        |kind: &LeafKind| kind.count.map_or(BEYOND_ALL, |count| i128::from(count) * i128::from(kind.thickness_nm));
    kinds.sort_by_key(|kind| (all_of(kind), kind.thickness_nm));
    let of_all: i128 = kinds.iter().map(all_of).fold(0, |sum, of| (sum + of).min(BEYOND_ALL));
    let bare: i128 = places.all.iter().map(|place| place.bare.floor()).sum();
    let supports = places.all.len() as i128;
    let mut least = range + ((of_all - bare).max(0) + supports - 1) / supports;
    let floor = places.level_above();
    let mut left_out = 0;
    for from in 0..kinds.len() {
        let mut thicknesses: Vec<i128> = kinds[from..].iter().map(|kind| kind.thickness_nm.into()).collect();
        thicknesses.sort_unstable();
        let common = thicknesses.iter().fold(1, |common, thickness| multiple(common, *thickness));
        let bundle = |thickness: i128| thicknesses.iter().copied().find(|it| *it > thickness && it % thickness == 0);
        let left_over: i128 = thicknesses.iter().map(|it| bundle(*it).unwrap_or(common) - it).sum();
        least = least.min((range + left_out + left_over).max(common + floor));
        left_out = (left_out + all_of(&kinds[from])).min(BEYOND_ALL);
    }
    least.min(MOST_LENGTH_NM.into())
}

/// The least common multiple.
fn multiple(one: i128, other: i128) -> i128 {
    let common = i128::try_from(gcd(one.unsigned_abs(), other.unsigned_abs())).unwrap_or(1).max(1);
    (one / common).saturating_mul(other).min(BEYOND_ALL)
}

impl SupportPlaces {
    /// The target above which stations that move by less than the supports beside them are no hindrance, in nm, rounded up.
    fn level_above(&self) -> i128 {
        let of = |(rest, short): &(Ratio, Ratio)| {
            Some(
                Ratio::new(
                    short.numerator().checked_mul(rest.denominator())?,
                    short.denominator().checked_mul(rest.numerator())?,
                )?
                .ceil(),
            )
        };
        self.lagging.iter().map(|it| of(it).unwrap_or(BEYOND_ALL)).max().unwrap_or(0).max(0)
    }
}
