//! Findings on paper: the terminal, JSON, and the other formats people and review pages read. Nothing here judges.

mod clean;
pub(crate) mod columns;
pub(crate) mod comparison;
mod counts;
pub(crate) mod findings;
pub(crate) mod findings_formats;
mod fingerprint;
pub(crate) mod flat;
pub(crate) mod fleet;
pub(crate) mod github;
pub(crate) mod gitlab;
pub(crate) mod json;
pub(crate) mod layout;
pub(crate) mod motion;
pub(crate) mod page_names;
pub(crate) mod paper;
mod pictures;
pub(crate) mod report;
mod root;
pub(crate) mod rulebook;
pub(crate) mod sarif;
pub(crate) mod schemas;
pub(crate) mod shims;
mod style;
pub(crate) mod terminal;
#[cfg(test)]
mod tests;
pub(crate) mod trace;
pub(crate) mod trial;

pub use clean::clean;
pub(crate) use clean::same_length;
pub use counts::Counts;
pub(crate) use fingerprint::fingerprints;
pub use root::Root;
pub use style::Style;

/// Whether a file holds an earlier paper of ours, so that a new one may take its place.
pub(crate) fn is_ours(text: &str) -> bool {
    text.starts_with(paper::markdown::HEAD)
        || text.starts_with(paper::html::HEAD)
        || text.starts_with(layout::dxf::HEAD)
        || text.starts_with(&layout::holes::CSV_HEAD.join(","))
        || text.starts_with("{\n  \"format\": \"wayledger-")
}
