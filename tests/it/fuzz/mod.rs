//! What the fuzz targets check, as plain functions on bytes: `fuzz/` calls them with inputs that it searches for, and
//! the tests here with the corpus that was found, and with inputs changed at random from it. So they run on any machine.

pub(crate) mod edits;
pub(crate) mod import;
pub(crate) mod lint;
pub(crate) mod quantities;
pub(crate) mod reader;
pub(crate) mod typing;
