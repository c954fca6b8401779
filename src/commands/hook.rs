//! `wayledger hook`: lints what is staged before git commits it, and what is pushed.

use std::io::{self, BufRead as _, Write as _};

use super::lint::{self, LintArguments};
use super::{CLEAN, CommandError, output, source};
use crate::formats::clean;
use crate::world::git::GitError;
use crate::writing::hook::{self, HookOutcome};

/// Puts a git hook in place that judges what is staged and stops what a commit itself breaks.
///
/// It stops what is put right by writing, a bad reading that no hold lets in, and a record that was altered. What stood in
/// the last commit, what is outstanding and what the calendar brings is told in a line. Only the ledgers that a commit
/// touches are checked. A hook that somebody else wrote is never changed, and none is put into a folder of hooks that other
/// repositories use too.
///
/// Git asks no such hook before a fast-forward, a cherry-pick, a revert, a rebase, `git am`, `git reset` and what is committed
/// with `--no-verify`. `--pre-push` finds that before it leaves this repository, and a job on a server always.
#[derive(Debug, clap::Args)]
pub(crate) struct HookArguments {
    /// Puts a hook beside it that judges all that is pushed against what the remote had, however it was committed.
    #[arg(long)]
    pre_push: bool,
    /// Takes the hooks away again.
    #[arg(long, conflicts_with = "pre_push")]
    remove: bool,
    /// Judges a push to a remote, as the hook does: what is pushed is read from standard input, in git's own words.
    #[arg(long, value_name = "REMOTE", conflicts_with_all = ["pre_push", "remove"])]
    pushing: Option<String>,
}

pub(crate) fn run(arguments: &HookArguments) -> Result<u8, CommandError> {
    if let Some(remote) = &arguments.pushing {
        return push(remote);
    }
    let repository = source::repository()?;
    let done = match arguments.remove {
        true => hook::remove(&repository),
        false => hook::install(&repository, arguments.pre_push),
    };
    let mut out = output::standard();
    for done in done.map_err(|why| CommandError::Said(why.to_string()))? {
        let (place, what) = match &done {
            HookOutcome::Put(place) => (place, "in place"),
            HookOutcome::WasThere(place) => (place, "was in place already"),
            HookOutcome::Removed(place) => (place, "removed"),
            HookOutcome::WasNotThere(place) => (place, "no hook of ours is here"),
        };
        writeln!(out, "{}: {what}", clean(&place.display().to_string()))?;
    }
    out.flush()?;
    Ok(CLEAN)
}

/// Judges what is pushed: on each line `<ref> <id> <ref there> <id there>`, an id of zeros where there is none.
fn push(remote: &str) -> Result<u8, CommandError> {
    let repository = source::repository()?;
    let mut worst = CLEAN;
    for line in io::stdin().lock().lines() {
        let line = line.map_err(|why| CommandError::Said(format!("what is pushed cannot be read: {why}")))?;
        let words: Vec<&str> = line.split(' ').collect();
        let [name, ours, _, theirs] = words[..] else {
            return Err(CommandError::Said(format!("`{}` is no line that git tells before a push", clean(&line))));
        };
        let is_none = |id: &str| id.bytes().all(|byte| byte == b'0');
        // A branch is taken away there: nothing is pushed.
        if is_none(ours) {
            continue;
        }
        let commit = match repository.resolve(ours) {
            Ok(commit) => commit,
            // A tag may name a file or a folder.
            Err(GitError::NotACommit { .. }) => continue,
            Err(why) => return Err(why.into()),
        };
        let base = match is_none(theirs) {
            false => Some(theirs.to_owned()),
            // A new branch: what it shares with those that the remote had when it was last asked.
            true => repository.shared_with(remote, &commit)?.map(|commit| commit.id),
        };
        let code = lint::run(&LintArguments::of_push(&commit.id, base.as_deref()))?;
        if code != CLEAN {
            output::complain(&format!("`{}` is not pushed to `{}`", clean(name), clean(remote)));
        }
        worst = worst.max(code);
    }
    Ok(worst)
}
