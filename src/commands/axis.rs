//! One axis of one ledger, as most commands name it: `wayledger shims X`, with the ledger's folder before it, or `--ledger`,
//! where it lies elsewhere.

use std::path::PathBuf;

use super::CommandError;
use super::source::{SourceArguments, asked, day};
use crate::finding::Locator;
use crate::judging::lint::{self, Judged};
use crate::judging::neighbours::{Others, elsewhere};
use crate::ledger::{Ledger, RailId, Target, TextFile};
use crate::world::ledgers::{FoundLedger, MACHINE};
use crate::world::{Disk, Path, World};

/// The axis and its ledger.
#[derive(Debug, clap::Args)]
pub(crate) struct OneAxis {
    /// The axis, as `X`; the only one where nothing is said. One of its rails, as `X.starboard`, where a rail is meant. The
    /// ledger's folder may stand before it, or alone.
    #[arg(num_args = 0..=2, value_name = "LEDGER] [AXIS")]
    words: Vec<String>,
    /// The ledger's folder, or any file in it.
    #[arg(long, value_name = "PATH")]
    ledger: Option<PathBuf>,
    #[command(flatten)]
    source: SourceArguments,
}

/// A ledger that was asked for, and what of it.
pub(crate) struct ChosenLedger {
    pub world: Box<dyn World>,
    pub judged: Judged,
    found: FoundLedger,
    pub axis: usize,
    /// The rail, where one was named.
    pub rail: Option<RailId>,
}

impl OneAxis {
    /// Reads the ledger and finds the axis.
    pub(crate) fn open(&self) -> Result<ChosenLedger, CommandError> {
        let world = self.source.open()?;
        let (ledger, axis) = self.meant()?;
        let ReadLedger { found, ledger } = whole(&*world, &ledger)?;
        let judged = lint::judge_ledger(ledger, world.day());
        let (axis, rail) = target(&judged.ledger, axis)?;
        Ok(ChosenLedger { world, judged, found, axis, rail })
    }

    /// The same for who plans: leaves and bars that other ledgers of the shop took from its stock are there no more. Of a
    /// revision, or what is staged, only the ledger itself is looked at.
    pub(crate) fn open_to_plan(&self) -> Result<ChosenLedger, CommandError> {
        let mut chosen = self.open()?;
        if !self.source.staged && self.source.at.is_none() && counts_stock(chosen.ledger()) {
            let disk = Disk::here().map_err(|why| CommandError::Said(why.to_string()))?;
            let others = elsewhere(&disk, &chosen.found, chosen.world.day(), Others::All);
            chosen.judged.ledger.elsewhere = others.map_err(|why| {
                CommandError::Said(format!(
                    "another ledger of the shop cannot be read, and may have taken stock: {why}"
                ))
            })?;
        }
        Ok(chosen)
    }

    /// Where the ledger lies and which axis of it is meant. One word that is a folder or a file names the ledger, but where
    /// one stands right here.
    fn meant(&self) -> Result<(PathBuf, Option<&str>), CommandError> {
        let is_ledger = |word: &str| std::path::Path::new(word).exists() && !std::path::Path::new(MACHINE).exists();
        match (&self.ledger, &self.words[..]) {
            (None, [word]) if is_ledger(word) => Ok((PathBuf::from(word), None)),
            (None, [ledger, axis]) => Ok((PathBuf::from(ledger), Some(axis))),
            (Some(_), [_, _]) => {
                Err(CommandError::Said("the ledger is named twice: before the axis and by --ledger".into()))
            }
            (ledger, words) => {
                let here = || PathBuf::from(".");
                Ok((ledger.clone().unwrap_or_else(here), words.first().map(String::as_str)))
            }
        }
    }

    /// The day that was said.
    pub(crate) fn today(&self) -> Option<jiff::civil::Date> {
        self.source.today()
    }

    /// Where on the disk the ledger's folder is; only the work tree can be written to.
    pub(crate) fn folder(&self, chosen: &ChosenLedger) -> Result<PathBuf, CommandError> {
        if self.source.staged || self.source.at.is_some() {
            return Err(CommandError::Said("only the work tree can be written to: leave out --staged and --at".into()));
        }
        let disk = Disk::here().map_err(|why| CommandError::Said(why.to_string()))?;
        Ok(disk.real(&chosen.judged.path))
    }
}

/// Whether the shop says of anything how many there are.
fn counts_stock(ledger: &Ledger) -> bool {
    let leaves = ledger.shop.shim_stock.iter().flat_map(|stock| &stock.leaves);
    let bars = ledger.shop.profiles.iter().flat_map(|profile| &profile.stock);
    leaves.map(|leaf| leaf.count).chain(bars.map(|(_, count)| *count)).any(|count| count.is_some())
}

fn target(ledger: &Ledger, axis: Option<&str>) -> Result<(usize, Option<RailId>), CommandError> {
    let machine = &ledger.machine;
    let names = || machine.axes.iter().map(|axis| axis.name.as_str()).collect::<Vec<_>>().join(", ");
    match axis {
        None if machine.axes.len() == 1 => Ok((0, None)),
        None => Err(CommandError::Said(format!("which axis? there are: {}", names()))),
        Some(address) => match Target::find(machine, address) {
            Ok(target @ (Target::Axis(_) | Target::Rail(_))) => Ok((target.axis(), target.rail())),
            _ => {
                Err(CommandError::Said(format!("`{address}` is no axis or rail of this ledger; its axes: {}", names())))
            }
        },
    }
}

/// One ledger on the disk, to be written to.
#[derive(Debug, clap::Args)]
pub(crate) struct LedgerOnDisk {
    /// The ledger's folder, or any file in it.
    #[arg(long, default_value = ".", value_name = "PATH")]
    ledger: PathBuf,
    /// The day it is, as 2026-04-20; the machine's date where nothing is said.
    #[arg(long, value_name = "DATE", value_parser = day)]
    today: Option<jiff::civil::Date>,
}

impl LedgerOnDisk {
    /// The day that was said.
    pub(crate) fn today(&self) -> Option<jiff::civil::Date> {
        self.today
    }

    /// The only ledger meant.
    pub(crate) fn one_on_disk(&self) -> Result<(Disk, ReadLedger), CommandError> {
        let mut disk = Disk::here().map_err(|why| CommandError::Said(why.to_string()))?;
        if let Some(today) = self.today {
            disk = disk.on(today);
        }
        let whole = whole(&disk, &self.ledger)?;
        Ok((disk, whole))
    }
}

/// One ledger and all that was read for it.
pub(crate) struct ReadLedger {
    pub found: FoundLedger,
    pub ledger: Ledger,
}

/// The only ledger at a path, read whole. Where a part of it cannot be read, nothing is made of the rest.
pub(crate) fn whole(world: &dyn World, path: &PathBuf) -> Result<ReadLedger, CommandError> {
    let asked = asked(world, std::slice::from_ref(path))?;
    if asked.hindered {
        let message = "this may belong to the ledger and cannot be read; take it away or mend it: nothing was done";
        return Err(CommandError::Said(message.into()));
    }
    let found = only(asked.found)?;
    let shops = lint::read_shops(world, std::slice::from_ref(&found));
    let files: Vec<TextFile> = found.files.iter().map(|path| lint::read_file(world, path)).collect();
    for file in files.iter().chain(shops.values()) {
        if let Some(why) = file.unread() {
            return Err(CommandError::Said(format!(
                "`{}` cannot be read whole: {why}; nothing was done",
                file.source.path
            )));
        }
    }
    let ledger = lint::understood(world, &found, files, &shops);
    if let Some(why) = &ledger.not_judged {
        return Err(CommandError::Said(format!(
            "`{}` cannot be taken up whole: {why}; nothing was done",
            ledger.folder
        )));
    }
    Ok(ReadLedger { found, ledger })
}

/// The only one of the ledgers found.
fn only(mut found: Vec<FoundLedger>) -> Result<FoundLedger, CommandError> {
    match (found.pop(), found.is_empty()) {
        (Some(only), true) => Ok(only),
        (last, _) => {
            let names: Vec<String> = found.iter().take(5).map(|found| found.folder.to_string()).collect();
            let count = found.len() + usize::from(last.is_some());
            Err(CommandError::Said(format!(
                "there are {count} ledgers here ({} …): name one with --ledger",
                names.join(", ")
            )))
        }
    }
}

impl ChosenLedger {
    pub(crate) fn ledger(&self) -> &Ledger {
        &self.judged.ledger
    }

    /// Fails where the ledger's text is at fault: what is read from it would not be what was meant.
    pub(crate) fn sound(&self) -> Result<(), CommandError> {
        let findings = &self.ledger().text_findings;
        if findings.is_empty() {
            return Ok(());
        }
        let first = &findings[0];
        let count = findings.len();
        let at = Locator::new(&self.ledger().sources).locate(first.at.place);
        Err(CommandError::Said(format!(
            "the ledger's text has {count} fault{}, the first: {}:{}: {}; `wayledger lint` shows {}",
            if count == 1 { "" } else { "s" },
            at.file,
            at.line,
            first.message,
            if count == 1 { "it" } else { "them" },
        )))
    }

    /// The rails meant: the one named, or all of the axis.
    pub(crate) fn rails(&self) -> Vec<RailId> {
        match self.rail {
            Some(id) => vec![id],
            None => (0..self.ledger().machine.axes[self.axis].rails.len())
                .map(|rail| RailId { axis: self.axis, rail })
                .collect(),
        }
    }

    /// The path of a file of the ledger for messages.
    pub(crate) fn shown(&self, file: &str) -> Path {
        self.judged.path.join(file)
    }
}
