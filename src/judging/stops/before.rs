//! The ledgers of an earlier state, as far as those of now are held against them.

use std::collections::{BTreeMap, BTreeSet};

use super::withdrawn::holds_all;
use crate::judging::lint::{Judged, judge_ledger, read, read_shops, shop};
use crate::ledger::{Ledger, TextFile};
use crate::world::ledgers::{FoundLedger, MACHINE, is_shared};
use crate::world::{Day, Path, World};

/// The ledgers of a commit.
pub(crate) struct LedgersBefore {
    world: Box<dyn World + Send>,
    found: BTreeMap<Path, FoundLedger>,
    shops: BTreeMap<Path, TextFile>,
    /// The ledgers that are elsewhere now: where they were.
    moved: BTreeMap<Path, Path>,
    day: Day,
    /// How it is called: `the last commit`, `main`.
    pub(super) called: String,
}

impl LedgersBefore {
    /// The ledgers of a commit, and those of now. Both are judged on one day: what differs comes from what was changed and
    /// not from the calendar.
    pub(crate) fn new(
        world: Box<dyn World + Send>,
        found: Vec<FoundLedger>,
        (now_in, now): (&dyn World, &[FoundLedger]),
        day: Day,
        called: impl Into<String>,
    ) -> LedgersBefore {
        let shops = read_shops(&*world, &found);
        let stands: BTreeSet<&Path> = now.iter().map(|found| &found.folder).collect();
        let was: BTreeSet<&Path> = found.iter().map(|found| &found.folder).collect();
        let mut moved = BTreeMap::new();
        let come: Vec<&Path> = stands.difference(&was).copied().collect();
        let gone: Vec<&Path> = was.difference(&stands).copied().collect();
        let names: Vec<Option<String>> = match come.is_empty() {
            true => Vec::new(),
            false => gone.iter().map(|folder| machine(&*world, folder)).collect(),
        };
        for folder in &come {
            let Some(name) = machine(now_in, folder) else { continue };
            let mut same = gone.iter().zip(&names).filter(|(_, old)| old.as_ref() == Some(&name));
            if let (Some((old, _)), None) = (same.next(), same.next()) {
                moved.insert((*folder).clone(), (*old).clone());
            }
        }
        // One that was given another name with it is known by its records.
        for old in gone.into_iter().filter(|_| !come.is_empty()) {
            if !moved.values().any(|from| from == old) {
                let open = come.iter().copied().filter(|folder| !moved.contains_key(*folder));
                let holder = open.into_iter().find(|folder| holds_all((&*world, old), (now_in, folder)));
                if let Some(holder) = holder.cloned() {
                    moved.insert(holder, old.clone());
                }
            }
        }
        let found = found.into_iter().map(|found| (found.folder.clone(), found)).collect();
        LedgersBefore { world, found, shops, moved, day, called: called.into() }
    }

    pub(crate) fn world(&self) -> &dyn World {
        &*self.world
    }

    /// The ledgers that there were.
    pub(crate) fn found(&self) -> impl Iterator<Item = &FoundLedger> {
        self.found.values()
    }

    /// Where a ledger or shop file was.
    pub(crate) fn place_of<'p>(&'p self, path: &'p Path) -> &'p Path {
        self.moved.get(path).unwrap_or(path)
    }

    /// Whether the shop files of a ledger are as they were.
    pub(super) fn has_same_shops(&self, now: &Judged) -> bool {
        let Some(found) = self.found.get(&now.path) else { return false };
        let shops = || now.ledger.sources.iter().filter(|(_, source)| is_shared(source.path.name()));
        shops().count() == found.shops.len()
            && shops().all(|(_, source)| {
                let was = self.shops.get(&source.path).filter(|was| was.failed().is_none());
                was.is_some_and(|was| was.source.document.text() == source.document.text())
            })
    }

    /// Whether a ledger's own files say there what they say now, byte for byte.
    pub(super) fn is_same(&self, now: &Judged) -> bool {
        if now.is_shop {
            let text = now.ledger.sources.text_of(&now.path);
            return self.world.read(&now.path).is_ok_and(|bytes| Some(&*bytes) == text.map(str::as_bytes));
        }
        let Some(found) = self.found.get(&now.path) else { return false };
        let own = now.ledger.sources.iter().filter(|(_, source)| !is_shared(source.path.name()));
        let mut count = 0;
        let same = own.into_iter().all(|(_, source)| {
            count += 1;
            self.world.read(&source.path).is_ok_and(|bytes| bytes == source.document.text().as_bytes())
        });
        same && count == found.files.len()
    }

    /// The same ledger or shop file there.
    pub(super) fn judged(&self, now: &Judged) -> Option<Judged> {
        if now.is_shop {
            return self.world.kind(&now.path).is_ok().then(|| shop(&*self.world, &now.path, self.found()));
        }
        self.ledger(now).map(|ledger| judge_ledger(ledger, self.day))
    }

    /// The same ledger there, not judged.
    pub(super) fn ledger(&self, now: &Judged) -> Option<Ledger> {
        let found = self.found.get(self.place_of(&now.path))?;
        Some(read(&*self.world, found, &self.shops).0)
    }
}

/// What a machine is called, to know a ledger again that was moved.
fn machine(world: &dyn World, folder: &Path) -> Option<String> {
    let text = String::from_utf8(world.read(&folder.join(MACHINE)).ok()?).ok()?;
    let read = crate::text::read(text, &crate::text::ReadLimits::default());
    let node = read.document.nodes().find(|node| node.is("machine"))?;
    node.args().next()?.text().map(str::to_owned)
}
