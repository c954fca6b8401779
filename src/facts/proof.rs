//! How sure a gauge's readings are, and the guard band that follows: shared by all rules that ask for proof.

use crate::calc::uncertainty::{GuardBand, Variance, dial_indicator_errors};
use crate::language::rulebook::{LimitName, Rulebook};
use crate::ledger::Gauge;
use crate::quantity::{Amount, Length, Ratio};

/// The variance of a difference of two readings a short travel apart, in nm²; nothing where the gauge's graduation or
/// error is not known. The error of a short travel is the gauge's own, else that of a usual 0.01 mm dial indicator, else
/// the one over its whole range, which is never too small.
pub(crate) fn of_difference(gauge: &Gauge) -> Option<Variance> {
    let graduation = gauge.graduation?.nm();
    Some(Variance::step(short_travel_error(gauge)?.0.nm(), graduation))
}

/// The permissible error of a gauge over a short travel, and which error that is in words.
pub(crate) fn short_travel_error(gauge: &Gauge) -> Option<(Length, &'static str)> {
    let standard = || {
        let dial = gauge.kind.as_ref().is_some_and(|kind| **kind == "dial-indicator");
        let hundredths = gauge.graduation.is_some_and(|graduation| *graduation == Length::um(10));
        let errors = dial_indicator_errors(gauge.range?.nm()).filter(|_| dial && hundredths)?;
        Some((Length(errors.local_nm), "local error of a dial indicator by JIS B 7503"))
    };
    let stated = gauge.local_error.map(|error| (error.value, "local error"));
    let whole = gauge
        .permissible_error
        .map(|error| (error.value, "permissible error over the whole range, for want of a local one,"));
    stated.or_else(standard).or(whole)
}

/// The guard band in force for a variance, and what it rests on in words.
pub(crate) fn guard(rulebook: &Rulebook, variance: Variance) -> (GuardBand, String) {
    let expanded = variance.expanded();
    let share = rulebook.most::<Ratio>(LimitName::GuardBand).map_or(1_000_000_000, |(share, _)| share.0.max(0));
    // Rounded up: a guard band is never narrower than it should be.
    let width = (i128::from(expanded) * i128::from(share) + 999_999_999) / 1_000_000_000;
    let band = GuardBand::stated(i64::try_from(width).unwrap_or(i64::MAX));
    let basis = match share {
        1_000_000_000 => format!("w = U = {}", micrometres(expanded)),
        _ => format!("w = {} of U = {}", Ratio(share).number(), micrometres(expanded)),
    };
    (band, basis)
}

/// Whether a value must be proven inside its limit.
pub(crate) fn required(rulebook: &Rulebook) -> bool {
    rulebook.choice(LimitName::Proof) == "required"
}

/// A width as people compare it: `0.0047 mm`, rounded up to a tenth of a micrometre.
fn micrometres(nm: i64) -> Length {
    Length(nm.saturating_add(99) / 100 * 100)
}
