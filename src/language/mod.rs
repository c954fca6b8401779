//! The language of ledgers as `schema/*.kdl` and the rulebook's table define it: what may stand where, and the limits by name.
//! It never judges what is written in it.

pub(crate) mod edition;
pub(crate) mod public_key;
pub(crate) mod rulebook;
pub(crate) mod schema;
