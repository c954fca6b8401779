//! Whether the range of a survey is proven: the two stations that stand out, with the guard band of their difference.

use std::collections::BTreeMap;

use super::proof::band;
use super::survey::{ReadStation, SurveyReadings, length, minus};
use super::survey_doubt::ReadingsDoubt;
use crate::calc::uncertainty::{GuardBand, Uncertainty};
use crate::language::rulebook::Rulebook;
use crate::ledger::Ledger;
use crate::quantity::Length;

/// Two stations of a survey, and how sure their difference is.
#[derive(Clone, Copy, Debug)]
pub(crate) struct SurePair<'l> {
    pub less: ReadStation<'l>,
    pub more: ReadStation<'l>,
    pub difference: Length,
    pub uncertainty: Uncertainty,
    pub guard: GuardBand,
}

/// The two stations whose difference and guard band together are the greatest. Where each station was read equally often
/// they are the least and the greatest; one that was read less often may lie nearer and be less sure. Nothing where only
/// one station was read, or a gauge's graduation or error is not known.
pub(crate) fn widest_pair<'l>(
    ledger: &'l Ledger,
    readings: &SurveyReadings<'l>,
    rulebook: &Rulebook,
) -> Option<SurePair<'l>> {
    if readings.stations.len() < 2 {
        return None;
    }
    // By the survey they were read in, and how often: the least and the greatest.
    let mut ends: BTreeMap<(usize, usize), (ReadStation, ReadStation)> = BTreeMap::new();
    for station in &readings.stations {
        let of = (station.record, station.times);
        let (least, greatest) = ends.entry(of).or_insert((*station, *station));
        if station.value < least.value {
            *least = *station;
        } else if station.value > greatest.value {
            *greatest = *station;
        }
    }
    let doubt = ReadingsDoubt::new(ledger, rulebook, readings);
    let mut widest: Option<SurePair> = None;
    for (least, _) in ends.values() {
        for (_, greatest) in ends.values() {
            // A station alone in its class is no pair with itself.
            if least.row.position == greatest.row.position {
                continue;
            }
            let uncertainty = doubt.of_pair([least, greatest])?;
            let guard = band(rulebook, uncertainty);
            let difference = length(minus(greatest.value, least.value));
            let reach = |pair: &SurePair| i128::from(pair.difference.nm()) + i128::from(pair.guard.width());
            let pair = SurePair { less: *least, more: *greatest, difference, uncertainty, guard };
            if widest.is_none_or(|widest| reach(&pair) > reach(&widest)) {
                widest = Some(pair);
            }
        }
    }
    // All stations read alike and equally often: any two of them.
    widest.or_else(|| {
        let (less, more) = (readings.stations[0], readings.stations[1]);
        let uncertainty = doubt.of_pair([&less, &more])?;
        let guard = band(rulebook, uncertainty);
        Some(SurePair { less, more, difference: Length::ZERO, uncertainty, guard })
    })
}
