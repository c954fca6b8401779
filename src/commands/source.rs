//! What a reading command reads: the work tree, what is staged, or a revision; and by which day it judges. One set of
//! options for all of them.

use std::path::PathBuf;
use std::sync::Arc;

use jiff::civil::Date;

use super::{CommandError, output};
use crate::formats::{Root, clean};
use crate::judging::lint::{Judged, is_definition, is_of_the_language};
use crate::judging::passed_over::PassedOver;
use crate::judging::stops::{LedgersBefore, Withdrawn, withdrawn};
use crate::quantity::Moment;
use crate::world::git::{GitError, PathChange};
use crate::world::ledgers::{FoundLedger, FoundLedgers, MACHINE, SHOP, find_all, is_shared, touched_by, why_misnamed};
use crate::world::{Day, Disk, GitWorld, Path, Repository, World};

/// Where to read from.
#[derive(Clone, Debug, Default, clap::Args)]
pub(crate) struct SourceArguments {
    /// Reads what is staged in git, exactly as a commit would hold it.
    #[arg(long, conflicts_with = "at")]
    pub staged: bool,
    /// Reads what a git revision holds: a commit, a branch, a tag.
    #[arg(long, value_name = "REV")]
    pub at: Option<String>,
    /// The day to judge by, as 2026-04-20; where nothing is said, a revision's own day or the machine's date. A record may
    /// then bear the date that it is already elsewhere on earth.
    #[arg(long, value_name = "DATE", value_parser = day)]
    pub today: Option<Date>,
}

/// How what others have is called.
const OTHERS_HAVE: &str = "the branch that others have";

/// What others have of the ledgers that a commit touches: where the branch at hand and the one it is pushed to left each
/// other. Nothing where there is none.
pub(crate) fn pushed(
    repository: &Arc<Repository>,
    now: (&dyn World, &[FoundLedger]),
    last: &[FoundLedger],
    day: Day,
) -> Result<Option<LedgersBefore>, GitError> {
    let Some(commit) = repository.pushed()? else { return Ok(None) };
    let folders: Vec<Path> = now.1.iter().chain(last).map(|found| found.folder.clone()).collect();
    let machines: Vec<Path> = folders.iter().map(|folder| folder.join(MACHINE)).collect();
    if let Some(world) = GitWorld::part(repository, commit.clone(), &folders)? {
        let found = touched_by(&world, &machines).found;
        if last.iter().all(|of| found.iter().any(|found| found.folder == of.folder)) {
            return Ok(Some(LedgersBefore::new(Box::new(world), found, now, day, OTHERS_HAVE)));
        }
    }
    // It may have been moved in between.
    let world = GitWorld::commit(repository, commit)?;
    let found = touched_by(&world, &[Path(SHOP.into())]).found;
    Ok(Some(LedgersBefore::new(Box::new(world), found, now, day, OTHERS_HAVE)))
}

/// The ledgers of a revision that a person names for others to be held against.
pub(crate) fn at_revision(
    option: &str,
    revision: &str,
    typed: &[PathBuf],
    now: (&dyn World, &[FoundLedger]),
    day: Day,
) -> Result<LedgersBefore, CommandError> {
    let repository = repository()?;
    let commit = repository.resolve(revision).map_err(|why| {
        said(format!(
            "`{option}` needs a revision to hold the ledgers against: {why}. In a shallow clone fetch the whole history first"
        ))
    })?;
    let called = if revision == commit.id { commit.short().to_owned() } else { clean(revision).into_owned() };
    let world = GitWorld::commit(&repository, commit)?;
    let paths = typed.iter().map(|typed| world.path(typed.as_os_str())).collect::<Result<Vec<Path>, _>>();
    let mut paths = paths.map_err(said)?;
    // What has come since was not there.
    paths.retain(|path| world.kind(path).is_ok());
    let mut found = find_all(&world, &paths).map_or_else(|_| Vec::new(), |all| all.found);
    found.retain(|found| !is_definition(&world, found));
    Ok(LedgersBefore::new(Box::new(world), found, now, day, called))
}

/// A day on the command line.
pub(crate) fn day(text: &str) -> Result<Date, String> {
    match Moment::read(text) {
        Some(Moment { date, minute: None }) => Ok(date),
        _ => Err("a day is written as 2026-04-20".into()),
    }
}

/// The ledgers that were asked for.
#[derive(Debug)]
pub(crate) struct RequestedLedgers {
    pub found: Vec<FoundLedger>,
    /// Something was in the way that may have been meant as a part of a ledger, or has a name that hides it; it has been said.
    pub hindered: bool,
    /// Of these, something that could not be looked into.
    pub failed: bool,
}

/// What a commit would change.
pub(crate) struct Touched {
    /// The ledgers as they are staged.
    pub world: GitWorld,
    /// The same in the commits that the new one is made upon: the last one, and those that are merged.
    pub before: Vec<GitWorld>,
    /// For each that is merged, where it and the last one left each other; nothing where they share no commit.
    pub bases: Vec<Option<GitWorld>>,
    pub repository: Arc<Repository>,
    /// What differs from the last commit, or is reached through links from where it does.
    pub paths: Vec<Path>,
    /// What the commit would take away.
    pub withdrawn: Vec<Withdrawn>,
}

impl SourceArguments {
    /// What a revision holds.
    pub(crate) fn at_revision(revision: &str) -> SourceArguments {
        SourceArguments { at: Some(revision.to_owned()), ..SourceArguments::default() }
    }

    /// The day that was said.
    pub(crate) fn today(&self) -> Option<jiff::civil::Date> {
        self.today
    }

    /// The world that was asked for, on the day that was asked for.
    pub(crate) fn open(&self) -> Result<Box<dyn World>, CommandError> {
        if self.staged {
            Ok(Box::new(self.on_day(GitWorld::index(&repository()?)?)))
        } else if let Some(revision) = &self.at {
            Ok(Box::new(self.on_day(GitWorld::revision(&repository()?, revision)?)))
        } else {
            let disk = Disk::here().map_err(said)?;
            Ok(Box::new(match self.today {
                Some(today) => disk.on(today),
                None => disk,
            }))
        }
    }

    /// What staged changes touch, on the day that was asked for, and what the new commit is made upon.
    pub(crate) fn touched(&self) -> Result<Touched, CommandError> {
        let repository = Arc::new(Repository::of_commit()?);
        let (mut world, mut last, changes) = GitWorld::touched_and_before(&repository)?;
        let mut paths: Vec<Path> = changes.iter().flat_map(PathChange::paths).chain(world.reached()).cloned().collect();
        let merging = repository.merging()?;
        let mut merged_from = Vec::new();
        if !merging.is_empty() {
            // What the other side brings may be dropped without a trace in what is staged.
            let head = repository.resolve("HEAD")?;
            for commit in &merging {
                let base = repository.merge_base(&head, commit)?;
                let theirs = base.as_ref().map(|base| repository.changes_between(base, commit)).transpose()?;
                paths.extend(theirs.iter().flatten().flat_map(PathChange::paths).cloned());
                merged_from.push(base);
            }
            (world, last) = (GitWorld::index(&repository)?, GitWorld::commit(&repository, head)?);
        }
        let withdrawn = withdrawn(&repository, (&last, &world), &changes, &paths)?;
        let (mut before, mut bases) = (vec![last], Vec::new());
        for base in merged_from {
            bases.push(base.map(|base| GitWorld::commit(&repository, base)).transpose()?);
        }
        for commit in merging {
            before.push(GitWorld::commit(&repository, commit)?);
        }
        Ok(Touched { world: self.on_day(world), before, bases, repository, paths, withdrawn })
    }

    fn on_day(&self, world: GitWorld) -> GitWorld {
        match self.today {
            Some(today) => world.on(today),
            None => world,
        }
    }
}

/// The ledgers that some typed paths mean. That there is none is a failure.
pub(crate) fn asked(world: &dyn World, typed: &[PathBuf]) -> Result<RequestedLedgers, CommandError> {
    let asked = looked_for(world, typed)?;
    if asked.found.is_empty() { Err(none_here()) } else { Ok(asked) }
}

/// The same, though there may be nothing but what a name hides.
pub(crate) fn asked_or_hidden(world: &dyn World, typed: &[PathBuf]) -> Result<RequestedLedgers, CommandError> {
    let asked = looked_for(world, typed)?;
    let hidden = asked.hindered && !asked.failed;
    if asked.found.is_empty() && !hidden { Err(none_here()) } else { Ok(asked) }
}

pub(crate) fn looked_for(world: &dyn World, typed: &[PathBuf]) -> Result<RequestedLedgers, CommandError> {
    let paths = typed.iter().map(|typed| world.path(typed.as_os_str())).collect::<Result<Vec<Path>, _>>();
    Ok(told(world, find_all(world, &paths.map_err(said)?).map_err(said)?))
}

fn none_here() -> CommandError {
    CommandError::Said("there is no ledger here: a ledger is a folder that holds a `machine.kdl`".into())
}

/// The ledgers found, after saying what was in the way of finding them, and what is none or no part of one by its name only.
pub(crate) fn told(world: &dyn World, ledgers: FoundLedgers) -> RequestedLedgers {
    let FoundLedgers { mut found, oddities, misnamed, loose, hidden } = ledgers;
    found.retain(|found| !is_definition(world, found));
    let mut asked = RequestedLedgers { found: Vec::new(), hindered: false, failed: false };
    for (path, why) in oddities.iter().chain(found.iter().flat_map(|found| &found.oddities)) {
        asked.failed = true;
        output::complain(&format!("{path}: {why}"));
    }
    let loose = loose.iter().map(|path| (path, why_loose(path)));
    let unseen = hidden.iter().map(|path| (path, WHY_HIDDEN.to_owned()));
    let within = found.iter().flat_map(|found| &found.misnamed).map(|(path, why)| (path, why.clone()));
    let mut passed_over = PassedOver::new(world);
    let mut hidden: Vec<(&Path, String)> =
        loose.chain(unseen).filter(|(path, _)| is_of_the_language(world, path)).collect();
    hidden.extend(misnamed.iter().map(|(path, why)| (path, why.clone())));
    hidden.retain(|(path, _)| !passed_over.holds(path));
    hidden.extend(within);
    hidden.sort();
    for (path, why) in hidden.iter().take(MOST_HIDDEN) {
        output::complain(&format!("{path}: {why}"));
    }
    if hidden.len() > MOST_HIDDEN {
        output::complain(&format!("and {} more that no ledger holds", hidden.len() - MOST_HIDDEN));
    }
    asked.hindered = asked.failed || !hidden.is_empty();
    asked.found = found;
    asked
}

/// Files that lie in no ledger and are named one by one.
const MOST_HIDDEN: usize = 100;

/// Why a file that is passed over by its name is none of a ledger.
const WHY_HIDDEN: &str =
    "it holds what belongs into a ledger, and is not read: a name in its path begins with a dot; rename it";

/// Why a file that holds a part of a ledger is none.
fn why_loose(path: &Path) -> String {
    let lower = path.name().to_ascii_lowercase();
    if path.is_kdl() && lower != MACHINE && !is_shared(&lower) {
        return "it holds what belongs into a ledger and lies in none: neither its folder nor any folder above holds a \
                `machine.kdl`; nothing in it is checked"
            .into();
    }
    format!("it is not read: {}", why_misnamed(path.name()))
}

/// Whether some of a ledger could not be read, after saying what.
pub(crate) fn unread(judged: &Judged) -> bool {
    unread_files(&judged.unread)
}

/// The same of files that are known to be.
pub(crate) fn unread_files(files: &[(Path, String)]) -> bool {
    for (path, why) in files {
        output::complain(&format!("{path} cannot be read whole: {why}; what it holds is missing here"));
    }
    !files.is_empty()
}

/// The repository we stand in.
pub(crate) fn repository() -> Result<Arc<Repository>, CommandError> {
    Ok(Arc::new(Repository::here()?))
}

/// Where paths start for review pages: the top of the repository, where there is one.
pub(crate) fn root() -> Root {
    Repository::here().map_or_else(|_| Root::default(), |repository| Root::new(repository.prefix(), repository.top()))
}

fn said(why: impl ToString) -> CommandError {
    CommandError::Said(why.to_string())
}

impl From<GitError> for CommandError {
    fn from(why: GitError) -> Self {
        CommandError::Said(why.to_string())
    }
}
