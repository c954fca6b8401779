//! The gauge or wrench a record was made with, as the shop describes it.

use jiff::civil::Date;

use crate::finding::Place;
use crate::language::rulebook::{LimitName, Rulebook};
use crate::quantity::Months;

use super::lifetime::Absent;
use super::load::Ledger;
use super::record::{Body, Record};
use super::shop::{AsFound, Calibration, CalibrationError, Gauge, Shop, StatedDoubt, Wrench};

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

    /// The end of its time in the shop beyond which a day lies: `from` its first day or `until` its last.
    pub(crate) fn absent_on(self, day: Date) -> Option<Absent> {
        let (since, until) = match self {
            Instrument::Gauge(gauge) => (gauge.since, gauge.until),
            Instrument::Wrench(wrench) => (wrench.since, wrench.until),
        };
        Absent::on(day, since, until)
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

    /// What throws a day into doubt: that the next calibration found it outside its error, or that somebody says so.
    pub(crate) fn in_doubt(self, day: Date) -> impl Iterator<Item = Against<'l>> {
        let found = self.calibration_after(day).filter(|next| next.as_found == Some(AsFound::Outside));
        let stated = self.doubts().iter().filter(move |doubt| {
            let over = || match doubt.to {
                Some(to) => to.date < day,
                None => self.put_right(doubt).is_some_and(|on| on <= day),
            };
            doubt.stands() && doubt.from.date <= day && !over()
        });
        found.map(Against::Calibration).into_iter().chain(stated.map(Against::Doubt))
    }

    /// The day on which a doubt that names no last day was put right: that of the first calibration, since it was stated and
    /// since it holds, which left the instrument in order. Where the day of the statement cannot be read it stays.
    fn put_right(self, doubt: &StatedDoubt) -> Option<Date> {
        let since = doubt.said.on?.date.max(doubt.from.date);
        let good = self.calibrations().iter().filter(|it| !it.failed).map(|it| it.on.date);
        good.filter(|on| *on >= since).min()
    }

    /// Whether a calibration held on a day, and nothing threw that day into doubt since.
    pub(crate) fn held_on(self, day: Date, book: &Rulebook) -> bool {
        let held = self.calibration_on(day).is_some_and(|it| it.holds_on(day, book));
        held && self.absent_on(day).is_none() && self.in_doubt(day).next().is_none()
    }
}

/// Why what an instrument read on a day is wrong, or might be.
#[derive(Clone, Copy)]
pub(crate) enum Against<'l> {
    Calibration(&'l Calibration),
    Doubt(&'l StatedDoubt),
}

impl<'l> Against<'l> {
    pub(crate) fn place(self) -> Place {
        match self {
            Against::Calibration(calibration) => calibration.place,
            Against::Doubt(doubt) => doubt.place,
        }
    }

    pub(crate) fn calibration(self) -> Option<&'l Calibration> {
        match self {
            Against::Calibration(calibration) => Some(calibration),
            Against::Doubt(_) => None,
        }
    }

    /// By how much the instrument was off at most, where that is said.
    pub(crate) fn error(self) -> Option<CalibrationError> {
        let error = match self {
            Against::Calibration(calibration) => calibration.error,
            Against::Doubt(doubt) => doubt.error,
        };
        error.map(|error| error.value)
    }

    /// As a sentence about the instrument ends: `in doubt since 2026-03-01`.
    pub(crate) fn words(self) -> String {
        match self {
            Against::Calibration(calibration) => format!("found outside its error on {}", calibration.on.date),
            Against::Doubt(doubt) => format!("in doubt since {}", doubt.from.date),
        }
    }
}

impl Calibration {
    /// It left the instrument in order, and is not out on a day.
    fn holds_on(&self, day: Date, book: &Rulebook) -> bool {
        !self.failed && self.last_day(book).is_none_or(|last| day <= last)
    }

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
