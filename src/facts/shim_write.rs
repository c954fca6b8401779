//! A shim plan as the record that says it was carried out.

use super::shim_plan::{ShimPlan, ShimPlanRow};
use crate::calc::shims::Stack;
use crate::ledger::{Ledger, NodeDraft};
use crate::quantity::{Length, Moment};

/// The record that says the plan was carried out; nothing where no support is shimmed.
pub(crate) fn record(
    ledger: &Ledger,
    plan: &ShimPlan,
    stacks: &[Stack],
    date: Moment,
    by: Option<&str>,
) -> Option<NodeDraft> {
    let rows = rows(ledger, plan, stacks);
    let record = NodeDraft::new("shim").value(&ledger.machine.rail_address(plan.rail)).signed(date, by.unwrap_or("…"));
    (!rows.is_empty()).then(|| rows.into_iter().fold(record, NodeDraft::row))
}

/// The rows of the record: the leaves that then lie under each support, 0 where they are taken out. Supports that are
/// left as they are are not named.
pub fn rows(ledger: &Ledger, plan: &ShimPlan, stacks: &[Stack]) -> Vec<NodeDraft> {
    let rail = ledger.machine.rail(plan.rail);
    let row = |(row, mut leaves): (&ShimPlanRow, Vec<Length>)| {
        if leaves.is_empty() {
            leaves.push(Length::ZERO);
        }
        NodeDraft::new("at").value(rail.supports[row.support].name.as_str()).values(leaves)
    };
    plan.put_in(stacks).map(row).collect()
}
