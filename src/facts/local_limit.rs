//! The local limits: what a survey shows within each stretch of the length that the limit holds over.

use super::survey::{ReadStation, SurveyReadings};
use crate::calc::exact::Ratio;
use crate::calc::local::{is_dense, worst_difference, worst_zone};
use crate::language::rulebook::LimitName;
use crate::ledger::SurveyKind;
use crate::quantity::Length;

/// The local limit of what a kind of survey reads.
pub(crate) const fn local_limit(kind: SurveyKind) -> LimitName {
    match kind {
        SurveyKind::Gap => LimitName::GapLocal,
        SurveyKind::Straightness => LimitName::StraightnessLocal,
        SurveyKind::Height => LimitName::HeightLocal,
    }
}

/// The worst stretch of a survey.
#[derive(Clone, Copy, Debug)]
pub(crate) struct LocalWorst<'l> {
    /// In nm.
    pub width: Ratio,
    /// The two stations that differ most; of a straightness the first and the last of the window.
    pub ends: [ReadStation<'l>; 2],
    /// Its stations lie close enough that nothing is passed over. Where they do not, it may show a break, and clears none.
    pub is_dense: bool,
}

/// The worst stretch no longer than a length; nothing where no two stations lie so near, or the numbers are beyond reckoning.
pub(crate) fn worst<'l>(readings: &SurveyReadings<'l>, over: Length) -> Option<LocalWorst<'l>> {
    let (survey, scale) = readings.survey()?;
    let worst = match readings.kind() {
        SurveyKind::Straightness => worst_zone(&survey, over.nm()),
        SurveyKind::Gap | SurveyKind::Height => worst_difference(&survey, over.nm()),
    }?;
    let width = Ratio::new(worst.width.numerator(), worst.width.denominator().checked_mul(scale)?)?;
    let at = |nm: i64| readings.stations.iter().find(|station| station.row.position.nm() == nm).copied();
    let [from, to] = worst.ends.map(|station| at(station.position_nm));
    Some(LocalWorst { width, ends: [from?, to?], is_dense: is_dense(&survey, over.nm()) })
}
