//! A new ledger from a few answers: what is wanted, its layout by the planner, and its text with a word on every line.

mod ask;
mod layout;
mod text;
mod wanted;

pub use ask::{StartOptions, ask};
pub use layout::lay_out;
pub use text::{machine, shop};
