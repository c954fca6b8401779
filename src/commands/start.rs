//! `wayledger start`: a new ledger.

use std::io::Write as _;
use std::path::PathBuf;

use super::prompter::StandardPrompter;
use super::{CLEAN, CommandError, output};
use crate::finding::{Finding, Grade};
use crate::formats::clean;
use crate::judging::lint::{judge_ledger, read_file};
use crate::ledger::{Ledger, TextFile};
use crate::rules::layout::not_described;
use crate::world::ledgers::{MACHINE, SHARED, SHOP, owner_of};
use crate::world::{Disk, EntryKind, Path, World};
use crate::writing::entry::Prompter as _;
use crate::writing::files;
use crate::writing::start::{self, StartOptions};

/// Starts a new ledger: a folder with a machine.kdl that says what each line is for.
///
/// What is not given as an option is asked for, in this order: the length of the rails; their names; the pieces of the beam
/// under each; the rail profile and, where no shop file describes it, its hole pitch, its end distance and the bar lengths
/// that can be had; how far the supports stand apart, how much rail one covers and, with --plan, a joint support; the length
/// of the carriage, the middles of its blocks and the effective length of one. Have the drawing and the maker's catalogue
/// at hand.
///
/// A pipe answers the same questions line by line. An existing ledger is never touched.
#[derive(Debug, clap::Args)]
pub(crate) struct StartArguments {
    /// The folder of the new ledger.
    path: PathBuf,
    /// A short name of the machine; the folder's name where nothing is said.
    #[arg(long)]
    name: Option<String>,
    /// What people call it.
    #[arg(long)]
    title: Option<String>,
    /// A ledger whose machine this one is like: its description is taken, without records, serial numbers, lots and marks.
    #[arg(long, value_name = "LEDGER", conflicts_with_all = ["axis", "length", "rails", "pieces", "profile", "pitch", "end_distance",
        "stock", "support_pitch", "support_length", "joint_support_length", "carriage", "blocks", "block_length", "plan"])]
    like: Option<PathBuf>,
    /// The axis's letter or name.
    #[arg(long, default_value = "X")]
    axis: String,
    /// Length of the rails in mm.
    #[arg(long)]
    length: Option<String>,
    /// A rail's name; the reference rail first, more than one may be given.
    #[arg(long = "rail", value_name = "NAME")]
    rails: Vec<String>,
    /// Pieces of a beam in mm, as "3600 3600": once for all beams, or once a rail.
    #[arg(long = "pieces", value_name = "LENGTHS")]
    pieces: Vec<String>,
    /// The rail profile; its figures come from the shop file where it is described there.
    #[arg(long)]
    profile: Option<String>,
    /// Hole pitch of the profile in mm.
    #[arg(long)]
    pitch: Option<String>,
    /// From a bar's end to its first hole in mm.
    #[arg(long)]
    end_distance: Option<String>,
    /// Bar lengths that can be had, as "1200 2400 3000".
    #[arg(long)]
    stock: Option<String>,
    /// From one support to the next in mm.
    #[arg(long)]
    support_pitch: Option<String>,
    /// Length of rail that one support covers in mm.
    #[arg(long)]
    support_length: Option<String>,
    /// Length of rail that a joint support covers in mm; the planner lays rails out with it.
    #[arg(long, requires = "plan")]
    joint_support_length: Option<String>,
    /// Length of the carriage in mm, or none.
    #[arg(long)]
    carriage: Option<String>,
    /// Middles of the blocks on each rail, from the carriage's middle, as "-180 180".
    #[arg(long, allow_hyphen_values = true)]
    blocks: Option<String>,
    /// Effective length of a block in mm.
    #[arg(long)]
    block_length: Option<String>,
    /// Lets the planner lay out segments, joints and joint supports.
    #[arg(long)]
    plan: bool,
}

pub(crate) fn run(arguments: &StartArguments) -> Result<u8, CommandError> {
    let disk = Disk::here().map_err(|why| CommandError::Said(why.to_string()))?;
    let folder = disk.path(arguments.path.as_os_str()).map_err(|why| CommandError::Said(why.to_string()))?;
    untouched(&disk, &folder)?;
    let shops = shops(&disk, &folder);
    let shop = Ledger::new(folder.clone(), Vec::new(), &shops).shop;
    let mut prompter = StandardPrompter::new();
    let given = arguments.given(&folder)?;
    let (machine, own_shop) = match &arguments.like {
        Some(other) => (like(&disk, other, &given)?, None),
        None => {
            let wanted = start::ask(&given, &shop, &mut prompter)?;
            let plan = match arguments.plan {
                true => Some(start::lay_out(&wanted).map_err(CommandError::Said)?),
                false => None,
            };
            let machine =
                start::machine(&wanted, plan.as_deref()).map_err(|why| CommandError::Said(why.to_string()))?;
            (machine, start::shop(&wanted).map_err(|why| CommandError::Said(why.to_string()))?)
        }
    };

    // Judged before a byte is written: a new ledger may be incomplete, never wrong.
    let text = |name: &str, text: &str| TextFile::read(folder.join(name), text.as_bytes().to_vec());
    let mut all = shops;
    if let Some(own) = &own_shop {
        all.insert(0, text(SHOP, own));
    }
    let judged = judge_ledger(Ledger::new(folder.clone(), vec![text(MACHINE, &machine)], &all), disk.day());
    let wrong: Vec<String> = judged
        .findings
        .iter()
        .filter(|it| it.grade == Grade::Nonconformity)
        .map(|it| format!("{} {}: {}; {}", it.rule, it.address, it.message, it.next))
        .collect();
    if !wrong.is_empty() {
        return Err(CommandError::Said(format!(
            "this machine would break rules; nothing was written: {}",
            wrong.join("; ")
        )));
    }
    let real = disk.real(&folder);
    if let Some(own) = &own_shop {
        files::create(&real.join(SHOP), own)?;
    }
    files::create(&real.join(MACHINE), &machine)?;
    let mut out = output::standard();
    let outstanding = judged.findings.iter().filter(|it| it.grade == Grade::Outstanding).count();
    writeln!(out, "{}", clean(&folder.join(MACHINE).0))?;
    if own_shop.is_some() {
        writeln!(out, "{}", clean(&folder.join(SHOP).0))?;
    }
    out.flush()?;
    // Until the bars are known there is nothing to fit, to inspect or to survey.
    let undescribed: Vec<&Finding> = judged.findings.iter().filter(|it| it.rule == not_described::RULE.name).collect();
    if let Some(first) = undescribed.first() {
        let addresses: Vec<&str> = undescribed.iter().map(|it| it.address.as_str()).collect();
        prompter.tell(&format!("first of all, {}: {}; {}", addresses.join(", "), first.message, first.next));
    }
    prompter.tell(&format!("{outstanding} outstanding; see `wayledger lint` and `wayledger traveler`"));
    Ok(CLEAN)
}

/// The description of a machine like another one.
fn like(disk: &Disk, other: &std::path::Path, given: &StartOptions) -> Result<String, CommandError> {
    let folder = disk.path(other.as_os_str()).map_err(|why| CommandError::Said(why.to_string()))?;
    let file = folder.join(MACHINE);
    if !matches!(disk.kind(&file), Ok(EntryKind::File)) {
        return Err(CommandError::Said(format!("`{folder}` is no ledger: it has no {MACHINE}; nothing was written")));
    }
    let read = read_file(disk, &file);
    if read.unreadable.is_some() || !read.faults.is_empty() {
        return Err(CommandError::Said(format!("`{file}` cannot be read; see `wayledger lint`; nothing was written")));
    }
    start::like(&read.source.document, &given.name, given.title.as_deref())
        .map_err(|why| CommandError::Said(why.to_string()))
}

/// Fails where a ledger is already: here or in a folder above.
fn untouched(disk: &Disk, folder: &Path) -> Result<(), CommandError> {
    match disk.kind(folder) {
        Ok(EntryKind::Folder) | Err(_) => {}
        Ok(_) => return Err(CommandError::Said(format!("`{folder}` is a file; nothing was written"))),
    }
    if disk.kind(&folder.join(MACHINE)).is_ok() {
        return Err(CommandError::Said(format!("`{folder}` is a ledger already; nothing was written")));
    }
    match owner_of(disk, folder) {
        Some(owner) => Err(CommandError::Said(format!("`{folder}` lies in the ledger `{owner}`; nothing was written"))),
        None => Ok(()),
    }
}

/// The shop files and designs that will apply, nearest first.
fn shops(disk: &Disk, folder: &Path) -> Vec<TextFile> {
    let mut at = Some(folder.clone());
    let mut all = Vec::new();
    while let Some(folder) = at {
        for file in SHARED.map(|name| folder.join(name)) {
            if matches!(disk.kind(&file), Ok(EntryKind::File)) {
                all.push(read_file(disk, &file));
            }
        }
        at = disk.parent(&folder);
    }
    all
}

impl StartArguments {
    fn given(&self, folder: &Path) -> Result<StartOptions, CommandError> {
        let last = folder.0.rsplit('/').next().unwrap_or("");
        let name = match &self.name {
            Some(name) => name.clone(),
            None if last.is_empty() || last == "." || last == ".." => {
                return Err(CommandError::Said("say what the machine is called: --name".into()));
            }
            None => last.to_string(),
        };
        if name.is_empty() || name.contains(char::is_whitespace) {
            return Err(CommandError::Said(format!("`{name}` is no short name: give one without spaces, --name")));
        }
        if self.axis.is_empty() || self.axis.contains(['.', ' ']) {
            return Err(CommandError::Said(format!("`{}` is no name of an axis: a word without points", self.axis)));
        }
        Ok(StartOptions {
            name,
            title: self.title.clone(),
            axis: self.axis.clone(),
            length: self.length.clone(),
            rails: self.rails.clone(),
            pieces: self.pieces.clone(),
            profile: self.profile.clone(),
            pitch: self.pitch.clone(),
            end_distance: self.end_distance.clone(),
            stock: self.stock.clone(),
            support_pitch: self.support_pitch.clone(),
            support_length: self.support_length.clone(),
            joint_support_length: self.joint_support_length.clone(),
            carriage: self.carriage.clone(),
            blocks: self.blocks.clone(),
            block_length: self.block_length.clone(),
            plan: self.plan,
        })
    }
}
