//! A fleet of ledgers as a paper.

use std::cmp::Reverse;
use std::collections::BTreeSet;
use std::fmt::Write as _;

use super::page_names::PageNames;
use super::report::deadlines;
use crate::finding::counted;
use crate::formats::pictures;
use crate::quantity::Amount;
use crate::views::paper::{Content, Paper, TableCell};
use crate::views::report::{Fleet, MachineCounts, MachineReport, ShopRow, State};
use crate::world::shown_path;

/// The fleet as a paper.
pub fn paper(fleet: &Fleet) -> Paper {
    linked(fleet, &PageNames::default())
}

/// The same with a link to the page of each machine that has one.
pub(crate) fn linked(fleet: &Fleet, pages: &PageNames) -> Paper {
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
    body.heading(2, "What needs a person");
    let attention = &fleet.attention;
    let wrong = |count: usize| match count {
        0 => TableCell::Number("0".into()),
        count => TableCell::Wrong(count.to_string()),
    };
    let number = |count: usize| TableCell::Number(count.to_string());
    body.facts(vec![
        ("Machines nonconforming", wrong(attention.nonconforming)),
        ("Overdue", wrong(attention.overdue)),
        ("On hold", wrong(attention.on_hold)),
        ("Due within 30 days", number(attention.within_30)),
        ("Due within 90 days", number(attention.within_90)),
        ("Concessions that end within 90 days", number(attention.concessions)),
    ]);
    body.figure(pictures::fleet::dues(fleet));
    deadlines(body, &fleet.dues);
    body.heading(2, "By shop and design");
    by_shop(body, fleet);
    by_revision(body, fleet);
    let in_need = || fleet.machines.iter().filter(|machine| machine.needs_somebody);
    if in_need().count() < fleet.machines.len() {
        body.heading(2, "Machines that need somebody");
        if in_need().next().is_none() {
            body.say("None.");
        }
        machines(body, in_need(), pages);
    }
    body.heading(2, "All machines");
    machines(body, fleet.machines.iter(), pages);
    body.heading(2, "Joints");
    body.say(yield_in_words(fleet));
    body.figure(pictures::fleet::steps(fleet));
    let all: usize = fleet.steps.iter().map(|share| share.count).sum();
    let rows = fleet.steps.iter().map(|share| {
        let range = match share.up_to {
            Some(up_to) => format!("{} to {up_to} %", share.above),
            None => format!("over {} %", share.above),
        };
        let count = share.count.to_string();
        // To the nearest tenth.
        let mille = (share.count * 1000 + all / 2).checked_div(all);
        let percent = mille.map(|mille| format!("{}.{} %", mille / 10, mille % 10));
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
    stock(body, fleet);
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

/// Every machine in a row, what needs a person most first.
fn machines<'f>(body: &mut Content, machines: impl Iterator<Item = &'f MachineReport>, pages: &PageNames) {
    let mut machines: Vec<&MachineReport> = machines.collect();
    machines.sort_by_key(|machine| {
        let counts = &machine.counts;
        (machine.state, !machine.needs_somebody, Reverse(counts.nonconformities), Reverse(counts.outstanding))
    });
    let rows = machines.into_iter().map(|machine| {
        let folder = shown_path(&machine.path);
        vec![
            match pages.of(&machine.path) {
                Some(page) => TableCell::Link { text: folder.to_owned(), page: page.to_owned() },
                None => folder.into(),
            },
            machine.title.as_str().into(),
            TableCell::given(machine.design.clone()),
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
            "Built to",
            "State",
            "Nonconformities",
            "Outstanding",
            "Conceded",
            "Joints conforming",
            "Axes released",
        ],
        rows.collect(),
    );
}

fn counts(of: &MachineCounts) -> [TableCell; 4] {
    [
        TableCell::Number(of.machines.to_string()),
        TableCell::Number(of.released.to_string()),
        if of.nonconforming > 0 {
            TableCell::Wrong(of.nonconforming.to_string())
        } else {
            TableCell::Number("0".into())
        },
        TableCell::Number(format!("{} of {}", of.joints_conforming, of.joints)),
    ]
}

/// A row a shop file and design, with the limits that are not the same in all rows: what conforms by a wider one is no better.
fn by_shop(body: &mut Content, fleet: &Fleet) {
    let limits = |row: &ShopRow, entry: &str| -> Vec<String> {
        row.limits.iter().filter(|limit| limit.entry == entry).map(|limit| limit.limit.clone()).collect()
    };
    let entries: BTreeSet<&str> = fleet.shops.iter().flat_map(|row| &row.limits).map(|limit| limit.entry).collect();
    let differs = |entry: &&&str| {
        let of = |row| limits(row, entry);
        fleet.shops.iter().any(|row| of(row) != of(&fleet.shops[0]) || of(row).len() > 1)
    };
    let entries: Vec<&str> = entries.iter().filter(differs).copied().collect();
    let rows = fleet.shops.iter().map(|row| {
        let here = entries.iter().map(|entry| match &limits(row, entry)[..] {
            [] => format!("{entry} as it came"),
            all => format!("{entry} {}", all.join(" or ")),
        });
        let here: Vec<String> = here.collect();
        let mut cells = vec![TableCell::given(row.shop.clone()), TableCell::given(row.design.clone())];
        cells.extend(counts(&row.counted));
        cells.push(TableCell::given((!here.is_empty()).then(|| here.join("; "))));
        cells
    });
    let columns =
        ["Shop", "Built to", "Machines", "Released", "Nonconforming", "Joints conforming", "Limits that differ"];
    body.table("", &columns, rows.collect());
}

/// A row a revision of a design; nothing where no machine is built to one.
fn by_revision(body: &mut Content, fleet: &Fleet) {
    let rows = fleet.revisions.iter().filter(|row| row.design.is_some()).map(|row| {
        let mut cells = vec![TableCell::given(row.design.clone())];
        cells.extend(counts(&row.counted));
        cells.push(TableCell::Number(row.deviating.to_string()));
        cells
    });
    let columns = ["Design", "Machines", "Released", "Nonconforming", "Joints conforming", "With deviations"];
    body.table("Which machines stand on which revision", &columns, rows.collect());
}

/// What is left in stock; nothing where no shop file counts any.
fn stock(body: &mut Content, fleet: &Fleet) {
    let rows = fleet.stock.iter().map(|line| {
        let left = line.left.to_string();
        vec![
            line.file.as_str().into(),
            line.item.as_str().into(),
            TableCell::Number(line.received.to_string()),
            TableCell::Number(line.used.to_string()),
            TableCell::Number(line.scrapped.to_string()),
            if line.left < 0 { TableCell::Wrong(left) } else { TableCell::Number(left) },
        ]
    });
    let rows: Vec<Vec<TableCell>> = rows.collect();
    if rows.is_empty() {
        return;
    }
    body.heading(2, "Stock");
    body.table(
        "What shop files count, and what is left of it",
        &["Counted in", "What", "Received", "Used", "Scrapped", "Left"],
        rows,
    );
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
