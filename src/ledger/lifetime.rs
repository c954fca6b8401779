//! From when to when a part of a machine, or something of the shop, is there.

use std::fmt;

use jiff::civil::Date;

use super::spanned::{SourcedNode, Spanned};
use crate::quantity::Moment;

/// From when to when a part is there: from the start and until now where nothing is said.
#[derive(Clone, Copy, Debug, Default)]
pub struct Lifetime {
    /// The day it came.
    pub since: Option<Spanned<Moment>>,
    /// The day it went.
    pub until: Option<Spanned<Moment>>,
    /// Nobody described what stood there before it came: it holds that one's place.
    pub(super) stand_in: bool,
    /// It was only changed when this began: what lay there before is the same part.
    pub(super) only_changed: bool,
}

/// Why something of the shop was not there on a day: the first or the last day on which the shop has it.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Absent {
    NotYet(Spanned<Moment>),
    NoMore(Spanned<Moment>),
}

impl Absent {
    /// The end of its time beyond which a day lies: both ends are among its days.
    pub(crate) fn on(day: Date, since: Option<Spanned<Moment>>, until: Option<Spanned<Moment>>) -> Option<Absent> {
        let before = since.filter(|since| day < since.date).map(Absent::NotYet);
        before.or(until.filter(|until| day > until.date).map(Absent::NoMore))
    }

    /// The day that it goes by.
    pub(crate) fn end(self) -> Spanned<Moment> {
        let (Absent::NotYet(day) | Absent::NoMore(day)) = self;
        day
    }
}

impl fmt::Display for Absent {
    /// As a sentence ends: `to be had until 2026-03-31`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Absent::NotYet(day) => write!(f, "to be had from {}", **day),
            Absent::NoMore(day) => write!(f, "to be had until {}", **day),
        }
    }
}

impl Lifetime {
    pub(super) fn of(row: SourcedNode) -> Lifetime {
        Lifetime { since: row.moment("since"), until: row.moment("until"), ..Lifetime::default() }
    }

    pub(super) fn days(&self) -> impl Iterator<Item = Date> + use<> {
        self.since.into_iter().chain(self.until).map(|moment| moment.date)
    }

    pub(super) fn is_now(&self) -> bool {
        self.until.is_none()
    }

    /// Whether it was there on the day before.
    pub(super) fn before(&self, day: Date) -> bool {
        self.since.is_none_or(|since| since.date < day) && self.until.is_none_or(|until| until.date >= day)
    }

    /// It came that day or later.
    pub(super) fn came_after(&self, day: Date) -> bool {
        self.since.is_some_and(|since| since.date >= day)
    }

    /// What is left of it without some others, which are in order.
    pub(super) fn without(self, others: impl Iterator<Item = Lifetime>) -> Vec<Lifetime> {
        let (mut left, mut open) = (Vec::with_capacity(1), Some(self));
        for out in others {
            let Some(own) = open.take() else { break };
            if let Some(gone) = out.since {
                left.push(Lifetime { until: Some(gone), ..own });
            }
            open = out.until.map(|back| Lifetime { since: Some(back), ..own });
        }
        left.extend(open);
        left
    }
}
