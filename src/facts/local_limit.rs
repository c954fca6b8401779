//! The local limits: what a survey shows within each stretch of the length that the limit holds over.

use super::proof::band;
use super::survey::{ReadStation, SurveyReadings, minus};
use super::survey_doubt::ReadingsDoubt;
use super::survey_limits::local_limit;
use crate::calc::exact::Ratio;
use crate::calc::local::{MOST_LOOKED_AT, WorstStretch, each_zone, is_dense, worst_difference, worst_zone};
use crate::calc::uncertainty::{GuardBand, Uncertainty};
use crate::language::rulebook::Rulebook;
use crate::ledger::{Ledger, SurveyKind};
use crate::quantity::Length;

/// What a survey shows within each stretch of a length.
#[derive(Clone, Copy, Debug)]
pub(crate) struct LocalSurvey<'l> {
    /// The worst stretch of those that were looked at; nothing where no two stations lie so near.
    pub worst: Option<LocalWorst<'l>>,
    /// Why something may have been passed over. The worst may show a break then, and clears none.
    pub passed_over: Option<UnseenStretch>,
}

/// Why a survey does not show every stretch.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum UnseenStretch {
    /// Its stations lie farther apart than half of the length.
    BetweenStations,
    /// There were too many to look at, or their numbers are beyond reckoning.
    Stretches,
}

impl UnseenStretch {
    /// As it is said of a survey that is not judged.
    pub(crate) const fn words(self) -> &'static str {
        match self {
            UnseenStretch::BetweenStations => "stations lie farther apart than half the length of its limit",
            UnseenStretch::Stretches => {
                "not every stretch can be looked at: it has too many stations, or too large numbers"
            }
        }
    }
}

impl LocalSurvey<'_> {
    /// Whether every stretch lies within a limit.
    pub(crate) fn is_within(&self, most: Ratio) -> bool {
        self.passed_over.is_none() && self.worst.is_some_and(|worst| worst.width <= most)
    }
}

/// The worst stretch of a survey.
#[derive(Clone, Copy, Debug)]
pub(crate) struct LocalWorst<'l> {
    /// In nm.
    pub width: Ratio,
    /// The two stations that differ most; of a straightness the first and the last of the window.
    pub ends: [ReadStation<'l>; 2],
}

/// What a survey shows within each stretch of a length.
pub(crate) fn look_within<'l>(readings: &SurveyReadings<'l>, over: Length) -> LocalSurvey<'l> {
    let beyond_reckoning = LocalSurvey { worst: None, passed_over: Some(UnseenStretch::Stretches) };
    let Some((survey, scale)) = readings.survey() else { return beyond_reckoning };
    let found = match readings.kind() {
        SurveyKind::Straightness => worst_zone(&survey, over.nm()),
        SurveyKind::Gap | SurveyKind::Height => worst_difference(&survey, over.nm()),
    };
    let told = |worst: WorstStretch| {
        Some(LocalWorst {
            width: worst.width.over(scale)?,
            ends: worst.ends.map(|station| readings.stations[station.number]),
        })
    };
    let worst = found.worst.and_then(told);
    let passed_over = match () {
        () if !is_dense(&survey, over.nm()) => Some(UnseenStretch::BetweenStations),
        () if !found.is_whole || found.worst.is_some() && worst.is_none() => Some(UnseenStretch::Stretches),
        // A single station.
        () if worst.is_none() => Some(UnseenStretch::BetweenStations),
        () => None,
    };
    LocalSurvey { worst, passed_over }
}

/// The local limit that is in force, and what a survey shows by it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct HeldLocally<'l> {
    pub most: Length,
    pub over: Length,
    pub seen: LocalSurvey<'l>,
}

/// A survey held against the local limit of what it read; nothing where none is stated.
pub(crate) fn held_locally<'l>(rulebook: &Rulebook, readings: &SurveyReadings<'l>) -> Option<HeldLocally<'l>> {
    let (most, limit) = rulebook.most::<Length>(local_limit(readings.kind()))?;
    let over = limit.over()?;
    Some(HeldLocally { most, over, seen: look_within(readings, over) })
}

/// The stretch of a survey that is the least sure to be within a limit.
#[derive(Clone, Copy, Debug)]
pub(crate) struct LeastSure<'l> {
    /// In nm.
    pub width: Ratio,
    /// As those of [`LocalWorst`].
    pub ends: [ReadStation<'l>; 2],
    pub uncertainty: Uncertainty,
    pub guard: GuardBand,
}

impl LeastSure<'_> {
    /// How far it may reach.
    fn reach(&self) -> Option<Ratio> {
        self.width.plus(Ratio::whole(self.guard.width().into()))
    }
}

/// The stretch whose width and guard band together are the greatest, the first of equals. Nothing where not all could be looked at,
/// or a gauge's graduation or error is not known.
pub(crate) fn least_sure<'l>(
    ledger: &'l Ledger,
    rulebook: &Rulebook,
    readings: &SurveyReadings<'l>,
    over: Length,
) -> Option<LeastSure<'l>> {
    let mut worst: Option<LeastSure> = None;
    let mut take = |width: Ratio, ends: [ReadStation<'l>; 2], uncertainty: Uncertainty| {
        let found = LeastSure { width, ends, uncertainty, guard: band(rulebook, uncertainty) };
        if worst.as_ref().is_none_or(|worst| found.reach() > worst.reach()) {
            worst = Some(found);
        }
    };
    let doubt = ReadingsDoubt::new(ledger, rulebook, readings);
    match readings.kind() {
        SurveyKind::Straightness => {
            let (survey, scale) = readings.survey()?;
            let mut all_told = true;
            let is_whole = each_zone(&survey, over.nm(), |zone, ends| {
                let told = || {
                    let found = ends.map(|station| readings.stations[station.number]);
                    Some((zone.width.over(scale)?, found, doubt.of_zone(zone, ends.map(|station| station.number))?))
                };
                match told() {
                    Some((width, ends, uncertainty)) => take(width, ends, uncertainty),
                    None => all_told = false,
                }
            });
            (is_whole && all_told).then_some(())?;
        }
        SurveyKind::Gap | SurveyKind::Height => {
            let mut looked_at = 0;
            for (n, one) in readings.stations.iter().enumerate() {
                let near = |other: &&ReadStation| other.row.told_at() - one.row.told_at() <= over;
                for other in readings.stations[n + 1..].iter().take_while(near) {
                    looked_at += 1;
                    if looked_at > MOST_LOOKED_AT / 10 {
                        return None;
                    }
                    let uncertainty = doubt.of_pair([one, other])?;
                    take(minus(one.value, other.value).abs(), [*one, *other], uncertainty);
                }
            }
        }
    }
    worst
}
