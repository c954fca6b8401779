//! `wayledger how`: how a number comes about.

use std::io::Write as _;
use std::path::PathBuf;

use super::axis::whole;
use super::source::SourceArguments;
use super::{CLEAN, CommandError, output};
use crate::finding::Locator;
use crate::formats::clean;
use crate::ledger::{Ledger, Target};
use crate::rules::Case;
use crate::views::derived::{DerivedQuantity, quantities};
use crate::views::remarks::remarks;

/// Shows how a number of a finding or report comes about: inputs with their places, formula, source, result.
///
/// Without a quantity it lists those there are, with their values.
#[derive(Debug, clap::Args)]
pub(crate) struct HowArguments {
    /// What it is about: `X`, `X.port`, `X.port.J1`, `X.port.S4`.
    address: String,
    /// The number, as `step-UL` or `preload`.
    quantity: Option<String>,
    /// The ledger's folder, or any file in it.
    #[arg(long, default_value = ".", value_name = "PATH")]
    ledger: PathBuf,
    #[command(flatten)]
    source: SourceArguments,
}

pub(crate) fn run(arguments: &HowArguments) -> Result<u8, CommandError> {
    let world = arguments.source.open()?;
    let ledger = whole(&*world, &arguments.ledger)?.ledger;
    let target = target(&ledger, &arguments.address)?;
    let all = quantities(&Case::of_axis(&ledger, world.today(), target.axis()), target);
    let mut out = output::standard();
    let locator = Locator::new(&ledger.sources);
    let place = |place: &crate::finding::Place| {
        let at = locator.locate(*place);
        format!("{}:{}", clean(at.file), at.line)
    };
    let remarks = remarks(&ledger, Some(&arguments.address));
    match &arguments.quantity {
        None if all.is_empty() => writeln!(out, "Nothing is computed about {} yet.", clean(&arguments.address))?,
        None => {
            let wide = all.iter().map(|it| it.word.len()).max().unwrap_or(0);
            for DerivedQuantity { word, how } in &all {
                let line = format!("{word:<wide$}  {} {}   {}", how.result, how.unit, how.name);
                writeln!(out, "{}", clean(&line))?;
            }
        }
        Some(word) => {
            let known = || all.iter().map(|it| it.word.as_str()).collect::<Vec<_>>().join(", ");
            let it = all.iter().find(|it| it.word == *word).ok_or_else(|| {
                let known = known();
                let known =
                    if known.is_empty() { "nothing is computed there yet".into() } else { format!("known: {known}") };
                CommandError::Said(format!("{} has no `{word}`; {known}", arguments.address))
            })?;
            for line in it.how.to_text(place).lines() {
                writeln!(out, "{}", clean(line))?;
            }
        }
    }
    if arguments.quantity.is_none() && !remarks.is_empty() {
        writeln!(out, "\nNotes and reasons:")?;
        for remark in &remarks {
            writeln!(out, "  {}", clean(&remark.line()))?;
        }
    }
    out.flush()?;
    Ok(CLEAN)
}

fn target(ledger: &Ledger, address: &str) -> Result<Target, CommandError> {
    Target::find(&ledger.machine, address).map_err(|_| {
        let axes: Vec<String> = ledger.machine.rails().map(|(id, ..)| ledger.machine.rail_address(id)).collect();
        CommandError::Said(format!("`{address}` is nothing this ledger describes; its rails: {}", axes.join(", ")))
    })
}
