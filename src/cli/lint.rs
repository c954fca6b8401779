//! `wayledger lint`: the main job.

use std::io::Write as _;
use std::path::PathBuf;

use clap::ValueEnum;
use jiff::civil::Date;

use super::{BROKEN, CLEAN, FAILED, Failure, output};
use crate::lint::{Judged, lint};
use crate::quantity::Moment;
use crate::render::{Counts, json, terminal};
use crate::world::ledgers::find_all;
use crate::world::{Disk, World};

/// Checks ledgers against the rules of the trade.
///
/// Exit code: 0 when no rule is broken, 1 when one is, 2 when the job could not be done.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    /// Ledgers, folders that hold ledgers, or files of a ledger.
    #[arg(default_value = ".")]
    paths: Vec<PathBuf>,
    /// Counts what is outstanding too: the exit code is 1 until everything is recorded.
    #[arg(long)]
    complete: bool,
    /// How findings are printed.
    #[arg(long, value_enum, default_value_t)]
    format: Format,
    /// The day to judge by, as 2026-04-20; the machine's date where nothing is said.
    #[arg(long, value_name = "DATE", value_parser = day)]
    today: Option<Date>,
    /// When output has colour.
    #[arg(long, value_enum, default_value_t)]
    colour: output::Colour,
    /// Prints findings and no summary of ledgers without any.
    #[arg(long, short)]
    quiet: bool,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
enum Format {
    #[default]
    Text,
    Json,
}

/// A day on the command line.
pub(super) fn day(text: &str) -> Result<Date, String> {
    match Moment::read(text) {
        Some(Moment { date, minute: None }) => Ok(date),
        _ => Err("a day is written as 2026-04-20".into()),
    }
}

pub fn run(arguments: &Arguments) -> Result<u8, Failure> {
    let disk = Disk::here().map_err(|why| Failure::Said(why.to_string()))?;
    let paths = arguments.paths.iter().map(|typed| disk.path(typed.as_os_str())).collect::<Result<Vec<_>, _>>();
    let paths = paths.map_err(|why| Failure::Said(why.to_string()))?;
    let ledgers = find_all(&disk, &paths).map_err(|why| Failure::Said(why.to_string()))?;
    for (path, why) in &ledgers.oddities {
        output::complain(&format!("{path}: {why}"));
    }
    let found = ledgers.found;
    if found.is_empty() {
        return Err(Failure::Said("there is no ledger here: a ledger is a folder that holds a `machine.kdl`".into()));
    }
    let today = arguments.today.unwrap_or_else(|| disk.today());
    let mut out = output::standard();
    let style = output::style(arguments.colour);
    let mut total = Counts::default();
    let mut judged_so_far = 0;
    let mut unreadable = !ledgers.oddities.is_empty();
    let mut failed: Result<(), std::io::Error> = Ok(());
    if arguments.format == Format::Json {
        write!(out, "{{\"format\":{:?},\"ledgers\":[", json::FORMAT)?;
    }
    lint(&disk, &found, today, |judged: Judged| {
        total.add(Counts::of(&judged.findings));
        unreadable |= judged.unreadable;
        if failed.is_ok() {
            failed = print(&mut out, &judged, arguments, style, judged_so_far);
        }
        judged_so_far += 1;
    });
    failed?;
    match arguments.format {
        Format::Json => writeln!(out, "\n]}}")?,
        Format::Text if judged_so_far > 1 && !(arguments.quiet && total == Counts::default()) => {
            writeln!(out, "in all: {}", total.line())?;
        }
        Format::Text => {}
    }
    out.flush()?;
    let broken = total.nonconformities > 0 || arguments.complete && total.outstanding > 0;
    Ok(if unreadable {
        FAILED
    } else if broken {
        BROKEN
    } else {
        CLEAN
    })
}

fn print(
    out: &mut impl std::io::Write,
    judged: &Judged,
    arguments: &Arguments,
    style: terminal::Style,
    before: usize,
) -> std::io::Result<()> {
    match arguments.format {
        Format::Json => {
            writeln!(out, "{}", if before > 0 { "," } else { "" })?;
            serde_json::to_writer(&mut *out, &json::ledger(judged)).map_err(std::io::Error::other)
        }
        Format::Text => {
            let silent = judged.is_shop || arguments.quiet;
            if silent && judged.findings.is_empty() {
                return Ok(());
            }
            write!(out, "{}", terminal::ledger(judged, style))
        }
    }
}
