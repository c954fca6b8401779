//! A fleet of ledgers as a paper and on the terminal.

use std::fmt::Write as _;

use super::clean;
use super::paper::{Cell, Paper};
use super::report::{counts, folder};
use crate::finding::counted;
use crate::quantity::Amount;
use crate::views::report::{DueState, Fleet, Machine, State};

/// The fleet as a paper.
pub fn paper(fleet: &Fleet) -> Paper {
    let mut paper = Paper::new(format!("Build report of {}", counted(fleet.machines.len(), "machine", "machines")));
    let of = |state: State| fleet.machines.iter().filter(|machine| machine.state == state).count();
    paper.facts(vec![
        ("Judged by the day", fleet.judged_on.as_str().into()),
        ("Nonconforming", Cell::Number(of(State::Nonconforming).to_string())),
        ("Not judged", Cell::Number(of(State::NotJudged).to_string())),
        ("Outstanding", Cell::Number(of(State::Outstanding).to_string())),
        ("Conforming by concession", Cell::Number(of(State::Conceded).to_string())),
        ("Conforming", Cell::Number(of(State::Conforming).to_string())),
    ]);
    paper.heading(2, "Machines");
    let rows = fleet.machines.iter().map(|machine| {
        vec![
            folder(&machine.path).into(),
            machine.title.as_str().into(),
            Cell::State(machine.state),
            Cell::Number(machine.counts.nonconformities.to_string()),
            Cell::Number(machine.counts.outstanding.to_string()),
            Cell::Number(machine.counts.conceded.to_string()),
            Cell::Number(format!("{} of {}", machine.joints_conforming, machine.joints)),
            Cell::Number(format!("{} of {}", machine.released, machine.axes)),
        ]
    });
    paper.table(
        "",
        &[
            "Ledger",
            "Machine",
            "State",
            "Nonconformities",
            "Outstanding",
            "Conceded",
            "Joints conforming",
            "Axes released",
        ],
        rows.collect(),
    );
    paper.heading(2, "Joints");
    paper.say(yield_in_words(fleet));
    let all: usize = fleet.steps.iter().map(|share| share.count).sum();
    let rows = fleet.steps.iter().map(|share| {
        let range = match share.up_to {
            Some(up_to) => format!("{} to {up_to} %", share.above),
            None => format!("over {} %", share.above),
        };
        let count = share.count.to_string();
        let percent = (share.count * 1000).checked_div(all).map(|mille| format!("{}.{} %", mille / 10, mille % 10));
        let count = if share.up_to.is_none() && share.count > 0 { Cell::Wrong(count) } else { Cell::Number(count) };
        vec![range.into(), count, Cell::number(percent)]
    });
    paper.table(
        "Groove steps as they stand now, as a share of the machine's own limit",
        &["Of the limit", "Grooves", "Share"],
        rows.collect(),
    );
    paper.heading(2, "Shims");
    if fleet.leaves.is_empty() {
        paper.say("None lie under any rail.");
    }
    let rows = fleet.leaves.iter().map(|leaves| {
        vec![
            Cell::Number(leaves.thickness.number()),
            Cell::Number(leaves.count.to_string()),
            Cell::Number(leaves.supports.to_string()),
        ]
    });
    paper.table("Leaves that lie under rails now", &["Leaf, mm", "Leaves", "Supports"], rows.collect());
    paper.heading(2, "Due");
    if fleet.dues.is_empty() {
        paper.say("Nothing is overdue or due soon.");
    }
    let rows = fleet.dues.iter().map(|due| {
        let standing = due.standing.word();
        vec![
            if due.standing == DueState::Overdue { Cell::Wrong(standing.into()) } else { standing.into() },
            Cell::given(due.due.clone()),
            due.task.as_str().into(),
            due.of.as_str().into(),
            due.machines.join(", ").into(),
        ]
    });
    paper.table("", &["Standing", "Due", "Task", "Of", "Machines"], rows.collect());
    let rows = fleet.sealed_limits.iter().map(|limit| {
        vec![
            limit.machine.as_str().into(),
            limit.entry.as_str().into(),
            limit.limit.as_str().into(),
            limit.source.as_str().into(),
        ]
    });
    let rows: Vec<Vec<Cell>> = rows.collect();
    if !rows.is_empty() {
        paper.heading(2, "Limits sealed by a release that are others today");
        paper.say("A released axis is judged by the limits of its seal, here and by the lint.");
    }
    paper.table("", &["Ledger", "Entry", "Judged by", "Source, and today's limit"], rows);
    paper
}

/// `Joints that conformed at their first inspection: 7 of 8, a first-pass yield of 87 %.`
fn yield_in_words(fleet: &Fleet) -> String {
    let first = &fleet.first_pass;
    let mut text = match first.percent() {
        None => "No joint has an inspection of all four grooves yet.".to_string(),
        Some(percent) => format!(
            "Joints that conformed at their first inspection: {} of {}, a first-pass yield of {percent} %.",
            first.conforming, first.inspected
        ),
    };
    if first.incomplete > 0 {
        let (was, is) = if first.incomplete == 1 { ("was", "is") } else { ("were", "are") };
        let left = first.incomplete;
        let _ = write!(text, " {left} more {was} first inspected without all four grooves and {is} left out.");
    }
    text
}

/// The fleet on the terminal.
pub fn text(fleet: &Fleet) -> String {
    let mut out = String::new();
    let width = fleet.machines.iter().map(|machine| folder(&machine.path).chars().count()).max().unwrap_or(0).min(60);
    for machine in &fleet.machines {
        // Writing to a string cannot fail.
        let _ = writeln!(out, "{}", line(machine, width));
    }
    let _ = writeln!(out, "\n{}", yield_in_words(fleet));
    let steps = fleet.steps.iter().map(|share| match share.up_to {
        Some(up_to) => format!("{} up to {up_to} %", share.count),
        None => format!("{} over the limit", share.count),
    });
    let _ = writeln!(out, "groove steps by their share of the limit: {}", steps.collect::<Vec<_>>().join(", "));
    if !fleet.leaves.is_empty() {
        let leaves = fleet.leaves.iter().map(|leaves| format!("{} of {}", leaves.count, leaves.thickness));
        let _ = writeln!(out, "shim leaves that lie under rails: {}", leaves.collect::<Vec<_>>().join(", "));
    }
    for due in &fleet.dues {
        let day = due.due.as_ref().map_or(String::new(), |day| format!(" {day}"));
        let _ = writeln!(
            out,
            "{}{day}: {} {} ({})",
            due.standing.word(),
            due.task,
            clean(&due.of),
            clean(&due.machines.join(", "))
        );
    }
    for limit in &fleet.sealed_limits {
        let line = format!("limit {} in {}: {} ({})", limit.entry, limit.machine, limit.limit, limit.source);
        let _ = writeln!(out, "{}", clean(&line));
    }
    out
}

fn line(machine: &Machine, width: usize) -> String {
    let path = clean(folder(&machine.path)).into_owned();
    format!(
        "{path:<width$}  {:<24}  joints conforming: {} of {}, axes released: {} of {}; findings: {}",
        machine.state.word(),
        machine.joints_conforming,
        machine.joints,
        machine.released,
        machine.axes,
        counts(&machine.counts),
    )
}
