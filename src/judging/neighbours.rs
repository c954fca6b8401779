//! What the other ledgers of its shop have of one that is looked at alone, as the lint of all of them tells it.

use super::lint;
use super::together::{Share, Together};
use crate::ledger::{Elsewhere, Ledger};
use crate::world::ledgers::{FoundLedger, find_ledgers};
use crate::world::{Day, Disk, Path, ReadError, World as _};

/// Why nobody can tell what other ledgers of the shop have.
#[derive(Debug, thiserror::Error)]
#[error("{path}: {why}")]
pub(crate) struct NeighbourError {
    /// Seen from the shop's folder.
    pub path: Path,
    pub why: String,
}

/// What is known of the ledgers of the same shop that come before one in the order of their folders; nothing where it lies
/// below no shop file.
pub(crate) fn elsewhere(
    disk: &Disk,
    found: &FoundLedger,
    ledger: &Ledger,
    day: Day,
) -> Result<Elsewhere, NeighbourError> {
    let Some(shop) = found.shops.last() else { return Ok(Elsewhere::default()) };
    let unread = |path: &Path| {
        let path = path.clone();
        move |why: ReadError| NeighbourError { path, why: why.to_string() }
    };
    // Looked at from the shop's folder, so that the order is the same wherever somebody stands.
    let folder = disk.parent(shop).unwrap_or_default();
    let shop = Disk::at(disk.real(&folder)).map_err(unread(&folder))?;
    let own = disk.identity(&found.folder).map_err(unread(&found.folder))?;
    let all = find_ledgers(&shop, &Path::default())
        .map_err(|why| NeighbourError { path: folder.clone(), why: why.to_string() })?;
    let shops = lint::read_shops(&shop, &all.found);
    let mut together = Together::default();
    for other in &all.found {
        if shop.identity(&other.folder).map_err(unread(&other.folder))? == own {
            return Ok(together.take(&other.folder, Share::new(other, ledger, day)));
        }
        let (before, not_read) = lint::read(&shop, other, &shops);
        if let Some((path, why)) = not_read.files.into_iter().next().filter(|_| not_read.failed) {
            return Err(NeighbourError { path, why });
        }
        together.take(&other.folder, Share::new(other, &before, day));
    }
    // One in a folder that is passed over has no place in that order.
    Ok(Elsewhere::default())
}
