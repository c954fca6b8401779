//! What must be done again is done in time.

use crate::finding::{Finding, Grade, Limit, Measure};
use crate::ledger::{Body, Interval, Record, Service, Target, Task, Word};
use crate::quantity::Travel;
use crate::rules::{Case, Check, Cure, Findings, Group, Rule};
use crate::seal::release_of;

pub static RULE: Rule = Rule {
    name: "service-due",
    group: Group::Keeping,
    grade: Grade::Nonconformity,
    cure: Cure::AtMachine,
    what: "On a released axis nothing that its service intervals ask for is overdue, by time or by travelled distance. What falls due soon is an observation.",
    why: "Bolts settle and rails wear; the interval is the time after which nobody knows any more.",
    limits: &["due-soon"],
    source: "the intervals that the machine states",
    wrong: r#"
machine m { axis X { service-interval re-torque months=6 } }
release X date="2026-04-20" by=engineer-1
"#,
    right: r#"
machine m { axis X { service-interval re-torque months=6 } }
release X date="2026-04-20" by=engineer-1
service X date="2026-10-12" by=fitter-2 task=re-torque
"#,
    check: Check::Ledger(check),
};

fn check(case: &Case, findings: &mut Findings) {
    for (index, axis) in case.machine.axes.iter().enumerate() {
        let Some((release, _)) = release_of(case.ledger, index) else { continue };
        let services: Vec<(&Record, &Service)> = case
            .in_order()
            .filter(|(_, record)| record.target == Some(Target::Axis(index)))
            .filter_map(|(at, record)| match &record.body {
                Body::Service(service) if case.after(at, release) => Some((record, service)),
                _ => None,
            })
            .collect();
        for interval in &axis.intervals {
            let last =
                services.iter().rev().find(|(_, service)| service.task.is_some_and(|task| *task == *interval.task));
            let since = Since {
                record: last.map_or(&case.ledger.records[release], |(record, _)| record),
                released: last.is_none(),
                travelled: last
                    .map_or(Some(Travel::ZERO), |(_, service)| service.travelled.map(|travelled| travelled.value)),
                now: services.iter().rev().find_map(|(record, service)| Some((*record, service.travelled?.value))),
            };
            let finding = by_time(case, findings, axis.name.as_str(), interval, &since)
                .or_else(|| by_travel(findings, axis.name.as_str(), interval, &since));
            if let Some(finding) = finding {
                findings.add(finding);
            }
        }
    }
}

/// When a task was done last, and how far the carriage has gone.
struct Since<'l> {
    record: &'l Record,
    /// It was never done: the release is the beginning.
    released: bool,
    /// The distance travelled by then.
    travelled: Option<Travel>,
    /// The last reading of the distance.
    now: Option<(&'l Record, Travel)>,
}

fn by_time(case: &Case, findings: &Findings, axis: &str, interval: &Interval, since: &Since) -> Option<Finding> {
    let months = interval.months?;
    let last = since.record.date?;
    let due = crate::quantity::Months(*months).after(last.date)?;
    let task = interval.task.word();
    let days = i64::from((due - case.today).get_days());
    let soon = case.rulebook.most_count("due-soon");
    let overdue = days < 0;
    if !overdue && soon.is_none_or(|(most, _)| days > most) {
        return None;
    }
    let message = match overdue {
        true => format!("{task} of {axis} was due on {due}"),
        false => format!("{task} of {axis} is due on {due}"),
    };
    let mut finding = start(findings, axis, interval, since, message).by_date().limit(Limit {
        entry: None,
        text: format!("every {}", crate::quantity::Months(*months)),
        source: "the machine's service interval".into(),
        set_at: Some(interval.place),
    });
    if overdue {
        finding =
            finding.found(Measure { value: crate::finding::Value::Days(-days), worse: crate::finding::Worse::Larger });
    } else {
        finding.grade = Grade::Observation;
    }
    Some(finding)
}

fn by_travel(findings: &Findings, axis: &str, interval: &Interval, since: &Since) -> Option<Finding> {
    let most = interval.travelled?;
    let (reading, now) = since.now?;
    let gone = now - since.travelled?;
    if gone <= *most {
        return None;
    }
    let task = interval.task.word();
    let limit = Limit {
        entry: None,
        text: format!("every {}", *most),
        source: "the machine's service interval".into(),
        set_at: Some(interval.place),
    };
    let finding =
        start(findings, axis, interval, since, format!("{task} of {axis} is overdue: {gone} travelled since"))
            .found(Measure::too_large(gone))
            .limit(limit);
    Some(if reading.place == since.record.place {
        finding
    } else {
        finding.also(reading.place, format!("{now} travelled"))
    })
}

fn start(findings: &Findings, axis: &str, interval: &Interval, since: &Since, message: String) -> Finding {
    let task = interval.task.word();
    let last = if since.released { "released, and never done since" } else { "done last" };
    let work = match *interval.task {
        Task::ReTorque => "check the full torque of every bolt",
        Task::ReInspect => "inspect every joint",
        Task::ReSurvey => "survey the gap with stage=service",
        Task::Lubricate => "lubricate the blocks after the maker's instructions",
        Task::Reading => "read the distance travelled",
    };
    findings
        .finding(axis, interval.place, message)
        .here("this interval")
        .also(since.record.place, last)
        .next(format!("isolate the drives, {work}, and record it: service {axis} task={task}"))
}
