//! How long a calibration holds.

use jiff::civil::Date;

use crate::language::rulebook::{LimitName, Rulebook};
use crate::ledger::{Calibration, Instrument};
use crate::quantity::Months;

/// The calibration that was the latest on a day.
pub(crate) fn latest<'l>(instrument: Instrument<'l>, day: Date) -> Option<&'l Calibration> {
    instrument.calibrations().iter().filter(|c| c.on.date <= day).max_by_key(|c| c.on.value)
}

/// The calibration that an instrument had on a day, where it was in order and had not run out.
pub(crate) fn holding<'l>(book: &Rulebook, instrument: Instrument<'l>, day: Date) -> Option<&'l Calibration> {
    latest(instrument, day).filter(|it| !it.failed && due(book, it).is_none_or(|due| day <= due))
}

/// The last day a calibration is good for, by some limits.
pub(crate) fn due(book: &Rulebook, calibration: &Calibration) -> Option<Date> {
    if let Some(due) = calibration.due {
        return Some(due.date);
    }
    let (months, _) = book.most_count(LimitName::CalibrationMonths)?;
    Months(u32::try_from(months).ok()?).after(calibration.on.date)
}
