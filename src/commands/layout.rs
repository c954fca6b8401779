//! `wayledger layout`: which segments make up the rails of an axis.

use std::io::Write as _;
use std::path::PathBuf;

use super::axis::{ChosenLedger, OneAxis};
use super::paper::{PaperFormat, shown};
use super::progress::SearchWatch;
use super::{BROKEN, CLEAN, CommandError, FAILED, output};
use crate::calc::layout::plan::{LayoutOutcome, PlannedLayout};
use crate::calc::layout::task::USUAL_BUDGET;
use crate::facts::FactError;
use crate::facts::layout_dropped::{self, DroppedSegment};
use crate::facts::layout_plan::{LayoutPlan, to_be_had, watched_layout_plan};
use crate::facts::layout_write;
use crate::finding::names;
use crate::finding::{Finding, Grade, Locator, counted};
use crate::formats::clean;
use crate::formats::layout::{self, SheetOptions};
use crate::judging::foreseen;
use crate::ledger::Ledger;
use crate::text::Edit;
use crate::views::paper::{ListItem, Paper};
use crate::writing::described;

/// Plans the segments of every rail of an axis from run, stock, seams, supports and carriage.
///
/// Every layout rule that segments can keep is kept, with the fewest joints, then the largest smallest slack beyond what is
/// required, then the least waste. Bars marked owned=#true are used; other segments that are described already are
/// planned anew. Where no layout is possible, the requirements that stand against each other are named.
///
/// A layout that can be written into the ledger is judged by the lint's own rules before it is told; of one that cannot, the
/// sheet says that the lint was not asked.
///
/// The search ends after a number of steps, the same on every machine. Ctrl-C ends it sooner: the best layout so far is told
/// with what is proven of it, and nothing is written.
///
/// Exit code: 0 when there is a layout that the lint finds kept, or that it could not be asked about; 1 when the lint would find fault with it; 2 when there is none, the search was ended or the job could not be done.
#[derive(Debug, clap::Args)]
pub(crate) struct LayoutArguments {
    #[command(flatten)]
    one: OneAxis,
    /// Puts the segments, joint supports and left-out supports into machine.kdl.
    #[arg(long)]
    write: bool,
    /// With --write: takes out segments that are described already and not owned, and lists what they say beyond a plan.
    #[arg(long, requires = "write")]
    replace: bool,
    /// With --replace: also segments whose serial number a record names.
    #[arg(long, requires = "replace")]
    drop_named: bool,
    /// Writes every hole, support, joint and seam with its place to a CSV file.
    #[arg(long, value_name = "FILE")]
    csv: Option<PathBuf>,
    /// Writes the layout as a drawing at full size with dimensions, DXF release 12.
    #[arg(long, value_name = "FILE")]
    dxf: Option<PathBuf>,
    /// How many search steps to spend before the best found so far is told with its proven bound.
    #[arg(long, value_name = "COUNT", default_value_t = USUAL_BUDGET)]
    steps: u64,
    /// How the plan is printed.
    #[arg(long, value_enum, default_value_t)]
    format: PaperFormat,
}

pub(crate) fn run(arguments: &LayoutArguments) -> Result<u8, CommandError> {
    let chosen = arguments.one.open_to_plan()?;
    sound(&chosen)?;
    if chosen.rail.is_some() {
        return Err(CommandError::Said(
            "a layout weighs all rails of an axis against each other: name the axis".into(),
        ));
    }
    let ledger = chosen.ledger();
    to_be_had(ledger, chosen.axis, chosen.world.day().date).map_err(|why| lacking(&chosen, &why))?;
    let looking = SearchWatch::begin(arguments.steps);
    let plan = watched_layout_plan(ledger, chosen.axis, arguments.steps, Some(looking.watch()));
    let stopped = looking.end();
    let plan = plan.map_err(|why| lacking(&chosen, &why))?;
    let mut out = output::standard();
    let LayoutOutcome::Planned(planned) = &plan.outcome else {
        let text = arguments.format.print(
            shown(&*chosen.world),
            || no_plan(arguments, ledger, &plan, stopped),
            &layout::json::layout(ledger, &plan, layout::json::VerdictJson::default()),
        )?;
        out.write_all(text.as_bytes())?;
        out.flush()?;
        return Ok(FAILED);
    };
    // Who asked for the end when all was proven already, lost nothing by it.
    let stopped = stopped && (plan.cut_short || !planned.proof.complete());
    let edits = layout_write::edits(ledger, &plan, planned, arguments.replace);
    let dropped = match layout_write::edits(ledger, &plan, planned, true) {
        Ok(_) => layout_dropped::dropped(ledger, &plan, planned),
        Err(_) => Vec::new(),
    };
    let writing = arguments.write && !stopped;
    if writing {
        if let Some((it, (serial, place))) = dropped.iter().find_map(|it| Some((it, it.named.as_ref()?)))
            && !arguments.drop_named
            && edits.is_ok()
        {
            let at = Locator::new(&ledger.sources).locate(*place);
            return Err(CommandError::Said(format!(
                "{}:{}: a record names `{serial}`, the serial number of {}, which the plan would take out: mark the bar with owned=#true, or say --drop-named; nothing was written",
                at.file, at.line, it.address
            )));
        }
        put(arguments, &chosen, edits.as_ref().map_err(|why| lacking(&chosen, why))?)?;
    }
    if let Some(file) = arguments.csv.as_ref().filter(|_| !stopped) {
        let csv = layout::holes::csv(ledger, &plan, planned).map_err(|why| CommandError::Said(why.to_string()))?;
        output::deliver(Some(file), &csv)?;
    }
    if let Some(file) = arguments.dxf.as_ref().filter(|_| !stopped) {
        output::deliver(Some(file), &layout::dxf::drawing(ledger, &plan, planned, &shown(&*chosen.world)))?;
    }
    let left = left_over(&chosen, &plan, planned);
    let kept = left.as_ref().map(|left| !left.iter().any(|finding| finding.grade == Grade::Nonconformity));
    let code = match kept {
        _ if stopped => FAILED,
        Some(false) => BROKEN,
        // The sheet says where the lint could not be asked.
        Some(true) | None => CLEAN,
    };
    let verdict = layout::json::VerdictJson { lint: left.iter().flatten().map(line).collect(), kept };
    let json = layout::json::layout(ledger, &plan, verdict);
    let paper = || {
        let width = output::style(output::Colour::Never).width;
        let telling = SheetOptions { kept, width };
        let mut paper = layout::sheet(ledger, &plan, planned, telling);
        judged(&mut paper, left.as_deref(), kept);
        let file = chosen.shown("machine.kdl").0;
        if !dropped.is_empty() {
            let what = if writing { "What was taken out said" } else { "What --write --replace takes out says" };
            paper.body.say(format!("{what} more than a plan does:"));
            let row = |it: &DroppedSegment| format!("{}: {}", it.address, clean(&it.text));
            paper.body.list(dropped.iter().map(|it| ListItem::new(0, row(it))).collect());
        }
        if stopped {
            paper.body.say("The search was ended before it was through. Nothing was written.");
        }
        paper.body.say(match (&edits, writing) {
            (_, true) => format!("Written to {file}."),
            (Ok(edits), false) if edits.is_empty() => "The machine is described like this already.".into(),
            (Ok(_), false) => format!("--write puts it into {file}."),
            (Err(why), false) => format!("It cannot be written: {}; {}.", why.what, why.next),
        });
        paper.body.say("A plan is no order: have the maker of the rails confirm lengths, end distances and cut ends.");
        paper.body.say("Long rails are heavy and bend: two people, gloves, and stops before a block is near an end.");
        paper
    };
    let text = arguments.format.print(shown(&*chosen.world), paper, &json)?;
    out.write_all(text.as_bytes())?;
    out.flush()?;
    Ok(code)
}

/// How many joints any layout has, where that is known.
fn at_least(joints: u32) -> String {
    match joints {
        0 => String::new(),
        joints => format!("; it takes {} or more", counted(joints, "joint", "joints")),
    }
}

/// Why there is no plan.
fn no_plan(arguments: &LayoutArguments, ledger: &Ledger, plan: &LayoutPlan, stopped: bool) -> Paper {
    let mut paper = Paper::new(layout::title(ledger, plan));
    match &plan.outcome {
        LayoutOutcome::Infeasible(why) => return layout::refusal::refusal(ledger, plan, why),
        LayoutOutcome::Unsettled { joints_at_least } if stopped => paper
            .body
            .say(format!("The search was ended before a layout was found or ruled out{}.", at_least(*joints_at_least))),
        LayoutOutcome::Unsettled { joints_at_least } => {
            paper.body.say(format!(
                "In {} no layout was found, and none was ruled out{}.",
                counted(arguments.steps, "step", "steps"),
                at_least(*joints_at_least)
            ));
            let more = arguments.steps.saturating_mul(10);
            paper.body.say(format!("Give the search more steps, as --steps {more}."));
        }
        LayoutOutcome::Planned(_) => {}
    }
    paper
}

/// What the lint would say of the plan.
fn judged(paper: &mut Paper, left: Option<&[Finding]>, kept: Option<bool>) {
    let body = &mut paper.body;
    body.heading(2, "What the lint says of it");
    match left {
        Some([]) => body.say("The layout rules find nothing in it."),
        Some(left) => {
            let kept = if kept == Some(true) { "" } else { "This layout does not keep every rule. " };
            body.say(format!("{kept}The layout rules would say of it:"));
            body.list(left.iter().map(|finding| ListItem::new(0, line(finding))).collect());
        }
        None => body.say("The layout rules were not asked, since it cannot be written."),
    }
}

/// Fails where the text is at fault. Joint supports may wait for their joints: the plan makes those.
fn sound(chosen: &ChosenLedger) -> Result<(), CommandError> {
    let ledger = chosen.ledger();
    let rails = || ledger.machine.axes[chosen.axis].rails.iter();
    let waits = |finding: &Finding| {
        let mut supports = rails().flat_map(|rail| &rail.supports).filter(|support| support.joint == Some(None));
        finding.rule == names::UNKNOWN_REFERENCE && supports.any(|support| support.place == finding.at.place)
    };
    if ledger.text_findings.iter().all(waits) { Ok(()) } else { chosen.sound() }
}

/// What the lint would say of the layout once it is written; nothing where it cannot be written.
fn left_over(chosen: &ChosenLedger, plan: &LayoutPlan, planned: &PlannedLayout) -> Option<Vec<Finding>> {
    let ledger = chosen.ledger();
    let edits = layout_write::edits(ledger, plan, planned, true).ok()?;
    let source = ledger.machine.axes[plan.axis].place.source;
    foreseen::of_layout(ledger, plan.axis, source, &edits, chosen.world.day())
}

fn line(finding: &Finding) -> String {
    format!("{}: {} {}: {}", finding.grade.name(), finding.rule, finding.address, finding.message)
}

fn put(arguments: &LayoutArguments, chosen: &ChosenLedger, edits: &[Edit]) -> Result<(), CommandError> {
    let ledger = chosen.ledger();
    let source = ledger.sources.get(ledger.machine.axes[chosen.axis].place.source);
    let file = arguments.one.folder(chosen)?.join(source.path.name());
    if !edits.is_empty() {
        described::change(&file, source.document.text(), edits)?;
    }
    Ok(())
}

fn lacking(chosen: &ChosenLedger, why: &FactError) -> CommandError {
    let at = crate::finding::Locator::new(&chosen.ledger().sources).locate(why.place);
    CommandError::Said(format!("{}:{}: {}: {}", at.file, at.line, why.what, why.next))
}
