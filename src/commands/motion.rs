//! `wayledger motion`: what the carriage does along its stroke on the rails as they were measured.

use std::io::Write as _;

use clap::ValueEnum;

use super::axis::OneAxis;
use super::paper::{PaperFormat, shown};
use super::{CLEAN, CommandError, output};
use crate::formats::motion;
use crate::quantity::{Amount, Decimal};
use crate::views::motion::motion as run_of;

/// Works out what the carriage of an axis does along its stroke: motion errors, loads and life of its blocks.
///
/// The rails lie as the surveys that count say, joints and shims included; the carriage is rigid on spring blocks. The
/// model is our own, and the page says what it leaves out. What was not surveyed is said, and held against nothing.
#[derive(Debug, clap::Args)]
pub(crate) struct MotionArguments {
    #[command(flatten)]
    one: OneAxis,
    /// The places that are shown lie at most so far apart, in mm: a twentieth of the stroke where nothing is said, and in
    /// CSV and JSON every place looked at.
    #[arg(long, value_name = "MM", value_parser = distance)]
    every: Option<f64>,
    /// How it is printed.
    #[arg(long, value_enum, default_value_t)]
    format: MotionFormat,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
enum MotionFormat {
    /// For the terminal.
    #[default]
    Text,
    /// For review.
    Markdown,
    /// For programs.
    Json,
    /// One page that stands for itself, with pictures.
    Html,
    /// One row a place.
    Csv,
}

fn distance(text: &str) -> Result<f64, String> {
    let read = Decimal::read(text).map(Decimal::to_f64).ok().filter(|mm| mm.is_finite() && *mm > 0.0);
    read.ok_or("write a number of millimetres above 0, as 50".into())
}

pub(crate) fn run(arguments: &MotionArguments) -> Result<u8, CommandError> {
    let chosen = arguments.one.open()?;
    chosen.sound()?;
    let (judged, axis, today) = (&chosen.judged, chosen.axis, chosen.world.today());
    let twentieth = || {
        let stroke = judged.ledger.machine.axes[axis].stroke.as_ref()?;
        Some((*stroke.to - *stroke.from).to_f64() / 20.0)
    };
    let paper = match arguments.format {
        MotionFormat::Text => Some(PaperFormat::Text),
        MotionFormat::Markdown => Some(PaperFormat::Markdown),
        MotionFormat::Html => Some(PaperFormat::Html),
        MotionFormat::Json => Some(PaperFormat::Json),
        MotionFormat::Csv => None,
    };
    let whole = matches!(arguments.format, MotionFormat::Json | MotionFormat::Csv);
    let mut ran = run_of(judged, axis, today).map_err(CommandError::Said)?;
    if let Some(every) = arguments.every.filter(|_| whole) {
        ran.course = ran.at_most(every).into_iter().cloned().collect();
    }
    let every = arguments.every.or_else(twentieth).unwrap_or(f64::INFINITY);
    let text = match paper {
        Some(format) => format.print(shown(&*chosen.world), || motion::paper(&ran, every), &ran)?,
        None => motion::csv(&ran).map_err(|why| CommandError::Said(why.to_string()))?,
    };
    let mut out = output::standard();
    out.write_all(text.as_bytes())?;
    out.flush()?;
    Ok(CLEAN)
}
