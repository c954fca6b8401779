//! A new ledger from a few answers: what is wanted, its layout by the planner, and its text with a word on every line.

mod ask;
mod layout;
mod like;
mod text;
mod wanted;

pub(crate) use ask::{StartOptions, ask};
pub(crate) use layout::lay_out;
pub(crate) use like::like;
pub(crate) use text::{machine, shop};
