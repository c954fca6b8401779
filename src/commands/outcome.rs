//! How a command ends: its exit code, or why the job could not be done.

/// Nothing is broken.
pub(crate) const CLEAN: u8 = 0;
/// A rule is broken.
pub(crate) const BROKEN: u8 = 1;
/// The job could not be done.
pub(crate) const FAILED: u8 = 2;

/// Why a job could not be done, in words for the person at the terminal.
#[derive(Debug, thiserror::Error)]
pub(crate) enum CommandError {
    /// Something asked for is not there, makes no sense or cannot be read or written; in the words for that person.
    #[error("{0}")]
    Said(String),
    /// What should be printed cannot be, as on a full disk.
    #[error("cannot write the output: {0}")]
    Output(#[from] std::io::Error),
}

impl From<crate::writing::records::AddRecordError> for CommandError {
    fn from(why: crate::writing::records::AddRecordError) -> Self {
        CommandError::Said(why.to_string())
    }
}

impl From<crate::writing::files::WriteError> for CommandError {
    fn from(why: crate::writing::files::WriteError) -> Self {
        CommandError::Said(why.to_string())
    }
}
