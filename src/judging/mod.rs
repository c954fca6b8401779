//! Ledgers judged: as they are, as they would be with some changes, once a plan is carried out, and against those they are
//! made upon. It never prints or writes.

pub(crate) mod foreseen;
mod in_turn;
pub(crate) mod lint;
pub(crate) mod neighbours;
pub(crate) mod passed_over;
pub(crate) mod stops;
#[cfg(test)]
mod tests;
mod together;
pub(crate) mod what_if;
