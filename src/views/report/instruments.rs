//! The gauges and wrenches that records name, with their calibration at every use.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::gather::{ReportBuilder, text};
use super::model::{DoubtReport, InstrumentReport};
use crate::ledger::{Body, Calibration, Keyword, Record, Spanned, StatedDoubt};
use crate::quantity::{Angle, Force, Length, Ratio};

/// The instrument a record was made with: whether it is a wrench, and its name.
pub(super) fn instrument(record: &Record) -> Option<(bool, &str)> {
    record.instrument().map(|name| (matches!(record.body, Body::Fasten(_)), name.as_str()))
}

impl ReportBuilder<'_> {
    /// All that counting records name, gauges first, by name.
    pub(super) fn instruments(&self) -> Vec<InstrumentReport> {
        let mut uses: BTreeMap<(bool, &str), Vec<Option<Date>>> = BTreeMap::new();
        for (_, record) in self.case.in_order() {
            if let Some(used) = instrument(record) {
                uses.entry(used).or_default().push(record.date.map(|date| date.date));
            }
        }
        let doubtful = self.case.doubtful_days();
        let of = |(wrench, name): (bool, &str), days: Vec<Option<Date>>| {
            let doubtful = doubtful.get(&(wrench, name)).map_or(&[][..], Vec::as_slice);
            self.instrument(wrench, name, &days, doubtful)
        };
        uses.into_iter().map(|(name, days)| of(name, days)).collect()
    }

    fn instrument(&self, wrench: bool, name: &str, days: &[Option<Date>], doubtful: &[Date]) -> InstrumentReport {
        let shop = &self.case.ledger.shop;
        let none: &[Calibration] = &[];
        let percent = |share: Ratio| format!("{} %", share.percent());
        let (kind, graduation, error, calibrations, doubts, known) = if wrench {
            let it = shop.wrench(name);
            (
                it.and_then(|it| it.kind).map(|kind| kind.word().to_string()),
                it.and_then(|it| it.graduation).map(|graduation| graduation.to_string()),
                it.and_then(|it| it.permissible_error).map(|error| percent(*error)),
                it.map_or(none, |it| &it.calibrations),
                it.map_or(&[][..], |it| &it.doubts),
                it.is_some(),
            )
        } else {
            let it = shop.gauge(name);
            (
                it.and_then(|it| text(&it.kind)),
                it.and_then(|it| either(it.graduation, it.forces.graduation, it.angles.graduation)),
                it.and_then(|it| {
                    either(it.permissible_error, it.forces.permissible_error, it.angles.permissible_error)
                }),
                it.map_or(none, |it| &it.calibrations),
                it.map_or(&[][..], |it| &it.doubts),
                it.is_some(),
            )
        };
        let latest = calibrations.iter().max_by_key(|calibration| *calibration.on);
        // Until when it may be used: by today's limits, whatever an axis was released under.
        let due = latest.and_then(|latest| latest.last_day(&self.case.ledger.rulebook));
        let mut uncalibrated: Vec<String> = doubtful.iter().map(Date::to_string).collect();
        uncalibrated.dedup();
        let known_days = days.iter().flatten();
        InstrumentReport {
            name: name.to_string(),
            what: if wrench { "wrench" } else { "gauge" },
            kind,
            known,
            graduation,
            permissible_error: error,
            uses: days.len(),
            first_use: known_days.clone().min().map(|day| day.to_string()),
            last_use: known_days.max().map(|day| day.to_string()),
            calibrated: latest.map(|latest| latest.on.to_string()),
            certificate: latest.and_then(|latest| text(&latest.certificate)),
            laboratory: latest.and_then(|latest| text(&latest.laboratory)),
            uncalibrated_uses: uncalibrated,
            doubts: doubts.iter().map(doubt_report).collect(),
            standing: due.map(|due| self.urgency(due)),
            due: due.map(|due| due.to_string()),
        }
    }
}

fn doubt_report(doubt: &StatedDoubt) -> DoubtReport {
    DoubtReport {
        from: doubt.from.to_string(),
        to: doubt.to.map(|to| to.to_string()),
        error: doubt.error.map(|error| error.to_string()),
        said: doubt.said.to_string(),
        taken_back: doubt.void.as_ref().map(|void| void.to_string()),
    }
}

/// A figure of a gauge: a length, or a force.
fn either(
    length: Option<Spanned<Length>>,
    force: Option<Spanned<Force>>,
    angle: Option<Spanned<Angle>>,
) -> Option<String> {
    let other = || force.map(|force| force.to_string()).or_else(|| angle.map(|angle| angle.to_string()));
    length.map(|length| length.to_string()).or_else(other)
}
