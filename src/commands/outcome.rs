//! How a command ends: its exit code, or why the job could not be done.

/// Nothing is broken.
pub(crate) const CLEAN: u8 = 0;
/// A rule is broken.
pub(crate) const BROKEN: u8 = 1;
/// The job could not be done.
pub(crate) const FAILED: u8 = 2;

/// Why a job could not be done, in words for the person at the terminal.
#[derive(Debug, thiserror::Error)]
pub(crate) enum Failure {
    #[error("{0}")]
    Said(String),
    #[error("cannot write the output: {0}")]
    Output(#[from] std::io::Error),
}

impl From<crate::writing::records::AddRecordError> for Failure {
    fn from(why: crate::writing::records::AddRecordError) -> Self {
        Failure::Said(why.to_string())
    }
}

impl From<crate::writing::files::WriteError> for Failure {
    fn from(why: crate::writing::files::WriteError) -> Self {
        Failure::Said(why.to_string())
    }
}
