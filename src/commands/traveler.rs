//! `wayledger traveler`: the document that goes with the job.

use std::io::Write as _;

use clap::ValueEnum;

use super::axis::OneAxis;
use super::paper::shown;
use super::{CLEAN, CommandError, output};
use crate::formats::paper::{html, markdown};
use crate::views::traveler::{hold_sheets, traveler};

/// Prints the traveler of an axis: parts, gauges, order of work, readings to take, shims, release.
///
/// The HTML page needs nothing else and prints on A4 and on Letter.
#[derive(Debug, clap::Args)]
pub(crate) struct TravelerArguments {
    #[command(flatten)]
    one: OneAxis,
    /// Prints only what is still to be done.
    #[arg(long)]
    remaining: bool,
    /// Prints a sheet for each hold in force instead, one a page: it hangs at the part until the hold is lifted.
    #[arg(long, conflicts_with = "remaining")]
    holds: bool,
    /// How it is printed.
    #[arg(long, value_enum, default_value_t)]
    format: TravelerFormat,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
enum TravelerFormat {
    #[default]
    Markdown,
    Html,
}

pub(crate) fn run(arguments: &TravelerArguments) -> Result<u8, CommandError> {
    let chosen = arguments.one.open()?;
    chosen.sound()?;
    let (judged, axis, today) = (&chosen.judged, chosen.axis, chosen.world.today());
    let mut paper = match arguments.holds {
        true => hold_sheets(judged, axis, today),
        false => traveler(judged, axis, today, arguments.remaining),
    };
    paper.shows = Some(shown(&*chosen.world));
    let text = match arguments.format {
        TravelerFormat::Markdown => markdown::markdown(&paper),
        TravelerFormat::Html => html::html(&paper),
    };
    let mut out = output::standard();
    out.write_all(text.as_bytes())?;
    out.flush()?;
    Ok(CLEAN)
}
