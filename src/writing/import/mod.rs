//! Readings from the text exports of gauges and electronic torque wrenches, by a mapping that the shop file keeps.
//!
//! The core is pure: bytes and a mapping become rows and problems, rows become the text of one record. Every row of the
//! file ends in one of the two: nothing is dropped in silence, and nothing is guessed.

mod cells;
pub(super) mod decode;
mod mapping;
mod record;
mod rows;
mod understood;

pub use decode::DecodeError;
pub use mapping::{Becomes, Mapping, find};
pub use record::{Built, RecordHead, build};
pub use rows::{ImportError, ImportRow, ImportRows, read};
pub(crate) use understood::understood;

/// A row that does not become a reading, and why.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Misfit {
    /// The line of the file, from 1.
    pub line: u64,
    /// Why, in words.
    pub why: String,
}
