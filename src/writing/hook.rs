//! The git hooks that lint what is about to be committed, and pushed where that is wanted. They are small shell scripts that call this program by its
//! name, so that a newer program needs no new hook. A hook that somebody else wrote is never touched.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use crate::world::Repository;
use crate::world::git::{GitError, HooksFolder};
use crate::writing::files::{self, WriteError};

/// A hook of ours.
#[derive(Debug)]
struct Hook {
    /// As git calls it.
    name: &'static str,
    /// What it runs.
    command: &'static str,
    /// What it stops, and what does not happen then.
    stops: &'static str,
    undone: &'static str,
}

/// What the hooks of a commit run.
const COMMIT: &str = "wayledger lint --staged --touched --quiet";

/// Git runs the first before a commit, the second before the commit that ends a merge.
static COMMIT_HOOKS: [Hook; 2] = [
    Hook { name: "pre-commit", command: COMMIT, stops: BREAKS, undone: "committed" },
    Hook { name: "pre-merge-commit", command: COMMIT, stops: BREAKS, undone: "committed" },
];
const BREAKS: &str = "a commit that breaks a rule in a ledger that the commit touches";

/// Git runs it before a push, and tells it on its input what is pushed.
static PUSH_HOOK: Hook = Hook {
    name: "pre-push",
    command: "wayledger hook --pushing \"$1\"",
    stops: "a push of what the remote does not have and a rule forbids, however it was committed",
    undone: "pushed",
};

/// The first lines of every hook of ours, of this and any later version.
const MARK: &str = "#!/bin/sh\n# Put here by `wayledger hook`;";

impl Hook {
    /// The hook as this version writes it.
    fn script(&self) -> String {
        let Hook { command, stops, undone, .. } = self;
        format!(
            r#"{MARK} `wayledger hook --remove` takes it away.
# It stops {stops}.
if ! command -v wayledger >/dev/null 2>&1; then
    echo "wayledger: the program is not on the PATH, so nothing was checked and nothing was {undone}." >&2
    echo "wayledger: install it, or delete the hook $0" >&2
    exit 1
fi
exec {command}
"#
        )
    }
}

/// Why a hook was not put in place or taken away. Then nothing was changed.
#[derive(Debug, thiserror::Error)]
pub(crate) enum HookError {
    /// Git does not say where its hooks are.
    #[error(transparent)]
    Git(#[from] GitError),
    /// The repository has no work tree.
    #[error("this repository has no work tree, so nothing is committed in it and no hook is needed")]
    Bare,
    /// What stands in the place of the hook was not put there by this program.
    #[error(
        "`{place}` is there already and is not ours, so it stays as it is. Add this line to it: `{command} || exit 1`"
    )]
    SomebodyElses { place: String, command: &'static str },
    /// Our hook stands there, and was changed by hand.
    #[error("`{0}` was put there by wayledger but was changed since, so it stays as it is; delete it by hand")]
    Changed(String),
    /// The folder for hooks is that of other repositories too.
    #[error(
        "git looks for hooks in `{folder}`{why}, and a hook there would run in other repositories too, so none was put there. \
         Give this repository a folder of its own with `git config core.hooksPath \"{usual}\"` and say `wayledger hook` \
         again; or add this line to the `pre-commit` there yourself: `{COMMIT} || exit 1`"
    )]
    Shared { folder: String, why: String, usual: String },
    /// The file of the hook cannot be written.
    #[error(transparent)]
    NotWritten(WriteError),
    /// What stands in the place of the hook cannot be looked at or taken away.
    #[error("`{file}`: {why}")]
    System { file: String, why: io::Error },
}

/// What became of a hook.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum HookOutcome {
    Put(PathBuf),
    WasThere(PathBuf),
    Removed(PathBuf),
    WasNotThere(PathBuf),
}

/// What stands at a hook's place.
#[derive(Clone, Copy, PartialEq, Eq)]
enum HookState {
    Nothing,
    Ours,
    OursChanged,
    SomebodyElses,
}

/// Puts the hooks in place, with that of a push where it is wanted.
pub(crate) fn install(repository: &Repository, with_push: bool) -> Result<Vec<HookOutcome>, HookError> {
    let HooksFolder { folder, set_by, is_own, usual } = folder(repository)?;
    if !is_own {
        let why =
            set_by.map_or_else(|| ", through a link".into(), |whose| format!(" (`core.hooksPath`, {whose} setting)"));
        return Err(HookError::Shared { folder: name(&folder), why, usual: name(&usual) });
    }
    // All are looked at before the first is written, so that a refusal changes nothing.
    let mut missing = Vec::new();
    let mut done = Vec::new();
    for hook in COMMIT_HOOKS.iter().chain(with_push.then_some(&PUSH_HOOK)) {
        let place = folder.join(hook.name);
        match there(&place, hook)? {
            HookState::Nothing => missing.push((place, hook)),
            HookState::Ours => done.push(HookOutcome::WasThere(place)),
            HookState::OursChanged => return Err(HookError::Changed(name(&place))),
            HookState::SomebodyElses => return Err(somebody_elses(name(&place), hook)),
        }
    }
    for (place, hook) in missing {
        put(&place, hook)?;
        done.push(HookOutcome::Put(place));
    }
    Ok(done)
}

/// Takes the hooks away, wherever they are; those that are not ours stay.
pub(crate) fn remove(repository: &Repository) -> Result<Vec<HookOutcome>, HookError> {
    let folder = folder(repository)?.folder;
    let mut done = Vec::new();
    for hook in COMMIT_HOOKS.iter().chain([&PUSH_HOOK]) {
        let place = folder.join(hook.name);
        done.push(match there(&place, hook)? {
            HookState::Ours => {
                fs::remove_file(&place).map_err(|why| system(&place, why))?;
                HookOutcome::Removed(place)
            }
            HookState::OursChanged => return Err(HookError::Changed(name(&place))),
            // It is wanted by few.
            HookState::Nothing | HookState::SomebodyElses if hook.name == PUSH_HOOK.name => continue,
            HookState::Nothing | HookState::SomebodyElses => HookOutcome::WasNotThere(place),
        });
    }
    Ok(done)
}

fn folder(repository: &Repository) -> Result<HooksFolder, HookError> {
    if repository.top().is_none() {
        return Err(HookError::Bare);
    }
    Ok(repository.hooks_folder()?)
}

fn there(place: &Path, hook: &Hook) -> Result<HookState, HookError> {
    match fs::symlink_metadata(place) {
        Err(why) if why.kind() == io::ErrorKind::NotFound => return Ok(HookState::Nothing),
        Err(why) => return Err(system(place, why)),
        Ok(about) if !about.is_file() => return Ok(HookState::SomebodyElses),
        Ok(_) => {}
    }
    let text = fs::read(place).map_err(|why| system(place, why))?;
    Ok(if text == hook.script().as_bytes() {
        HookState::Ours
    } else if text.starts_with(MARK.as_bytes()) {
        HookState::OursChanged
    } else {
        HookState::SomebodyElses
    })
}

/// Writes a hook that is not there yet. Git runs only what may be executed; by whom, the person's umask says.
fn put(place: &Path, hook: &Hook) -> Result<(), HookError> {
    files::create_script(place, &hook.script()).map_err(|why| match why {
        WriteError::Exists(file) => somebody_elses(file, hook),
        why => HookError::NotWritten(why),
    })
}

fn somebody_elses(place: String, hook: &Hook) -> HookError {
    HookError::SomebodyElses { place, command: hook.command }
}

fn name(place: &Path) -> String {
    place.display().to_string()
}

fn system(place: &Path, why: io::Error) -> HookError {
    HookError::System { file: name(place), why }
}
