//! `wayledger shims`: the shim list of an axis, from its latest survey.

use std::io::Write as _;

use super::axis::{ChosenLedger, OneAxis};
use super::prompter::StandardPrompter;
use super::{BROKEN, CLEAN, CommandError, moment, output};
use crate::facts::shim_plan::{ShimPlan, shim_plan};
use crate::facts::shim_write;
use crate::finding::{Finding, counted};
use crate::formats::{clean, shims};
use crate::judging::foreseen;
use crate::ledger::{Ledger, NodeDraft, RailId};
use crate::quantity::{Amount, Length, Moment};
use crate::rules;
use crate::writing::records::{Addition, DayFile, together};
use crate::writing::tidy;

/// Plans the shims of an axis by its latest survey and the leaves in stock.
///
/// The plan keeps the gap inside its limit, as the lint judges it, with the fewest shimmed supports, then the fewest
/// leaves, then the thinnest total; that no better plan exists is proven or said not to be. Where the rulebook requires
/// proof, the measuring uncertainty is taken off the limit. Leaves that lie in the machine are not in stock; a support
/// that is shimmed anew gets its whole stack anew. Each plan is judged by the lint's own rules before it is told.
///
/// Exit code: 0 when the lint would find the plan kept, 1 when it would find fault with it, 2 when there is no plan.
#[derive(Debug, clap::Args)]
pub(crate) struct ShimsArguments {
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
    /// When they are in: 2026-04-14T08:10, or 2026-04-14 to be asked for the time; now where nothing is said.
    #[arg(long, value_name = "MOMENT", requires = "write", value_parser = moment::option)]
    date: Option<Moment>,
}

pub(crate) fn run(arguments: &ShimsArguments) -> Result<u8, CommandError> {
    let chosen = arguments.one.open_to_plan()?;
    chosen.sound()?;
    let ledger = chosen.ledger();
    let rails: Vec<RailId> = chosen
        .rails()
        .into_iter()
        .filter(|id| chosen.rail.is_some() || ledger.machine.rail(*id).follows.is_some())
        .collect();
    if rails.is_empty() {
        return Err(CommandError::Said(
            "no rail of this axis follows another: say follows=… on the one that is shimmed".into(),
        ));
    }
    let mut out = output::standard();
    let writes = arguments.by.as_deref().filter(|_| arguments.write);
    // What is only shown is about the day: when the shims are in nobody knows yet.
    let moment = match writes {
        Some(_) => moment::settled(arguments.date, arguments.one.today(), &mut StandardPrompter::new())?,
        None => Moment { date: chosen.world.today(), minute: None },
    };
    let (mut records, mut kept) = (Vec::<NodeDraft>::new(), true);
    for id in rails {
        let address = ledger.machine.rail_address(id);
        let plan = shim_plan(ledger, id, moment.date)
            .map_err(|lacking| CommandError::Said(format!("{}: {}", lacking.what, lacking.next)))?;
        head(&mut out, ledger, &plan, &address)?;
        let stacks = match (&plan.best, arguments.plain) {
            (Ok(best), false) => &best.stacks,
            (Err(why), false) => return Err(CommandError::Said(format!("{address}: {}", no_plan(ledger, &plan, why)))),
            (_, true) => &plan.plain.as_ref().map_err(|why| CommandError::Said(format!("{address}: {why}")))?.stacks,
        };
        let broken = foreseen::of_shims(ledger, &plan, stacks, chosen.world.today());
        report(&mut out, ledger, &plan, arguments.plain, &broken)?;
        let toe_in = |found: &&Finding| found.rule == rules::gap::toe_in::RULE.name && found.address == address;
        for found in chosen.judged.findings.iter().filter(toe_in) {
            writeln!(out, "Without shims: {}; {}.\n", clean(&found.message), clean(&found.next))?;
        }
        kept &= broken.is_empty();
        let by = arguments.by.as_deref();
        records.extend(shim_write::record(ledger, &plan, stacks, moment, by));
    }
    match writes {
        _ if records.is_empty() => {
            writeln!(out, "{}", if kept { "No shim is needed." } else { "No shim cures this." })?;
        }
        Some(by) => {
            let file = DayFile::as_read(&arguments.one.folder(&chosen)?, ledger, moment, by)?;
            let addition = file.add(&together(&records))?;
            may_be_written(&addition, &chosen)?;
            addition.write()?;
            writeln!(out, "Added to {}:\n\n{}", clean(&file.path.0), addition.records())?;
        }
        None => {
            let records = tidy::text(&together(&records)).map_err(|why| CommandError::Said(why.to_string()))?;
            writeln!(out, "Record it when the shims are in:\n\n{records}")?;
        }
    }
    writeln!(
        out,
        "Shims are thin steel and cut: wear gloves. Support by support: loosen, insert, snug, full torque.\n\
         Then survey again with stage=verification, and inspect the joints beside each shimmed support anew."
    )?;
    out.flush()?;
    Ok(if kept { CLEAN } else { BROKEN })
}

/// Fails where the record itself would be wrong: its text, or its date.
fn may_be_written(addition: &Addition, chosen: &ChosenLedger) -> Result<(), CommandError> {
    let trial = addition.trial(chosen.ledger(), chosen.world.day());
    let of_date = trial.findings.iter().filter(|finding| finding.rule == rules::keeping::date_order::RULE.name);
    match trial.faults.iter().chain(of_date).next() {
        Some(wrong) => {
            Err(CommandError::Said(format!("{}; {}; nothing was written", clean(&wrong.message), clean(&wrong.next))))
        }
        None => Ok(()),
    }
}

/// What a plan rests on.
fn head(out: &mut impl std::io::Write, ledger: &Ledger, plan: &ShimPlan, address: &str) -> Result<(), CommandError> {
    let survey = &ledger.records[plan.survey];
    let date = survey.date.map_or(String::new(), |date| format!(" of {}", date.value));
    writeln!(out, "{} by the survey{date}: {} ({})", clean(address), plan.limit.text, clean(&plan.limit.source))?;
    let why = plan.guard.as_deref().unwrap_or(plan.unguarded);
    Ok(writeln!(out, "planned for a range of {} ({why})\n", plan.range)?)
}

/// Prints one rail's plan, with the rules that its result would break.
fn report(
    out: &mut impl std::io::Write,
    ledger: &Ledger,
    plan: &ShimPlan,
    plain: bool,
    broken: &[String],
) -> Result<(), CommandError> {
    match (&plan.best, &plan.plain) {
        (Ok(best), by_hand) if !plain => {
            write!(out, "{}", shims::table(ledger, plan, &best.stacks))?;
            let proven = match (best.proven, plan.exchange) {
                _ if !broken.is_empty() => "not enough, see below",
                (true, false) => "no plan is better",
                (true, true) => {
                    "a better plan may exist: leaves that lie elsewhere or are planned for might serve better here"
                }
                (false, _) => "a better plan may exist: the stock is scarce",
            };
            let sum = sums(best.shimmed, best.leaves, best.total_nm, best.range_nm);
            writeln!(out, "\n{sum}; {proven}")?;
            if let Ok(plain) = by_hand {
                let sum = sums(plain.shimmed, plain.leaves, plain.total_nm, plain.range_nm);
                writeln!(out, "up to the target everywhere it would be {sum}")?;
            }
        }
        (_, Ok(by_hand)) => {
            write!(out, "{}", shims::table(ledger, plan, &by_hand.stacks))?;
            writeln!(out, "\n{}", sums(by_hand.shimmed, by_hand.leaves, by_hand.total_nm, by_hand.range_nm))?;
            let missing = plan.stock.kinds().iter().zip(&by_hand.missing).filter(|(_, count)| **count > 0);
            for (kind, count) in missing {
                let of = Length(kind.thickness_nm);
                let missing = counted(*count, &format!("leaf of {of} is"), &format!("leaves of {of} are"));
                writeln!(out, "{missing} missing from the stock")?;
            }
        }
        (_, Err(_)) => {}
    }
    if !broken.is_empty() {
        writeln!(out, "\nThe lint would find fault with it:")?;
        broken.iter().try_for_each(|broken| writeln!(out, "  {}", clean(broken)))?;
    }
    Ok(writeln!(out)?)
}

fn sums(shimmed: usize, leaves: u64, total_nm: i64, range_nm: i64) -> String {
    format!(
        "{} shimmed with {}, {} in all; range then {}",
        counted(shimmed, "support", "supports"),
        counted(leaves, "leaf", "leaves"),
        Length(total_nm),
        Length(range_nm)
    )
}

/// Why there is no plan, at the place it is about.
fn no_plan(ledger: &Ledger, plan: &ShimPlan, why: &crate::calc::shims::ShimPlanError) -> String {
    use crate::calc::shims::ShimPlanError;
    let mm = |nm: i64| Length(nm).number();
    match why {
        ShimPlanError::NoTotal { support, from_nm, to_nm, below_nm, above_nm } => {
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
        ShimPlanError::NoRange { .. } => {
            format!("the measuring uncertainty leaves nothing of the limit ({}): use a finer gauge", plan.limit.text)
        }
        ShimPlanError::StockShort { missing } => {
            let kinds = plan.stock.kinds().iter().zip(missing).filter(|(_, count)| **count > 0);
            let wanted: Vec<String> =
                kinds.map(|(kind, count)| format!("{count} of {} mm", mm(kind.thickness_nm))).collect();
            let exchange = match plan.exchange {
                true => "; or leaves that lie elsewhere in the machine might serve here",
                false => "",
            };
            format!("the stock does not suffice for all supports: order {}{exchange}", wanted.join(", "))
        }
        other => other.to_string(),
    }
}
