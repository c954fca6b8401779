//! Ways to break a conforming ledger, each of which says what must be found where.

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
    [text::FAULTS, layout::FAULTS, fitting::FAULTS, gap::FAULTS, keeping::FAULTS].into_iter().flatten().collect()
}
