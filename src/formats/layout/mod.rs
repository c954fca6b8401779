//! A planned layout: as a paper with its drawing, as JSON for programs, and as drilling coordinates.

mod drawing;
pub mod dxf;
pub mod holes;
pub mod json;
pub mod refusal;
pub mod sheet;

pub use sheet::{SheetOptions, sheet, title};
