//! All that is written: records from questions or from a file, new ledgers, the layout of their text, files whole or not at
//! all, and the git hooks. It never judges.

pub mod described;
pub mod entry;
pub mod files;
pub mod hook;
pub mod import;
pub mod records;
pub mod start;
#[cfg(test)]
mod tests;
pub mod tidy;
