//! The git hooks that lint what is about to be committed. They are small shell scripts that call this program by its
//! name, so that a newer program needs no new hook. A hook that somebody else wrote is never touched.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use crate::world::Repository;
use crate::world::git::GitError;
use crate::writing::files::{self, WriteError};

/// The hooks: git runs the first before a commit, the second before the commit that ends a merge.
const HOOKS: [&str; 2] = ["pre-commit", "pre-merge-commit"];

/// What the hook runs.
pub(crate) const COMMAND: &str = "wayledger lint --staged --touched --quiet";

/// The first lines of every hook of ours, of this and any later version.
const MARK: &str = "#!/bin/sh\n# Put here by `wayledger hook`;";

/// The hook as this version writes it.
fn script() -> String {
    format!(
        r#"{MARK} `wayledger hook --remove` takes it away.
# It stops a commit that breaks a rule in a ledger that the commit touches.
if ! command -v wayledger >/dev/null 2>&1; then
    echo "wayledger: the program is not on the PATH, so nothing was checked and nothing was committed." >&2
    echo "wayledger: install it, or delete the hook $0" >&2
    exit 1
fi
exec {COMMAND}
"#
    )
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
    #[error("`{0}` is there already and is not ours, so it stays as it is. Add this line to it: `{COMMAND} || exit 1`")]
    SomebodyElses(String),
    /// Our hook stands there, and was changed by hand.
    #[error("`{0}` was put there by wayledger but was changed since, so it stays as it is; delete it by hand")]
    Changed(String),
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

/// Puts the hooks in place.
pub(crate) fn install(repository: &Repository) -> Result<Vec<HookOutcome>, HookError> {
    let places = places(repository)?;
    // All are looked at before the first is written, so that a refusal changes nothing.
    let mut missing = Vec::new();
    let mut done = Vec::new();
    for place in places {
        match there(&place)? {
            HookState::Nothing => missing.push(place),
            HookState::Ours => done.push(HookOutcome::WasThere(place)),
            HookState::OursChanged => return Err(HookError::Changed(name(&place))),
            HookState::SomebodyElses => return Err(HookError::SomebodyElses(name(&place))),
        }
    }
    for place in missing {
        put(&place)?;
        done.push(HookOutcome::Put(place));
    }
    Ok(done)
}

/// Takes the hooks away; those that are not ours stay.
pub(crate) fn remove(repository: &Repository) -> Result<Vec<HookOutcome>, HookError> {
    let places = places(repository)?;
    let mut done = Vec::new();
    for place in places {
        done.push(match there(&place)? {
            HookState::Ours => {
                fs::remove_file(&place).map_err(|why| system(&place, why))?;
                HookOutcome::Removed(place)
            }
            HookState::OursChanged => return Err(HookError::Changed(name(&place))),
            HookState::Nothing | HookState::SomebodyElses => HookOutcome::WasNotThere(place),
        });
    }
    Ok(done)
}

fn places(repository: &Repository) -> Result<Vec<PathBuf>, HookError> {
    if repository.top().is_none() {
        return Err(HookError::Bare);
    }
    let folder = repository.hooks_folder()?;
    Ok(HOOKS.iter().map(|hook| folder.join(hook)).collect())
}

fn there(place: &Path) -> Result<HookState, HookError> {
    match fs::symlink_metadata(place) {
        Err(why) if why.kind() == io::ErrorKind::NotFound => return Ok(HookState::Nothing),
        Err(why) => return Err(system(place, why)),
        Ok(about) if !about.is_file() => return Ok(HookState::SomebodyElses),
        Ok(_) => {}
    }
    let text = fs::read(place).map_err(|why| system(place, why))?;
    Ok(if text == script().as_bytes() {
        HookState::Ours
    } else if text.starts_with(MARK.as_bytes()) {
        HookState::OursChanged
    } else {
        HookState::SomebodyElses
    })
}

/// Writes a hook that is not there yet. Git runs only what may be executed; by whom, the person's umask says.
fn put(place: &Path) -> Result<(), HookError> {
    files::create_script(place, &script()).map_err(|why| match why {
        WriteError::Exists(file) => HookError::SomebodyElses(file),
        why => HookError::NotWritten(why),
    })
}

fn name(place: &Path) -> String {
    place.display().to_string()
}

fn system(place: &Path, why: io::Error) -> HookError {
    HookError::System { file: name(place), why }
}
