//! The files in which a ledger or a shop states what is shared: of a shop its own file, of a ledger all but the shop files
//! above it, which are held on their own.

use crate::finding::{Source, SourceId};
use crate::judging::lint::Judged;
use crate::world::ledgers::is_shared;

pub(super) fn own_shops(judged: &Judged) -> impl Iterator<Item = (SourceId, &Source)> {
    let is_own = |file: &Source| match judged.is_shop {
        true => file.path == judged.path,
        false => !is_shared(file.path.name()),
    };
    judged.ledger.sources.iter().filter(move |(_, file)| is_own(file))
}
