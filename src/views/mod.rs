//! What people look at, as plain data: the report, the traveler, the comparison, single readings, how a number came about, and
//! what a paper is made of.
//! It never judges and has no format.

pub mod cautions;
pub mod compare;
pub mod derived;
pub mod paper;
pub mod readings;
pub mod remarks;
pub mod report;
pub mod requirement_rule;
#[cfg(test)]
mod tests;
pub mod traveler;
