//! `wayledger report`: the state of a ledger, or of many, on paper.

use std::path::PathBuf;

use clap::ValueEnum;

use super::source::{self, Asked, Source};
use super::{CLEAN, FAILED, Failure, output, progress};
use crate::formats::paper::{Paper, html, markdown};
use crate::formats::{fleet, report, report_text};
use crate::judging::lint::{Judged, lint};
use crate::views::report::{Fleet, report as gather};

/// Reports the state of a ledger: axes, joints, torques, gap, shims, instruments, limits, life. Over a folder of many
/// ledgers it is a table of machines, the first-pass yield of joints, their steps, the shims used and what is due.
///
/// Exit code: 0 when the report was made, whatever it says; 2 when it could not be made. `wayledger lint` judges.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    /// Ledgers, or folders that hold ledgers.
    #[arg(default_value = ".")]
    paths: Vec<PathBuf>,
    #[command(flatten)]
    source: Source,
    /// How it is printed.
    #[arg(long, value_enum, default_value_t)]
    format: Format,
    /// Writes to this file. An earlier report of ours is replaced; any other file that is there already is left alone.
    #[arg(long, short, value_name = "FILE")]
    output: Option<PathBuf>,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// A short form for the terminal.
    #[default]
    Text,
    /// For review: one fact a line.
    Markdown,
    /// For programs.
    Json,
    /// One page with pictures that stands for itself.
    Html,
}

pub fn run(arguments: &Arguments) -> Result<u8, Failure> {
    let world = arguments.source.open()?;
    let Asked { found, hindered, .. } = source::asked(&*world, &arguments.paths)?;
    let today = world.today();
    let mut unreadable = hindered;
    let progress = progress::ledgers(found.len());
    let text = if let [_] = found[..] {
        let mut one = None;
        lint(&*world, &found, world.day(), |judged: Judged| {
            unreadable |= source::unread(&judged);
            if !judged.is_shop {
                one = Some(gather(&judged, today));
            }
        });
        let Some(one) = one else { return Err(Failure::Said("the ledger could not be read".into())) };
        match arguments.format {
            Format::Text => report_text::text(&one),
            Format::Json => json(&one)?,
            format => paper(&report::paper(&one), format),
        }
    } else {
        let mut all = Fleet::new(today);
        lint(&*world, &found, world.day(), |judged: Judged| {
            unreadable |= source::unread(&judged);
            if !judged.is_shop {
                all.add(&judged, today);
                progress.inc(1);
            }
        });
        match arguments.format {
            Format::Text => fleet::text(&all),
            Format::Json => json(&all)?,
            format => paper(&fleet::paper(&all), format),
        }
    };
    progress.finish_and_clear();
    output::deliver(arguments.output.as_deref(), &text)?;
    Ok(if unreadable { FAILED } else { CLEAN })
}

/// A paper in one of its two formats.
pub fn paper(paper: &Paper, format: Format) -> String {
    if format == Format::Html { html::html(paper) } else { markdown::markdown(paper) }
}

/// JSON, one fact a line, so that two reports can be compared line by line.
pub fn json(what: &impl serde::Serialize) -> Result<String, Failure> {
    crate::formats::json::pretty(what).map_err(|why| Failure::Said(why.to_string()))
}
