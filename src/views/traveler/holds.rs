//! What is on hold on an axis: a table in the traveler, and a sheet for each hold that hangs at the part until it is lifted.

use jiff::civil::Date;

use super::TravelerBuilder;
use crate::finding::{Finding, Grade, within};
use crate::judging::lint::Judged;
use crate::ledger::{Disposition, Keyword, lift_line};
use crate::rules::keeping::hold_in_force;
use crate::views::paper::{Content, ListItem, Paper, TableCell};
use crate::views::report::{HoldReport, State, holds};

/// The dispositions as a person ticks them, in the order of the language.
const DISPOSITIONS: [&str; Disposition::WORDS.len()] = {
    let mut words = [""; Disposition::WORDS.len()];
    let mut at = 0;
    while at < words.len() {
        words[at] = Disposition::WORDS[at].0;
        at += 1;
    }
    words
};

impl TravelerBuilder<'_> {
    /// What is on hold and since when; nothing where nothing is.
    pub(super) fn on_hold(&self) -> Option<Content> {
        let axis = self.case.machine.axes[self.axis].name.as_str();
        let all = holds(self.case.ledger, self.findings);
        let rows = in_force(&all, axis).map(|hold| {
            let on = hold.on.as_deref().unwrap_or(axis);
            vec![
                on.into(),
                TableCell::given(hold.signed.date.clone()),
                TableCell::given(hold.signed.by.clone()),
                reason(hold).into(),
            ]
        });
        let rows: Vec<Vec<TableCell>> = rows.collect();
        if rows.is_empty() {
            return None;
        }
        let mut body = Content::default();
        body.heading(2, "On hold");
        body.say("Nothing of this is fitted on, or released, until it is lifted. `wayledger traveler --holds` prints a sheet for each.");
        body.table("", &["Address", "Since", "By", "Reason"], rows);
        Some(body)
    }
}

/// A sheet a hold in force on an axis, each on a page of its own.
pub(crate) fn hold_sheets(judged: &Judged, axis: usize, today: Date) -> Paper {
    let machine = &judged.ledger.machine;
    let axis = machine.axes[axis].name.as_str();
    let called = machine.title.as_ref().or(machine.name.as_ref()).map_or("", |name| name.as_str());
    let state = Some(State::at(&judged.ledger, &judged.findings, axis));
    let mut paper = Paper { is_form: true, state, ..Paper::new(format!("On hold: {called}, axis {axis}")) };
    let all = holds(&judged.ledger, &judged.findings);
    let mut first = true;
    for hold in in_force(&all, axis) {
        if !std::mem::take(&mut first) {
            paper.body.new_page();
        }
        sheet(&mut paper.body, hold, (called, axis), today, &judged.findings);
    }
    if first {
        paper.body.say(format!("Nothing is on hold on axis {axis}, as of {today}."));
    }
    paper
}

fn sheet(body: &mut Content, hold: &HoldReport, (called, axis): (&str, &str), today: Date, findings: &[Finding]) {
    let on = hold.on.as_deref().unwrap_or(axis);
    body.heading(2, format!("ON HOLD: {on}"));
    body.facts(vec![
        ("Machine", called.into()),
        ("On hold since", TableCell::given(hold.signed.date.clone())),
        ("Put on by", TableCell::given(hold.signed.by.clone())),
        ("Reason", reason(hold).into()),
        ("Stands now", TableCell::State(hold.state)),
        ("State of", today.to_string().into()),
    ]);
    if let Some(lift) = &hold.lift {
        let what = lift.disposition.as_deref().unwrap_or_default();
        let day = lift.signed.date.as_deref().unwrap_or_default();
        body.say(format!("It was decided on {day}: {what}. The part does not stay as it is: exchange it, then describe and read what is there."));
    }
    let open = |it: &&Finding| {
        within(&it.address, on)
            && it.conceded.is_none()
            && matches!(it.grade, Grade::Nonconformity | Grade::Outstanding)
            && it.rule != hold_in_force::RULE.name
    };
    let open: Vec<&Finding> = findings.iter().filter(open).collect();
    if !open.is_empty() {
        body.heading(3, "What the ledger shows there");
        let mut lines = Vec::new();
        for it in open {
            lines.push(ListItem::new(0, format!("{}: {} ({})", it.address, it.message, it.grade.name())));
            if !it.next.is_empty() {
                lines.push(ListItem::new(1, format!("next: {}", it.next)));
            }
        }
        body.list(lines);
    }
    body.heading(3, "What is done about it");
    let mut facts = vec![("Disposition", TableCell::Choice(&DISPOSITIONS))];
    facts.extend(
        ["What was done", "Read again, and what was read", "By", "Date and time"].map(|it| (it, TableCell::Blank)),
    );
    body.facts(facts);
    body.hold_point("The part stays as it is until somebody who decides about it signs here.");
    body.say(format!("Then record the work and the readings, and: {}", lift_line(on, "…")));
}

/// The holds in force on an axis and its parts.
fn in_force<'h>(all: &'h [HoldReport], axis: &'h str) -> impl Iterator<Item = &'h HoldReport> {
    all.iter().filter(move |hold| hold.in_force && hold.on.as_deref().is_none_or(|on| within(on, axis)))
}

fn reason(hold: &HoldReport) -> String {
    let reason = hold.reason.as_deref().unwrap_or("no reason is given");
    if hold.withdrawn { format!("release withdrawn: {reason}") } else { reason.to_owned() }
}
