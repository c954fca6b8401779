//! How long a calibration holds.

use jiff::civil::Date;

use crate::language::rulebook::{LimitName, Rulebook};
use crate::ledger::Calibration;
use crate::quantity::Months;

/// The last day a calibration is good for, by some limits.
pub(crate) fn due(book: &Rulebook, calibration: &Calibration) -> Option<Date> {
    if let Some(due) = calibration.due {
        return Some(due.date);
    }
    let (months, _) = book.most_count(LimitName::CalibrationMonths)?;
    Months(u32::try_from(months).ok()?).after(calibration.on.date)
}
