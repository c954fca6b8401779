//! The ledger language, as the documents in the top-level `schema/` folder define it.
//!
//! The program reads those documents itself: what is checked, suggested and explained comes from them alone.

mod check;
mod ends;
mod in_order;
mod load;
mod names;
mod nearest;
pub(crate) mod reference;
mod refers;
mod shape;
mod value;

pub(crate) use check::{FileKind, check};
pub use load::language;
pub(crate) use nearest::nearest;
pub use refers::Refers;
pub use shape::{Chapter, EntryShape, FurtherArguments, Language, NodeShape, Range, Type};
