//! wayledger reads plain-text build ledgers of butt-joined profile rails and judges them by the rules of the trade.
//!
//! Data flows one way: `world` gives bytes, `syntax` reads them, `schema` checks their shape, `ledger` understands
//! them, `worked` puts their facts into the formulas of `calc`, `rules` judge, and `render` puts the findings on paper. `cli` sits above all.

pub mod calc;
pub mod cautions;
pub mod cli;
pub mod compare;
pub mod derived;
pub mod entry;
pub mod finding;
pub mod hook;
pub mod import;
pub mod ledger;
pub mod lint;
pub mod quantity;
pub mod readings;
pub mod render;
pub mod report;
pub mod rulebook;
pub mod rules;
pub mod schema;
pub mod seal;
pub mod start;
pub mod stops;
pub mod syntax;
pub mod tidy;
pub mod traveler;
pub mod what_if;
pub mod worked;
pub mod world;
pub mod writing;
