//! The gauge or wrench a record was made with, as the shop describes it.

use crate::finding::Place;

use super::load::Ledger;
use super::record::{Body, Record};
use super::shop::{Calibration, Gauge, Shop, StatedDoubt, Wrench};

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
}

impl Shop {
    /// The gauges and wrenches as they are described, the gauges first.
    pub fn instruments(&self) -> impl Iterator<Item = Instrument<'_>> {
        self.gauges.iter().map(Instrument::Gauge).chain(self.wrenches.iter().map(Instrument::Wrench))
    }
}
