//! The gauge or wrench a record was made with, as the shop describes it.

use jiff::civil::Date;

use crate::finding::Place;
use crate::language::rulebook::{LimitName, Rulebook};
use crate::quantity::Months;

use super::load::Ledger;
use super::record::{Body, Record};
use super::shop::{AsFound, Calibration, Gauge, Shop, StatedDoubt, Wrench};

/// An instrument of the shop.
#[derive(Clone, Copy)]
pub enum Instrument<'l> {
    Gauge(&'l Gauge),
    Wrench(&'l Wrench),
}

impl<'l> Instrument<'l> {
    /// What a record was made with and where it says so. Nothing where it does not say, or the shop has no such thing.
    pub fn for_record(ledger: &'l Ledger, record: &'l Record) -> Option<(Instrument<'l>, Place)> {
        if let Body::Fasten(fasten) = &record.body {
            let name = fasten.wrench.as_ref()?;
            return Some((Instrument::Wrench(ledger.shop.wrench(name)?), name.place));
        }
        let name = record.gauge()?;
        Some((Instrument::Gauge(ledger.shop.gauge(name)?), name.place))
    }

    pub fn name(self) -> &'l str {
        match self {
            Instrument::Gauge(gauge) => &gauge.name,
            Instrument::Wrench(wrench) => &wrench.name,
        }
    }

    pub fn place(self) -> Place {
        match self {
            Instrument::Gauge(gauge) => gauge.name.place,
            Instrument::Wrench(wrench) => wrench.name.place,
        }
    }

    pub fn calibrations(self) -> &'l [Calibration] {
        match self {
            Instrument::Gauge(gauge) => &gauge.calibrations,
            Instrument::Wrench(wrench) => &wrench.calibrations,
        }
    }

    /// What was said against it, whether or not it was taken back.
    pub fn doubts(self) -> &'l [StatedDoubt] {
        match self {
            Instrument::Gauge(gauge) => &gauge.doubts,
            Instrument::Wrench(wrench) => &wrench.doubts,
        }
    }

    /// The calibration that was the latest on a day; of two of one day the one that failed.
    pub(crate) fn calibration_on(self, day: Date) -> Option<&'l Calibration> {
        self.calibrations().iter().filter(|it| it.on.date <= day).max_by_key(|it| (it.on.value, it.failed))
    }

    /// The calibration that came next after a day; of two of one day the one that found it outside.
    pub(crate) fn calibration_after(self, day: Date) -> Option<&'l Calibration> {
        let later = self.calibrations().iter().filter(|it| it.on.date > day);
        later.min_by_key(|it| (it.on.value, it.as_found != Some(AsFound::Outside)))
    }

    /// Whether a calibration held on a day, and the next one did not find the instrument wrong.
    pub(crate) fn held_on(self, day: Date, book: &Rulebook) -> bool {
        let held = |it: &Calibration| !it.failed && it.last_day(book).is_none_or(|last| day <= last);
        let wrong = |it: &Calibration| it.as_found == Some(AsFound::Outside);
        self.calibration_on(day).is_some_and(held) && !self.calibration_after(day).is_some_and(wrong)
    }
}

impl Calibration {
    /// The last day it is good for, by some limits.
    pub(crate) fn last_day(&self, book: &Rulebook) -> Option<Date> {
        if let Some(due) = self.due {
            return Some(due.date);
        }
        let (months, _) = book.most_count(LimitName::CalibrationMonths)?;
        Months(u32::try_from(months).ok()?).after(self.on.date)
    }
}

impl Shop {
    /// The gauges and wrenches as they are described, the gauges first.
    pub fn instruments(&self) -> impl Iterator<Item = Instrument<'_>> {
        self.gauges.iter().map(Instrument::Gauge).chain(self.wrenches.iter().map(Instrument::Wrench))
    }
}
