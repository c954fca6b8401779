//! Which repository we stand in, and how git is called there. A hook runs with variables that say where git's files
//! are; those are obeyed when they speak of the repository we stand in, and kept from git when they speak of another
//! one, so that a hook of one repository cannot misdirect a look at another.

use std::collections::BTreeMap;
use std::ffi::{OsStr, OsString};
use std::fs;
use std::path::{Path as RealPath, PathBuf};

use super::super::Path;
use super::caller::{Caller, GitError};
use super::objects::Objects;

/// The variables that go with `GIT_DIR`: where objects wait while a push is being judged, above all. Grafts and replacements
/// are not among them: they say that a commit is another than it is.
const WITH_GIT_DIR: &[&str] = &[
    "GIT_ALTERNATE_OBJECT_DIRECTORIES",
    "GIT_OBJECT_DIRECTORY",
    "GIT_SHALLOW_FILE",
    "GIT_COMMON_DIR",
    "GIT_NAMESPACE",
    "GIT_QUARANTINE_PATH",
];

/// The environment git would see: its variables, and the folder that relative ones start from.
#[derive(Clone, Debug, Default)]
pub struct Surroundings {
    /// What git is told in its environment.
    pub variables: BTreeMap<OsString, OsString>,
    /// Where git is started.
    pub folder: PathBuf,
}

impl Surroundings {
    /// Those of this process.
    #[must_use]
    pub fn of_process() -> Self {
        Self { variables: std::env::vars_os().collect(), folder: std::env::current_dir().unwrap_or_default() }
    }

    fn get(&self, name: &str) -> Option<&OsStr> {
        self.variables.get(OsStr::new(name)).map(OsString::as_os_str).filter(|value| !value.is_empty())
    }

    fn file(&self, name: &str) -> Option<PathBuf> {
        self.get(name).map(|value| self.folder.join(value))
    }
}

/// A git repository, seen from a folder of its work tree (or from its own folder, when it has none).
#[derive(Debug)]
pub struct Repository {
    caller: Caller,
    /// Git's own folder for this work tree.
    dir: PathBuf,
    /// The top of the work tree; nothing in a bare repository.
    top: Option<PathBuf>,
    /// The folder we stand in, from the top: `""` or `yard/hull`.
    prefix: String,
    /// The id of the last commit when the repository was opened; nothing before the first.
    head: Option<String>,
    /// The commits that a merge under way brings in, as git names them to the hook of a merge.
    merged: Vec<String>,
    pub(super) objects: Objects,
}

impl Repository {
    /// The repository of the current folder.
    pub fn here() -> Result<Self, GitError> {
        Self::at(".", &Surroundings::of_process())
    }

    /// The repository that a commit is made in, for the hook that git runs before it: that of its variables, as git itself
    /// takes them. Somebody may commit from a folder that belongs to another repository.
    pub fn of_commit() -> Result<Self, GitError> {
        let surroundings = Surroundings::of_process();
        let named = |name| Some((name, surroundings.file(name)?.into_os_string()));
        let variables = match named("GIT_DIR") {
            Some(dir) => [Some(dir), named("GIT_WORK_TREE")].into_iter().flatten().collect(),
            None => return Self::here(),
        };
        Self::found(".".as_ref(), &surroundings, variables)
    }

    /// The repository of the folder `stand`.
    pub fn at(stand: impl AsRef<RealPath>, surroundings: &Surroundings) -> Result<Self, GitError> {
        let stand = stand.as_ref();
        // Somebody who names both says that this work tree belongs to that git folder, whatever else lies here.
        let variables = fs::canonicalize(stand).ok().and_then(|stand| elsewhere(&stand, surroundings));
        Self::found(stand, surroundings, variables.unwrap_or_default())
    }

    /// The repository that git finds from a folder with these variables.
    fn found(
        stand: &RealPath,
        surroundings: &Surroundings,
        variables: Vec<(&'static str, OsString)>,
    ) -> Result<Self, GitError> {
        let shown = stand.display().to_string();
        let none = |words: String| GitError::NoRepository { folder: shown.clone(), words };
        let stand = fs::canonicalize(stand).map_err(|error| none(error.to_string()))?;
        let mut caller = Caller { folder: stand.clone(), variables };
        let asked =
            ["rev-parse", "--is-inside-work-tree", "--show-prefix", "--absolute-git-dir", "--revs-only", "HEAD"];
        let answer = match caller.tell(&asked) {
            Err(GitError::Failed { words, .. }) => return Err(none(on_one_line(&words))),
            answer => answer?,
        };
        let (inside, rest) = two_lines(&answer).ok_or_else(|| strange(&answer))?;
        let (rest, head) = without_head(rest);
        let (prefix, dir) = prefix_and_dir(rest, &stand).ok_or_else(|| strange(&answer))?;
        let dir = real_path(dir);
        let (top, prefix) = if inside == b"true" {
            let prefix = String::from_utf8(prefix.to_owned()).map_err(|error| strange(error.as_bytes()))?;
            let depth = Path(prefix.clone()).0.split('/').filter(|part| !part.is_empty()).count();
            (Some(stand.ancestors().nth(depth).unwrap_or(&stand).to_owned()), prefix)
        } else {
            (None, String::new())
        };
        let named = surroundings.file("GIT_DIR");
        let agrees = named.as_ref().is_some_and(|named| same(named, &dir));
        if agrees {
            for name in WITH_GIT_DIR {
                if let Some(value) = surroundings.get(name) {
                    let relative = matches!(*name, "GIT_OBJECT_DIRECTORY" | "GIT_COMMON_DIR");
                    let value = if relative { surroundings.folder.join(value).into() } else { value.to_owned() };
                    caller.variables.push((name, value));
                }
            }
        }
        caller.folder = top.clone().unwrap_or_else(|| dir.clone());
        if let Some(index) = surroundings.get("GIT_INDEX_FILE") {
            // A relative one starts at the top of the work tree, wherever git was called.
            let index = caller.folder.join(index);
            if agrees || (named.is_none() && !of_another(&index, &dir)) {
                caller.variables.push(("GIT_INDEX_FILE", index.into()));
            }
        }
        let objects = Objects::new(caller.clone());
        let merged = surroundings.variables.keys().filter_map(|name| name.to_str()?.strip_prefix("GITHEAD_"));
        let merged = merged.filter(|id| is_id(id)).map(str::to_owned).collect();
        Ok(Self { caller, dir, top, prefix, head, merged, objects })
    }

    /// The top folder of the work tree; nothing in a bare repository.
    #[must_use]
    pub fn top(&self) -> Option<&RealPath> {
        self.top.as_deref()
    }

    /// Git's own folder for this work tree.
    #[must_use]
    pub fn dir(&self) -> &RealPath {
        &self.dir
    }

    /// The folder we stand in, from the top: `""` at the top itself.
    #[must_use]
    pub fn prefix(&self) -> &str {
        &self.prefix
    }

    /// The id of the last commit when the repository was opened; nothing before the first.
    pub(super) fn head(&self) -> Option<&str> {
        self.head.as_deref()
    }

    /// The commits that a merge under way brings in, as git names them to the hook that runs before the merge's own commit.
    pub(super) fn merged(&self) -> &[String] {
        &self.merged
    }

    /// Git's answer to a plumbing command.
    pub(super) fn caller(&self) -> &Caller {
        &self.caller
    }

    /// Whether there is an index: in a work tree always, in a bare repository when a hook names one.
    pub(super) fn has_index(&self) -> bool {
        self.top.is_some() || self.caller.variables.iter().any(|(name, _)| *name == "GIT_INDEX_FILE")
    }

    /// The file that git keeps the index in.
    pub(super) fn index_file(&self) -> PathBuf {
        let named = self.caller.variables.iter().find(|(name, _)| *name == "GIT_INDEX_FILE");
        named.map_or_else(|| self.dir.join("index"), |(_, file)| PathBuf::from(file))
    }

    /// A path of this world from the top of the repository; nothing for one that is outside.
    pub(super) fn full(&self, path: &Path) -> Option<String> {
        let full = Path::normal(&format!("./{}/{}", self.prefix, path.0)).0;
        (full != ".." && !full.starts_with("../") && !path.0.starts_with('/')).then_some(full)
    }

    /// Where a typed path starts, from the top, and what is left of it; nothing for one that leads elsewhere.
    pub(super) fn start<'p>(&'p self, typed: &'p str) -> Option<(&'p str, &'p str)> {
        if !typed.starts_with('/') {
            return Some((&self.prefix, typed));
        }
        let top = self.top.as_deref().unwrap_or(&self.dir);
        let typed = RealPath::new(typed);
        let to_top = typed.ancestors().find(|above| same(above, top))?;
        Some(("", typed.strip_prefix(to_top).ok()?.to_str()?))
    }

    /// A path from the top, as seen from where we stand.
    pub(super) fn seen(&self, full: &str) -> Path {
        let parts = |text: &'_ str| -> Vec<String> {
            text.split('/').filter(|part| !part.is_empty()).map(str::to_owned).collect()
        };
        let (from, to) = (parts(&self.prefix), parts(full));
        let common = from.iter().zip(&to).take_while(|(one, other)| one == other).count();
        let mut seen = vec!["..".to_owned(); from.len() - common];
        seen.extend_from_slice(&to[common..]);
        Path(seen.join("/"))
    }
}

/// The variables, where they name the work tree we stand in together with its git folder.
fn elsewhere(stand: &RealPath, surroundings: &Surroundings) -> Option<Vec<(&'static str, OsString)>> {
    let tree = fs::canonicalize(surroundings.file("GIT_WORK_TREE")?).ok()?;
    let dir = fs::canonicalize(surroundings.file("GIT_DIR")?).ok()?;
    // A repository of its own that lies inside that work tree is another one.
    let mut between = stand.ancestors().take_while(|folder| *folder != tree);
    let ours = stand.starts_with(&tree) && !between.any(|folder| folder.join(".git").exists());
    ours.then(|| vec![("GIT_DIR", dir.into()), ("GIT_WORK_TREE", tree.into())])
}

/// Whether an index file lies in the git folder of a repository other than ours.
fn of_another(index: &RealPath, dir: &RealPath) -> bool {
    let Some(folder) = index.parent() else { return false };
    let is_git_folder =
        folder.join("HEAD").is_file() && (folder.join("objects").is_dir() || folder.join("commondir").is_file());
    is_git_folder && !same(folder, dir)
}

fn same(one: &RealPath, other: &RealPath) -> bool {
    matches!((fs::canonicalize(one), fs::canonicalize(other)), (Ok(one), Ok(other)) if one == other)
}

/// The first line, and all the rest without its line end: a path may hold line ends itself.
fn two_lines(answer: &[u8]) -> Option<(&[u8], &[u8])> {
    let at = answer.iter().position(|&byte| byte == b'\n')?;
    let rest = &answer[at + 1..];
    Some((&answer[..at], rest.strip_suffix(b"\n").unwrap_or(rest)))
}

/// What comes before the last line, and that line, where it is the id of a commit.
fn without_head(lines: &[u8]) -> (&[u8], Option<String>) {
    let split = memchr::memrchr(b'\n', lines).map(|at| (&lines[..at], &lines[at + 1..]));
    match split {
        Some((rest, id)) if std::str::from_utf8(id).is_ok_and(is_id) => {
            (rest, Some(String::from_utf8_lossy(id).into_owned()))
        }
        _ => (lines, None),
    }
}

/// Whether this is the whole id of something in git, by either of the two ways it computes ids.
pub(super) fn is_id(text: &str) -> bool {
    matches!(text.len(), 40 | 64) && text.bytes().all(|byte| byte.is_ascii_hexdigit())
}

/// The folder we stand in, from the top, and git's own folder, each on a line. Both may hold line ends themselves: the
/// first is the longest that we stand in.
fn prefix_and_dir<'a>(lines: &'a [u8], stand: &RealPath) -> Option<(&'a [u8], &'a [u8])> {
    let ends = memchr::memrchr_iter(b'\n', lines);
    let split = |end: usize| (lines[..end].strip_suffix(b"/").unwrap_or(&lines[..end]), &lines[end + 1..]);
    ends.map(split).find(|(prefix, dir)| !dir.is_empty() && (prefix.is_empty() || stand.ends_with(real_path(prefix))))
}

fn on_one_line(words: &str) -> String {
    words.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn strange(answer: &[u8]) -> GitError {
    GitError::Strange(super::super::shown(answer).0)
}

#[cfg(unix)]
pub(super) fn real_path(bytes: &[u8]) -> PathBuf {
    use std::os::unix::ffi::OsStrExt;
    PathBuf::from(OsStr::from_bytes(bytes))
}

#[cfg(not(unix))]
pub(super) fn real_path(bytes: &[u8]) -> PathBuf {
    PathBuf::from(String::from_utf8_lossy(bytes).into_owned())
}

#[cfg(all(test, unix))]
mod tests {
    use super::*;

    #[test]
    fn names_with_line_ends_are_told_apart() {
        let told = |lines: &'static str, stand: &str| {
            let (prefix, dir) = prefix_and_dir(lines.as_bytes(), RealPath::new(stand))?;
            Some((std::str::from_utf8(prefix).unwrap(), std::str::from_utf8(dir).unwrap()))
        };
        assert_eq!(told("\n/r/.git", "/r"), Some(("", "/r/.git")));
        assert_eq!(told("yard/hull/\n/r/.git", "/r/yard/hull"), Some(("yard/hull", "/r/.git")));
        assert_eq!(told("\nx/\n/r/.git", "/r/\nx"), Some(("\nx", "/r/.git")));
        assert_eq!(told("a\nb/c/\n/r/.git", "/r/a\nb/c"), Some(("a\nb/c", "/r/.git")));
        assert_eq!(told("\n/r\n/.git", "/r\n"), Some(("", "/r\n/.git")));
        assert_eq!(told("elsewhere/\n/r/.git", "/r/yard"), None);
        assert_eq!(told("/r/.git", "/r"), None);
    }
}
