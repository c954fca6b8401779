//! What has to be done by a day: the service of an axis.

use jiff::civil::Date;

use super::{Due, DueState, Gather};
use crate::ledger::{Body, Interval, Record, Service, Target, Word};
use crate::quantity::{Months, Travel};
use crate::seal::release_of;

impl Gather<'_> {
    /// The services agreed for an axis, the most urgent first. They are counted from the last one of their kind since the
    /// release, or from the release.
    pub(super) fn dues(&self, index: usize) -> Vec<Due> {
        let axis = &self.case.ledger.machine.axes[index];
        let release = release_of(self.case.ledger, index).map(|(release, _)| release);
        let services = self.services(index, release);
        let now = services.iter().rev().find_map(|(_, service)| service.travelled).map(|travelled| *travelled);
        let due = |interval: &Interval| {
            let last = services.iter().rev().find(|(_, service)| service.task.is_some_and(|t| *t == *interval.task));
            let (record, so_far) = match (last, release) {
                (Some((record, service)), _) => (Some(*record), service.travelled.map(|travelled| *travelled)),
                (None, Some(release)) => (Some(&self.case.ledger.records[release]), Some(Travel::ZERO)),
                (None, None) => (None, None),
            };
            let from = record.and_then(|record| record.date).map(|date| date.date);
            let due = from.zip(interval.months).and_then(|(from, months)| Months(*months).after(from));
            let due_travelled = so_far.zip(interval.travelled).map(|(so_far, every)| so_far + *every);
            let beyond = now.zip(due_travelled).is_some_and(|(now, due)| now > due);
            Due {
                due: due.map(|due| due.to_string()),
                of: axis.name.to_string(),
                task: interval.task.word().to_string(),
                last: last.and_then(|(record, _)| record.date).map(|date| date.date.to_string()),
                standing: match (record, due) {
                    _ if beyond => DueState::Overdue,
                    (None, _) => DueState::NotStarted,
                    (_, Some(due)) => self.urgency(due),
                    (_, None) => DueState::Later,
                },
                travelled: now.filter(|_| interval.travelled.is_some()),
                due_travelled,
            }
        };
        let mut dues: Vec<Due> = axis.intervals.iter().map(due).collect();
        dues.sort();
        dues.sort_by_key(|due| due.standing);
        dues
    }

    /// The services of an axis since its release, in order.
    fn services(&self, index: usize, release: Option<usize>) -> Vec<(&Record, &Service)> {
        let since = |at: usize| release.is_some_and(|release| self.case.after(at, release));
        let all = self.case.in_order().filter(|(at, record)| record.target == Some(Target::Axis(index)) && since(*at));
        all.filter_map(|(_, record)| match &record.body {
            Body::Service(service) => Some((record, service)),
            _ => None,
        })
        .collect()
    }

    /// How near a day is.
    pub(super) fn urgency(&self, due: Date) -> DueState {
        let soon = self.case.rulebook.most_count("due-soon").map_or(0, |(days, _)| days);
        let left = self.case.today.until(due).map_or(i64::MAX, |span| i64::from(span.get_days()));
        if left < 0 {
            DueState::Overdue
        } else if left <= soon {
            DueState::Soon
        } else {
            DueState::Later
        }
    }
}
