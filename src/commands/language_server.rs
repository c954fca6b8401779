//! `wayledger language-server`: the ledger in the editor.

use super::source::day;
use super::{BROKEN, CLEAN, CommandError};
use crate::editor;
use crate::world::Disk;

/// Serves an editor over standard input and output by the Language Server Protocol 3.17. Editors start it themselves; how
/// to set them up stands in `schema/editors.md`.
///
/// Exit code: 0 when the editor took its leave, 1 when it went without a word.
#[derive(Debug, clap::Args)]
pub(crate) struct LanguageServerArguments {
    /// The day to judge by, as 2026-04-20; the machine's date where nothing is said.
    #[arg(long, value_name = "DATE", value_parser = day)]
    today: Option<jiff::civil::Date>,
    /// What most editors add of themselves: it serves over standard input and output either way.
    #[arg(long, hide = true)]
    stdio: bool,
}

pub(crate) fn run(arguments: &LanguageServerArguments) -> Result<u8, CommandError> {
    let mut disk = Disk::here().map_err(|why| CommandError::Said(why.to_string()))?;
    if let Some(today) = arguments.today {
        disk = disk.on(today);
    }
    Ok(if editor::serve(disk)? { CLEAN } else { BROKEN })
}
