//! From when to when a part of a machine is there.

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
}

impl Lifetime {
    pub(super) fn of(row: SourcedNode) -> Lifetime {
        Lifetime { since: row.moment("since"), until: row.moment("until"), stand_in: false }
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
