//! What people look at, as plain data: the report, the traveler, the comparison, single readings, and how a number came about.
//! It never judges and has no format.

pub mod cautions;
pub mod compare;
pub mod derived;
pub mod readings;
pub mod report;
pub mod requirement_rule;
pub mod traveler;
