//! Which instruments are right for a job on a day: suited for it, and in calibration.

use jiff::civil::Date;

use crate::facts::torque_window::window;
use crate::language::rulebook::Rulebook;
use crate::ledger::{Against, GaugedQuantity, Instrument, Interface, RailId, Shop, Stage};
use crate::rules::Case;

/// An instrument with what speaks against it, if anything does.
pub(super) struct OfferedInstrument<'l> {
    pub instrument: Instrument<'l>,
    pub against: Option<String>,
}

/// Gauges, those that nothing speaks against first.
pub(super) fn gauges<'l>(
    shop: &'l Shop,
    limits: &Rulebook,
    reads: &[GaugedQuantity],
    day: Date,
) -> Vec<OfferedInstrument<'l>> {
    let offer = |gauge: &'l crate::ledger::Gauge| {
        let unsuited = (!reads.is_empty() && !reads.iter().any(|it| it.suits(gauge)))
            .then(|| "not suited for this reading".to_owned());
        let instrument = Instrument::Gauge(gauge);
        OfferedInstrument { instrument, against: unsuited.or_else(|| uncalibrated(limits, instrument, day)) }
    };
    best_first(shop.gauges.iter().map(offer).collect())
}

/// Wrenches, those that nothing speaks against first. One that cannot be set to, or show, the torques of a stage is not
/// suited for it.
pub(super) fn wrenches<'l>(
    case: &Case<'l>,
    job: Option<(RailId, Interface, Stage)>,
    day: Date,
) -> Vec<OfferedInstrument<'l>> {
    let limits = job.map_or(case.rulebook, |(id, ..)| case.limits(id.axis));
    let torques = job.and_then(|(id, interface, stage)| {
        let (least, most, _) = window(case.ledger, limits, id, interface, stage)?;
        Some((least, most))
    });
    let offer = |wrench: &'l crate::ledger::Wrench| {
        let beyond = torques.is_some_and(|(least, most)| {
            wrench.most.is_some_and(|up_to| *up_to < most) || wrench.least.is_some_and(|from| *from > least)
        });
        let unsuited = beyond.then(|| "its range does not hold the torques of this stage".to_owned());
        let instrument = Instrument::Wrench(wrench);
        OfferedInstrument { instrument, against: unsuited.or_else(|| uncalibrated(limits, instrument, day)) }
    };
    best_first(case.ledger.shop.wrenches.iter().map(offer).collect())
}

/// What speaks against an instrument on a day: a doubt, or that no calibration holds.
fn uncalibrated(limits: &Rulebook, instrument: Instrument, day: Date) -> Option<String> {
    let why = || instrument.in_doubt(day).next().map_or(format!("no calibration that holds on {day}"), Against::words);
    (!instrument.held_on(day, limits)).then(why)
}

fn best_first(mut all: Vec<OfferedInstrument>) -> Vec<OfferedInstrument> {
    all.sort_by_key(|it| it.against.is_some());
    all
}
