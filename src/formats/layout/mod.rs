//! A planned layout: drawn and listed on the terminal, as JSON for programs, and as drilling coordinates.

mod drawing;
pub mod dxf;
pub mod holes;
pub mod json;
pub mod refusal;
pub mod sheet;

pub use sheet::sheet;
