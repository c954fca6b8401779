//! Every reading of a ledger as one flat row, for spreadsheets and data frames: what was read, where, with what, by whom,
//! and what the rules say of it.
//!
//! Nothing is judged here. A reading is withdrawn, stale or replaced by the ledger's own history, and does not conform
//! where a finding points at it; it conforms only where a rule judges readings of its kind and none does.

mod collect;
mod place;
mod reading;
mod row;
mod verdict;

pub use collect::collect;
pub(crate) use collect::each;
pub(crate) use place::ReadingPlace;
pub(crate) use reading::FORMAT;
pub use reading::{ExactNumber, Reading};
pub(crate) use row::{Common, LedgerCells, LimitCells, ReadQuantity, ReadingRow, RecordCells};
pub use verdict::ReadingVerdict;
