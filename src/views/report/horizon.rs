//! How far ahead of a day a report looks. It is asked for, and no part of any seal.

use jiff::civil::Date;

/// A day, and for how many days from it what is due is wanted.
#[derive(Clone, Copy, Debug)]
pub struct Horizon {
    pub(crate) today: Date,
    /// As many as the ledger's own rulebook warns ahead where nothing is said.
    pub(crate) within: Option<i64>,
}

impl Horizon {
    /// So many days from a day.
    pub fn new(today: Date, within: Option<i64>) -> Horizon {
        Horizon { today, within }
    }
}

impl From<Date> for Horizon {
    fn from(today: Date) -> Horizon {
        Horizon { today, within: None }
    }
}
