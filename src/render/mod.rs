//! Findings on paper: the terminal, JSON, and the other formats people and review pages read. Nothing here judges.

mod clean;
mod counts;
mod fingerprint;
pub mod github;
pub mod gitlab;
pub mod json;
mod located;
mod root;
pub mod sarif;
mod sentence;
pub mod shims;
pub mod terminal;

pub use clean::{clean, same_length};
pub use counts::Counts;
pub use fingerprint::fingerprints;
pub use located::{Located, Locator};
pub use root::Root;
pub use sentence::sentence;
