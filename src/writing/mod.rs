//! All that is written: records from questions or from a file, new ledgers, the layout of their text, files whole or not at
//! all, and the git hooks. It never judges.

pub(crate) mod described;
pub(crate) mod entry;
pub(crate) mod files;
pub(crate) mod hook;
pub(crate) mod import;
pub(crate) mod records;
pub(crate) mod signing;
pub(crate) mod start;
#[cfg(test)]
mod tests;
pub(crate) mod tidy;
