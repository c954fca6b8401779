//! Ways to break a conforming ledger, each of which says what must be found where.

mod absent;
mod case;
mod fitting;
mod gap;
mod keeping;
mod layout;
mod pages;
mod text;

pub(crate) use case::{Case, Fault};

/// Every way to break a ledger.
pub(crate) fn library() -> Vec<&'static Fault> {
    [text::FAULTS, layout::FAULTS, fitting::FAULTS, gap::FAULTS, keeping::FAULTS, absent::FAULTS]
        .into_iter()
        .flatten()
        .collect()
}
