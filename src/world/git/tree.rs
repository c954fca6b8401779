//! The files of an index or a commit as git lists them, sorted by path, with folders and links made out of that list.
//! One listing serves the whole run; contents are fetched only when read.

use std::collections::BTreeSet;
use std::ops::Range;

use super::super::path::{looks_like_kdl, shown};
use super::super::{EntryKind, NOT_UTF8, NOT_UTF8_NOR_KDL, Path, ReadError};
use super::caller::GitError;
use super::objects::Objects;
use super::repository::Repository;

/// One line of git's listing. Its words stay in the listing, so that an entry costs no memory of its own.
#[derive(Clone, Debug)]
struct ListingLine {
    path: Range<u32>,
    id: Range<u32>,
    mode: u32,
    stage: u8,
}

/// A file, a link or a submodule as git lists it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct TreeEntry<'t> {
    /// From the top of the repository.
    pub path: &'t [u8],
    pub id: &'t str,
    pub mode: u32,
    /// 0 when settled; 1 to 3 for the sides of a merge in conflict.
    pub stage: u8,
}

const FOLDER: u32 = 0o040_000;
pub(super) const LINK: u32 = 0o120_000;
const SUBMODULE: u32 = 0o160_000;
/// Links followed before a path is taken for a circle, as Linux does.
const MOST_LINKS: usize = 40;
/// A link's target is a path; nothing longer is one.
const MOST_TARGET: usize = 4096;

const CONFLICT: &str = "it is in conflict: settle the merge and stage it";
const NOT_HERE: &str = "it is a submodule: another repository, to be looked at there";
const DANGLING: &str = "it is a link to something that is not there";
const OUTSIDE: &str = "it is a link out of the repository";
const CIRCLE: &str = "it is a link that leads back to itself";
const NO_TARGET: &str = "it is a link whose target git cannot give";

/// The contents of an empty file and an empty folder, by the two ways git computes ids (SHA-1, SHA-256).
const EMPTY_FILE: [&str; 2] =
    ["e69de29bb2d1d6434b8b29ae775ad8c2e48c5391", "473a0f4c3be8a93681a267e3b1e9a7dcda1185436fe141f7749120a303721813"];
const EMPTY_FOLDER: [&str; 2] =
    ["4b825dc642cb6eb9a060e54bf8d69288fbee4904", "6ef19b41225c5369f1c104d45d8d85efa9b057b53b14b4b9b939dd74decc5321"];

/// The id of the folder without anything in it, of the same make as `like`.
pub(super) fn empty_folder(like: &str) -> &'static str {
    EMPTY_FOLDER[usize::from(like.len() > 40)]
}

#[derive(Debug, Default)]
pub(super) struct Tree {
    /// What git printed.
    listing: Vec<u8>,
    /// Sorted by path and stage.
    lines: Vec<ListingLine>,
}

/// What stands at a path once links are followed.
pub(super) enum LinkTarget<'t> {
    /// With its path free of links.
    Folder(String),
    File(TreeEntry<'t>),
    Other(&'static str),
}

/// One thing in a folder, links not followed.
pub(super) struct Child<'t> {
    pub name: String,
    is_text: bool,
    /// Its whole path; of a folder, what the paths of all in it begin with.
    path: &'t [u8],
    /// Nothing for a folder.
    entry: Option<TreeEntry<'t>>,
}

impl Tree {
    pub(super) fn of_commit(repository: &Repository, id: &str) -> Result<Self, GitError> {
        let mut tree = Self::default();
        tree.add(repository.caller().tell(&["ls-tree", "-r", "-z", "--full-tree", id])?)?;
        tree.sort();
        Ok(tree)
    }

    pub(super) fn of_index(repository: &Repository) -> Result<Self, GitError> {
        Self::of_listing(repository, Self::list_index(repository)?)
    }

    /// All that is staged, as git lists it.
    pub(super) fn list_index(repository: &Repository) -> Result<Vec<u8>, GitError> {
        if !repository.has_index() {
            return Err(GitError::NoIndex);
        }
        repository.caller().tell(&["ls-files", "-s", "-z", "--full-name"])
    }

    /// What is staged, from git's list of it.
    pub(super) fn of_listing(repository: &Repository, listing: Vec<u8>) -> Result<Self, GitError> {
        let mut tree = Self::default();
        tree.add(listing)?;
        tree.sort();
        tree.forget_the_only_meant(repository)?;
        Ok(tree)
    }

    /// Takes up a listing: lines `<mode> <id> <stage>\t<path>` of the index, or `<mode> <kind> <id>\t<path>` of a commit.
    /// Folders as such are passed over.
    pub(super) fn add(&mut self, mut listing: Vec<u8>) -> Result<(), GitError> {
        let mut at = self.listing.len();
        self.listing.append(&mut listing);
        while at < self.listing.len() {
            let end = memchr::memchr(0, &self.listing[at..]).map_or(self.listing.len(), |end| at + end);
            let line = &self.listing[at..end];
            let read = ListingLine::read(line, at).ok_or_else(|| GitError::Strange(shown(line).0))?;
            if read.mode != FOLDER {
                self.lines.push(read);
            }
            at = end + 1;
        }
        Ok(())
    }

    /// Brings the lines into order, once all are added.
    pub(super) fn sort(&mut self) {
        let listing = &self.listing;
        self.lines.sort_by(|one, other| {
            let key = |line: &ListingLine| (&listing[range(&line.path)], line.stage);
            key(one).cmp(&key(other))
        });
    }

    /// `git add --intent-to-add` puts an entry into the index that no commit would hold. It looks like an empty file;
    /// only a comparison that git makes with an empty folder tells them apart.
    fn forget_the_only_meant(&mut self, repository: &Repository) -> Result<(), GitError> {
        let like_empty = |entry: &TreeEntry| entry.stage == 0 && EMPTY_FILE.contains(&entry.id);
        let Some(first) = self.entries().find(like_empty) else { return Ok(()) };
        let nothing = empty_folder(first.id);
        let listing = repository.caller().tell(&[
            "diff-index",
            "--cached",
            "--name-only",
            "-z",
            "--no-renames",
            "--ita-invisible-in-index",
            nothing,
        ])?;
        let staged: BTreeSet<&[u8]> = listing.split(|&byte| byte == 0).collect();
        self.retain(|entry| !like_empty(entry) || staged.contains(entry.path));
        Ok(())
    }

    /// Keeps the entries of which something holds.
    pub(super) fn retain(&mut self, holds: impl Fn(&TreeEntry<'_>) -> bool) {
        let listing = &self.listing;
        self.lines.retain(|line| holds(&line.entry(listing)));
    }

    pub(super) fn entries(&self) -> impl Iterator<Item = TreeEntry<'_>> {
        self.lines.iter().map(|line| line.entry(&self.listing))
    }

    fn get(&self, at: usize) -> Option<TreeEntry<'_>> {
        self.lines.get(at).map(|line| line.entry(&self.listing))
    }

    /// How many lines, of those from `from` on, come first of which something holds that holds of none after them.
    fn first(&self, from: usize, holds: impl Fn(&[u8]) -> bool) -> usize {
        self.lines[from..].partition_point(|line| holds(&self.listing[range(&line.path)]))
    }

    fn entry(&self, full: &[u8]) -> Option<TreeEntry<'_>> {
        self.get(self.first(0, |path| path < full)).filter(|entry| entry.path == full)
    }

    fn is_folder(&self, full: &str) -> bool {
        let below = below(full);
        let at = self.first(0, |path| path < below.as_slice());
        full.is_empty() || self.get(at).is_some_and(|entry| entry.path.starts_with(&below))
    }

    /// What lies directly in a folder, in the order of the listing. Whole sub-folders are stepped over.
    pub(super) fn children(&self, folder: &str) -> Vec<Child<'_>> {
        let below = below(folder);
        let mut children: Vec<Child<'_>> = Vec::new();
        let mut at = self.first(0, |path| path < below.as_slice());
        while let Some(entry) = self.get(at) {
            let Some(rest) = entry.path.strip_prefix(below.as_slice()) else { break };
            let (name, end) = match memchr::memchr(b'/', rest) {
                Some(end) => (&rest[..end], Some(end)),
                None => (rest, None),
            };
            let (text, is_text) = shown(name);
            if let Some(end) = end {
                let inside = &entry.path[..=below.len() + end];
                at += self.first(at, |path| path.starts_with(inside));
                children.push(Child { name: text, is_text, path: inside, entry: None });
            } else {
                // The sides of a conflict are one file.
                at += self.first(at, |path| path == entry.path);
                children.push(Child { name: text, is_text, path: entry.path, entry: Some(entry) });
            }
        }
        children
    }

    /// What a child is once links are followed, and whether there was one to follow.
    pub(super) fn kind(&self, child: &Child<'_>, objects: &Objects) -> (EntryKind, bool) {
        let link = child.entry.is_some_and(|entry| entry.mode == LINK && entry.stage == 0);
        let kind = match child.entry {
            _ if !child.is_text => EntryKind::Other(if self.holds_kdl(child) { NOT_UTF8 } else { NOT_UTF8_NOR_KDL }),
            None => EntryKind::Folder,
            Some(entry) if !link => match plain(entry) {
                LinkTarget::Other(reason) => EntryKind::Other(reason),
                _ => EntryKind::File,
            },
            Some(entry) => match self.place(&shown(entry.path).0, objects) {
                Ok(LinkTarget::Folder(_)) => EntryKind::Folder,
                Ok(LinkTarget::File(_)) => EntryKind::File,
                Ok(LinkTarget::Other(reason)) => EntryKind::Other(reason),
                Err(_) => EntryKind::Other(DANGLING),
            },
        };
        (kind, link)
    }

    /// Whether a child is a file that looks like one of a ledger, or a folder that holds one.
    fn holds_kdl(&self, child: &Child<'_>) -> bool {
        let at = self.first(0, |path| path < child.path);
        let inside = self.lines[at..].iter().map(|line| line.entry(&self.listing).path);
        let mut inside = inside.take_while(|path| path.starts_with(child.path));
        match child.entry {
            // A link may lead to anything.
            Some(entry) => entry.mode == LINK || looks_like_kdl(entry.path),
            None => inside.any(looks_like_kdl),
        }
    }

    /// What stands at a path from the top, every link on the way followed inside the tree.
    pub(super) fn place(&self, full: &str, objects: &Objects) -> Result<LinkTarget<'_>, ReadError> {
        // An entry, or a folder of entries, has no link on the way to it: the common case takes no steps.
        match self.entry(full.as_bytes()) {
            Some(entry) if entry.mode != LINK => return Ok(plain(entry)),
            None if self.is_folder(full) => return Ok(LinkTarget::Folder(full.to_owned())),
            _ => {}
        }
        let mut ahead: Vec<String> = full.split('/').rev().map(str::to_owned).collect();
        let mut here = Path::default();
        let mut links = 0;
        // Whether the path itself ends in a link. Behind a link to a folder, what is not there is simply not there.
        let mut ends_in_link = false;
        while let Some(part) = ahead.pop() {
            if part.is_empty() || part == "." {
                continue;
            }
            if part == ".." {
                let Some(parent) = here.parent() else { return Ok(LinkTarget::Other(OUTSIDE)) };
                here = parent;
                continue;
            }
            let next = here.join(&part);
            let missing = || if ends_in_link { Ok(LinkTarget::Other(DANGLING)) } else { Err(ReadError::Missing) };
            match self.entry(next.0.as_bytes()) {
                Some(entry) if entry.mode == LINK && entry.stage == 0 => {
                    links += 1;
                    ends_in_link |= ahead.is_empty();
                    if links > MOST_LINKS {
                        return Ok(LinkTarget::Other(CIRCLE));
                    }
                    let target = objects.blob(entry.id).ok().filter(|target| target.len() <= MOST_TARGET);
                    let Some(Ok(target)) = target.map(String::from_utf8) else {
                        return Ok(LinkTarget::Other(NO_TARGET));
                    };
                    if target.starts_with('/') {
                        return Ok(LinkTarget::Other(OUTSIDE));
                    }
                    ahead.extend(target.split('/').rev().map(str::to_owned));
                }
                // A file can only be the end of a path.
                Some(entry) if ahead.is_empty() => return Ok(plain(entry)),
                Some(entry) => match plain(entry) {
                    LinkTarget::Other(reason) => return Ok(LinkTarget::Other(reason)),
                    _ => return missing(),
                },
                None if self.is_folder(&next.0) => here = next,
                None => return missing(),
            }
        }
        Ok(LinkTarget::Folder(here.0))
    }
}

/// What an entry is that is not a link.
fn plain(entry: TreeEntry<'_>) -> LinkTarget<'_> {
    match (entry.stage, entry.mode) {
        (0, SUBMODULE) => LinkTarget::Other(NOT_HERE),
        (0, _) => LinkTarget::File(entry),
        _ => LinkTarget::Other(CONFLICT),
    }
}

/// What the paths of everything below a folder start with.
fn below(folder: &str) -> Vec<u8> {
    if folder.is_empty() { Vec::new() } else { format!("{folder}/").into_bytes() }
}

impl ListingLine {
    /// Reads one line that stands at that place of the listing.
    fn read(line: &[u8], at: usize) -> Option<ListingLine> {
        let tab = memchr::memchr(b'\t', line)?;
        let first = memchr::memchr(b' ', &line[..tab])?;
        let second = first + 1 + memchr::memchr(b' ', &line[first + 1..tab])?;
        let mode = u32::from_str_radix(std::str::from_utf8(&line[..first]).ok()?, 8).ok()?;
        // A stage is one digit.
        let (id, stage) = match line[second + 1..tab] {
            [stage @ b'0'..=b'3'] => (first + 1..second, stage - b'0'),
            _ => (second + 1..tab, 0),
        };
        let whole = |of: Range<usize>| Some(u32::try_from(at + of.start).ok()?..u32::try_from(at + of.end).ok()?);
        Some(ListingLine { path: whole(tab + 1..line.len())?, id: whole(id)?, mode, stage })
    }

    fn entry<'t>(&self, listing: &'t [u8]) -> TreeEntry<'t> {
        let id = std::str::from_utf8(&listing[range(&self.id)]).unwrap_or_default();
        TreeEntry { path: &listing[range(&self.path)], id, mode: self.mode, stage: self.stage }
    }
}

fn range(of: &Range<u32>) -> Range<usize> {
    of.start as usize..of.end as usize
}
