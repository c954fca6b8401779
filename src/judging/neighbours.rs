//! What the other ledgers of its shop have of one that is looked at alone, as the lint of all of them tells it.

use super::lint;
use super::together::{Share, Together};
use crate::ledger::{Elsewhere, Ledger};
use crate::world::ledgers::{FoundLedger, find_ledgers};
use crate::world::{Day, Disk, Path, World as _};

/// What is known of the ledgers of the same shop that come before one in the order of their folders; nothing where it lies
/// below no shop file.
pub(crate) fn elsewhere(disk: &Disk, found: &FoundLedger, ledger: &Ledger, day: Day) -> Elsewhere {
    let Some(shop) = found.shops.last() else { return Elsewhere::default() };
    // Looked at from the shop's folder, so that the order is the same wherever somebody stands.
    let shop = disk.parent(shop).and_then(|folder| Disk::at(disk.real(&folder)).ok());
    let Some((shop, own)) = shop.zip(disk.identity(&found.folder).ok()) else { return Elsewhere::default() };
    let Ok(all) = find_ledgers(&shop, &Path::default()) else { return Elsewhere::default() };
    let shops = lint::read_shops(&shop, &all.found);
    let mut together = Together::default();
    for other in &all.found {
        if shop.identity(&other.folder).is_ok_and(|other| other == own) {
            return together.take(&other.folder, Share::new(other, ledger, day));
        }
        let share = Share::new(other, &lint::read(&shop, other, &shops).0, day);
        together.take(&other.folder, share);
    }
    Elsewhere::default()
}
