//! What a survey shows within each stretch of a length: the largest difference of two stations no farther apart, and the
//! straightness of each window. Exact.
//!
//! Only stations are looked at. Between them nothing is known, so that they have to lie close enough: no farther apart than half
//! the length, which leaves three of them in every window.

use std::collections::VecDeque;

use super::exact::Ratio;
use super::straightness::{Zone, minimum_zone};
use super::survey::{SurveyLine, SurveyStation};

/// The worst stretch of a survey.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct WorstStretch {
    /// Along the reading, in the unit of the readings.
    pub width: Ratio,
    /// Its first and its last station.
    pub ends: [SurveyStation; 2],
}

/// What was found of a survey's stretches.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct StretchSearch {
    /// The worst of those that were looked at; `None` where no two stations lie so near.
    pub worst: Option<WorstStretch>,
    /// Every stretch was looked at. Where that is not so, the worst may still show a break, and clears none.
    pub is_whole: bool,
}

/// Windows are looked at until they have had so many stations, all together.
pub(crate) const MOST_LOOKED_AT: usize = 2_000_000;

/// Whether neighbours lie no farther apart than half of the length.
pub(crate) fn is_dense(survey: &SurveyLine, over_nm: i64) -> bool {
    let near = |pair: &[SurveyStation]| 2 * (i128::from(pair[1].position_nm) - i128::from(pair[0].position_nm));
    survey.stations().windows(2).all(|pair| near(pair) <= i128::from(over_nm))
}

/// The two stations no farther apart than the length that differ most, the first of equals.
///
/// Goes along once: of the stations behind only those are kept that may still be the least or the greatest of a window.
pub(crate) fn worst_difference(survey: &SurveyLine, over_nm: i64) -> StretchSearch {
    let mut worst: Option<(i128, [SurveyStation; 2])> = None;
    let mut behind: [VecDeque<SurveyStation>; 2] = Default::default();
    for &here in survey.stations() {
        let apart = |other: &SurveyStation| i128::from(here.position_nm) - i128::from(other.position_nm);
        for (kept, sign) in behind.iter_mut().zip([1, -1]) {
            while kept.front().is_some_and(|first| apart(first) > i128::from(over_nm)) {
                kept.pop_front();
            }
            // How far it lies beyond the other, whichever way.
            let off = |other: &SurveyStation| sign * (i128::from(here.reading_nm) - i128::from(other.reading_nm));
            if let Some(first) = kept.front()
                && worst.is_none_or(|(most, _)| off(first) > most)
            {
                worst = Some((off(first), [*first, here]));
            }
            while kept.back().is_some_and(|last| off(last) <= 0) {
                kept.pop_back();
            }
            kept.push_back(here);
        }
    }
    let worst = worst.map(|(width, ends)| WorstStretch { width: Ratio::whole(width.max(0)), ends });
    StretchSearch { worst, is_whole: true }
}

/// The window no longer than the length whose minimum zone (ISO 12780-1) is the widest, the first of equals. Not whole where there
/// is too much to look at, or the zone of a window is beyond reckoning.
pub(crate) fn worst_zone(survey: &SurveyLine, over_nm: i64) -> StretchSearch {
    let mut worst: Option<WorstStretch> = None;
    let is_whole = each_zone(survey, over_nm, |zone, ends| {
        if worst.is_none_or(|worst| zone.width > worst.width) {
            worst = Some(WorstStretch { width: zone.width, ends });
        }
    });
    StretchSearch { worst, is_whole }
}

/// Hands on the minimum zone of each window no longer than the length that lies within no other one, with its first and its last
/// station. Whether all were looked at: not where there is too much to look at, or the zone of a window is beyond reckoning.
pub(crate) fn each_zone(survey: &SurveyLine, over_nm: i64, mut take: impl FnMut(&Zone, [SurveyStation; 2])) -> bool {
    let stations = survey.stations();
    let mut is_whole = true;
    let (mut seen, mut looked_at) = (0, 0);
    for (from, first) in stations.iter().enumerate() {
        let reach = i128::from(first.position_nm) + i128::from(over_nm);
        let to = stations.partition_point(|station| i128::from(station.position_nm) <= reach);
        // A window within the one before is no straighter than that, and one place has no straightness.
        if to == seen || stations[to - 1].position_nm == first.position_nm {
            continue;
        }
        seen = to;
        looked_at += to - from;
        if looked_at > MOST_LOOKED_AT {
            return false;
        }
        let Some(zone) = SurveyLine::new(stations[from..to].to_vec()).ok().and_then(|line| minimum_zone(&line)) else {
            is_whole = false;
            continue;
        };
        take(&zone, [stations[from], stations[to - 1]]);
    }
    is_whole
}
