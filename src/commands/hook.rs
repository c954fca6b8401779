//! `wayledger hook`: lints what is staged before git commits it.

use std::io::Write as _;

use super::{CLEAN, CommandError, output, source};
use crate::formats::clean;
use crate::writing::hook::{self, HookOutcome};

/// Puts a git hook in place that judges what is staged and stops what a commit itself breaks.
///
/// It stops what is put right by writing, a bad reading that no hold lets in, and a record that was altered. What stood in
/// the last commit, what is outstanding and what the calendar brings is told in a line. Only the ledgers that a commit
/// touches are checked. A hook that somebody else wrote is never changed.
#[derive(Debug, clap::Args)]
pub(crate) struct HookArguments {
    /// Takes the hook away again.
    #[arg(long)]
    remove: bool,
}

pub(crate) fn run(arguments: &HookArguments) -> Result<u8, CommandError> {
    let repository = source::repository()?;
    let done = if arguments.remove { hook::remove(&repository) } else { hook::install(&repository) };
    let mut out = output::standard();
    for done in done.map_err(|why| CommandError::Said(why.to_string()))? {
        let (place, what) = match &done {
            HookOutcome::Put(place) => (place, "in place"),
            HookOutcome::WasThere(place) => (place, "was in place already"),
            HookOutcome::Removed(place) => (place, "removed"),
            HookOutcome::WasNotThere(place) => (place, "no hook of ours is here"),
        };
        writeln!(out, "{}: {what}", clean(&place.display().to_string()))?;
    }
    out.flush()?;
    Ok(CLEAN)
}
