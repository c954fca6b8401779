//! What would be released is held against the last commit and what others have, as the hook holds what is committed: on
//! records that were changed or taken away nothing is released.

use std::path::PathBuf;
use std::sync::Arc;

use super::{CommandError, source};
use crate::finding::Locator;
use crate::formats::clean;
use crate::judging::lint::{Judged, lint};
use crate::judging::stops::{CommitBefore, stop};
use crate::world::git::GitError;
use crate::world::ledgers::FoundLedger;
use crate::world::{Disk, Repository, World};

/// What is lost of the history of a ledger and its shop files, each in words; nothing outside Git, and before the first commit.
pub(super) fn lost(disk: &Disk, found: &FoundLedger) -> Result<Vec<String>, CommandError> {
    // By its folder: a file of it that somebody names may be new.
    let folder = disk.real(&found.folder);
    let repository = match Repository::here() {
        Ok(repository) => Arc::new(repository),
        Err(GitError::NoGit(_) | GitError::NoRepository { .. }) => return Ok(Vec::new()),
        Err(why) => return Err(why.into()),
    };
    match repository.resolve("HEAD") {
        Ok(_) if lies_inside(&repository, &folder) => {}
        Ok(_) | Err(GitError::UnknownRevision { .. }) => return Ok(Vec::new()),
        Err(why) => return Err(why.into()),
    }
    let day = disk.day();
    let own = std::slice::from_ref(found);
    let now = (disk as &dyn World, own);
    let at_head = |path: PathBuf| source::at_revision("release", "HEAD", &[path], now, day);
    let mut last = at_head(folder)?;
    if last.found().next().is_none()
        && let Some(top) = repository.top()
    {
        // It may have been moved since.
        last = at_head(top.to_owned())?;
    }
    let had: Vec<FoundLedger> = last.found().cloned().collect();
    let find_pushed = Box::new(move || source::pushed(&repository, now, &had, day).map_err(|why| why.to_string()));
    let before = CommitBefore::new(vec![last], Vec::new(), find_pushed);
    let (mut all, mut failed) = (Vec::new(), None);
    lint(disk, own, day, |judged: Judged| {
        let stops = stop(&judged, &before, day);
        let locator = Locator::new(&judged.ledger.sources);
        all.extend(stops.altered.iter().map(|finding| {
            let at = locator.locate(finding.at.place);
            let (file, address) = (clean(at.file), clean(&finding.address));
            let head = format!("  {file}:{}: {} {address}: {}", at.line, finding.rule, clean(&finding.message));
            format!("{head}\n    next: {}", clean(&finding.next))
        }));
        failed = failed.take().or(stops.failed);
    });
    match failed {
        Some(why) => Err(CommandError::Said(format!("what others have cannot be read: {why}; nothing was written"))),
        None => Ok(all),
    }
}

/// Whether a path lies in the work tree of the repository.
fn lies_inside(repository: &Repository, typed: &std::path::Path) -> bool {
    let real = |path: &std::path::Path| std::fs::canonicalize(path).ok();
    let top = repository.top().and_then(real);
    real(typed).zip(top).is_some_and(|(path, top)| path.starts_with(top))
}
