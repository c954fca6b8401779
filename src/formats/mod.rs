//! Findings on paper: the terminal, JSON, and the other formats people and review pages read. Nothing here judges.

mod clean;
pub mod comparison;
mod counts;
pub mod findings;
pub mod findings_formats;
mod fingerprint;
pub mod flat;
pub mod fleet;
pub mod github;
pub mod gitlab;
pub mod json;
pub mod layout;
pub mod paper;
mod pictures;
pub mod report;
mod root;
pub mod rulebook;
pub mod sarif;
pub mod schemas;
pub mod shims;
mod style;
pub mod terminal;
#[cfg(test)]
mod tests;
pub mod trace;

pub use clean::{clean, same_length};
pub use counts::Counts;
pub use fingerprint::fingerprints;
pub use root::Root;
pub use style::Style;

/// Whether a file holds an earlier paper of ours, so that a new one may take its place.
pub fn is_ours(text: &str) -> bool {
    text.starts_with(paper::markdown::HEAD)
        || text.starts_with(paper::html::HEAD)
        || text.starts_with(layout::dxf::HEAD)
        || text.starts_with(&layout::holes::CSV_HEAD.join(","))
        || text.starts_with("{\n  \"format\": \"wayledger-")
}
