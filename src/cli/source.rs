//! What a reading command reads: the work tree, what is staged, or a revision; and by which day it judges. One set of
//! options for all of them.

use std::path::PathBuf;
use std::sync::Arc;

use jiff::civil::Date;

use super::{Failure, output};
use crate::lint::Judged;
use crate::quantity::Moment;
use crate::render::Root;
use crate::world::git::{Change, GitError, Surroundings};
use crate::world::ledgers::{Found, Ledgers, find_all};
use crate::world::{Disk, GitWorld, Path, Repository, World};

/// Where to read from.
#[derive(Clone, Debug, Default, clap::Args)]
pub struct Source {
    /// Reads what is staged in git, exactly as a commit would hold it.
    #[arg(long, conflicts_with = "at")]
    pub staged: bool,
    /// Reads what a git revision holds: a commit, a branch, a tag.
    #[arg(long, value_name = "REV")]
    pub at: Option<String>,
    /// The day to judge by, as 2026-04-20; where nothing is said, a revision's own day or the machine's date.
    #[arg(long, value_name = "DATE", value_parser = day)]
    pub today: Option<Date>,
}

/// A day on the command line.
pub fn day(text: &str) -> Result<Date, String> {
    match Moment::read(text) {
        Some(Moment { date, minute: None }) => Ok(date),
        _ => Err("a day is written as 2026-04-20".into()),
    }
}

/// The ledgers that were asked for.
#[derive(Debug)]
pub struct Asked {
    pub found: Vec<Found>,
    /// Something was in the way that may have been meant as a part of a ledger; it has been said.
    pub hindered: bool,
}

impl Source {
    /// The world that was asked for, on the day that was asked for.
    pub fn open(&self) -> Result<Box<dyn World>, Failure> {
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

    /// What staged changes touch, on the day that was asked for, beside the same of the commits that the new one is made
    /// upon; and the paths that differ from the last commit.
    pub fn touched(&self) -> Result<(GitWorld, Vec<GitWorld>, Vec<Path>), Failure> {
        let repository = repository()?;
        let (world, before, changes) = GitWorld::touched_and_before(&repository)?;
        let mut all = vec![before];
        for commit in repository.merging(&Surroundings::of_process())? {
            all.push(GitWorld::commit(&repository, commit)?);
        }
        Ok((self.on_day(world), all, changes.iter().flat_map(Change::paths).cloned().collect()))
    }

    fn on_day(&self, world: GitWorld) -> GitWorld {
        match self.today {
            Some(today) => world.on(today),
            None => world,
        }
    }
}

/// The ledgers that some typed paths mean. That there is none is a failure.
pub fn asked(world: &dyn World, typed: &[PathBuf]) -> Result<Asked, Failure> {
    let paths = typed.iter().map(|typed| world.path(typed.as_os_str())).collect::<Result<Vec<Path>, _>>();
    let asked = told(find_all(world, &paths.map_err(said)?).map_err(said)?);
    if asked.found.is_empty() {
        return Err(Failure::Said("there is no ledger here: a ledger is a folder that holds a `machine.kdl`".into()));
    }
    Ok(asked)
}

/// The ledgers found, after saying what was in the way of finding them.
pub fn told(ledgers: Ledgers) -> Asked {
    let oddities = ledgers.oddities.iter().chain(ledgers.found.iter().flat_map(|found| &found.oddities));
    let mut hindered = false;
    for (path, why) in oddities {
        hindered = true;
        output::complain(&format!("{path}: {why}"));
    }
    Asked { found: ledgers.found, hindered }
}

/// Whether some of a ledger could not be read, after saying what.
pub fn unread(judged: &Judged) -> bool {
    for (path, why) in &judged.unread {
        output::complain(&format!("{path} cannot be read whole: {why}; what it holds is missing here"));
    }
    !judged.unread.is_empty()
}

/// The repository we stand in.
pub fn repository() -> Result<Arc<Repository>, Failure> {
    Ok(Arc::new(Repository::here()?))
}

/// Where paths start for review pages: the top of the repository, where there is one.
pub fn root() -> Root {
    Repository::here().map_or_else(|_| Root::default(), |repository| Root::new(repository.prefix(), repository.top()))
}

fn said(why: impl ToString) -> Failure {
    Failure::Said(why.to_string())
}

impl From<GitError> for Failure {
    fn from(why: GitError) -> Self {
        Failure::Said(why.to_string())
    }
}
