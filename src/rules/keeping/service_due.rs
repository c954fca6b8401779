//! What must be done again is done in time.

use crate::facts::service::{LastService, last_done, services};
use crate::finding::{Finding, Grade, Limit, Measure, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::seal::{last_withdrawn, serviced_from};
use crate::ledger::{Interval, Keyword, NodeDraft, Record, Service, Task};
use crate::quantity::Travel;
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("service-due"),
    group: RuleGroup::Keeping,
    grade: Grade::Nonconformity,
    cure: Cure::AtMachine,
    what: "On a released axis nothing that its service intervals ask for is overdue, by time or by travelled distance. What counts as evidence does it: re-torque is done by full torques of every bolt since the release, re-inspect by light and four grooves of every joint, re-survey by surveys of what is surveyed: the interval runs from the oldest record that this rests on. A `service` line alone closes only what has no readings, and says how far the carriage has travelled. What falls due soon is an observation.",
    why: "Bolts settle and rails wear; the interval is the time after which nobody knows any more.",
    limits: &[LimitName::DueSoon],
    source: "the intervals that the machine states",
    wrong: r#"
machine m { axis X { service-interval re-torque months=6; rail a { segment 1200; supports S first=240 pitch=240 count=4 } } }
release X date="2026-04-20" by=engineer-1
service X date="2026-10-12" by=fitter-2 task=re-torque
"#,
    right: r#"
shop { wrench TW-2 kind=setting least=4 most=20 { calibrated "2026-02-02" due="2027-02-02" } }
machine m { axis X { service-interval re-torque months=6; rail a { segment 1200; supports S first=240 pitch=240 count=4 } } }
release X date="2026-04-20" by=engineer-1
fasten X.a date="2026-10-12" by=fitter-2 wrench=TW-2 stage=full setting=10.5 { clicked S1..S4 }
service X date="2026-10-12" by=fitter-2 task=re-torque
"#,
    checks: &[Check::Axes(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, index: usize, findings: &mut Findings) -> Verdict {
    let axis = &case.machine.axes[index];
    // What was overdue when a release was withdrawn is not done by releasing anew.
    let withdrawn = || if case.anew { last_withdrawn(case.ledger, index) } else { None };
    let (Some(release), false) = (serviced_from(case.ledger, index).or_else(withdrawn), axis.intervals.is_empty())
    else {
        return Verdict::NotRequired;
    };
    let services = services(case.ledger, index, release);
    let read = |(at, service): &(usize, &Service)| Some((&case.ledger.records[*at], service.travelled?.value));
    let now = services.iter().rev().find_map(read);
    let mut verdict = Verdict::Conforms(case.records[release].place);
    for interval in &axis.intervals {
        let done = last_done(case.ledger, case.rulebook, index, release, *interval.task, &|record| case.counts(record));
        let since = SinceService { record: &case.ledger.records[done.record], done, now };
        if interval.months.is_some() && since.record.date.is_none() {
            verdict = Verdict::NotJudged("the record that it counts from has no date");
        } else if interval.travelled.is_some() && now.is_none() {
            verdict = Verdict::NotJudged("nothing says how far the carriage has travelled");
        }
        let finding = by_time(case, findings, axis.name.as_str(), interval, &since)
            .or_else(|| by_travel(findings, axis.name.as_str(), interval, &since));
        let Some(mut finding) = finding else { continue };
        if let Some(line) = done.unproven {
            finding = finding.also(case.ledger.records[line].place, "this line alone proves nothing");
        }
        findings.add(finding);
    }
    verdict
}

/// When a task was done last, and how far the carriage has gone.
struct SinceService<'l> {
    /// The record that it counts from.
    record: &'l Record,
    done: LastService,
    /// The last reading of the distance.
    now: Option<(&'l Record, Travel)>,
}

fn by_time(case: &Case, findings: &Findings, axis: &str, interval: &Interval, since: &SinceService) -> Option<Finding> {
    let months = interval.months?;
    let last = since.record.date?;
    let due = crate::quantity::Months(*months).after(last.date)?;
    let task = interval.task.word();
    let days = i64::from((due - case.today).get_days());
    let soon = case.rulebook.most_count(LimitName::DueSoon);
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
        finding = finding.found(Measure {
            value: crate::finding::MeasuredValue::Days(-days),
            worse: crate::finding::WorseDirection::Larger,
        });
    } else {
        finding.grade = Grade::Observation;
    }
    Some(finding)
}

fn by_travel(findings: &Findings, axis: &str, interval: &Interval, since: &SinceService) -> Option<Finding> {
    let most = interval.travelled?;
    let (reading, now) = since.now?;
    let gone = now - since.done.travelled;
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

fn start(findings: &Findings, axis: &str, interval: &Interval, since: &SinceService, message: String) -> Finding {
    let task = interval.task.word();
    let last =
        if since.done.released { "released, and not wholly done since" } else { "done last, here the longest ago" };
    let line = NodeDraft::new("service").value(axis).property("task", task).line();
    let (work, proof) = match *interval.task {
        Task::ReTorque => (
            "check the full torque of every bolt",
            "each rail by `fasten` with stage=full, `turned` for each bolt that moved, and then",
        ),
        Task::ReInspect => ("inspect every joint", "light and four grooves of each, and then"),
        Task::ReSurvey => ("survey with stage=service what was surveyed before", "each survey, and then"),
        Task::Lubricate => ("lubricate the blocks after the maker's instructions", "it"),
        Task::Reading => ("read the distance travelled", "it"),
    };
    findings
        .finding(axis, interval.place, message)
        .here("this interval")
        .also(since.record.place, last)
        .next(format!("isolate the drives, {work}, and record {proof}: {line}"))
}
