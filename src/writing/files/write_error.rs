//! Why a file was not written.

use std::io;
use std::path::Path;

use crate::text::EditError;

/// Why a file was not written. It is then as it was; what else a command wrote before, no message here speaks of.
#[derive(Debug, thiserror::Error)]
pub(crate) enum WriteError {
    /// A new file was to be made, and one of that name is there.
    #[error("`{0}` is there already; it was left as it was")]
    Exists(String),
    /// A paper was to be replaced by a newer one, and what is there is no paper of this tool.
    #[error(
        "`{0}` is there already and no earlier paper of this tool; it was left as it was: choose another name, or move it away"
    )]
    NotOurs(String),
    /// One of a set of papers, which must not share their files, would go where a link leads.
    #[error("`{0}` is a link; it was left as it was: take it away, or choose another folder")]
    Link(String),
    /// Its rights say that nobody may write to it.
    #[error("`{0}` is write-protected; it was left as it was")]
    Protected(String),
    /// It is not as it was when it was read.
    #[error("`{0}` was changed by somebody else meanwhile; it was left as it is now: run the command again")]
    Changed(String),
    /// Its name is that of a folder or a device, or of a file of more bytes than are read.
    #[error("`{0}` is no ordinary file; it was left as it was")]
    NoFile(String),
    /// Its bytes are no text, so that nothing can be added to it.
    #[error("`{0}` is not UTF-8 text; it was left as it was")]
    NotText(String),
    /// Records of a day are kept by person, and this cannot be part of the name of a file.
    #[error("`{0}` does not name a person: use letters, digits and `-`, as in fitter-2; nothing was written")]
    NoPerson(String),
    /// The lock of its folder is held.
    #[error("another program is writing to `{0}`; this one left it as it was: try again when it is done")]
    Busy(String),
    /// What would be written is not proven to be the old text with the change alone.
    #[error("`{file}` was not changed: {why}")]
    NotProven { file: String, why: EditError },
    /// The folder that it should lie in does not exist.
    #[error("`{0}` was not written, since its folder is not there: make the folder first")]
    NoFolder(String),
    /// The new text cannot be put beside it first: a full disk, or a folder without the right to write.
    #[error("`{file}` was not written, since no file can be made beside it: {why}")]
    NoRoom { file: String, why: io::Error },
    /// The system refused, for another reason.
    #[error("`{file}` was not written: {why}")]
    System { file: String, why: io::Error },
}

pub(super) fn name(file: &Path) -> String {
    file.to_string_lossy().into_owned()
}

pub(super) fn system(file: &Path, why: io::Error) -> WriteError {
    WriteError::System { file: name(file), why }
}
