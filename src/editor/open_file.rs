//! A file that is open.

use gen_lsp_types::Uri;

use crate::world::Path;

/// A file as the editor shows it.
#[derive(Debug)]
pub(super) struct OpenFile {
    /// As the editor names it.
    pub uri: Uri,
    pub path: Path,
    /// It has a place on the disk; text that was never saved has none and belongs to no ledger.
    pub is_file: bool,
    pub version: i32,
    pub text: String,
}
