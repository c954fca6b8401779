//! How sure a survey is beside its gauge: how far it may have drifted before its closure tells, and what a tie adds.
//!
//! What all readings of a survey share (the gauge's error, the drift) is never averaged by a tie; only the scatter of the
//! single readings is.

use super::proof::{of_difference, short_travel_error};
use super::survey::{ReadStation, SurveyReadings, survey_at};
use crate::calc::exact::Ratio;
use crate::calc::straightness::Zone;
use crate::calc::uncertainty::Variance;
use crate::language::rulebook::{LimitName, Rulebook};
use crate::ledger::{Gauge, Ledger, Survey, SurveyKind};
use crate::quantity::Length;

/// How far a survey may be open at its closure, and what that rests on.
#[derive(Clone, Copy, Debug)]
pub(crate) struct ClosureLimit {
    pub most: Length,
    pub basis: ClosureBasis,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum ClosureBasis {
    /// The shop or the machine states it.
    Stated,
    Graduation,
    /// A tenth of the limit of what is surveyed.
    Tenth(LimitName),
}

/// The limit of what a kind of survey reads.
pub(crate) const fn limit_of(kind: SurveyKind) -> LimitName {
    match kind {
        SurveyKind::Gap => LimitName::GapRange,
        SurveyKind::Straightness => LimitName::Straightness,
        SurveyKind::Height => LimitName::HeightRange,
    }
}

fn gauge<'l>(ledger: &'l Ledger, survey: &Survey) -> Option<&'l Gauge> {
    ledger.shop.gauge(survey.gauge.as_ref()?)
}

fn kind(survey: &Survey) -> SurveyKind {
    survey.kind.map_or(SurveyKind::Gap, |kind| kind.value)
}

/// How far a survey may be open: as stated, else the greatest of one graduation of its gauge and a tenth of the limit of what
/// it reads. Nothing where neither is known.
pub(crate) fn closure_limit(ledger: &Ledger, rulebook: &Rulebook, survey: &Survey) -> Option<ClosureLimit> {
    if let Some((most, _)) = rulebook.most::<Length>(LimitName::SurveyClosure) {
        return Some(ClosureLimit { most, basis: ClosureBasis::Stated });
    }
    let graduation = gauge(ledger, survey).and_then(|gauge| gauge.graduation);
    let graduation = graduation.map(|it| ClosureLimit { most: it.value, basis: ClosureBasis::Graduation });
    let limit = limit_of(kind(survey));
    let tenth = rulebook.most::<Length>(limit).map(|(most, _)| Length(most.nm() / 10));
    let tenth = tenth.map(|most| ClosureLimit { most, basis: ClosureBasis::Tenth(limit) });
    // Of equals the graduation.
    tenth.into_iter().chain(graduation).max_by_key(|it| it.most)
}

/// What a closure within its limit leaves unknown: half of the limit, which it is known to lie within either way.
pub(crate) fn of_closure(ledger: &Ledger, rulebook: &Rulebook, survey: &Survey) -> Variance {
    let limit = closure_limit(ledger, rulebook, survey);
    limit.map_or(Variance::default(), |limit| Variance::permissible_error((limit.most.nm().max(0) + 1) / 2))
}

/// The variance of a difference of two readings of one survey; nothing where the gauge's graduation or error is not known.
pub(crate) fn of_survey(ledger: &Ledger, rulebook: &Rulebook, survey: &Survey) -> Option<Variance> {
    Some(of_difference(gauge(ledger, survey)?)?.and(of_closure(ledger, rulebook, survey)))
}

/// What is known of a survey's readings, however little.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Doubt {
    /// What they share: the gauge's error and the drift.
    pub shared: Variance,
    /// What each has by itself.
    pub reading: Variance,
}

impl Doubt {
    /// What is not stated is left out: two surveys then have to agree the better before one is tied to the other.
    pub(crate) fn for_survey(ledger: &Ledger, rulebook: &Rulebook, survey: &Survey) -> Doubt {
        let gauge = gauge(ledger, survey);
        let error = gauge.and_then(short_travel_error).map(|(error, _)| Variance::permissible_error(error.nm()));
        let graduation = gauge.and_then(|gauge| gauge.graduation);
        Doubt {
            shared: error.unwrap_or_default().and(of_closure(ledger, rulebook, survey)),
            reading: graduation.map_or(Variance::default(), |graduation| Variance::resolution(graduation.nm())),
        }
    }

    /// Nothing where the gauge's graduation or error is not known.
    fn known(ledger: &Ledger, rulebook: &Rulebook, survey: &Survey) -> Option<Doubt> {
        of_difference(gauge(ledger, survey)?)?;
        Some(Doubt::for_survey(ledger, rulebook, survey))
    }
}

/// The variance of a survey's range: of the less sure of the two surveys that its ends were read in, and of the ties where
/// those are two. Nothing where a gauge's graduation or error is not known.
pub(crate) fn of_range(ledger: &Ledger, rulebook: &Rulebook, readings: &SurveyReadings) -> Option<Variance> {
    let (a, b) = (&readings.least, &readings.greatest);
    let of = |station: &ReadStation| of_survey(ledger, rulebook, survey_at(ledger, station.record)?);
    Some(of(a)?.max(of(b)?).and(readings.tie_between(a, b)))
}

/// The variance of the width of a minimum zone from its three contact points: u²(1 + a² + (1 − a)²) with the lever a of the
/// station across, and the ties where the three were not read in one survey. Nothing where the gauge is not known.
pub(crate) fn of_zone(
    ledger: &Ledger,
    rulebook: &Rulebook,
    readings: &SurveyReadings,
    zone: &Zone,
) -> Option<Variance> {
    let share = zone.variance_share()?;
    let lever = zone.lever()?;
    let at = |nm: i64| readings.stations.iter().find(|station| station.row.position.nm() == nm);
    let (from, to, across) = (at(zone.line.0.position_nm)?, at(zone.line.1.position_nm)?, at(zone.across.position_nm)?);
    let mut all = Variance::default();
    for station in [from, to, across] {
        let doubt = Doubt::known(ledger, rulebook, survey_at(ledger, station.record)?)?;
        all = all.max(doubt.shared.and(doubt.reading));
    }
    let mut variance = all.times(share);
    // A line that is taken off all three changes no straightness.
    let one = from.record == to.record && to.record == across.record;
    if !one {
        let square = |of: i128| Ratio::new(of.checked_mul(of)?, lever.denominator().checked_mul(lever.denominator())?);
        let (a, rest) = (square(lever.numerator())?, square(lever.denominator() - lever.numerator())?);
        variance = variance
            .and(readings.tie_variance(across))
            .and(readings.tie_variance(to).times(a))
            .and(readings.tie_variance(from).times(rest));
    }
    Some(variance)
}
