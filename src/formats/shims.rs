//! A shim plan on the terminal: a table with a small picture, and as the record that says it was carried out.

use std::fmt::Write as _;

use super::clean;
use crate::calc::shims::Stack;
use crate::calc::survey::ShimEffect;
use crate::facts::shim_plan::ShimPlan;
use crate::facts::shim_words::put_in;
use crate::ledger::Ledger;
use crate::quantity::{Amount, Length};

/// Width of the picture in characters.
const WIDE: usize = 31;

/// The plan as people read it.
pub fn table(ledger: &Ledger, plan: &ShimPlan, stacks: &[Stack]) -> String {
    let rail = ledger.machine.rail(plan.rail);
    let mut lines: Vec<Line> = Vec::new();
    for ((row, stack), then) in plan.rows.iter().zip(stacks).zip(plan.expected(stacks)) {
        let support = &rail.supports[row.support];
        let reading = format!("{}{}", row.reading.number(), if row.interpolated { "~" } else { "" });
        let shim = if stack.put_in { put_in(&plan.leaves(stack), &row.there) } else { String::new() };
        lines.push(Line {
            name: clean(&support.name).into_owned(),
            at: support.at,
            reading,
            need: row.need,
            shim,
            then,
        });
    }
    for (row, then) in plan.between.iter().zip(plan.expected_between(stacks)) {
        let (name, reading) = (clean(&row.name).into_owned(), row.reading.number());
        lines.push(Line { name, at: row.position, reading, need: row.need, shim: String::new(), then });
    }
    lines.sort_by_key(|line| line.at);
    let all = || lines.iter().flat_map(|line| [-line.need, line.then]);
    let least = all().min().unwrap_or_default();
    let most = all().max().unwrap_or_default().max(Length::ZERO);
    let scale = (most - least).nm().max(1);
    let column = |value: Length| ((value - least).nm() as i128 * (WIDE as i128 - 1) / i128::from(scale)) as usize;
    let mut out = String::new();
    let target = match plan.effect {
        ShimEffect::Widens => "widest",
        ShimEffect::Narrows => "narrowest",
        ShimEffect::Lifts => "highest",
    };
    let _ = writeln!(
        out,
        "  {:<6} {:>9} {:>8} {:>7}  {:<20} {:>8}  from the {target} place: o before, x after",
        "at", "position", "reading", "needed", "shim", "then"
    );
    for Line { name, at, reading, need, shim, then } in &lines {
        let mut picture = vec![b' '; WIDE];
        picture[column(Length::ZERO)] = b'|';
        picture[column(-*need)] = b'o';
        picture[column(*then)] = b'x';
        let line = format!(
            "  {name:<6} {:>9} {reading:>8} {:>7}  {shim:<20} {:>8}  {}",
            at.number(),
            need.number(),
            then.number(),
            String::from_utf8_lossy(&picture)
        );
        let _ = writeln!(out, "{}", line.trim_end());
    }
    if plan.rows.iter().any(|row| row.interpolated) {
        out.push_str("  ~ no station: linear between its neighbours\n");
    }
    out
}

/// A support or a station between supports.
struct Line {
    name: String,
    at: Length,
    reading: String,
    need: Length,
    shim: String,
    then: Length,
}
