//! Limits by name: the built-in defaults with their sources, and what a shop or machine put in their place.

mod entries;
mod in_force;
mod trial;

pub(crate) use entries::{AS_PROOF, LimitName};
pub use entries::{ENTRIES, LimitEntry, LimitType, Looser};
pub(crate) use in_force::{InForce, LimitChange, Rulebook, SEAL, SpeltNumber};
pub(crate) use trial::tried;
