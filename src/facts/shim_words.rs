//! What is said of a shim plan: the same on the terminal, on papers and in the lint's advice.

use crate::calc::shims::ShimPlanError;
use crate::ledger::Ledger;
use crate::quantity::{Amount, Length};

use super::shim_plan::ShimPlan;
use super::shims::stack;

/// More supports than this are not spelt out in one sentence.
const MOST_NAMED: usize = 6;

/// The stack that is put in, and the leaves that it takes the place of.
pub(crate) fn put_in(leaves: &[Length], there: &[Length]) -> String {
    if there.is_empty() { stack(leaves) } else { format!("{} for {}", stack(leaves), stack(there)) }
}

/// What a plan asks for: `shim S3 with 0.05 + 0.02, S5 with 0.02`, or why there is none; nothing where no shim is wanted.
pub(crate) fn advice(ledger: &Ledger, plan: &ShimPlan) -> Option<String> {
    let best = match &plan.best {
        Ok(best) => best,
        Err(why) => return Some(no_plan(ledger, plan, why)),
    };
    let rail = ledger.machine.rail(plan.rail);
    let all: Vec<_> = plan.put_in(&best.stacks).collect();
    let named = all.iter().take(MOST_NAMED).map(|(row, leaves)| {
        let verb = if leaves.is_empty() { "without its " } else { "with " };
        let what = if leaves.is_empty() { stack(&row.there) } else { put_in(leaves, &row.there) };
        format!("{} {verb}{what}", rail.supports[row.support].name)
    });
    let mut named: Vec<String> = named.collect();
    if all.len() > MOST_NAMED {
        named.push(format!("and {} more", all.len() - MOST_NAMED));
    }
    (!named.is_empty()).then(|| format!("shim {}", named.join(", ")))
}

/// Leaves that are not free now, and might be.
fn exchange(plan: &ShimPlan) -> &'static str {
    if plan.exchange { "; or leaves that lie elsewhere or are planned for might serve here" } else { "" }
}

/// Why there is no plan, at the place it is about, and what to do.
pub(crate) fn no_plan(ledger: &Ledger, plan: &ShimPlan, why: &ShimPlanError) -> String {
    let mm = |nm: i64| Length(nm).number();
    match why {
        ShimPlanError::NoTotal { support, from_nm, to_nm, below_nm, above_nm } => {
            let name =
                plan.rows.get(*support).map_or("?", |row| &ledger.machine.rail(plan.rail).supports[row.support].name);
            let above = above_nm.map_or("nothing thicker".to_string(), &mm);
            format!(
                "{name} needs {} to {} mm, which no leaves in stock make; the nearest are {} and {above}: order more or other leaves{}",
                mm(*from_nm),
                mm(*to_nm),
                mm(*below_nm),
                exchange(plan)
            )
        }
        ShimPlanError::Bent { station, off_nm } => {
            let name = plan.between.get(*station).map_or("?", |row| &row.name);
            let doubt = plan.uncertainty.filter(|u| u.nm() >= *off_nm);
            let doubt = doubt.map_or(String::new(), |u| format!(" (less than U = {u}: the reading may be wrong)"));
            format!(
                "{name} stands {} mm off the line between the supports beside it{doubt}, the whole range is {}: no shim cures this; \
                 clean seat and rail there and read it again, or the rail is bent",
                mm(*off_nm),
                plan.range
            )
        }
        ShimPlanError::NoRange { .. } => {
            format!(
                "the measuring uncertainty, or the margin asked for, leaves nothing of the limit ({}): use a finer gauge or a smaller margin",
                plan.limit.text
            )
        }
        ShimPlanError::StockShort { missing } => {
            let kinds = plan.stock.kinds().iter().zip(missing).filter(|(_, count)| **count > 0);
            let wanted: Vec<String> =
                kinds.map(|(kind, count)| format!("{count} of {} mm", mm(kind.thickness_nm))).collect();
            format!("the stock does not suffice for all supports: order {}{}", wanted.join(", "), exchange(plan))
        }
        ShimPlanError::NotTogether => format!("{why}: order thinner leaves"),
        ShimPlanError::Undecided if plan.cut_short => "the search was ended before a plan was found".into(),
        ShimPlanError::Undecided => format!("{why}: give the search more steps"),
        other => other.to_string(),
    }
}
