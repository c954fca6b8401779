//! `wayledger trace`: what rests on a gauge, a wrench, a lot, a leaf or a person.

use std::collections::BTreeSet;
use std::path::PathBuf;

use jiff::civil::Date;

use super::paper::{PaperFormat, shown};
use super::source::{self, RequestedLedgers, SourceArguments};
use super::{CLEAN, CommandError, FAILED, output, progress};
use crate::formats::trace;
use crate::judging::lint::{Judged, lint};
use crate::language::schema::nearest;
use crate::views::report::{Traced, Tracing, gravest_first, trace as find};

/// Finds every record and part that rests on a gauge, wrench, rail lot, serial number, shim leaf (by its thickness in mm),
/// profile, fastener, block type or person: for the day one of them turns out wrong.
///
/// Exit code: 0 when it was looked for, whether or not something rests on it; 2 when nothing anywhere is called so.
#[derive(Debug, clap::Args)]
pub(crate) struct TraceArguments {
    /// The name, exactly as it is written in the ledgers.
    name: String,
    /// Ledgers, or folders that hold ledgers.
    #[arg(default_value = ".")]
    paths: Vec<PathBuf>,
    /// Leaves out records before this day.
    #[arg(long, value_name = "DATE", value_parser = source::day)]
    since: Option<Date>,
    #[command(flatten)]
    source: SourceArguments,
    /// How it is printed.
    #[arg(long, value_enum, default_value_t)]
    format: PaperFormat,
    /// Writes to this file. An earlier paper of ours is replaced; any other file that is there already is left alone.
    #[arg(long, short, value_name = "FILE")]
    output: Option<PathBuf>,
}

pub(crate) fn run(arguments: &TraceArguments) -> Result<u8, CommandError> {
    let world = arguments.source.open()?;
    let RequestedLedgers { found, hindered, .. } = source::asked(&*world, &arguments.paths)?;
    let tracing = Tracing::new(arguments.name.as_str(), arguments.since);
    let mut machines: Vec<Traced> = Vec::new();
    let mut names = BTreeSet::new();
    let mut known = false;
    let mut unreadable = hindered;
    let progress = progress::ledgers(found.len());
    lint(&*world, &found, world.day(), |judged: Judged| {
        unreadable |= source::unread(&judged);
        if judged.is_shop {
            return;
        }
        let mut traced = find(&judged, &tracing);
        known |= traced.known;
        names.append(&mut traced.names);
        if !traced.parts.is_empty() || !traced.records.is_empty() {
            machines.push(traced);
        }
        progress.inc(1);
    });
    progress.finish_and_clear();
    gravest_first(&mut machines);
    if !known {
        let near = nearest(&tracing.name, names.iter().map(String::as_str));
        let next =
            near.map_or("names are told apart by every letter".to_string(), |near| format!("did you mean `{near}`?"));
        return Err(CommandError::Said(format!("nothing here is called `{}`; {next}", tracing.name)));
    }
    let text = arguments.format.print(
        shown(&*world),
        || trace::paper(&tracing, &machines),
        &trace::json(&tracing, &machines),
    )?;
    output::deliver(arguments.output.as_deref(), &text)?;
    Ok(if unreadable { FAILED } else { CLEAN })
}
