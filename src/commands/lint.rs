//! `wayledger lint`: the main job.

use std::io;
use std::path::PathBuf;

use clap::builder::{PossibleValue, PossibleValuesParser, TypedValueParser};

use super::source::{self, RequestedLedgers, SourceArguments, Touched};
use super::{BROKEN, CLEAN, CommandError, FAILED, output};
use crate::formats::findings::{FindingsFormat, FindingsWriter, OutputOptions, OutputTotals};
use crate::formats::findings_formats::FINDINGS_FORMATS;
use crate::formats::{Counts, Root, clean};
use crate::judging::lint::{Judged, lint_into, lint_touched};
use crate::judging::stops::{self, CommitBefore, FindingFate};
use crate::world::ledgers::touched_by;
use crate::world::{Day, World};

/// Checks ledgers against the rules of the trade.
///
/// Exit code: 0 when no rule is broken, 1 when one is, 2 when the job could not be done.
#[derive(Debug, clap::Args)]
pub(crate) struct LintArguments {
    /// Ledgers, folders that hold ledgers, or files of a ledger.
    #[arg(default_value = ".")]
    paths: Vec<PathBuf>,
    #[command(flatten)]
    source: SourceArguments,
    /// Judges a commit, as the hook does: only the ledgers that the staged changes touch, against the last commit. It stops
    /// what the commit itself makes: what is put right by writing, a bad reading that is not held, a record altered. The
    /// rest is told in a line. A changed shop.kdl touches all below its folder.
    #[arg(long, requires = "staged", conflicts_with_all = ["paths", "complete"])]
    touched: bool,
    /// Judges a pull request: what is held or was brought by the calendar does not make the exit code 1.
    #[arg(long, conflicts_with_all = ["complete", "touched"])]
    allow_held: bool,
    /// Counts what is outstanding or not judged too: the exit code is 1 until everything is recorded and every rule could judge.
    #[arg(long)]
    complete: bool,
    /// How findings are printed.
    #[arg(long, value_name = "FORMAT", value_parser = named(), default_value = FINDINGS_FORMATS[0].name())]
    format: ChosenFormat,
    /// When output has colour.
    #[arg(long, value_enum, default_value_t)]
    colour: output::Colour,
    /// Prints findings and no summary of ledgers without any.
    #[arg(long, short)]
    quiet: bool,
}

/// A format out of the table.
#[derive(Clone, Copy)]
struct ChosenFormat(&'static dyn FindingsFormat);

impl std::fmt::Debug for ChosenFormat {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.0.name())
    }
}

/// The formats by their names.
fn named() -> impl TypedValueParser<Value = ChosenFormat> {
    let names = FINDINGS_FORMATS.iter().map(|format| PossibleValue::new(format.name()).help(format.help()));
    PossibleValuesParser::new(names).map(|name| {
        let known = FINDINGS_FORMATS.into_iter().find(|format| format.name() == name);
        ChosenFormat(known.unwrap_or(FINDINGS_FORMATS[0]))
    })
}

pub(crate) fn run(arguments: &LintArguments) -> Result<u8, CommandError> {
    let (world, was, asked) = if arguments.touched {
        let Touched { world, before, paths, withdrawn } = arguments.source.touched()?;
        let mut asked = source::told(&world, touched_by(&world, &paths));
        for withdrawn in withdrawn {
            asked.hindered = true;
            output::complain(&withdrawn.to_string());
        }
        let was = before.into_iter().map(|was| (touched_by(&was, &paths).found, was)).collect();
        (Box::new(world) as Box<dyn World>, was, asked)
    } else {
        let world = arguments.source.open()?;
        let asked = source::asked_or_hidden(&*world, &arguments.paths)?;
        (world, Vec::new(), asked)
    };
    let RequestedLedgers { found, hindered, failed } = asked;
    let day = world.day();
    let before: Vec<CommitBefore> =
        was.iter().map(|(there, was)| CommitBefore::new(was, there.clone(), (&*world, &found), day)).collect();
    let format = arguments.format.0;
    let policy = match (arguments.touched, arguments.allow_held) {
        (true, _) => Policy::Commit { before: &before, day, in_short: format.is_for_people() },
        (_, true) => Policy::Request,
        _ => Policy::Plain { complete: arguments.complete },
    };
    let look = OutputOptions {
        style: output::style(arguments.colour),
        is_quiet: arguments.quiet,
        root: if format.has_paths_from_top() { source::root() } else { Root::default() },
        told: None,
    };
    let mut sum = OutputTotals { is_quiet: arguments.quiet, is_wanted: !arguments.touched, ..OutputTotals::default() };
    let mut unreadable = failed;
    let mut broken = hindered;
    let mut writer = FindingsWriter::new(output::standard(), format);
    let take = |made: LedgerOutcome| {
        sum.counts.add(made.counts);
        sum.ledgers += usize::from(made.is_shown);
        broken |= made.stops;
        unreadable |= made.is_unread;
        if let Ok(open) = &mut writer
            && let Err(why) = made.pieces.and_then(|pieces| open.ledger(&pieces))
        {
            writer = Err(why);
        }
    };
    let make = |judged: Judged| {
        let (counts, is_unread) = (Counts::from_findings(&judged.findings), judged.failed);
        let (stops, judged, told) = policy.judge(judged);
        let pieces = format.ledger(&judged, &OutputOptions { told, ..look.clone() });
        LedgerOutcome { counts, stops, is_unread, is_shown: !judged.is_shop || !judged.findings.is_empty(), pieces }
    };
    match arguments.touched {
        true => lint_touched(&*world, &found, day, make, take),
        false => lint_into(&*world, &found, day, make, take),
    }
    writer?.finish(&sum)?;
    Ok(if unreadable {
        FAILED
    } else if broken {
        BROKEN
    } else {
        CLEAN
    })
}

/// What came of one ledger.
struct LedgerOutcome {
    counts: Counts,
    stops: bool,
    is_unread: bool,
    /// A shop file without findings is not shown.
    is_shown: bool,
    pieces: io::Result<Vec<Vec<u8>>>,
}

/// By what the exit code is judged.
enum Policy<'b> {
    /// Every broken rule counts.
    Plain { complete: bool },
    /// A pull request: what is held is let in.
    Request,
    /// A commit, against those it is made upon.
    Commit { before: &'b [CommitBefore<'b>], day: Day, in_short: bool },
}

impl Policy<'_> {
    /// Whether a ledger stops, what is to be shown of it in full, and what is told of the rest in a line.
    fn judge(&self, mut judged: Judged) -> (bool, Judged, Option<String>) {
        match self {
            Policy::Plain { complete } => {
                let counts = Counts::from_findings(&judged.findings);
                (counts.nonconformities > 0 || *complete && counts.outstanding + counts.not_judged > 0, judged, None)
            }
            Policy::Request => {
                let fates: Vec<FindingFate> = judged.findings.iter().map(stops::in_a_request).collect();
                let stops = fates.contains(&FindingFate::Stops);
                let let_in = fates.into_iter().filter(|fate| matches!(fate, FindingFate::Held | FindingFate::Calendar));
                let told = stops::told(let_in);
                (stops, judged, (!told.is_empty()).then(|| format!("let in: {told}")))
            }
            Policy::Commit { before, day, in_short } => {
                let stop = stops::stop(&judged, before, *day);
                let stops = stop.stops();
                let told = stops::told(stop.fates.iter().copied().filter(|fate| *fate != FindingFate::Stops));
                let mut fates = stop.fates.iter();
                judged.findings.retain(|_| fates.next() == Some(&FindingFate::Stops) || !in_short);
                judged.findings.extend(stop.altered);
                judged.findings.sort_by(|a, b| a.order().cmp(&b.order()));
                let path = if judged.path.0.is_empty() { "." } else { &judged.path.0 };
                let told = (!told.is_empty()).then(|| format!("{}: let in: {told}", clean(path)));
                (stops, judged, told)
            }
        }
    }
}
