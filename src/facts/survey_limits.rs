//! The limits of what a kind of survey reads: the one over the whole rail, and the local one. Who asks whether something is
//! limited, or how narrowly, asks here, so that neither is passed over.

use crate::language::rulebook::{InForce, LimitName, Rulebook};
use crate::ledger::SurveyKind;
use crate::quantity::Length;

/// The limit over the whole rail.
pub(crate) const fn range_limit(kind: SurveyKind) -> LimitName {
    match kind {
        SurveyKind::Gap => LimitName::GapRange,
        SurveyKind::Straightness => LimitName::Straightness,
        SurveyKind::Height => LimitName::HeightRange,
    }
}

/// The limit within each stretch of a length.
pub(crate) const fn local_limit(kind: SurveyKind) -> LimitName {
    match kind {
        SurveyKind::Gap => LimitName::GapLocal,
        SurveyKind::Straightness => LimitName::StraightnessLocal,
        SurveyKind::Height => LimitName::HeightLocal,
    }
}

/// A limit in force of what a kind of survey reads.
#[derive(Clone, Copy, Debug)]
pub(crate) struct SurveyLimit<'r> {
    pub most: Length,
    pub name: LimitName,
    pub limit: InForce<'r>,
}

/// Those in force, by default or as stated; the one over the whole rail first.
pub(crate) fn survey_limits(rulebook: &Rulebook, kind: SurveyKind) -> impl Iterator<Item = SurveyLimit<'_>> {
    let named = [range_limit(kind), local_limit(kind)].into_iter();
    named.filter_map(|name| rulebook.most(name).map(|(most, limit)| SurveyLimit { most, name, limit }))
}

/// Whether what a kind of survey reads is limited at all.
pub(crate) fn is_limited(rulebook: &Rulebook, kind: SurveyKind) -> bool {
    survey_limits(rulebook, kind).next().is_some()
}

/// The narrowest of them, which says how finely must be read; of equals the one over the whole rail.
pub(crate) fn narrowest(rulebook: &Rulebook, kind: SurveyKind) -> Option<SurveyLimit<'_>> {
    survey_limits(rulebook, kind).min_by_key(|it| it.most)
}
