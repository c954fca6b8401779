//! What has to be done by a day: services, calibrations, what a concession accepts only until then, and what is held.

use jiff::civil::Date;

use super::gather::ReportBuilder;
use super::model::{Deadline, Due, DueState, Report, ReportedFinding};
use crate::facts::service::{last_done, services};
use crate::language::rulebook::LimitName;
use crate::ledger::seal::serviced_from;
use crate::ledger::{Interval, Keyword};
use crate::quantity::Months;
use crate::rules::keeping::concession_expired::RULE as EXPIRED;
use crate::world::shown_path;

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

    /// All that is overdue, on hold or due within the horizon, the most urgent first.
    pub(super) fn deadlines(&self, report: &Report) -> Vec<Deadline> {
        let mut all = self.all_deadlines(report);
        all.retain(|due| due.standing <= DueState::Soon);
        all
    }

    /// The same however far ahead.
    pub(super) fn all_deadlines(&self, report: &Report) -> Vec<Deadline> {
        let machine = shown_path(&report.path);
        let at = |standing, due: Option<String>, task: String, of: &str| Deadline {
            standing,
            due,
            task,
            of: of.to_string(),
            machines: vec![machine.to_string()],
            of_instrument: false,
            of_concession: false,
        };
        let services = report.axes.iter().flat_map(|axis| &axis.dues);
        let mut all: Vec<Deadline> =
            services.map(|due| at(due.standing, due.due.clone(), due.task.clone(), &due.of)).collect();
        all.extend(report.instruments.iter().filter_map(|instrument| {
            let task = format!("calibrate the {}", instrument.what);
            let due = at(instrument.standing?, instrument.due.clone(), task, &instrument.name);
            Some(Deadline { of_instrument: true, ..due })
        }));
        for concession in &report.concessions {
            let (Some(rule), Some(on), Some(until)) = (&concession.rule, &concession.on, &concession.until) else {
                continue;
            };
            // One that ran out matters as long as what it accepted is there.
            let open = |finding: &ReportedFinding| finding.rule == EXPIRED.name.as_str() && finding.address == *on;
            if concession.covers > 0 || concession.expired && report.findings.iter().any(open) {
                let standing = until.parse().map_or(DueState::Later, |until| self.urgency(until));
                let ends = at(standing, Some(until.clone()), format!("the concession of {rule} ends"), on);
                all.push(Deadline { of_concession: true, ..ends });
            }
        }
        for hold in report.holds.iter().filter(|hold| hold.in_force) {
            let on = hold.on.as_deref().unwrap_or(machine);
            all.push(at(DueState::OnHold, hold.signed.date.clone(), "lift the hold".into(), on));
        }
        all.sort();
        all
    }

    /// How near a day is. How far ahead is asked today, whatever a seal holds.
    pub(super) fn urgency(&self, due: Date) -> DueState {
        let stated = || self.case.ledger.rulebook.most_count(LimitName::DueSoon).map_or(0, |(days, _)| days);
        let soon = self.horizon.within.unwrap_or_else(stated);
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
