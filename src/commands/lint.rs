//! `wayledger lint`: the main job.

use std::collections::{BTreeMap, BTreeSet};
use std::io;
use std::path::PathBuf;
use std::sync::Arc;

use clap::builder::{PossibleValue, PossibleValuesParser, TypedValueParser};

use super::source::{self, RequestedLedgers, SourceArguments, Touched};
use super::{BROKEN, CLEAN, CommandError, FAILED, output};
use crate::formats::findings::{FindingsFormat, FindingsWriter, OutputOptions, OutputTotals};
use crate::formats::findings_formats::FINDINGS_FORMATS;
use crate::formats::{Counts, Root, clean, is_ours};
use crate::judging::lint::{Judged, attached_path, lint_into, lint_touched};
use crate::judging::passed_over::PassedOver;
use crate::judging::stops::{self, CommitBefore, FindingFate, GoneLedger, LedgersBefore, Revision};
use crate::world::ledgers::{FoundLedger, MACHINE, touched_by};
use crate::world::{Day, GitWorld, Path, World};

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
    /// Judges a pull request: what is held or was brought by the calendar does not make the exit code 1. What a changed limit
    /// or description brought can be told only against a revision, so name one with `--standing` or `--since`.
    #[arg(long, conflicts_with_all = ["complete", "touched"])]
    allow_held: bool,
    /// Holds the history of the ledgers against a revision, as the one before a push: what was recorded there may have grown,
    /// moved or been withdrawn by `void`, and not been changed or removed.
    #[arg(long, value_name = "REV", conflicts_with = "touched")]
    since: Option<String>,
    /// Lets stand what was found at a revision already, as the one where a branch left `main`: the same rule and address with a
    /// number that is no worse. Both are judged on the same day. Findings about history, seal and release, and those on
    /// released axes, never stand. The history is held against it too, unless `--since` names another revision.
    #[arg(long, value_name = "REV", conflicts_with_all = ["touched", "complete"])]
    standing: Option<String>,
    /// Counts what is outstanding or not judged too: the exit code is 1 until everything is recorded and every rule could judge.
    #[arg(long)]
    complete: bool,
    /// How findings are printed.
    #[arg(long, value_name = "FORMAT", value_parser = named(), default_value = FINDINGS_FORMATS[0].name())]
    format: ChosenFormat,
    /// When output has colour.
    #[arg(long, value_enum, default_value_t)]
    colour: output::Colour,
    /// Prints every finding in full, also what follows from another one.
    #[arg(long)]
    all: bool,
    /// Prints findings and no summary of ledgers without any.
    #[arg(long, short)]
    quiet: bool,
    /// That there is no ledger at all is no failure.
    #[arg(skip)]
    may_be_none: bool,
}

impl LintArguments {
    /// What a hook asks before a push: the ledgers of a commit, held against what the remote has, if it has any of it.
    pub(crate) fn of_push(commit: &str, theirs: Option<&str>) -> LintArguments {
        LintArguments {
            paths: vec![PathBuf::from(".")],
            source: SourceArguments::at_revision(commit),
            touched: false,
            allow_held: true,
            since: None,
            standing: theirs.map(str::to_owned),
            complete: false,
            format: ChosenFormat(FINDINGS_FORMATS[0]),
            colour: output::Colour::default(),
            all: false,
            quiet: true,
            may_be_none: true,
        }
    }
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
    if arguments.touched { commit(arguments) } else { ledgers(arguments) }
}

/// Judges what a commit touches.
fn commit(arguments: &LintArguments) -> Result<u8, CommandError> {
    let Touched { world, before, bases, repository, mut paths, withdrawn } = arguments.source.touched()?;
    let day = world.day();
    let was: Vec<(GitWorld, Vec<FoundLedger>)> = before
        .into_iter()
        .map(|was| {
            let found = touched_by(&was, &paths).found;
            (was, found)
        })
        .collect();
    // What became of a ledger is asked even where all that changed belongs to another one now.
    let machines: BTreeSet<Path> =
        was.iter().flat_map(|(_, found)| found).map(|found| found.folder.join(MACHINE)).collect();
    paths.extend(machines);
    let asked = source::told(&world, touched_by(&world, &paths));
    let now = (&world as &dyn World, asked.found.as_slice());
    let last: Vec<FoundLedger> = was.first().map_or_else(Vec::new, |(_, found)| found.clone());
    let extra: Vec<GoneLedger> = match was.first() {
        Some((last, _)) => {
            withdrawn.iter().map(|gone| GoneLedger { judged: gone.judged(last), absent: None }).collect()
        }
        None => Vec::new(),
    };
    let names = std::iter::once("the last commit").chain(std::iter::repeat("the merged branch"));
    let parents = was.into_iter().zip(names);
    let parents = parents.map(|((was, found), name)| LedgersBefore::new(Box::new(was), found, now, day, name));
    let parents = parents.collect();
    let left_at = |base: GitWorld| {
        let found = touched_by(&base, &paths).found;
        LedgersBefore::new(Box::new(base), found, now, day, "the commit where both left each other")
    };
    let bases = bases.into_iter().map(|base| base.map(left_at)).collect();
    let find_pushed = Box::new(|| source::pushed(&repository, now, &last, day).map_err(|why| why.to_string()));
    let before = CommitBefore::new(parents, bases, find_pushed);
    let policy = Policy::Commit { before: &before, day, in_short: arguments.format.0.is_for_people() };
    run_by(arguments, &world, &asked, extra, &policy)
}

/// Judges all ledgers of some paths, alone or against a revision.
fn ledgers(arguments: &LintArguments) -> Result<u8, CommandError> {
    let world = arguments.source.open()?;
    let world = &*world;
    let asked = match arguments.may_be_none {
        true => source::looked_for(world, &arguments.paths)?,
        false => source::asked_or_hidden(world, &arguments.paths)?,
    };
    let day = world.day();
    let at = |option: &str, revision: &String| {
        let now = (world, asked.found.as_slice());
        let before = source::at_revision(option, revision, &arguments.paths, now, day)?;
        Ok::<Revision, CommandError>(Revision::new(before, world, day))
    };
    let standing = arguments.standing.as_ref().map(|revision| at("--standing", revision)).transpose()?;
    let standing = standing.map(Revision::with_standing);
    let since = arguments.since.as_ref().filter(|since| Some(*since) != arguments.standing.as_ref());
    let since = since.map(|revision| at("--since", revision)).transpose()?;
    let history = since.as_ref().or(standing.as_ref());
    let extra = history.map_or_else(Vec::new, |revision| revision.gone(&asked.found));
    let revisions = Revisions { standing: standing.as_ref(), history };
    let policy = match arguments.allow_held {
        true => Policy::Request { revisions, in_short: arguments.may_be_none },
        false => Policy::Plain { complete: arguments.complete, revisions },
    };
    run_by(arguments, world, &asked, extra, &policy)
}

/// Judges and prints; `extra` are ledgers that are not there any more.
fn run_by(
    arguments: &LintArguments,
    world: &dyn World,
    asked: &RequestedLedgers,
    extra: Vec<GoneLedger>,
    policy: &Policy,
) -> Result<u8, CommandError> {
    let RequestedLedgers { found, hindered, failed } = asked;
    let day = world.day();
    let format = arguments.format.0;
    let look = OutputOptions {
        style: output::style(arguments.colour),
        is_quiet: arguments.quiet,
        is_all: arguments.all,
        root: if format.has_paths_from_top() { source::root() } else { Root::default() },
        told: None,
        absent: None,
    };
    let mut sum = OutputTotals {
        is_quiet: arguments.quiet,
        is_wanted: !arguments.touched && !arguments.may_be_none,
        ..OutputTotals::default()
    };
    let mut unreadable = *failed;
    let mut broken = *hindered;
    let mut writer = FindingsWriter::new(output::standard(), format);
    let mut take = |made: LedgerOutcome| {
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
    let beside = match arguments.touched || arguments.quiet || !format.is_for_people() {
        true => BTreeMap::new(),
        false => files_beside(world, found),
    };
    let made = |verdict: PolicyVerdict| {
        let PolicyVerdict { stops, failed, judged, told, absent } = verdict;
        let told = told.or_else(|| unread_beside(world, &judged, beside.get(&judged.path)?));
        let counts = Counts::from_findings(&judged.findings);
        let is_unread = judged.failed || failed;
        let look = OutputOptions { told, absent: absent.map(Arc::new), ..look.clone() };
        let pieces = format.ledger(&judged, &look);
        LedgerOutcome { counts, stops, is_unread, is_shown: !judged.is_shop || !judged.findings.is_empty(), pieces }
    };
    for GoneLedger { judged, absent } in extra {
        take(made(PolicyVerdict { stops: true, failed: false, judged, told: None, absent }));
    }
    let make = |judged: Judged| made(policy.judge(judged));
    match arguments.touched {
        true => lint_touched(world, found, day, make, take),
        false => lint_into(world, found, day, make, take),
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

/// The files that lie beside the machine of each ledger and are none of its text, but for folders that are passed over.
fn files_beside(world: &dyn World, found: &[FoundLedger]) -> BTreeMap<Path, Vec<Path>> {
    let mut passed_over = PassedOver::new(world);
    let all = found.iter().filter(|found| !found.beside.is_empty()).map(|found| {
        let own = found.beside.iter().filter(|file| !passed_over.holds(file)).cloned();
        (found.folder.clone(), own.collect())
    });
    all.collect()
}

/// More bytes than the head of any paper of ours has.
const MOST_OF_HEAD: usize = 256;

/// So many files beside a machine are named.
const MOST_BESIDE: usize = 5;

/// A line about the files beside a machine that nobody attached: what stands in them counts for nothing. Papers that this
/// tool made of the ledger say nothing of their own.
fn unread_beside(world: &dyn World, judged: &Judged, beside: &[Path]) -> Option<String> {
    if judged.is_shop {
        return None;
    }
    let attached: BTreeSet<Path> =
        judged.ledger.attachments.keys().map(|name| attached_path(&judged.path, name)).collect();
    let is_paper =
        |file: &Path| world.start(file, MOST_OF_HEAD).is_ok_and(|start| is_ours(&String::from_utf8_lossy(&start)));
    let others = beside.iter().filter(|file| !attached.contains(file) && !is_paper(file));
    let unread: Vec<&str> = others.map(Path::name).collect();
    if unread.is_empty() {
        return None;
    }
    let (named, rest) = unread.split_at(unread.len().min(MOST_BESIDE));
    let more = if rest.is_empty() { String::new() } else { format!(" and {} more", rest.len()) };
    let are = if unread.len() == 1 { "is" } else { "are" };
    Some(format!(
        "{}: beside the machine {are} not read: {}{more}; what is to count stands in a record, or is attached by one",
        clean(judged.path.shown()),
        clean(&named.join(", "))
    ))
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

/// The revisions that ledgers are held against.
#[derive(Clone, Copy)]
struct Revisions<'r> {
    standing: Option<&'r Revision<'r>>,
    history: Option<&'r Revision<'r>>,
}

impl<'r> Revisions<'r> {
    /// Adds what is wrong with a ledger's history, and marks what stood; what is not found any more.
    fn take(&self, judged: &mut Judged) -> Option<Judged> {
        let lost = self.history.map_or_else(Vec::new, |revision| revision.history(judged));
        judged.findings.extend(lost);
        judged.findings.sort_by(|a, b| a.order().cmp(&b.order()));
        self.standing.and_then(|revision| revision.mark(judged))
    }

    /// What tells a new reading from a changed limit.
    fn base(&self) -> Option<&'r Revision<'r>> {
        self.standing.or(self.history)
    }
}

/// By what the exit code is judged.
enum Policy<'b> {
    /// Every broken rule counts that does not stand.
    Plain { complete: bool, revisions: Revisions<'b> },
    /// A pull request, or a push: what is held is let in. A push is shown in short what stops it.
    Request { revisions: Revisions<'b>, in_short: bool },
    /// A commit, against those it is made upon.
    Commit { before: &'b CommitBefore<'b>, day: Day, in_short: bool },
}

/// What a policy says of a ledger.
struct PolicyVerdict {
    stops: bool,
    /// It could not be told.
    failed: bool,
    /// What is to be shown in full.
    judged: Judged,
    /// What is told of the rest in a line.
    told: Option<String>,
    /// What stood at the revision and is not found any more.
    absent: Option<Judged>,
}

impl Policy<'_> {
    fn judge(&self, mut judged: Judged) -> PolicyVerdict {
        match self {
            Policy::Plain { complete, revisions } => {
                let absent = revisions.take(&mut judged);
                let counts = Counts::from_findings(&judged.findings);
                let stops =
                    counts.nonconformities > counts.standing || *complete && counts.outstanding + counts.not_judged > 0;
                PolicyVerdict { stops, failed: false, judged, told: None, absent }
            }
            Policy::Request { revisions, in_short } => {
                let absent = revisions.take(&mut judged);
                let fates = stops::in_a_request(&judged, revisions.base());
                let stops = fates.contains(&FindingFate::Stops);
                let is_told = |fate: &FindingFate| {
                    use FindingFate::{Calendar, Held, NoReading, Stood};
                    *in_short && *fate != FindingFate::Stops || matches!(fate, Held | Stood | Calendar | NoReading)
                };
                let mut shown = fates.iter();
                judged.findings.retain(|_| shown.next() == Some(&FindingFate::Stops) || !in_short);
                let told = stops::told(fates.into_iter().filter(is_told));
                // Where nothing else is told of a ledger, its name stands before.
                let path = if *in_short { format!("{}: ", clean(&judged.path.to_string())) } else { String::new() };
                let told = (!told.is_empty()).then(|| format!("{path}let in: {told}"));
                PolicyVerdict { stops, failed: false, judged, told, absent }
            }
            Policy::Commit { before, day, in_short } => {
                let stop = stops::stop(&judged, before, *day);
                let stops = stop.stops();
                let told = stops::told(stop.fates.iter().copied().filter(|fate| *fate != FindingFate::Stops));
                let mut fates = stop.fates.iter();
                judged.findings.retain(|_| fates.next() == Some(&FindingFate::Stops) || !in_short);
                judged.findings.extend(stop.altered);
                judged.findings.sort_by(|a, b| a.order().cmp(&b.order()));
                let path = judged.path.shown();
                let told = (!told.is_empty()).then(|| format!("{}: let in: {told}", clean(path)));
                if let Some(why) = &stop.failed {
                    output::complain(&format!("{path}: what others have of it cannot be read: {why}"));
                }
                PolicyVerdict { stops, failed: stop.failed.is_some(), judged, told, absent: None }
            }
        }
    }
}
