//! The local limits: what a survey shows within each stretch of the length that the limit holds over.

use super::survey::{ReadStation, SurveyReadings};
use crate::calc::exact::Ratio;
use crate::calc::local::{WorstStretch, is_dense, worst_difference, worst_zone};
use crate::ledger::SurveyKind;
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
    let at = |nm: i64| readings.stations.iter().find(|station| station.row.position.nm() == nm).copied();
    let told = |worst: WorstStretch| {
        let width = Ratio::new(worst.width.numerator(), worst.width.denominator().checked_mul(scale)?)?;
        let [from, to] = worst.ends.map(|station| at(station.position_nm));
        Some(LocalWorst { width, ends: [from?, to?] })
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
