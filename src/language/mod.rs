//! The language of ledgers as `schema/*.kdl` and the rulebook's table define it: what may stand where, and the limits by name.
//! It never judges what is written in it.

pub mod edition;
pub mod rulebook;
pub mod schema;
