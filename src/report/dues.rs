//! What has to be done by a day: the service of an axis.

use jiff::civil::Date;

use super::{Due, DueState, Gather};
use crate::ledger::{Body, Record, Service, Target, Task, Word};
use crate::quantity::{Months, Travel};

impl Gather<'_> {
    /// The services agreed for an axis, the most urgent first. They are counted from the last one of their kind, or
    /// from the release.
    pub(super) fn dues(&self, index: usize) -> Vec<Due> {
        let axis = &self.case.ledger.machine.axes[index];
        let released = self.released(index).and_then(|record| record.date).map(|date| date.date);
        let travelled = self.services(index).filter_map(|(_, service)| service.travelled).map(|t| *t).max();
        let mut dues: Vec<Due> = axis
            .intervals
            .iter()
            .map(|interval| {
                let done =
                    self.services(index).filter(|(_, service)| service.task.is_some_and(|t| *t == *interval.task));
                let (record, service) = done.last().unzip();
                let last = record.and_then(|record| record.date).map(|date| date.date);
                let from = last.or(released);
                let due = from.zip(interval.months).and_then(|(from, months)| Months(*months).after(from));
                let at = service.and_then(|service| service.travelled).map_or(Travel::ZERO, |travelled| *travelled);
                let due_travelled = from.and(interval.travelled).map(|every| at + *every);
                let beyond = travelled.zip(due_travelled).is_some_and(|(so_far, due)| so_far >= due);
                Due {
                    due: due.map(|due| due.to_string()),
                    of: axis.name.value.clone(),
                    task: interval.task.word().to_string(),
                    last: last.map(|last| last.to_string()),
                    standing: match (from, due) {
                        _ if beyond => DueState::Overdue,
                        (None, _) => DueState::NotStarted,
                        (_, Some(due)) => self.urgency(due),
                        (_, None) => DueState::Later,
                    },
                    travelled: travelled.filter(|_| interval.travelled.is_some()),
                    due_travelled,
                }
            })
            .collect();
        dues.sort();
        dues.sort_by_key(|due| due.standing);
        dues
    }

    fn services(&self, index: usize) -> impl Iterator<Item = (&Record, &Service)> {
        self.case.in_order().filter_map(move |(_, record)| match &record.body {
            Body::Service(service) if record.target == Some(Target::Axis(index)) => {
                (!matches!(service.task.map(|task| *task), None | Some(Task::Reading)) || service.travelled.is_some())
                    .then_some((record, service))
            }
            _ => None,
        })
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
