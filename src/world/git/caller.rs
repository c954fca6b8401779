//! How the git program is called, and why it may give no answer.

use std::ffi::{OsStr, OsString};
use std::path::PathBuf;
use std::process::Command;

use super::super::ReadError;
use super::safe::{Hooks, git};

/// Why git gave no answer.
#[derive(Debug, thiserror::Error)]
pub enum GitError {
    /// Git cannot be started.
    #[error("the git program cannot be started ({0}); install git, or put it on the PATH")]
    NoGit(std::io::Error),
    /// The folder lies in no repository.
    #[error("`{folder}` is not in a git repository: git says `{words}`")]
    NoRepository {
        /// The folder.
        folder: String,
        /// Git's words.
        words: String,
    },
    /// What is staged was asked of a repository without a work tree.
    #[error("this repository has no work tree, so nothing can be staged in it; name a revision")]
    NoIndex,
    /// No revision has that name.
    #[error("git knows no revision `{revision}` here; `git log --all` shows what there is")]
    UnknownRevision {
        /// The name.
        revision: String,
    },
    /// The revision is no commit.
    #[error("`{revision}` is a {kind}, not a commit; name a commit, a branch or a tag")]
    NotACommit {
        /// The name.
        revision: String,
        /// What it is.
        kind: String,
    },
    /// Git failed.
    #[error("`git {command}` failed: {words}")]
    Failed {
        /// What it was asked.
        command: String,
        /// Its words.
        words: String,
    },
    /// Git answered what it never should.
    #[error("git gave an answer that makes no sense here: {0}")]
    Strange(String),
}

impl From<GitError> for ReadError {
    fn from(error: GitError) -> Self {
        Self::Other(error.to_string())
    }
}

/// How git is called: in which folder and with which variables.
#[derive(Clone, Debug)]
pub(super) struct Caller {
    pub(super) folder: PathBuf,
    pub(super) variables: Vec<(&'static str, OsString)>,
}

impl Caller {
    pub(super) fn command(&self) -> Command {
        git(&self.folder, &self.variables, Hooks::None)
    }

    /// What git prints, or why it failed; nothing where git says no without a word.
    pub(super) fn ask(&self, arguments: &[impl AsRef<OsStr>]) -> Result<Option<Vec<u8>>, GitError> {
        answer(self.command(), arguments)
    }

    /// What git prints.
    pub(super) fn tell(&self, arguments: &[impl AsRef<OsStr>]) -> Result<Vec<u8>, GitError> {
        self.ask(arguments)?
            .ok_or_else(|| GitError::Failed { command: told(arguments), words: "it gave no reason".to_owned() })
    }
}

/// What a git program prints, or why it failed; nothing where it says no without a word.
pub(super) fn answer(mut git: Command, arguments: &[impl AsRef<OsStr>]) -> Result<Option<Vec<u8>>, GitError> {
    let output = git.args(arguments).output().map_err(GitError::NoGit)?;
    if output.status.success() {
        return Ok(Some(output.stdout));
    }
    let words = String::from_utf8_lossy(&output.stderr);
    let words = words.trim().trim_start_matches("fatal: ");
    if words.is_empty() && output.status.code() == Some(1) {
        return Ok(None);
    }
    Err(GitError::Failed { command: told(arguments), words: words.to_owned() })
}

pub(super) fn told(arguments: &[impl AsRef<OsStr>]) -> String {
    arguments.iter().map(|word| word.as_ref().to_string_lossy()).collect::<Vec<_>>().join(" ")
}
