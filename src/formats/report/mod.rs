//! A report as a paper: which facts stand where, and in which words.

mod axis;
mod rail;
mod summary;
mod words;

pub(crate) use axis::life;
pub use summary::summary;
pub(crate) use words::{bolts, counts, gap_in_words, lifted, signed};

use std::collections::BTreeMap;

use crate::views::paper::{Content, Paper, TableCell};
use crate::views::report::{Deadline, DueState, InstrumentReport, Report, ReportedFinding};
use crate::world::shown_path;

/// A report as one of the pages of a fleet, with the way back to that of the fleet.
pub(crate) fn page(report: &Report, fleet: &str) -> Paper {
    let paper = paper(report);
    let mut body = Content::default();
    body.facts(vec![("Fleet", TableCell::Link { text: "all machines".into(), page: fleet.to_owned() })]);
    body.0.extend(paper.body.0);
    Paper { body, ..paper }
}

/// A report as a paper.
pub fn paper(report: &Report) -> Paper {
    let title = format!("{}: build report", report.called());
    let mut paper = Paper { state: Some(report.state), ..Paper::new(title) };
    let body = &mut paper.body;
    let mut facts =
        vec![("Machine", TableCell::given(report.name.clone())), ("Ledger", shown_path(&report.path).into())];
    facts.extend(report.design.as_ref().map(|design| ("Built to", design.called().into())));
    facts.extend([
        ("Judged by the day", report.judged_on.as_str().into()),
        ("State", TableCell::State(report.state)),
        ("Findings", counts(&report.counts).into()),
    ]);
    body.facts(facts);
    body.heading(2, "Findings");
    if report.findings.is_empty() {
        body.say("None: every rule holds, and everything is recorded.");
    }
    body.table(
        "",
        &["Grade", "Rule", "Address", "What", "Limit", "Next", "Place"],
        report.findings.iter().map(finding).collect(),
    );
    deviations(body, report);
    body.cautions();
    for axis in &report.axes {
        axis::axis(body, axis);
    }
    instruments(body, &report.instruments);
    body.heading(2, "Due");
    deadlines(body, &report.dues);
    body.heading(2, "Limits in force");
    let limits = report.limits.iter().map(|limit| {
        let changed = match (&limit.axis, limit.changed) {
            (Some(_), _) => "sealed",
            (None, true) => "changed",
            (None, false) if limit.derived => "derived",
            (None, false) => "default",
        };
        vec![
            limit.entry.as_str().into(),
            limit.limit.as_str().into(),
            changed.into(),
            limit.what.as_str().into(),
            limit.source.as_str().into(),
        ]
    });
    body.table("", &["Entry", "Limit", "Set", "What", "Source"], limits.collect());
    judged(body, report);
    concessions(body, report);
    holds(body, report);
    remarks(body, report);
    paper
}

fn finding(found: &ReportedFinding) -> Vec<TableCell> {
    let grade = match (&found.conceded_by, found.grade) {
        (Some(by), grade) => TableCell::Text(format!("{grade}, accepted by {by}")),
        (None, grade) if found.is_held => TableCell::Text(format!("{grade}, on hold")),
        (None, "nonconformity") => TableCell::Wrong(found.grade.into()),
        (None, grade) => grade.into(),
    };
    let limit = found.limit.as_ref().map(|limit| match &found.limit_source {
        Some(source) => format!("{limit} ({source})"),
        None => limit.clone(),
    });
    vec![
        grade,
        found.rule.into(),
        TableCell::given((!found.address.is_empty()).then(|| found.address.clone())),
        found.message.as_str().into(),
        TableCell::given(limit),
        TableCell::given((!found.next.is_empty()).then(|| found.next.clone())),
        format!("{}:{}", found.file, found.line).into(),
    ]
}

/// Where the machine departs from its design; nothing is said where it has none.
fn deviations(body: &mut Content, report: &Report) {
    let Some(design) = &report.design else { return };
    body.heading(2, "Design");
    let since = design.since.as_ref().map_or(String::new(), |since| format!(", taken over on {since}"));
    let departs = if design.deviations.is_empty() { ". It departs from it nowhere." } else { ". It departs from it:" };
    body.say(format!("Built to {}{since}{departs}", design.called()));
    let rows = design.deviations.iter().map(|it| {
        vec![
            TableCell::given(it.on.clone()),
            it.departs.as_str().into(),
            signed(&it.signed).into(),
            TableCell::given(it.reason.clone()),
        ]
    });
    body.table("", &["Address", "Departs", "Declared", "Reason"], rows.collect());
}

/// What is overdue, on hold or due soon.
pub(super) fn deadlines(body: &mut Content, all: &[Deadline]) {
    if all.is_empty() {
        body.say("Nothing is overdue or due soon.");
    }
    let rows = all.iter().map(|due| {
        let standing = due.standing.word();
        vec![
            if due.standing == DueState::Overdue { TableCell::Wrong(standing.into()) } else { standing.into() },
            TableCell::given(due.due.clone()),
            due.task.as_str().into(),
            due.of.as_str().into(),
            machines_in_words(&due.machines).into(),
        ]
    });
    body.table("", &["Standing", "Due", "Task", "Of", "Machines"], rows.collect());
}

/// So many machines are named.
const MOST_NAMED: usize = 3;

/// `a, b`; of many the number: `48 machines: a, b, c, …`.
fn machines_in_words(all: &[String]) -> String {
    match all.len() {
        many if many > MOST_NAMED => format!("{many} machines: {}, …", all[..MOST_NAMED].join(", ")),
        _ => all.join(", "),
    }
}

fn instruments(body: &mut Content, instruments: &[InstrumentReport]) {
    body.heading(2, "Gauges and wrenches used");
    if instruments.is_empty() {
        body.say("No record names one.");
    }
    let rows = instruments.iter().map(|it| {
        let at_use = if !it.known {
            TableCell::Wrong("not described in the shop file".into())
        } else if it.uncalibrated_uses.is_empty() {
            "calibrated at every use".into()
        } else {
            TableCell::Wrong(format!("not calibrated on {}", it.uncalibrated_uses.join(", ")))
        };
        let times = if it.uses == 1 { "once".to_string() } else { format!("{} times", it.uses) };
        let used = match (&it.first_use, &it.last_use) {
            (Some(first), Some(last)) if first != last => format!("{times}, {first} to {last}"),
            (Some(first), _) => format!("{times}, {first}"),
            _ => times,
        };
        vec![
            it.name.as_str().into(),
            TableCell::given(it.kind.clone().or(Some(it.what.into()))),
            TableCell::given(it.graduation.clone()),
            TableCell::given(it.permissible_error.clone()),
            TableCell::given(it.calibrated.clone()),
            TableCell::given(it.due.clone()),
            TableCell::given(match (&it.certificate, &it.laboratory) {
                (Some(number), Some(laboratory)) => Some(format!("{number}, {laboratory}")),
                (number, laboratory) => number.clone().or_else(|| laboratory.clone()),
            }),
            used.into(),
            at_use,
        ]
    });
    body.table(
        "",
        &["Name", "Kind", "Graduation", "Permissible error", "Calibrated", "Due", "Certificate", "Used", "At use"],
        rows.collect(),
    );
    let doubts = instruments.iter().flat_map(|it| it.doubts.iter().map(move |doubt| (it, doubt)));
    let rows = doubts.map(|(it, doubt)| {
        vec![
            it.name.as_str().into(),
            doubt.from.as_str().into(),
            doubt.to.as_deref().unwrap_or("it was calibrated").into(),
            TableCell::given(doubt.error.clone()),
            doubt.said.as_str().into(),
            TableCell::given(doubt.taken_back.clone()),
        ]
    });
    body.table(
        "Said to have been wrong",
        &["Name", "From", "To", "Off by at most", "Says", "Taken back"],
        rows.collect(),
    );
}

/// What the rules judged. What nobody asks for is only named.
fn judged(body: &mut Content, report: &Report) {
    body.heading(2, "What was judged");
    let asked = report.judged.iter().filter(|row| row.verdict != "not required");
    let rows = asked.map(|row| {
        let verdict = match row.verdict {
            "broken" => TableCell::Wrong(row.verdict.into()),
            verdict => verdict.into(),
        };
        let rests = match &row.lacking {
            Some(lacking) => lacking.clone(),
            None => row.rests_on.join("; "),
        };
        let judged = row.conforms + row.broken;
        let of = row.subjects - row.not_required;
        let count = if judged == of { of.to_string() } else { format!("{judged} of {of}") };
        vec![
            TableCell::given(row.axis.clone()),
            row.rule.into(),
            verdict,
            count.into(),
            TableCell::given((!rests.is_empty()).then_some(rests)),
        ]
    });
    body.table("", &["Axis", "Rule", "Verdict", "Judged", "Rests on, or lacks"], rows.collect());
    let mut idle: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    // What lies on no axis, as goods received, would only repeat names.
    for row in report.judged.iter().filter(|row| row.verdict == "not required") {
        if let Some(axis) = row.axis.as_deref() {
            idle.entry(axis).or_default().push(row.rule);
        }
    }
    for (axis, rules) in idle {
        body.say(format!("Nothing asks for, on {axis}: {}.", rules.join(", ")));
    }
}

/// What is held, and what was and how it was dealt with; nothing is said where nothing was.
fn holds(body: &mut Content, report: &Report) {
    let of = |in_force: bool| report.holds.iter().filter(move |it| it.in_force == in_force);
    for (title, in_force) in [("On hold", true), ("Holds that were lifted", false)] {
        if of(in_force).next().is_none() {
            continue;
        }
        body.heading(2, title);
        let rows = of(in_force).map(|it| {
            let what = if it.withdrawn { "release withdrawn" } else { "hold" };
            vec![
                TableCell::given(it.on.clone()),
                what.into(),
                it.state.word().into(),
                signed(&it.signed).into(),
                TableCell::given(it.reason.clone()),
                TableCell::given(it.lift.as_ref().map(lifted)),
            ]
        });
        body.table("", &["Address", "What", "Stands now", "Since", "Reason", "Disposition"], rows.collect());
    }
}

/// What people wrote in records; nothing is said where nobody did.
fn remarks(body: &mut Content, report: &Report) {
    if report.remarks.is_empty() {
        return;
    }
    body.heading(2, "Notes and reasons");
    let rows = report.remarks.iter().map(|it| {
        vec![
            TableCell::given(it.date.clone()),
            TableCell::given(it.by.clone()),
            it.record.into(),
            TableCell::given(it.on.clone()),
            it.kind.into(),
            it.text.as_str().into(),
        ]
    });
    body.table("", &["Date", "By", "Record", "Address", "What", "Text"], rows.collect());
}

fn concessions(body: &mut Content, report: &Report) {
    body.heading(2, "Concessions");
    if report.concessions.is_empty() {
        body.say("None.");
    }
    let rows = report.concessions.iter().map(|it| {
        let covers = match (it.expired, it.covers) {
            (true, _) => TableCell::Wrong("expired".into()),
            (false, 1) => "in force, covers 1 finding".into(),
            (false, covers) => format!("in force, covers {covers} findings").into(),
        };
        vec![
            TableCell::given(it.rule.clone()),
            TableCell::given(it.on.clone()),
            covers,
            TableCell::given(it.accepts.clone()),
            TableCell::given(it.until.clone()),
            signed(&it.signed).into(),
            TableCell::given(it.reason.clone()),
        ]
    });
    body.table("", &["Rule", "Address", "Standing", "Accepts", "Until", "Given", "Reason"], rows.collect());
}
