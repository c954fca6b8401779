//! What the ledger would say with the record in it, before a byte is written.

use std::collections::BTreeMap;

use crate::finding::Finding;
use crate::ledger::{Ledger, TextFile};
use crate::lint::judge_ledger;
use crate::rules::{Check, rule};
use crate::world::ledgers::Found;
use crate::world::{Day, Path, World};

/// The findings that point into the added text.
#[derive(Debug, Default)]
pub struct Trial {
    /// The text itself is at fault: such a record must not be written.
    pub faults: Vec<Finding>,
    /// What the rules say of the readings: true all the same, and to be recorded.
    pub findings: Vec<Finding>,
}

/// Judges a ledger as if `addition` stood at the end of one of its files, which may not be there yet.
pub fn trial(
    world: &dyn World,
    found: &Found,
    shops: &BTreeMap<Path, TextFile>,
    file: &Path,
    before: &str,
    addition: &str,
    day: impl Into<Day>,
) -> Trial {
    let changed = || TextFile::read(file.clone(), format!("{before}{addition}").into_bytes());
    let mut files: Vec<TextFile> = found
        .files
        .iter()
        .filter(|path| *path != file)
        .map(|path| match world.read(path) {
            Ok(bytes) => TextFile::read(path.clone(), bytes),
            Err(why) => TextFile::unreadable(path.clone(), why),
        })
        .collect();
    let place = files.partition_point(|other| other.source.path < *file);
    files.insert(place, changed());
    let shops: Vec<TextFile> = found.shops.iter().filter_map(|path| shops.get(path).cloned()).collect();
    let judged = judge_ledger(Ledger::new(found.folder.clone(), files, &shops), day);
    let sources = &judged.ledger.sources;
    let mut trial = Trial::default();
    for finding in judged.findings {
        let place = finding.at.place;
        if sources.get(place.source).path != *file || (place.span.start as usize) < before.len() {
            continue;
        }
        if rule(finding.rule).is_some_and(|rule| matches!(rule.check, Check::Reading)) {
            trial.faults.push(finding);
        } else {
            trial.findings.push(finding);
        }
    }
    trial
}
