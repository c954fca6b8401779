//! One thing that changed under a seal.

use crate::finding::Place;

/// One thing that is not as it was released.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum SealChange {
    /// The release carries no seal.
    Unsealed { place: Place },
    /// The seal is of an edition that is not known, or of none.
    Edition { edition: Option<u32>, place: Place },
    /// The seal itself was changed, or what the release says beside it; the group, where one is at fault.
    Seal { group: Option<String>, place: Place },
    /// A fact is not what it was: old and new, nothing where there was none or is none any more.
    Fact { group: String, address: String, old: Option<(String, Place)>, new: Option<(String, Place)> },
    /// A whole record or part of the description came or went.
    Group { name: String, old: Option<Place>, new: Option<Place> },
    /// The rows of a record stand in another order.
    Order { group: String, old: Place, new: Place },
    /// Of two records the one that came first stands behind the other now.
    Swapped { first: (String, Place), then: (String, Place), sealed: Place },
    /// A void or a correction means another record than it did.
    Meant { by: (String, Place), was: String, now: Option<Place>, sealed: Place },
}
