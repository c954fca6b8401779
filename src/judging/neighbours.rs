//! What the other ledgers of its shop have of one that is looked at alone, as the lint of all of them tells it.

use super::lint;
use super::together::{Share, Together};
use crate::ledger::Elsewhere;
use crate::world::ledgers::{FoundLedger, find_ledgers};
use crate::world::{Day, Disk, Path, World as _};

/// Which of the other ledgers of a shop are looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Others {
    /// Those that come before it in the order of their folders, as the lint holds it against them.
    Before,
    /// All: who plans takes from what all of them leave.
    All,
}

/// What is known of other ledgers of the same shop; nothing where the ledger lies below no shop file.
pub(crate) fn elsewhere(disk: &Disk, found: &FoundLedger, day: Day, which: Others) -> Elsewhere {
    let Some(shop) = found.shops.last() else { return Elsewhere::default() };
    // Looked at from the shop's folder, so that the order is the same wherever somebody stands.
    let shop = disk.parent(shop).and_then(|folder| Disk::at(disk.real(&folder)).ok());
    let Some((shop, own)) = shop.zip(disk.identity(&found.folder).ok()) else { return Elsewhere::default() };
    let Ok(all) = find_ledgers(&shop, &Path::default()) else { return Elsewhere::default() };
    let shops = lint::read_shops(&shop, &all.found);
    let mut together = Together::default();
    let share = |of: &FoundLedger| Share::new(of, &lint::read(&shop, of, &shops).0, day);
    let mut at = None;
    for other in &all.found {
        if !shop.identity(&other.folder).is_ok_and(|other| other == own) {
            together.take(&other.folder, share(other));
            continue;
        }
        at = Some(other);
        if which == Others::Before {
            break;
        }
    }
    at.map_or_else(Elsewhere::default, |own| together.take(&own.folder, share(own)))
}
