//! What others have of the branch at hand.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::caller::GitError;
use super::changes::Commit;
use super::repository::Repository;
use super::tree::{LINK, Tree};
use super::{GitWorld, touched};
use crate::world::Path;
use crate::world::ledgers::SHARED;

impl Repository {
    /// The last commit that the branch at hand shares with the one it is pushed to, as far as this repository knows;
    /// nothing where it is pushed to none, or shares none with it.
    pub fn pushed(&self) -> Result<Option<Commit>, GitError> {
        // Git fails where there is no such branch, and for nothing else that would not fail everything else here too.
        match self.caller().ask(&["merge-base", "HEAD", "@{upstream}"]) {
            Ok(Some(answer)) => self.resolve(String::from_utf8_lossy(&answer).trim()).map(Some),
            Ok(None) | Err(GitError::Failed { .. }) => Ok(None),
            Err(why) => Err(why),
        }
    }

    /// The last commit that another one shares with any branch of a remote, as that was when it was last asked; nothing where
    /// it shares none. A remote without a name has no branches that this repository knows.
    pub fn shared_with(&self, remote: &str, commit: &Commit) -> Result<Option<Commit>, GitError> {
        if remote.is_empty() || remote.contains(['*', '?', '[', '\0']) {
            return Ok(None);
        }
        let below = format!("refs/remotes/{remote}/");
        let listed = self.caller().tell(&["for-each-ref", "--format=%(objectname)", &below])?;
        let theirs = String::from_utf8_lossy(&listed).into_owned();
        let mut words = vec!["merge-base", &commit.id];
        words.extend(theirs.lines());
        if words.len() == 2 {
            return Ok(None);
        }
        match self.caller().ask(&words)? {
            Some(answer) => self.resolve(String::from_utf8_lossy(&answer).trim()).map(Some),
            None => Ok(None),
        }
    }
}

impl GitWorld {
    /// What a commit holds in some folders, with the shop files above them: in a large repository far sooner listed than all
    /// of it. Nothing where that would not do, for links lead anywhere.
    pub fn part(repository: &Arc<Repository>, commit: Commit, folders: &[Path]) -> Result<Option<Self>, GitError> {
        let mut paths: BTreeSet<Vec<u8>> = BTreeSet::new();
        for folder in folders {
            let Some(full) = repository.full(folder).filter(|full| !full.is_empty()) else { return Ok(None) };
            let below = format!("{full}/").into_bytes();
            let shared = |above: &[u8]| SHARED.map(|name| [above, name.as_bytes()].concat());
            paths.extend(touched::folders(&below).flat_map(shared));
            paths.insert(below);
        }
        let mut tree = Tree::default();
        tree.add(touched::list(repository, &commit.id, paths.into_iter())?)?;
        tree.sort();
        let has_link = tree.entries().any(|entry| entry.mode == LINK);
        Ok((!has_link).then(|| Self::new(repository, tree, Some(commit))))
    }
}
