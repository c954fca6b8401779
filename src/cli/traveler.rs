//! `wayledger traveler`: the document that goes with the job.

use std::io::Write as _;
use std::path::PathBuf;

use clap::ValueEnum;

use super::source::{self, Source};
use super::{CLEAN, Failure, output};
use crate::lint::{Judged, lint};
use crate::render::{traveler_html, traveler_markdown};
use crate::traveler::traveler;

/// Prints the traveler of an axis: parts, gauges, order of work, readings to take, shims, release.
///
/// The HTML page needs nothing else and prints on A4 and on Letter.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    /// The axis; needed only where the machine has more than one.
    axis: Option<String>,
    /// The ledger's folder.
    #[arg(long, value_name = "PATH", default_value = ".")]
    ledger: PathBuf,
    #[command(flatten)]
    source: Source,
    /// Prints only what is still to be done.
    #[arg(long)]
    remaining: bool,
    /// How it is printed.
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
enum Format {
    #[default]
    Markdown,
    Html,
}

pub fn run(arguments: &Arguments) -> Result<u8, Failure> {
    let world = arguments.source.open()?;
    let asked = source::asked(&*world, std::slice::from_ref(&arguments.ledger))?;
    let [_] = asked.found.as_slice() else {
        let names: Vec<String> = asked.found.iter().map(|found| found.folder.to_string()).collect();
        return Err(Failure::Said(format!(
            "a traveler is of one ledger; choose one with --ledger: {}",
            names.join(", ")
        )));
    };
    let mut only: Option<Judged> = None;
    lint(&*world, &asked.found, world.today(), |judged| {
        if !judged.is_shop {
            only = Some(judged);
        }
    });
    let Some(judged) = only else { return Err(Failure::Said("the ledger could not be read".into())) };
    let axis = axis(&judged, arguments.axis.as_deref())?;
    let sheet = traveler(&judged, axis, world.today(), arguments.remaining);
    let text = match arguments.format {
        Format::Markdown => traveler_markdown::traveler(&sheet),
        Format::Html => traveler_html::traveler(&sheet),
    };
    let mut out = output::standard();
    out.write_all(text.as_bytes())?;
    out.flush()?;
    Ok(CLEAN)
}

/// The axis of that name, or the only one.
fn axis(judged: &Judged, name: Option<&str>) -> Result<usize, Failure> {
    let machine = &judged.ledger.machine;
    let names: Vec<&str> = machine.axes.iter().map(|axis| axis.name.as_str()).collect();
    match (name, machine.axes.len()) {
        (_, 0) => Err(Failure::Said("the machine describes no axis yet".into())),
        (Some(name), _) => machine
            .axis(name)
            .ok_or_else(|| Failure::Said(format!("there is no axis `{name}`; the machine has {}", names.join(", ")))),
        (None, 1) => Ok(0),
        (None, _) => Err(Failure::Said(format!("which axis? The machine has {}", names.join(", ")))),
    }
}
