//! Limits by name: the built-in defaults with their sources, and what a shop or machine put in their place.

mod entries;
mod in_force;

pub use entries::{ENTRIES, Entry, Holds, LimitName};
pub use in_force::{Change, InForce, Rulebook, SEAL, Spelt};
