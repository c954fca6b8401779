//! What has to be done by a day: the service of an axis.

use jiff::civil::Date;

use super::gather::ReportBuilder;
use super::model::{Due, DueState};
use crate::facts::service::{last_done, services};
use crate::language::rulebook::LimitName;
use crate::ledger::seal::serviced_from;
use crate::ledger::{Interval, Keyword};
use crate::quantity::Months;

impl ReportBuilder<'_> {
    /// The services agreed for an axis, the most urgent first. They are counted from when they were last done since the
    /// release, or from the release.
    pub(super) fn dues(&self, index: usize) -> Vec<Due> {
        let axis = &self.case.ledger.machine.axes[index];
        let release = serviced_from(self.case.ledger, index);
        let services = release.map_or(Vec::new(), |release| services(self.case.ledger, index, release));
        let now = services.iter().rev().find_map(|(_, service)| service.travelled).map(|travelled| *travelled);
        let due = |interval: &Interval| {
            let done = release.map(|release| {
                last_done(self.case.ledger, self.case.rulebook, index, release, *interval.task, &|record| {
                    self.case.counts(record)
                })
            });
            let record = done.map(|done| &self.case.ledger.records[done.record]);
            let so_far = done.map(|done| done.travelled);
            let from = record.and_then(|record| record.date).map(|date| date.date);
            let due = from.zip(interval.months).and_then(|(from, months)| Months(*months).after(from));
            let due_travelled = so_far.zip(interval.travelled).map(|(so_far, every)| so_far + *every);
            let beyond = now.zip(due_travelled).is_some_and(|(now, due)| now > due);
            Due {
                due: due.map(|due| due.to_string()),
                of: axis.name.to_string(),
                task: interval.task.word().to_string(),
                last: from.filter(|_| done.is_some_and(|done| !done.released)).map(|from| from.to_string()),
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

    /// How near a day is.
    pub(super) fn urgency(&self, due: Date) -> DueState {
        let soon = self.case.rulebook.most_count(LimitName::DueSoon).map_or(0, |(days, _)| days);
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
