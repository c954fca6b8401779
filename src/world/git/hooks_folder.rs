//! Where git looks for the hooks of a repository, and whether that folder is the repository's own. `core.hooksPath` may send
//! all repositories of a person to one folder: a hook put there would run in every one of them.

use std::fs;
use std::path::{Path, PathBuf};

use super::caller::{GitError, answer};
use super::repository::{Repository, real_path};
use super::safe::{Hooks, git};

/// Where git looks for hooks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct HooksFolder {
    /// The folder, which need not be there yet.
    pub folder: PathBuf,
    /// Whose setting sends git there (`local`, `global`, `system` and so on, as git calls them); nothing where none does.
    pub set_by: Option<String>,
    /// Whether it is this repository's own.
    pub is_own: bool,
    /// Where hooks lie that no setting sends elsewhere.
    pub usual: PathBuf,
}

impl Repository {
    /// Where git looks for hooks, with the setting `core.hooksPath` obeyed.
    pub(crate) fn hooks_folder(&self) -> Result<HooksFolder, GitError> {
        let folder = self.place(&["rev-parse", "--git-path", "hooks"])?;
        let common = self.place(&["rev-parse", "--git-common-dir"])?;
        // `<scope>\t<value>`, and nothing where it is not set.
        let set = self.ask_with_hooks(&["config", "--show-scope", "--get", "core.hooksPath"])?.unwrap_or_default();
        let set = String::from_utf8_lossy(&set).into_owned();
        let set = set.split_once('\t').map(|(scope, value)| (scope.to_owned(), value.to_owned()));
        // A setting that holds for all repositories leads to a folder of each only where it is a relative one.
        let for_all = set.as_ref().is_some_and(|(scope, value)| {
            matches!(scope.as_str(), "global" | "system") && value.starts_with(['/', '~', '%'])
        });
        let common = real(&common);
        let main_tree = common.parent().filter(|_| common.file_name().is_some_and(|name| name == ".git"));
        let tree = self.top().map(real);
        let mut own = [Some(common.as_path()), main_tree, tree.as_deref()].into_iter().flatten();
        let place = real(&folder);
        let is_own = !for_all && own.any(|own| place.starts_with(own));
        Ok(HooksFolder { folder, set_by: set.map(|(scope, _)| scope), is_own, usual: common.join("hooks") })
    }

    fn ask_with_hooks(&self, arguments: &[&str]) -> Result<Option<Vec<u8>>, GitError> {
        let caller = self.caller();
        answer(git(&caller.folder, &caller.variables, Hooks::Named), arguments)
    }

    /// A path that git answers.
    fn place(&self, arguments: &[&str]) -> Result<PathBuf, GitError> {
        let answer = self.ask_with_hooks(arguments)?.unwrap_or_default();
        Ok(self.caller().folder.join(real_path(answer.strip_suffix(b"\n").unwrap_or(&answer))))
    }
}

/// A path without links on the way, as far as there is one.
fn real(path: &Path) -> PathBuf {
    for above in path.ancestors() {
        if let (Ok(real), Ok(rest)) = (fs::canonicalize(above), path.strip_prefix(above)) {
            return if rest.as_os_str().is_empty() { real } else { real.join(rest) };
        }
    }
    path.to_owned()
}
