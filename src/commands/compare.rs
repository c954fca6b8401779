//! `wayledger compare`: what differs in meaning between two revisions, or a revision and the work tree.

use std::collections::BTreeSet;
use std::io::Write as _;
use std::path::PathBuf;
use std::sync::Arc;

use jiff::civil::Date;

use super::axis::{ReadLedger, whole};
use super::paper::PaperFormat;
use super::source::{day, told};
use super::{CLEAN, CommandError, FAILED, output, source};
use crate::formats::comparison;
use crate::judging::lint::{Judged, judge_ledger, lint, shop};
use crate::views::compare::{ByCalendar, Comparison, FORMAT, compare, compare_ledgers, differing};
use crate::world::git::Commit;
use crate::world::ledgers::{FoundLedger, find_all};
use crate::world::{Day, Disk, EntryKind, GitWorld, Path, Repository, World};

/// Shows what differs in meaning between two revisions, or between a revision and the work tree.
///
/// What was described, recorded, shimmed, released and conceded; which findings are fixed, new and remaining; how each
/// axis and joint stood before and stands after. Spacing, comments and the order of files are no difference.
///
/// With `--ledgers`, two ledgers of the work tree are compared instead, as of two machines that are to be the same.
///
/// For a pull request say `--merge-base main HEAD`: it is compared with where the branch left `main`. Compared with `main`
/// itself, what others put there meanwhile would look taken back.
///
/// Exit code: 0 when the comparison was made, whatever it shows; 2 when it could not be.
#[derive(Debug, clap::Args)]
pub(crate) struct CompareArguments {
    /// The revision before; with --ledgers, a ledger's folder.
    before: String,
    /// The revision after; the work tree where none is named; with --ledgers, the other ledger's folder.
    after: Option<String>,
    /// Compares two ledgers of the work tree with each other.
    #[arg(long, requires = "after", conflicts_with_all = ["staged", "merge_base", "paths", "calendar"])]
    ledgers: bool,
    /// Compares with what is staged.
    #[arg(long, conflicts_with = "after")]
    staged: bool,
    /// Compares from the last commit that both share; without a second revision, that the first shares with the last commit.
    #[arg(long)]
    merge_base: bool,
    /// Looks only at this ledger, folder or file; may be given again.
    #[arg(long = "path", value_name = "PATH")]
    paths: Vec<PathBuf>,
    /// How the comparison is printed; Markdown is a comment for a pull request.
    #[arg(long, value_enum, default_value_t)]
    format: PaperFormat,
    /// The day both are judged by, as 2026-04-20; where nothing is said, the later revision's own day or the machine's date.
    #[arg(long, value_name = "DATE", value_parser = day)]
    today: Option<Date>,
    /// Tells beside it what the calendar alone did: the state before, on its own day and on the later one.
    #[arg(long)]
    calendar: bool,
}

/// One side of the comparison.
struct ComparedSide {
    name: String,
    world: Box<dyn World>,
}

/// Compares two ledgers of the work tree.
fn two_ledgers(arguments: &CompareArguments, other: &str) -> Result<u8, CommandError> {
    let disk = Disk::here().map_err(|why| CommandError::Said(why.to_string()))?;
    let day = arguments.today.map_or_else(|| disk.day(), Day::stated);
    let read = |folder: &str| whole(&disk, &PathBuf::from(folder));
    let judged = |read: ReadLedger| judge_ledger(read.ledger, day);
    let (one, other) = (judged(read(&arguments.before)?), judged(read(other)?));
    let called = |judged: &Judged| format!("ledger {}", judged.path);
    let comparison = Comparison {
        format: FORMAT,
        before: called(&one),
        after: called(&other),
        judged_by: day.date.to_string(),
        ledgers: compare_ledgers(&one, &other),
        rewritten: 0,
        calendar: None,
    };
    print(arguments, &comparison)?;
    let unread = [&one, &other].into_iter().any(|it| source::unread(it) || it.ledger.not_judged.is_some());
    Ok(if unread { FAILED } else { CLEAN })
}

fn print(arguments: &CompareArguments, comparison: &Comparison) -> Result<(), CommandError> {
    let mut out = output::standard();
    let text = match arguments.format {
        PaperFormat::Markdown => comparison::comment(comparison),
        format => format.print(
            format!("{} and {}, as of {}", comparison.before, comparison.after, comparison.judged_by),
            || comparison::paper(comparison),
            comparison,
        )?,
    };
    out.write_all(text.as_bytes())?;
    out.flush()?;
    Ok(())
}

pub(crate) fn run(arguments: &CompareArguments) -> Result<u8, CommandError> {
    if let (true, Some(other)) = (arguments.ledgers, &arguments.after) {
        return two_ledgers(arguments, other);
    }
    let repository = source::repository()?;
    let before = revision(&repository, before(&repository, arguments)?)?;
    let after = match &arguments.after {
        Some(name) => revision(&repository, repository.resolve(name)?)?,
        None if arguments.staged => {
            ComparedSide { name: "what is staged".into(), world: Box::new(GitWorld::index(&repository)?) }
        }
        None => {
            let disk = Disk::here().map_err(|why| CommandError::Said(why.to_string()))?;
            ComparedSide { name: "the work tree".into(), world: Box::new(disk) }
        }
    };
    let day = arguments.today.map_or_else(|| after.world.day(), Day::stated);
    let (old, hindered_before) = found(&*before.world, arguments, &after)?;
    let (new, hindered_after) = found(&*after.world, arguments, &before)?;
    let (standing, stands) = (old.clone(), new.clone());
    let (old, new) = differing((&*before.world, old), (&*after.world, new));
    let mut unreadable = false;
    // A shop file counts on both sides, though the ledgers that differ may be on one.
    let shops: BTreeSet<&Path> = old.iter().chain(&new).flat_map(|found| &found.shops).collect();
    let mut judged = |side: &ComparedSide, found: &[FoundLedger], whole: &[FoundLedger], day: Day| {
        let mut all: Vec<Judged> = Vec::new();
        lint(&*side.world, found, day, |judged| all.push(judged));
        for path in &shops {
            let known = all.iter().any(|judged| judged.path == **path);
            if !known && matches!(side.world.kind(path), Ok(EntryKind::File)) {
                all.push(shop(&*side.world, path, whole));
            }
        }
        unreadable |= all.iter().filter(|judged| source::unread(judged)).count() > 0;
        all
    };
    // Every ledger, since the calendar does not spare those that nobody touched.
    let own_day = before.world.day();
    let calendar = arguments.calendar.then(|| {
        let (then, now) = (judged(&before, &standing, &standing, own_day), judged(&before, &standing, &standing, day));
        ByCalendar { from: own_day.date.to_string(), to: day.date.to_string(), ledgers: compare(then, now).0 }
    });
    let (old, new) = (judged(&before, &old, &standing, day), judged(&after, &new, &stands, day));
    let (ledgers, rewritten) = compare(old, new);
    let comparison = Comparison {
        format: FORMAT,
        before: before.name,
        after: after.name,
        judged_by: day.date.to_string(),
        ledgers,
        rewritten,
        calendar,
    };
    print(arguments, &comparison)?;
    Ok(if unreadable || hindered_before || hindered_after { FAILED } else { CLEAN })
}

/// The commit to compare from.
fn before(repository: &Repository, arguments: &CompareArguments) -> Result<Commit, CommandError> {
    let before = repository.resolve(&arguments.before)?;
    if !arguments.merge_base {
        return Ok(before);
    }
    let other = arguments.after.as_deref().unwrap_or("HEAD");
    repository.merge_base(&before, &repository.resolve(other)?)?.ok_or_else(|| {
        CommandError::Said(format!(
            "`{}` and `{other}` share no commit; in a shallow clone fetch the whole history first",
            arguments.before
        ))
    })
}

fn revision(repository: &Arc<Repository>, commit: Commit) -> Result<ComparedSide, CommandError> {
    let name = format!("{} ({})", commit.short(), commit.date);
    Ok(ComparedSide { name, world: Box::new(GitWorld::commit(repository, commit)?) })
}

/// The ledgers of one side. A path that only the other side has means none here.
fn found(
    world: &dyn World,
    arguments: &CompareArguments,
    other: &ComparedSide,
) -> Result<(Vec<FoundLedger>, bool), CommandError> {
    let typed = if arguments.paths.is_empty() { vec![PathBuf::from(".")] } else { arguments.paths.clone() };
    let said = |why: &dyn ToString| CommandError::Said(why.to_string());
    let is_there = |world: &dyn World, path: &Path| matches!(world.kind(path), Ok(EntryKind::File | EntryKind::Folder));
    let mut paths = Vec::new();
    for typed in &typed {
        let path = world.path(typed.as_os_str()).map_err(|why| said(&why))?;
        if is_there(world, &path) || !is_there(&*other.world, &path) {
            paths.push(path);
        }
    }
    let asked = told(world, find_all(world, &paths).map_err(|why| said(&why))?);
    Ok((asked.found, asked.hindered))
}
