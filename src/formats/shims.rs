//! A shim plan on the terminal: a table with a small picture, and as the record that says it was carried out.

use std::fmt::Write as _;

use super::clean;
use crate::calc::shims::Stack;
use crate::calc::survey::ShimEffect;
use crate::facts::shim_plan::ShimPlan;
use crate::ledger::Ledger;
use crate::quantity::{Amount, Length};

/// Width of the picture in characters.
const WIDE: usize = 31;

/// The plan as people read it.
pub fn table(ledger: &Ledger, plan: &ShimPlan, stacks: &[Stack]) -> String {
    let rail = ledger.machine.rail(plan.rail);
    let expected = plan.expected(stacks);
    let before: Vec<Length> = plan.rows.iter().map(|row| -row.need).collect();
    let least = before.iter().chain(&expected).min().copied().unwrap_or_default();
    let most = before.iter().chain(&expected).max().copied().unwrap_or_default().max(Length::ZERO);
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
    for ((row, stack), then) in plan.rows.iter().zip(stacks).zip(&expected) {
        let mut picture = vec![b' '; WIDE];
        picture[column(Length::ZERO)] = b'|';
        picture[column(-row.need)] = b'o';
        picture[column(*then)] = b'x';
        let reading = format!("{}{}", row.reading.number(), if row.interpolated { "~" } else { "" });
        let shim = match stack.is_put_in(row.need.nm()) {
            true => put_in(&plan.leaves(stack), &row.there),
            false => String::new(),
        };
        let support = &rail.supports[row.support];
        let line = format!(
            "  {:<6} {:>9} {:>8} {:>7}  {:<20} {:>8}  {}",
            clean(&support.name),
            support.at.number(),
            reading,
            row.need.number(),
            shim,
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

/// The stack that is put in, and the leaves it takes the place of.
fn put_in(leaves: &[Length], there: &[Length]) -> String {
    let stack = |leaves: &[Length]| leaves.iter().map(|leaf| leaf.number()).collect::<Vec<_>>().join(" + ");
    let new = if leaves.is_empty() { "none".to_string() } else { stack(leaves) };
    if there.is_empty() { new } else { format!("{new} for {}", stack(there)) }
}
