//! A change of the text that puts a finding right, for programs to offer and for people to take or leave. There is one
//! only where the text cannot be read and only one thing can be meant; no value of a record is ever in it.

use super::SourceId;
use crate::text::Edit;

/// What would be changed. It was tried: with it the finding is gone, and nothing else is found in the file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fix {
    /// What it does, in a few words without a full stop.
    pub title: String,
    /// In the order of the text, file by file.
    pub edits: Vec<(SourceId, Edit)>,
}
