//! `wayledger shims`: the shim list of an axis, from its latest survey.

use std::io::Write as _;

use super::axis::OneAxis;
use super::{CLEAN, Failure, output};
use crate::calc::shims::Stack;
use crate::ledger::{Ledger, RailId};
use crate::quantity::{Amount, Length};
use crate::render::{clean, shims};
use crate::syntax::quote;
use crate::worked::shim_plan::{ShimPlan, shim_plan};
use crate::writing;

/// Plans the shims of an axis by its latest survey and the leaves in stock.
///
/// The plan keeps the gap inside its limit less the measuring uncertainty with the fewest shimmed supports, then the
/// fewest leaves, then the thinnest total; that no better plan exists is proven.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    #[command(flatten)]
    one: OneAxis,
    /// Shims every support up to the widest place instead, as is done by hand.
    #[arg(long)]
    plain: bool,
    /// Adds the record to the ledger, into the file of the day and person.
    #[arg(long, requires = "by")]
    write: bool,
    /// Who puts the shims in: a role or a staff number.
    #[arg(long, value_name = "PERSON")]
    by: Option<String>,
}

pub fn run(arguments: &Arguments) -> Result<u8, Failure> {
    let chosen = arguments.one.open()?;
    chosen.sound()?;
    let ledger = chosen.ledger();
    let rails: Vec<RailId> = chosen
        .rails()
        .into_iter()
        .filter(|id| chosen.rail.is_some() || ledger.machine.rail(*id).follows.is_some())
        .collect();
    if rails.is_empty() {
        return Err(Failure::Said(
            "no rail of this axis follows another: say follows=… on the one that is shimmed".into(),
        ));
    }
    let mut out = output::standard();
    let mut record = String::new();
    for id in rails {
        let address = ledger.machine.rail_address(id);
        let plan =
            shim_plan(ledger, id).map_err(|lacking| Failure::Said(format!("{}: {}", lacking.what, lacking.next)))?;
        let stacks = report(&mut out, ledger, &plan, &address, arguments.plain)?;
        let rows = shims::rows(ledger, &plan, &stacks);
        if rows.is_empty() {
            continue;
        }
        let by = arguments.by.as_deref().unwrap_or("…");
        record += &format!(
            "shim {} date=\"{}\" by={} {{\n{}}}\n",
            quote(&address),
            chosen.world.today(),
            if by == "…" { by.to_string() } else { quote(by) },
            rows.concat()
        );
    }
    if record.is_empty() {
        writeln!(out, "No shim is needed.")?;
    } else if let (true, Some(by)) = (arguments.write, &arguments.by) {
        let file = writing::day_file(&arguments.one.folder(&chosen)?, chosen.world.today(), by)?;
        let name = file.file_name().map_or(String::new(), |name| name.to_string_lossy().into_owned());
        let before = ledger.sources.text_of(&chosen.judged.path.join(&name));
        writing::append(&file, before, &record)?;
        writeln!(out, "Added to {}:\n\n{record}", clean(&chosen.shown(&name).0))?;
    } else {
        writeln!(out, "Record it when the shims are in:\n\n{record}")?;
    }
    writeln!(
        out,
        "Shims are thin steel and cut: wear gloves. Support by support: loosen, insert, snug, full torque.\n\
         Then survey again with stage=verification, and inspect the joints beside each shimmed support anew."
    )?;
    out.flush()?;
    Ok(CLEAN)
}

/// Prints one rail's plan and gives the stacks that were chosen.
fn report(
    out: &mut impl std::io::Write,
    ledger: &Ledger,
    plan: &ShimPlan,
    address: &str,
    plain: bool,
) -> Result<Vec<Stack>, Failure> {
    let survey = &ledger.records[plan.survey];
    let date = survey.date.map_or(String::new(), |date| format!(" of {}", date.value));
    writeln!(out, "{} by the survey{date}: {} ({})", clean(address), plan.limit.text, clean(&plan.limit.source))?;
    match &plan.guard {
        Some(guard) => writeln!(out, "planned for a range of {} ({guard})\n", plan.range)?,
        None => writeln!(
            out,
            "planned for a range of {}: the gauge's errors are not stated, so nothing is taken off\n",
            plan.range
        )?,
    }
    let stacks = match (&plan.best, plain) {
        (Ok(best), false) => {
            write!(out, "{}", shims::table(ledger, plan, &best.stacks))?;
            let proven = if best.proven { "no plan is better" } else { "a better plan may exist: the stock is scarce" };
            let sum = sums(best.shimmed, best.leaves, best.total_nm, best.range_nm);
            writeln!(out, "\n{sum}; {proven}")?;
            if let Ok(plain) = &plan.plain {
                let sum = sums(plain.shimmed, plain.leaves, plain.total_nm, plain.range_nm);
                writeln!(out, "up to the target everywhere it would be {sum}")?;
            }
            best.stacks.clone()
        }
        (Err(why), false) => return Err(Failure::Said(format!("{address}: {}", no_plan(ledger, plan, why)))),
        (_, true) => {
            let plain = plan.plain.as_ref().map_err(|why| Failure::Said(format!("{address}: {why}")))?;
            write!(out, "{}", shims::table(ledger, plan, &plain.stacks))?;
            writeln!(out, "\n{}", sums(plain.shimmed, plain.leaves, plain.total_nm, plain.range_nm))?;
            let missing = plan.stock.kinds().iter().zip(&plain.missing).filter(|(_, count)| **count > 0);
            for (kind, count) in missing {
                writeln!(out, "{count} leaves of {} are missing from the stock", Length(kind.thickness_nm))?;
            }
            plain.stacks.clone()
        }
    };
    writeln!(out)?;
    Ok(stacks)
}

fn sums(shimmed: usize, leaves: u64, total_nm: i64, range_nm: i64) -> String {
    format!(
        "{shimmed} supports shimmed with {leaves} leaves, {} in all; range then {}",
        Length(total_nm),
        Length(range_nm)
    )
}

/// Why there is no plan, at the place it is about.
fn no_plan(ledger: &Ledger, plan: &ShimPlan, why: &crate::calc::shims::NoPlan) -> String {
    use crate::calc::shims::NoPlan;
    let mm = |nm: i64| Length(nm).number();
    match why {
        NoPlan::NoTotal { support, from_nm, to_nm, below_nm, above_nm } => {
            let name =
                plan.rows.get(*support).map_or("?", |row| &ledger.machine.rail(plan.rail).supports[row.support].name);
            let above = above_nm.map_or("nothing thicker".to_string(), &mm);
            format!(
                "{name} needs {} to {} mm, which no leaves in stock make; the nearest are {} and {above}: order thinner leaves",
                mm(*from_nm),
                mm(*to_nm),
                mm(*below_nm)
            )
        }
        NoPlan::NoRange { .. } => {
            format!("the measuring uncertainty leaves nothing of the limit ({}): use a finer gauge", plan.limit.text)
        }
        NoPlan::StockShort { missing } => {
            let kinds = plan.stock.kinds().iter().zip(missing).filter(|(_, count)| **count > 0);
            let wanted: Vec<String> =
                kinds.map(|(kind, count)| format!("{count} of {} mm", mm(kind.thickness_nm))).collect();
            format!("the stock does not suffice for all supports: order {}", wanted.join(", "))
        }
        other => other.to_string(),
    }
}
