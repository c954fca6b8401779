//! A shim plan as the record that says it was carried out.

use jiff::civil::Date;

use super::shim_plan::{Row, ShimPlan};
use crate::calc::shims::Stack;
use crate::ledger::Ledger;
use crate::quantity::{Amount, Length};
use crate::text::quote;

/// The record that says the plan was carried out; nothing where no support is shimmed.
pub fn record(ledger: &Ledger, plan: &ShimPlan, stacks: &[Stack], date: Date, by: Option<&str>) -> Option<String> {
    let rows = rows(ledger, plan, stacks);
    let address = quote(&ledger.machine.rail_address(plan.rail));
    let by = by.map_or("…".to_string(), quote);
    (!rows.is_empty()).then(|| format!("shim {address} date=\"{date}\" by={by} {{\n{}}}\n", rows.concat()))
}

/// The rows of the record: the leaves that then lie under each support, 0 where they are taken out. Supports that are
/// left as they are are not named.
pub fn rows(ledger: &Ledger, plan: &ShimPlan, stacks: &[Stack]) -> Vec<String> {
    let rail = ledger.machine.rail(plan.rail);
    let row = |(row, leaves): (&Row, Vec<Length>)| {
        let leaves: Vec<String> = leaves.iter().map(|leaf| leaf.number()).collect();
        let leaves = if leaves.is_empty() { "0".to_string() } else { leaves.join(" ") };
        format!("    at {} {leaves}\n", quote(&rail.supports[row.support].name))
    };
    plan.put_in(stacks).map(row).collect()
}
