//! Tests of what the room does inside.

mod files;
mod import;
mod import_cells;
mod places;
