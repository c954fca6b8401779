//! Rules about how the record is kept.

pub mod date_order;
pub mod described_after;
