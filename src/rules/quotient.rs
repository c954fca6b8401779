//! A quotient of two values, held exactly against a span of the rulebook.

use crate::finding::Measure;
use crate::language::rulebook::{InForce, LimitName, Rulebook};
use crate::quantity::Ratio;

/// A ratio of 1, as it is stored.
pub(super) const WHOLE: i128 = Ratio::ONE.0 as i128;

/// How many times one value holds another. Both are in the same small unit, and neither is negative.
#[derive(Clone, Copy)]
pub(super) struct Quotient {
    pub of: i128,
    pub per: i128,
}

impl Quotient {
    /// What it is beyond, if anything: below the lower limit of an entry, or above the upper one.
    pub(super) fn beyond<'r>(self, book: &'r Rulebook, entry: LimitName) -> Option<(Measure, InForce<'r>)> {
        if self.of < 0 || self.per <= 0 {
            return None;
        }
        // What is too large to be multiplied is told as unreadable, or as a unit that slipped.
        let counted = self.of.checked_mul(WHOLE)?;
        let held = |limit: Ratio| self.per.checked_mul(i128::from(limit.0));
        if let Some((least, limit)) = book.least::<Ratio>(entry)
            && counted < held(least)?
        {
            return Some((Measure::too_small(rounded(counted, self.per, least, false)), limit));
        }
        if let Some((most, limit)) = book.most::<Ratio>(entry)
            && counted > held(most)?
        {
            return Some((Measure::too_large(rounded(counted, self.per, most, true)), limit));
        }
        None
    }
}

/// To a thousandth, or to a decimal place that is no more than a thousandth of the limit, away from the limit that it is beyond.
fn rounded(counted: i128, per: i128, limit: Ratio, up: bool) -> Ratio {
    let fine = (i128::from(limit.0).abs() / 1000).clamp(1, WHOLE / 1000);
    let step = 10_i128.pow(fine.ilog10());
    let (whole, rest) = (counted / per, counted % per);
    let down = whole / step * step;
    let exact = down == whole && rest == 0;
    let shown = if up && !exact { down.saturating_add(step) } else { down };
    Ratio(i64::try_from(shown).unwrap_or(i64::MAX))
}
