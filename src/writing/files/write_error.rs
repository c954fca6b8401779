//! Why a file was not written.

use std::io;
use std::path::Path;

use crate::text::EditError;

/// Why a file was not written. The ledger is then as it was.
#[derive(Debug, thiserror::Error)]
pub(crate) enum WriteError {
    #[error("`{0}` is there already; nothing was written")]
    Exists(String),
    #[error(
        "`{0}` is there already and no earlier paper of this tool; nothing was written: choose another name, or move it away"
    )]
    NotOurs(String),
    #[error("`{0}` is write-protected; nothing was written")]
    Protected(String),
    #[error("`{0}` was changed by somebody else meanwhile; nothing was written: run the command again")]
    Changed(String),
    #[error("`{0}` is no ordinary file; nothing was written")]
    NoFile(String),
    #[error("`{0}` is not UTF-8 text; nothing was written")]
    NotText(String),
    #[error("`{0}` does not name a person: use letters, digits and `-`, as in fitter-2; nothing was written")]
    NoPerson(String),
    #[error("another program is writing to `{0}`; nothing was written: try again when it is done")]
    Busy(String),
    #[error("`{file}` was not changed: {why}")]
    NotProven { file: String, why: EditError },
    #[error("`{0}` was not written, since its folder is not there: make the folder first")]
    NoFolder(String),
    #[error("`{file}` was not written, since no file can be made beside it: {why}")]
    NoRoom { file: String, why: io::Error },
    #[error("`{file}` was not written: {why}")]
    System { file: String, why: io::Error },
}

pub(super) fn name(file: &Path) -> String {
    file.to_string_lossy().into_owned()
}

pub(super) fn system(file: &Path, why: io::Error) -> WriteError {
    WriteError::System { file: name(file), why }
}
