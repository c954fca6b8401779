//! Names of commits, and which paths differ between two states that git keeps.

use super::super::path::shown;
use super::super::{Day, Path, ReadError};
use super::caller::GitError;
use super::objects::Object;
use super::repository::{Repository, is_id};
use super::tree::empty_folder;

/// A commit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Commit {
    /// Its whole id, in hexadecimal digits.
    pub id: String,
    /// The day it was committed, by the clock of whoever committed it.
    pub date: jiff::civil::Date,
    /// The day it was at that moment where days begin first. A server far away may have committed what somebody wrote.
    pub latest: jiff::civil::Date,
}

impl Commit {
    /// The first digits of its id: always twelve, so that a report does not change when the repository grows.
    #[must_use]
    pub fn short(&self) -> &str {
        self.id.get(..12).unwrap_or(&self.id)
    }
}

/// How a path changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum PathChangeKind {
    Added,
    Changed,
    Removed,
    /// Another kind of thing than before: a link in place of a file.
    Replaced,
    Renamed,
    /// The merge is not settled there.
    InConflict,
}

/// A changed path, as seen from where the repository was opened.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct PathChange {
    pub path: Path,
    /// Where it was before, if it was renamed.
    pub from: Option<Path>,
    pub how: PathChangeKind,
}

impl PathChange {
    /// The paths it touches: one, or two when renamed.
    pub fn paths(&self) -> impl Iterator<Item = &Path> {
        std::iter::once(&self.path).chain(&self.from)
    }
}

impl Repository {
    /// The commit that a person means by `HEAD`, a branch, a tag, an id, `main~3`, …
    pub fn resolve(&self, revision: &str) -> Result<Commit, GitError> {
        let mut name = revision.to_owned();
        // A tag may stand for a tag; ten deep is nobody's intention.
        for _ in 0..10 {
            let object = self.objects.named(&name).map_err(|why| GitError::Strange(why.to_string()))?;
            match object {
                Object::Whole { kind, bytes, .. } if kind == "tag" => {
                    let target =
                        bytes.strip_prefix(b"object ").and_then(|rest| rest.split(|&byte| byte == b'\n').next());
                    name = String::from_utf8_lossy(target.unwrap_or_default()).into_owned();
                }
                Object::Whole { id, kind, bytes } if kind == "commit" => {
                    let Day { date, latest } =
                        committed(&bytes).ok_or_else(|| GitError::Strange(format!("commit {id} has no date")))?;
                    return Ok(Commit { id, date, latest });
                }
                Object::Whole { kind, .. } => {
                    let kind = match kind.as_str() {
                        "tree" => "folder",
                        _ => "file",
                    };
                    return Err(GitError::NotACommit { revision: revision.to_owned(), kind: kind.to_owned() });
                }
                Object::TooLarge { .. } => {
                    return Err(GitError::NotACommit { revision: revision.to_owned(), kind: "file".to_owned() });
                }
                Object::Missing | Object::Ambiguous | Object::NoRoom => break,
            }
        }
        Err(GitError::UnknownRevision { revision: revision.to_owned() })
    }

    /// The last commit that both have in their history; nothing if they share none.
    pub fn merge_base(&self, one: &Commit, other: &Commit) -> Result<Option<Commit>, GitError> {
        match self.caller().ask(&["merge-base", &one.id, &other.id])? {
            Some(answer) => self.resolve(String::from_utf8_lossy(&answer).trim()).map(Some),
            None => Ok(None),
        }
    }

    /// The commits that are being merged into the last one; none where no merge is going on. While git makes a merge that
    /// needed no hand, it names them in variables only.
    pub fn merging(&self) -> Result<Vec<Commit>, GitError> {
        let noted = std::fs::read_to_string(self.dir().join("MERGE_HEAD")).unwrap_or_default();
        let mut ids: Vec<&str> = noted.lines().map(str::trim).chain(self.merged().iter().map(String::as_str)).collect();
        ids.retain(|id| is_id(id) && self.head() != Some(id));
        ids.sort_unstable();
        ids.dedup();
        ids.into_iter().map(|id| self.resolve(id)).collect()
    }

    /// What is staged, against the last commit (against nothing, before the first).
    pub fn staged_changes(&self) -> Result<Vec<PathChange>, GitError> {
        Ok(self.changes(&self.staged()?.1))
    }

    /// What is staged, as git tells it, and the id of what it is compared with.
    pub(super) fn staged(&self) -> Result<(String, Vec<Differing>), GitError> {
        if !self.has_index() {
            return Err(GitError::NoIndex);
        }
        let head = match self.head() {
            Some(head) => head.to_owned(),
            None => {
                let made = self.caller().tell(&["rev-parse", "--show-object-format"])?;
                empty_folder(&"0".repeat(if made.starts_with(b"sha256") { 64 } else { 40 })).to_owned()
            }
        };
        let diff = [
            "diff-index",
            "--cached",
            "-z",
            "--no-abbrev",
            "-M",
            "--ita-invisible-in-index",
            "--ignore-submodules=none",
            &head,
        ];
        let staged = differing(&self.caller().tell(&diff)?)?;
        Ok((head, staged))
    }

    /// What changed from one commit to another.
    pub fn changes_between(&self, before: &Commit, after: &Commit) -> Result<Vec<PathChange>, GitError> {
        let diff = ["diff-tree", "-r", "-z", "--no-abbrev", "-M", "--ignore-submodules=none", &before.id, &after.id];
        Ok(self.changes(&differing(&self.caller().tell(&diff)?)?))
    }

    /// The changes, as seen from where we stand.
    pub(super) fn changes(&self, differing: &[Differing]) -> Vec<PathChange> {
        let path = |bytes: &[u8]| self.seen(&shown(bytes).0);
        let change = |d: &Differing| PathChange { path: path(&d.path), from: d.from.as_deref().map(path), how: d.how };
        let mut changes: Vec<PathChange> = differing.iter().map(change).collect();
        changes.sort();
        changes.dedup();
        changes
    }
}

/// A path that differs, from the top of the repository.
#[derive(Debug)]
pub(super) struct Differing {
    pub path: Vec<u8>,
    /// Where it was before, if it was renamed.
    pub from: Option<Vec<u8>>,
    pub how: PathChangeKind,
    /// What stands there now; 0 where nothing does.
    pub mode: u32,
    pub id: String,
}

/// Reads `:<mode before> <mode> <id before> <id> <status>\0<path>\0`, with two paths after a rename or a copy.
fn differing(listing: &[u8]) -> Result<Vec<Differing>, GitError> {
    let cut = || GitError::Strange("a list of changes ends in the middle".to_owned());
    let mut parts = listing.split(|&byte| byte == 0).filter(|part| !part.is_empty());
    let mut all = Vec::new();
    while let Some(head) = parts.next() {
        let strange = || GitError::Strange(shown(head).0);
        let mut words = std::str::from_utf8(head).map_err(|_| strange())?.split(' ').skip(1);
        let mode = words.next().and_then(|mode| u32::from_str_radix(mode, 8).ok()).ok_or_else(strange)?;
        let (id, status) = words.next().and_then(|_| Some((words.next()?, words.next()?))).ok_or_else(strange)?;
        let mut path = || parts.next().map(<[u8]>::to_vec).ok_or_else(cut);
        let (how, before) = match status.as_bytes().first() {
            Some(b'A') => (PathChangeKind::Added, None),
            Some(b'M') => (PathChangeKind::Changed, None),
            Some(b'D') => (PathChangeKind::Removed, None),
            Some(b'T') => (PathChangeKind::Replaced, None),
            Some(b'U') => (PathChangeKind::InConflict, None),
            Some(b'R') => (PathChangeKind::Renamed, Some(path()?)),
            // What it was copied from stays as it is.
            Some(b'C') => (PathChangeKind::Added, Some(path()?)),
            _ => return Err(strange()),
        };
        let from = before.filter(|_| how == PathChangeKind::Renamed);
        all.push(Differing { path: path()?, from, how, mode, id: id.to_owned() });
    }
    Ok(all)
}

/// The date of a commit: `committer <name> <<address>> <seconds since 1970> <offset>`, in that offset.
fn committed(commit: &[u8]) -> Option<Day> {
    let mut head = commit.split(|&byte| byte == b'\n').take_while(|line| !line.is_empty());
    let line = head.find(|line| line.starts_with(b"committer "))?;
    let line = String::from_utf8_lossy(line);
    let mut words = line.rsplit(' ');
    let (offset, seconds) = (words.next()?, words.next()?.parse::<i64>().ok()?);
    let hhmm = offset.get(1..)?.parse::<i32>().ok()?;
    let size = (hhmm / 100 * 60 + hhmm % 100) * 60;
    let offset = jiff::tz::Offset::from_seconds(if offset.starts_with('-') { -size } else { size });
    let at = jiff::Timestamp::from_second(seconds).ok()?;
    // An offset that no place on earth has is a mistake of whoever wrote the commit; its day in Greenwich stands.
    Some(Day { date: offset.unwrap_or(jiff::tz::Offset::UTC).to_datetime(at).date(), latest: Day::latest_at(at) })
}

impl From<ReadError> for GitError {
    fn from(why: ReadError) -> Self {
        Self::Strange(why.to_string())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Seconds and dates from `date -u -d @1700000000` (2023-11-14 22:13:20) of GNU coreutils.
    #[test]
    fn the_day_is_the_committers_own() {
        let commit = |offset: &str| format!("tree x\ncommitter A B <a@b> 1700000000 {offset}\n\nm");
        let day = |offset: &str| committed(commit(offset).as_bytes()).map(|day| day.date);
        assert_eq!(day("+0000"), Some(jiff::civil::date(2023, 11, 14)));
        assert_eq!(day("+0145"), Some(jiff::civil::date(2023, 11, 14)));
        assert_eq!(day("+0147"), Some(jiff::civil::date(2023, 11, 15)));
        assert_eq!(day("-1200"), Some(jiff::civil::date(2023, 11, 14)));
        assert_eq!(day("+9999"), Some(jiff::civil::date(2023, 11, 14)));
        assert_eq!(day("x"), None);
        // `TZ=Pacific/Kiritimati date -d @1700000000`: there the next day has begun.
        let latest = committed(commit("-1200").as_bytes()).map(|day| day.latest);
        assert_eq!(latest, Some(jiff::civil::date(2023, 11, 15)));
        assert_eq!(committed(b"tree x\n\ncommitter"), None);
        assert_eq!(committed(b"committer a 99999999999999999 +0000\n"), None);
    }
}
