//! `wayledger tidy`: brings files into their one layout, or says which are not in it.

use std::collections::BTreeSet;
use std::io::Write as _;
use std::path::PathBuf;

use super::{BROKEN, CLEAN, CommandError, FAILED, output, source};
use crate::text::{Edit, Span};
use crate::world::{Disk, EntryKind, Path, World};
use crate::writing::files;
use crate::writing::tidy;

/// Brings ledger files into one layout: indentation, spacing, order of properties, tables of readings. Every comment,
/// number and text stays as it is written.
///
/// Exit code: 0 when all files are in their layout, 1 when `--check` names files that are not, 2 when a file could not
/// be laid out.
#[derive(Debug, clap::Args)]
pub(crate) struct TidyArguments {
    /// Files, ledgers, or folders that hold ledgers.
    #[arg(default_value = ".")]
    paths: Vec<PathBuf>,
    /// Changes nothing and lists the files that would change.
    #[arg(long)]
    check: bool,
}

pub(crate) fn run(arguments: &TidyArguments) -> Result<u8, CommandError> {
    let disk = Disk::here().map_err(said)?;
    let (files, mut hindered) = files(&disk, &arguments.paths)?;
    let mut out = output::standard();
    let mut untidy = 0;
    for path in &files {
        match one(&disk, path, arguments.check) {
            Ok(false) => {}
            Ok(true) => {
                untidy += 1;
                let path = crate::formats::clean(&path.0);
                writeln!(out, "{} {path}", if arguments.check { "not tidy:" } else { "tidied:" })?;
            }
            Err(why) => {
                hindered = true;
                output::complain(&why);
            }
        }
    }
    out.flush()?;
    Ok(match (hindered, untidy > 0 && arguments.check) {
        (true, _) => FAILED,
        (false, true) => BROKEN,
        (false, false) => CLEAN,
    })
}

/// The files at and below the typed paths, and whether something was in the way.
fn files(disk: &Disk, typed: &[PathBuf]) -> Result<(BTreeSet<Path>, bool), CommandError> {
    let mut files = BTreeSet::new();
    let mut folders = Vec::new();
    for path in typed {
        let seen = disk.path(path.as_os_str()).map_err(said)?;
        match disk.kind(&seen) {
            Ok(EntryKind::File) => drop(files.insert(seen)),
            Ok(EntryKind::Folder) => folders.push((seen, path.clone())),
            Ok(EntryKind::Other(why)) => return Err(CommandError::Said(format!("`{seen}`: {why}"))),
            Err(why) => return Err(CommandError::Said(format!("`{seen}`: {why}"))),
        }
    }
    if folders.is_empty() {
        return Ok((files, false));
    }
    let (folders, typed): (Vec<Path>, Vec<PathBuf>) = folders.into_iter().unzip();
    let asked = source::asked(disk, &typed)?;
    let all = asked.found.into_iter().flat_map(|found| found.files.into_iter().chain(found.shops));
    files.extend(all.filter(|file| folders.iter().any(|folder| file.is_within(folder))));
    Ok((files, asked.hindered))
}

/// Whether a file is not in its layout; unless it is only checked, it then is.
fn one(disk: &Disk, path: &Path, check: bool) -> Result<bool, String> {
    let file = disk.real(path);
    // Messages name the file as it was typed, not where it lies on this machine.
    let left_alone = |why: String| format!("{path} is left as it is: {why}");
    let bytes = disk.read(path).map_err(|why| left_alone(why.to_string()))?;
    let before = String::from_utf8(bytes).map_err(|_| left_alone("it is not UTF-8 text".into()))?;
    let after = tidy::text(&before).map_err(|why| left_alone(why.to_string()))?;
    if after == before {
        return Ok(false);
    }
    if !check {
        let whole = Edit { span: Span::new(0, before.len()), text: after };
        files::change(&file, &before, &[whole]).map_err(|why| why.to_string())?;
    }
    Ok(true)
}

fn said(why: impl ToString) -> CommandError {
    CommandError::Said(why.to_string())
}
