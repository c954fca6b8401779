//! Which ledgers are worth comparing: those whose bytes differ between the two worlds, or that only one of them has.

use std::collections::BTreeMap;

use crate::world::ledgers::FoundLedger;
use crate::world::{Path, World};

/// The ledgers of either world that differ from the other's.
pub(crate) fn differing(
    before: (&dyn World, Vec<FoundLedger>),
    after: (&dyn World, Vec<FoundLedger>),
) -> (Vec<FoundLedger>, Vec<FoundLedger>) {
    let mut same = SameFiles { before: before.0, after: after.0, known: BTreeMap::new() };
    let other: BTreeMap<Path, FoundLedger> =
        after.1.iter().map(|found| (found.folder.clone(), found.clone())).collect();
    let mut kept = std::collections::BTreeSet::new();
    let mut old = Vec::new();
    for batch in before.1.chunks(64) {
        same.prefetch(batch);
        for found in batch {
            let unchanged = other.get(&found.folder).is_some_and(|new| new == found && same.all(found));
            if unchanged {
                kept.insert(found.folder.clone());
            } else {
                old.push(found.clone());
            }
        }
    }
    let new = after.1.into_iter().filter(|found| !kept.contains(&found.folder)).collect();
    (old, new)
}

struct SameFiles<'w> {
    before: &'w dyn World,
    after: &'w dyn World,
    /// Shop files are asked for again and again.
    known: BTreeMap<Path, bool>,
}

impl SameFiles<'_> {
    fn prefetch(&self, batch: &[FoundLedger]) {
        let shops = batch.iter().flat_map(|found| &found.shops).filter(|shop| !self.known.contains_key(*shop));
        let shops: std::collections::BTreeSet<&Path> = shops.collect();
        let files: Vec<Path> = batch.iter().flat_map(|found| &found.files).chain(shops).cloned().collect();
        self.before.prefetch(&files);
        self.after.prefetch(&files);
    }

    fn all(&mut self, found: &FoundLedger) -> bool {
        // Every file is read, so that nothing expected is left waiting.
        let mut same = true;
        for file in found.files.iter().chain(&found.shops) {
            let known = self.known.get(file).copied();
            let equal = known.unwrap_or_else(|| self.before.read(file) == self.after.read(file));
            if known.is_none() && found.shops.contains(file) {
                self.known.insert(file.clone(), equal);
            }
            same &= equal;
        }
        same
    }
}
