//! Findings on paper: the terminal, JSON, and the other formats people and review pages read. Nothing here judges.

mod clean;
mod counts;
pub mod json;
mod located;
pub mod terminal;

pub use clean::{clean, same_length};
pub use counts::Counts;
pub use located::{Located, Locator};
