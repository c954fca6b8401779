//! How the git program is started: always by this one function, with one fixed set of settings. A repository is data that
//! somebody else may have written, and its settings can name programs; none of them is run, nothing is fetched, and what
//! is read is what the commits hold, not what `git replace` or a graft puts in their place.

use std::ffi::OsString;
use std::path::Path as RealPath;
use std::process::{Command, Stdio};

/// The variables through which git is told where its files are (`git rev-parse --local-env-vars`, git 2.47), but not
/// those that carry settings; those that change how paths are read; and those that name a program.
const TAKEN_AWAY: &[&str] = &[
    "GIT_ALTERNATE_OBJECT_DIRECTORIES",
    "GIT_OBJECT_DIRECTORY",
    "GIT_DIR",
    "GIT_WORK_TREE",
    "GIT_IMPLICIT_WORK_TREE",
    "GIT_INDEX_FILE",
    "GIT_REPLACE_REF_BASE",
    "GIT_PREFIX",
    "GIT_SHALLOW_FILE",
    "GIT_COMMON_DIR",
    "GIT_NAMESPACE",
    "GIT_QUARANTINE_PATH",
    "GIT_ATTR_SOURCE",
    "GIT_LITERAL_PATHSPECS",
    "GIT_GLOB_PATHSPECS",
    "GIT_NOGLOB_PATHSPECS",
    "GIT_ICASE_PATHSPECS",
    "GIT_EXTERNAL_DIFF",
    "GIT_PROXY_COMMAND",
    "GIT_SSH",
    "GIT_SSH_COMMAND",
    "GIT_ASKPASS",
    "SSH_ASKPASS",
];

/// How the variables begin that make git write down what it does.
const TRACES: &[u8] = b"GIT_TRACE";

/// What git is told by variables, over everything else.
const TOLD: &[(&str, &str)] = &[
    // Never take a lock, never ask for a password, and answer in one language.
    ("GIT_OPTIONAL_LOCKS", "0"),
    ("GIT_TERMINAL_PROMPT", "0"),
    ("LC_ALL", "C"),
    // What is not here is not fetched, by no protocol at all.
    ("GIT_NO_LAZY_FETCH", "1"),
    ("GIT_ALLOW_PROTOCOL", "none"),
    // A commit is what its id says.
    ("GIT_NO_REPLACE_OBJECTS", "1"),
    ("GIT_GRAFT_FILE", "/dev/null"),
    // Nothing is traced, into no file and not among the words in which git fails. Settings of the person can ask for these
    // three too; all other traces go with their variables.
    ("GIT_TRACE2", "0"),
    ("GIT_TRACE2_EVENT", "0"),
    ("GIT_TRACE2_PERF", "0"),
    ("GIT_PAGER", "cat"),
    ("GIT_EDITOR", ":"),
    ("GIT_SEQUENCE_EDITOR", ":"),
];

/// What git is told by settings, over those of the repository and of the person: each of these can name a program, or
/// opens a way to one.
const SETTINGS: &[&str] = &[
    // That grafts are set aside is no news.
    "advice.graftFileDeprecated=false",
    "core.fsmonitor=false",
    "core.askPass=",
    "core.sshCommand=false",
    "core.gitProxy=",
    "core.alternateRefsCommand=false",
    "core.pager=cat",
    "core.editor=:",
    "credential.helper=",
    "diff.external=",
    "gpg.program=false",
    "protocol.allow=never",
    "submodule.recurse=false",
];

/// The setting for where hooks lie. It has a line of its own since it is asked for once, when our own hook is put in place.
const NO_HOOKS: &str = "core.hooksPath=/dev/null";

/// Which hooks a git program may see.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Hooks {
    None,
    /// Those of the repository; for asking where they lie, which runs none.
    Named,
}

/// Git in a folder, with these variables that say where its files are.
pub(super) fn git(folder: &RealPath, variables: &[(&'static str, OsString)], hooks: Hooks) -> Command {
    let mut command = Command::new("git");
    for name in TAKEN_AWAY {
        command.env_remove(name);
    }
    let traces = std::env::vars_os().map(|(name, _)| name);
    for name in traces.filter(|name| name.as_encoded_bytes().starts_with(TRACES)) {
        command.env_remove(name);
    }
    command.envs(variables.iter().map(|(name, value)| (name, value)));
    command.envs(TOLD.iter().copied());
    command.arg("--no-pager");
    for setting in SETTINGS {
        command.args(["-c", setting]);
    }
    if hooks == Hooks::None {
        command.args(["-c", NO_HOOKS]);
    }
    command.current_dir(folder).stdin(Stdio::null());
    command
}
