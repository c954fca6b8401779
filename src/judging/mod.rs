//! Ledgers judged: as they are, as they would be with some changes, once a plan is carried out, and against those they are
//! made upon. It never prints or writes.

pub mod foreseen;
pub mod lint;
pub mod stops;
#[cfg(test)]
mod tests;
pub mod what_if;
