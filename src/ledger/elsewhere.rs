//! What other ledgers of the same shop have to do with one, where several are judged together.

use std::collections::BTreeMap;

use super::spanned::Name;
use crate::quantity::Length;
use crate::world::Path;

/// What is known of the ledgers of the same shop that come before one in the order of their folders. Nothing where it is
/// judged alone.
#[derive(Clone, Debug, Default)]
pub(crate) struct Elsewhere {
    /// The records that stand in one of them too, in their order, each with its folder.
    pub copies: Vec<(usize, Path)>,
    /// The records that read the same of the same as one of another day there, by the first such ledger and then in their
    /// order.
    pub same_readings: Vec<(usize, Path)>,
    /// The serial numbers of segments that are in the machine of one of them.
    pub serials: BTreeMap<Name, Path>,
    /// The first of them whose machine has the same name.
    pub name: Option<Path>,
    /// How many leaves of each thickness they have in use out of the same stock.
    pub leaves: BTreeMap<Length, usize>,
    /// The first of them that is not judged, so that nobody knows what it has in use.
    pub unjudged: Option<Path>,
    /// How many whole bars of each profile and length.
    pub bars: BTreeMap<(Name, Length), usize>,
}
