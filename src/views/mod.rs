//! What people look at, as plain data: the report, the traveler, the comparison, single readings, how a number came about, and
//! what a paper is made of.
//! It never judges and has no format.

pub(crate) mod cautions;
pub(crate) mod compare;
pub(crate) mod derived;
pub(crate) mod folded;
pub(crate) mod motion;
pub(crate) mod paper;
pub(crate) mod readings;
pub(crate) mod remarks;
pub(crate) mod report;
pub(crate) mod requirement_rule;
#[cfg(test)]
mod tests;
pub(crate) mod traveler;
