//! wayledger reads plain-text build ledgers of butt-joined profile rails and judges them by the rules of the trade.
//!
//! Data flows one way: `world` gives bytes, `text` reads them, `language` says what may stand in them, `ledger` understands
//! them, `facts` puts what it says into the formulas of `calc`, `rules` judge, and `formats` puts the findings on paper.
//! `commands` sits above all.

pub mod calc;
pub mod commands;
pub mod facts;
pub mod finding;
pub mod formats;
pub mod judging;
pub mod language;
pub mod ledger;
pub mod quantity;
pub mod rules;
pub mod text;
pub mod views;
pub mod world;
pub mod writing;
