//! What the other ledgers of its shop have of one that is looked at alone, as the lint of all of them tells it.

use super::lint;
use super::together::{Share, Together, UsedBeside};
use crate::ledger::Elsewhere;
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

/// Which of the other ledgers of a shop are looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Others {
    /// Those that come before it in the order of their folders, as the lint holds it against them.
    Before,
    /// All: who plans takes from what all of them leave.
    All,
}

/// What is known of other ledgers of the same shop; nothing where the ledger lies below no shop file.
pub(crate) fn elsewhere(
    disk: &Disk,
    found: &FoundLedger,
    day: Day,
    which: Others,
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
    let share = |of: &FoundLedger| {
        let (ledger, not_read) = lint::read(&shop, of, &shops);
        match not_read.files.into_iter().next().filter(|_| not_read.failed) {
            Some((path, why)) => Err(NeighbourError { path, why }),
            None => Ok(Share::new(of, &ledger, day)),
        }
    };
    // One in a folder that is passed over has no place in that order.
    let (mut at, mut others) = (None, Vec::new());
    for other in &all.found {
        if shop.identity(&other.folder).map_err(unread(&other.folder))? != own {
            let share = share(other)?;
            if which == Others::All {
                others.push((other.folder.clone(), share.clone()));
            }
            together.take(&other.folder, share);
            continue;
        }
        at = Some(other);
        if which == Others::Before {
            break;
        }
    }
    let Some(own) = at else { return Ok(Elsewhere::default()) };
    let share = share(own)?;
    let mut elsewhere = together.take(&own.folder, share.clone());
    if which == Others::All {
        let UsedBeside { leaves, bars, unjudged } = Together::used_beside((&own.folder, share), others);
        elsewhere = Elsewhere { leaves, bars, unjudged, ..elsewhere };
    }
    Ok(elsewhere)
}
