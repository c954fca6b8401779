//! A planned layout: as a paper with its drawing, as JSON for programs, and as drilling coordinates.

mod drawing;
pub(crate) mod dxf;
pub(crate) mod holes;
pub(crate) mod json;
pub(crate) mod refusal;
pub(crate) mod sheet;

pub(crate) use sheet::{SheetOptions, sheet, title};
