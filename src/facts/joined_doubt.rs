//! How sure a sum is whose parts were read with several gauges.

use crate::calc::exact::Ratio;
use crate::calc::uncertainty::{Uncertainty, Variance};
use crate::ledger::Gauge;

/// Variances that add up, the estimated ones told apart by the gauge whose repeats they rest on: of one gauge they are one
/// estimate, of several each has its own degrees of freedom.
#[derive(Clone, Debug, Default)]
pub(crate) struct JoinedDoubt<'l> {
    by_gauge: Vec<(Option<&'l str>, Uncertainty)>,
}

impl<'l> JoinedDoubt<'l> {
    /// Known well, of whatever gauge.
    pub(crate) fn known(variance: Variance) -> Self {
        JoinedDoubt::of(None, Uncertainty::known(variance))
    }

    /// Estimated from what a gauge read, where one is known.
    pub(crate) fn of(gauge: Option<&'l str>, uncertainty: Uncertainty) -> Self {
        JoinedDoubt { by_gauge: vec![(gauge, uncertainty)] }
    }

    /// Estimated from what one gauge read.
    pub(crate) fn of_gauge(gauge: &'l Gauge, uncertainty: Uncertainty) -> Self {
        JoinedDoubt::of(Some(gauge.name.as_str()), uncertainty)
    }

    #[must_use]
    pub(crate) fn and(mut self, other: &Self) -> Self {
        for (gauge, more) in &other.by_gauge {
            match self.by_gauge.iter_mut().find(|(of, _)| of == gauge) {
                Some((_, own)) => *own = own.and_alike(*more),
                None => self.by_gauge.push((*gauge, *more)),
            }
        }
        self
    }

    #[must_use]
    fn each(mut self, change: impl Fn(Uncertainty) -> Uncertainty) -> Self {
        self.by_gauge.iter_mut().for_each(|(_, of)| *of = change(*of));
        self
    }

    /// So many times the variance, a share of it too.
    #[must_use]
    pub(crate) fn times(self, share: Ratio) -> Self {
        self.each(|of| of.times(share))
    }

    /// That of so many times the value.
    #[must_use]
    pub(crate) fn weighed(self, factor: f64) -> Self {
        self.each(|of| of.weighed(factor))
    }

    /// The less sure of two.
    #[must_use]
    pub(crate) fn or_less_sure(self, other: Self) -> Self {
        if other.total().expanded() > self.total().expanded() { other } else { self }
    }

    /// All of it together.
    pub(crate) fn total(&self) -> Uncertainty {
        self.by_gauge.iter().fold(Uncertainty::default(), |all, (_, of)| all.and(*of))
    }
}
