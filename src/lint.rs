//! The main job as a library call: every ledger below some paths, read and judged.

use std::collections::BTreeMap;

use jiff::civil::Date;
use rayon::prelude::*;

use crate::finding::{Finding, Grade, SourceId, Sources};
use crate::ledger::{Ledger, TextFile};
use crate::rules::{Case, judge};
use crate::schema::FileKind;
use crate::world::{Found, Path, Unreadable, World};

/// What was judged as one: a ledger, or a shop file on its own.
#[derive(Debug)]
pub struct Judged {
    /// The ledger's folder or the shop file.
    pub path: Path,
    pub ledger: Ledger,
    /// In the order of their places.
    pub findings: Vec<Finding>,
}

impl Judged {
    /// How many findings of a grade count, those under a concession left out.
    pub fn count(&self, grade: Grade) -> usize {
        self.findings.iter().filter(|finding| finding.grade == grade && finding.conceded.is_none()).count()
    }
}

/// Reads one ledger with its shop files.
pub fn read(world: &dyn World, found: &Found, shops: &BTreeMap<Path, TextFile>) -> Ledger {
    let files = found.files.iter().map(|path| read_file(world, path)).collect();
    let shops: Vec<TextFile> = found.shops.iter().filter_map(|path| shops.get(path).cloned()).collect();
    Ledger::new(found.folder.clone(), files, &shops)
}

/// Reads a file; one that cannot be read is an empty file with that fault.
fn read_file(world: &dyn World, path: &Path) -> TextFile {
    match world.read(path) {
        Ok(bytes) => TextFile::read(path.clone(), bytes),
        Err(why) => TextFile::unreadable(path.clone(), &why),
    }
}

/// The shop files that some ledgers share, each read once.
pub fn read_shops(world: &dyn World, found: &[Found]) -> BTreeMap<Path, TextFile> {
    let mut shops = BTreeMap::new();
    for path in found.iter().flat_map(|found| &found.shops) {
        if !shops.contains_key(path) {
            shops.insert(path.clone(), read_file(world, path));
        }
    }
    shops
}

/// Judges a ledger on a day.
pub fn judge_ledger(ledger: Ledger, today: Date) -> Judged {
    let mut findings = judge(&Case { ledger: &ledger, today });
    findings.extend(ledger.text_findings.iter().cloned());
    findings.sort_by(|a, b| a.order().cmp(&b.order()));
    findings.dedup();
    Judged { path: ledger.folder.clone(), ledger, findings }
}

/// Judges a shop file on its own: its text alone.
fn judge_shop(file: &TextFile) -> Judged {
    let mut sources = Sources::default();
    let id: SourceId = sources.add(file.source.clone());
    let mut findings = file.findings(id, FileKind::Shop);
    findings.extend(Ledger::duplicates_in_shop(file, id));
    findings.sort_by(|a, b| a.order().cmp(&b.order()));
    Judged { path: file.source.path.clone(), ledger: Ledger { sources, ..Ledger::default() }, findings }
}

/// Judges every ledger found, and the shop files they share. Each is handed on as soon as it is judged, in order, so
/// that memory does not grow with their number.
pub fn lint(
    world: &dyn World,
    found: &[Found],
    today: Date,
    mut take: impl FnMut(Judged),
) -> Result<(), Unreadable> {
    let shops = read_shops(world, found);
    for file in shops.values() {
        take(judge_shop(file));
    }
    // A batch at a time: all cores work, and no more than a batch is held.
    for batch in found.chunks(64) {
        let judged: Vec<Judged> =
            batch.par_iter().map(|found| judge_ledger(read(world, found, &shops), today)).collect();
        judged.into_iter().for_each(&mut take);
    }
    Ok(())
}
