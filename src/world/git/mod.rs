//! What git keeps, as a world: the index (what a commit would hold now) or a revision (what a commit holds). Only the
//! git program is asked, and only its plumbing, so that the answers are git's own.
//!
//! A hook takes the repository that git names to it (`Repository::of_commit`), since somebody may commit from a folder of
//! another one; every other look takes the one it stands in. A repository inside another one has nothing of the folders
//! around it. A hook looks at a part of the index (`touched`), and at the whole where there are links or very much has
//! changed; what a commit takes away is compared by `judging::stops::withdrawn`, only where something may be missing. The
//! draft of a file lies where Git adds nothing, in a folder `.git` of a hidden one beside it (`writing::files::draft`).

mod caller;
mod changes;
mod hooks_folder;
mod index;
mod links;
mod objects;
mod repository;
mod safe;
mod touched;
mod tree;
mod upstream;
mod walk;

pub use caller::GitError;
pub(crate) use changes::{Commit, PathChange, PathChangeKind};
pub(crate) use hooks_folder::HooksFolder;
pub use repository::{Repository, Surroundings};

use std::ffi::OsStr;
use std::sync::Arc;

use super::{Day, EntryKind, Listed, Path, ReadError, World, utf8};
use tree::{LinkTarget, Tree};

/// The index or a revision of a repository, seen from the folder the repository was opened at.
#[derive(Debug)]
pub struct GitWorld {
    repository: Arc<Repository>,
    tree: Tree,
    commit: Option<Commit>,
    today: Option<jiff::civil::Date>,
    /// What the staged changes reach through links.
    reached: Vec<Path>,
}

impl GitWorld {
    /// What is staged: exactly what a commit made now would hold. A file only marked as meant to be added is not in it.
    pub fn index(repository: &Arc<Repository>) -> Result<Self, GitError> {
        Ok(Self::new(repository, Tree::of_index(repository)?, None))
    }

    /// What is staged, as far as the staged changes can touch it: the ledgers they lie in and the shop files that apply;
    /// and the changes. In a large repository that is far less to look at than all that is staged.
    pub fn touched(repository: &Arc<Repository>) -> Result<(Self, Vec<PathChange>), GitError> {
        Self::touched_and_before(repository).map(|(world, _, changes)| (world, changes))
    }

    /// The same, and beside it the same part of the last commit.
    pub fn touched_and_before(repository: &Arc<Repository>) -> Result<(Self, Self, Vec<PathChange>), GitError> {
        repository.objects.get_ready();
        // Where there may be a link somewhere, the whole index is listed while the changes are.
        let listing = || match index::is_without_links(&repository.index_file()) {
            true => Ok(None),
            false => Tree::list_index(repository).map(Some),
        };
        let (listing, staged) = std::thread::scope(|scope| {
            let listing = scope.spawn(listing);
            let staged = repository.staged();
            (listing.join(), staged)
        });
        let mut listing = listing.unwrap_or_else(|_| Tree::list_index(repository).map(Some))?;
        let (head, staged) = staged?;
        let has_links = listing.as_deref().is_some_and(links::listed);
        let part = if has_links { None } else { touched::tree(repository, &head, &staged)? };
        let (tree, before) = match part {
            Some(trees) => trees,
            None => {
                let tree = match listing.take() {
                    Some(listing) => Tree::of_listing(repository, listing)?,
                    None => Tree::of_index(repository)?,
                };
                (tree, Tree::of_commit(repository, &head)?)
            }
        };
        let reached = if has_links { links::reached(&tree, &repository.objects, &staged) } else { Vec::new() };
        let mut world = Self::new(repository, tree, None);
        world.reached = reached.iter().map(|full| repository.seen(full)).collect();
        Ok((world, Self::new(repository, before, None), repository.changes(&staged)))
    }

    fn new(repository: &Arc<Repository>, tree: Tree, commit: Option<Commit>) -> Self {
        Self { repository: Arc::clone(repository), tree, commit, today: None, reached: Vec::new() }
    }

    /// The paths under which links show what the staged changes touch.
    #[must_use]
    pub fn reached(&self) -> &[Path] {
        &self.reached
    }

    /// What the commit named `revision` holds, on the day it was committed.
    pub fn revision(repository: &Arc<Repository>, revision: &str) -> Result<Self, GitError> {
        Self::commit(repository, repository.resolve(revision)?)
    }

    /// What a commit holds, on the day it was committed.
    pub fn commit(repository: &Arc<Repository>, commit: Commit) -> Result<Self, GitError> {
        let tree = Tree::of_commit(repository, &commit.id)?;
        Ok(Self::new(repository, tree, Some(commit)))
    }

    /// The same files on another day.
    #[must_use]
    pub fn on(mut self, today: jiff::civil::Date) -> Self {
        self.today = Some(today);
        self
    }

    /// The commit this is, or nothing for the index.
    #[must_use]
    pub fn is_commit(&self) -> Option<&Commit> {
        self.commit.as_ref()
    }

    fn place(&self, path: &Path) -> Result<LinkTarget<'_>, ReadError> {
        let full = self.repository.full(path).ok_or(ReadError::Missing)?;
        self.tree.place(&full, &self.repository.objects)
    }
}

impl World for GitWorld {
    fn list(&self, folder: &Path) -> Result<Vec<Listed>, ReadError> {
        let real = match self.place(folder)? {
            LinkTarget::Folder(real) => real,
            LinkTarget::File(_) => return Err(ReadError::Other("it is a file, not a folder".to_owned())),
            LinkTarget::Other(reason) => return Err(ReadError::Other(reason.to_owned())),
        };
        // The children keep the name they were asked under, though the folder may have been reached through a link.
        let full = self.repository.full(folder).ok_or(ReadError::Missing)?;
        let mut entries = Vec::new();
        for child in self.tree.children(&real) {
            let (kind, link) = self.tree.kind(&child, &self.repository.objects);
            let path = self.repository.seen(&Path(full.clone()).join(&child.name).0);
            entries.push(Listed { path, name: child.name, kind, link });
        }
        entries.sort();
        Ok(entries)
    }

    fn kind(&self, path: &Path) -> Result<EntryKind, ReadError> {
        Ok(match self.place(path)? {
            LinkTarget::Folder(_) => EntryKind::Folder,
            LinkTarget::File(_) => EntryKind::File,
            LinkTarget::Other(reason) => EntryKind::Other(reason),
        })
    }

    fn read(&self, file: &Path) -> Result<Vec<u8>, ReadError> {
        match self.place(file)? {
            LinkTarget::File(entry) => self.repository.objects.blob(entry.id),
            LinkTarget::Folder(_) => Err(ReadError::Other("it is a folder, not a file".to_owned())),
            LinkTarget::Other(reason) => Err(ReadError::Other(reason.to_owned())),
        }
    }

    fn parent(&self, path: &Path) -> Option<Path> {
        let full = Path(self.repository.full(path)?);
        full.parent().map(|parent| self.repository.seen(&parent.0))
    }

    fn called(&self) -> String {
        match &self.commit {
            Some(commit) => format!("revision {}", commit.short()),
            None => "files as staged, no revision".to_owned(),
        }
    }

    fn today(&self) -> jiff::civil::Date {
        self.day().date
    }

    fn day(&self) -> Day {
        match (self.today, &self.commit) {
            (Some(stated), _) => Day::stated(stated),
            (None, Some(commit)) => Day { date: commit.date, latest: commit.latest },
            (None, None) => Day::now(),
        }
    }

    /// The typed path, which may also start at the root of the file system if it leads into the work tree. As on the
    /// disk, a `..` behind a link to a folder leads to the folder above the link's target.
    fn path(&self, typed: &OsStr) -> Result<Path, ReadError> {
        let outside = || ReadError::Other("it is outside of the git repository".to_owned());
        let (start, typed) = self.repository.start(utf8(typed)?).ok_or_else(outside)?;
        let mut full = Path(start.to_owned());
        for part in typed.split('/') {
            match part {
                "" | "." => {}
                ".." => {
                    if let Ok(LinkTarget::Folder(real)) = self.tree.place(&full.0, &self.repository.objects) {
                        full = Path(real);
                    }
                    full = full.parent().ok_or_else(outside)?;
                }
                _ => full = full.join(part),
            }
        }
        Ok(self.repository.seen(&full.0))
    }

    fn identity(&self, path: &Path) -> Result<String, ReadError> {
        match self.place(path)? {
            LinkTarget::Folder(real) => Ok(real),
            LinkTarget::File(entry) => Ok(super::shown(entry.path).0),
            LinkTarget::Other(reason) => Err(ReadError::Other(reason.to_owned())),
        }
    }

    fn prefetch(&self, files: &[Path]) {
        let ids = files.iter().filter_map(|file| match self.place(file) {
            Ok(LinkTarget::File(entry)) => Some(entry.id.to_owned()),
            _ => None,
        });
        self.repository.objects.prefetch(ids.collect());
    }
}

/// What a commit has at and below some paths, a line each.
#[cfg(test)]
pub(crate) fn listed_below(repository: &Repository, head: &str, paths: impl Iterator<Item = Vec<u8>>) -> Vec<String> {
    let listing = touched::list(repository, head, paths).expect("git lists it");
    let lines = listing.split(|&byte| byte == 0).map(|line| String::from_utf8_lossy(line).into_owned());
    lines.filter(|line| !line.is_empty()).collect()
}
