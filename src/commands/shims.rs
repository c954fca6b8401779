//! `wayledger shims`: the shim list of an axis, from its latest survey.

use std::io::Write as _;

use super::axis::{ChosenLedger, OneAxis};
use super::progress::SearchWatch;
use super::prompter::StandardPrompter;
use super::{BROKEN, CLEAN, CommandError, FAILED, moment, output};
use crate::calc::shims::{ShimAim, ShimProblem, Stack, StackPlan};
use crate::facts::proof::micrometres;
use crate::facts::shim_plan::{ShimPlan, ShimWish, watched_shim_plan};
use crate::facts::{FactError, shim_words, shim_write};
use crate::finding::{Finding, counted};
use crate::formats::{clean, shims};
use crate::judging::foreseen;
use crate::ledger::{Ledger, NodeDraft, RailId};
use crate::quantity::{Amount, Length, Moment};
use crate::rules;
use crate::writing::records::{Addition, DayFile, together};
use crate::writing::tidy;

/// Which plan is the best.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, clap::ValueEnum)]
enum AimChoice {
    /// Fewest shimmed supports, then fewest leaves, then the thinnest total, then the least range.
    #[default]
    Supports,
    /// Fewest inspected joints to be inspected again, then as supports.
    Joints,
    /// The least range, then as supports.
    Range,
}

/// Plans the shims of an axis by its latest survey and the leaves in stock.
///
/// The plan keeps the gap inside its limit, as the lint judges it, with the fewest shimmed supports, then the fewest
/// leaves, then the thinnest total, then the least range; --aim asks for another order. That no better plan
/// exists is proven or said not to be. Stations between supports take part: a shim acts linearly up to the next
/// support. Where the rulebook requires proof, the measuring uncertainty is taken off the limit. Leaves that lie in the
/// machine are not in stock; a support that is shimmed anew gets its whole stack anew. Each plan is judged by the lint's
/// own rules before it is told.
///
/// The search ends after a number of steps, the same on every machine. Ctrl-C ends it sooner: the best plan so far is
/// told with what is proven of it, and nothing is written.
///
/// Exit code: 0 when the lint would find the plan kept, 1 when it would find fault with it, 2 when there is no plan or the search was ended.
#[derive(Debug, clap::Args)]
pub(crate) struct ShimsArguments {
    #[command(flatten)]
    one: OneAxis,
    /// Shims every support up to the widest place instead, as is done by hand.
    #[arg(long)]
    plain: bool,
    /// Which of the plans that keep the limit is told.
    #[arg(long, value_enum, default_value_t, conflicts_with = "plain")]
    aim: AimChoice,
    /// Taken off the limit in place of the measuring uncertainty, in mm: 0.01.
    #[arg(long, value_name = "MM", value_parser = margin)]
    margin: Option<Length>,
    /// How many search steps to spend on a rail before the best found so far is told.
    #[arg(long, value_name = "COUNT", default_value_t = ShimProblem::USUAL_STEPS)]
    steps: u64,
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

/// A margin as it is typed.
fn margin(typed: &str) -> Result<Length, String> {
    let margin = Length::read(typed, None).map_err(|why| why.to_string())?;
    if margin < Length::ZERO { Err("a margin is not below 0".into()) } else { Ok(margin) }
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
    let aim = match arguments.aim {
        AimChoice::Supports => ShimAim::FewestSupports,
        AimChoice::Joints => ShimAim::FewestJoints,
        AimChoice::Range => ShimAim::LeastRange,
    };
    let wish = ShimWish { aim, margin: arguments.margin, steps: arguments.steps };
    let looking = SearchWatch::begin(arguments.steps);
    let watch = looking.of_shims();
    let planned = |id: RailId| Ok((id, watched_shim_plan(ledger, id, &wish, moment.date, Some(&watch))?));
    let plans: Result<Vec<(RailId, ShimPlan)>, FactError> = rails.into_iter().map(planned).collect();
    // Who asked for the end when all was proven already, lost nothing by it.
    let stopped = looking.end();
    let plans = plans.map_err(|lacking| CommandError::Said(format!("{}: {}", lacking.what, lacking.next)))?;
    let stopped = stopped && plans.iter().any(|(_, plan)| plan.cut_short);
    let (mut records, mut kept) = (Vec::<NodeDraft>::new(), true);
    for (id, plan) in plans {
        let address = ledger.machine.rail_address(id);
        head(&mut out, ledger, &plan, &address)?;
        let stacks = match (&plan.best, arguments.plain) {
            (Ok(best), false) => &best.stacks,
            (Err(why), false) => {
                let why = clean(&shim_words::no_plan(ledger, &plan, why)).into_owned();
                return Err(CommandError::Said(format!("{address}: {why}")));
            }
            (_, true) => &plan.plain.as_ref().map_err(|why| CommandError::Said(format!("{address}: {why}")))?.stacks,
        };
        let broken = foreseen::of_shims(ledger, &plan, stacks, moment.date);
        report(&mut out, ledger, &plan, arguments.plain, &broken)?;
        if let Some(unseen) = foreseen::unseen_locally(ledger, &plan) {
            writeln!(out, "{}\n", clean(&unseen))?;
        }
        let toe_in = |found: &&Finding| found.rule == rules::gap::toe_in::RULE.name && found.address == address;
        for found in chosen.judged.findings.iter().filter(toe_in) {
            writeln!(out, "Without shims: {}; {}.\n", clean(&found.message), clean(&found.next))?;
        }
        kept &= broken.is_empty();
        let by = arguments.by.as_deref();
        records.extend(shim_write::record(ledger, &plan, stacks, moment, by));
    }
    match writes {
        _ if stopped => writeln!(out, "The search was ended before it was through. Nothing was written.")?,
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
    if !records.is_empty() {
        writeln!(
            out,
            "Shims are thin steel and cut: wear gloves. Support by support: loosen, insert, snug, full torque.\n\
             Then survey again with stage=verification, and inspect the joints beside each shimmed support anew."
        )?;
    }
    out.flush()?;
    Ok(match kept {
        _ if stopped => FAILED,
        true => CLEAN,
        false => BROKEN,
    })
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
            let ended = if plan.cut_short { "was ended" } else { "ended with its steps, see --steps" };
            let proven = match (best.proven, best.range_proven, plan.exchange) {
                _ if !broken.is_empty() => "not enough, see below".into(),
                (true, true, false) => "no plan is better".into(),
                (true, false, false) => {
                    format!("no plan needs less, one with a smaller range may exist: the search {ended}")
                }
                (true, _, true) => {
                    "a better plan may exist: leaves that lie elsewhere or are planned for might serve better here"
                        .into()
                }
                (false, ..) => format!("a better plan may exist{}: the search {ended}", no_fewer(best)),
            };
            let sum = sums(best.shimmed, best.leaves, best.total_nm, best.range_nm);
            writeln!(out, "\n{sum}; {proven}")?;
            writeln!(out, "{}", work(ledger, plan, &best.stacks))?;
            if let Ok(plain) = by_hand {
                let sum = sums(plain.shimmed, plain.leaves, plain.total_nm, plain.range_nm);
                writeln!(out, "up to the target everywhere it would be {sum}")?;
            }
        }
        (_, Ok(by_hand)) => {
            write!(out, "{}", shims::table(ledger, plan, &by_hand.stacks))?;
            writeln!(
                out,
                "\n{}\n{}",
                sums(by_hand.shimmed, by_hand.leaves, by_hand.total_nm, by_hand.range_nm),
                work(ledger, plan, &by_hand.stacks)
            )?;
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

/// What is proven of a plan that may not be the best.
fn no_fewer(plan: &StackPlan) -> String {
    match plan.shimmed_at_least {
        0 => String::new(),
        least if least == plan.shimmed => ", though none with fewer supports".into(),
        least => format!(", with {} or more", counted(least, "support", "supports")),
    }
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

/// The work that a plan makes, and the chance that it is enough.
fn work(ledger: &Ledger, plan: &ShimPlan, stacks: &[Stack]) -> String {
    let work = plan.work(ledger, stacks);
    if work.supports == 0 {
        return "no support is loosened".into();
    }
    let chance = plan.chance(stacks).map_or(String::new(), |chance| {
        let percent = (chance * 100.0).floor();
        let u = micrometres(plan.uncertainty.unwrap_or_default().nm());
        format!("\nchance that the verification conforms: {percent} %, rounded down (normal model, U = {u} a survey)")
    });
    let names: Vec<String> = work.joints.iter().map(|joint| ledger.machine.joint_address(plan.rail, *joint)).collect();
    let joints = match names.is_empty() {
        true => "no joint that was inspected".to_string(),
        false => format!("{} ({})", counted(names.len(), "joint", "joints"), clean(&names.join(", "))),
    };
    format!(
        "work: {} to loosen and tighten, {joints} to inspect again, {} to read again{chance}",
        counted(work.supports, "support", "supports"),
        counted(work.stations, "station", "stations")
    )
}
