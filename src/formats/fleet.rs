//! A fleet of ledgers as a paper.

use std::fmt::Write as _;

use super::report::{deadlines, folder};
use crate::finding::counted;
use crate::quantity::Amount;
use crate::views::paper::{Paper, TableCell};
use crate::views::report::{Fleet, State};

/// The fleet as a paper.
pub fn paper(fleet: &Fleet) -> Paper {
    let mut paper = Paper::new(format!("Build report of {}", counted(fleet.machines.len(), "machine", "machines")));
    let body = &mut paper.body;
    let of = |state: State| fleet.machines.iter().filter(|machine| machine.state == state).count();
    body.facts(vec![
        ("Judged by the day", fleet.judged_on.as_str().into()),
        ("Nonconforming", TableCell::Number(of(State::Nonconforming).to_string())),
        ("Not judged", TableCell::Number(of(State::NotJudged).to_string())),
        ("Outstanding", TableCell::Number(of(State::Outstanding).to_string())),
        ("Conforming by concession", TableCell::Number(of(State::Conceded).to_string())),
        ("Conforming", TableCell::Number(of(State::Conforming).to_string())),
    ]);
    body.heading(2, "Machines");
    let rows = fleet.machines.iter().map(|machine| {
        vec![
            folder(&machine.path).into(),
            machine.title.as_str().into(),
            TableCell::State(machine.state),
            TableCell::Number(machine.counts.nonconformities.to_string()),
            TableCell::Number(machine.counts.outstanding.to_string()),
            TableCell::Number(machine.counts.conceded.to_string()),
            TableCell::Number(format!("{} of {}", machine.joints_conforming, machine.joints)),
            TableCell::Number(format!("{} of {}", machine.released, machine.axes)),
        ]
    });
    body.table(
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
    body.heading(2, "Joints");
    body.say(yield_in_words(fleet));
    let all: usize = fleet.steps.iter().map(|share| share.count).sum();
    let rows = fleet.steps.iter().map(|share| {
        let range = match share.up_to {
            Some(up_to) => format!("{} to {up_to} %", share.above),
            None => format!("over {} %", share.above),
        };
        let count = share.count.to_string();
        let percent = (share.count * 1000).checked_div(all).map(|mille| format!("{}.{} %", mille / 10, mille % 10));
        let count =
            if share.up_to.is_none() && share.count > 0 { TableCell::Wrong(count) } else { TableCell::Number(count) };
        vec![range.into(), count, TableCell::number(percent)]
    });
    body.table(
        "Groove steps as they stand now, as a share of the machine's own limit",
        &["Of the limit", "Grooves", "Share"],
        rows.collect(),
    );
    body.heading(2, "Shims");
    if fleet.leaves.is_empty() {
        body.say("None lie under any rail.");
    }
    let rows = fleet.leaves.iter().map(|leaves| {
        vec![
            TableCell::Number(leaves.thickness.number()),
            TableCell::Number(leaves.count.to_string()),
            TableCell::Number(leaves.supports.to_string()),
        ]
    });
    body.table("Leaves that lie under rails now", &["Leaf, mm", "Leaves", "Supports"], rows.collect());
    body.heading(2, "Due");
    deadlines(body, &fleet.dues);
    let rows = fleet.sealed_limits.iter().map(|limit| {
        vec![
            limit.machine.as_str().into(),
            limit.entry.as_str().into(),
            limit.limit.as_str().into(),
            limit.source.as_str().into(),
        ]
    });
    let rows: Vec<Vec<TableCell>> = rows.collect();
    if !rows.is_empty() {
        body.heading(2, "Limits sealed by a release that are others today");
        body.say("A released axis is judged by the limits of its seal, here and by the lint.");
    }
    body.table("", &["Ledger", "Entry", "Judged by", "Source, and today's limit"], rows);
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
