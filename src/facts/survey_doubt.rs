//! How sure a survey is beside its gauge: how far it may have drifted before its closure tells, and what a tie adds.
//!
//! What all readings of a survey share (the gauge's error, the drift) is never averaged by a tie; only the scatter of the
//! single readings is.

use super::proof::{GaugeCertainty, short_travel_error};
use super::survey::{ReadStation, SurveyReadings, survey_at};
use crate::calc::straightness::{Zone, contacts};
use crate::calc::uncertainty::{Uncertainty, Variance};
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
    /// How far the readings of its gauge scatter, as the shop states it.
    Repeatability,
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

/// How far a survey may be open: as stated, else the greatest of one graduation of its gauge, that gauge's repeatability and a
/// tenth of the limit of what it reads. Nothing where none is known.
pub(crate) fn closure_limit(ledger: &Ledger, rulebook: &Rulebook, survey: &Survey) -> Option<ClosureLimit> {
    if let Some((most, _)) = rulebook.most::<Length>(LimitName::SurveyClosure) {
        return Some(ClosureLimit { most, basis: ClosureBasis::Stated });
    }
    let gauge = gauge(ledger, survey);
    let graduation = gauge.and_then(|gauge| gauge.graduation);
    let graduation = graduation.map(|it| ClosureLimit { most: it.value, basis: ClosureBasis::Graduation });
    let scatter = gauge.and_then(|gauge| gauge.repeatability);
    let scatter = scatter.map(|it| ClosureLimit { most: it.value, basis: ClosureBasis::Repeatability });
    let limit = limit_of(kind(survey));
    let tenth = rulebook.most::<Length>(limit).map(|(most, _)| Length(most.nm() / 10));
    let tenth = tenth.map(|most| ClosureLimit { most, basis: ClosureBasis::Tenth(limit) });
    // Of equals the graduation.
    tenth.into_iter().chain(scatter).chain(graduation).max_by_key(|it| it.most)
}

/// What a closure within its limit leaves unknown: half of the limit, which it is known to lie within either way.
pub(crate) fn of_closure(ledger: &Ledger, rulebook: &Rulebook, survey: &Survey) -> Variance {
    let limit = closure_limit(ledger, rulebook, survey);
    limit.map_or(Variance::default(), |limit| Variance::permissible_error((limit.most.nm().max(0) + 1) / 2))
}

/// How sure the gauge of a survey is; nothing where its graduation or error is not known.
fn certainty(ledger: &Ledger, survey: &Survey) -> Option<GaugeCertainty> {
    GaugeCertainty::new(ledger, gauge(ledger, survey)?, kind(survey).into())
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
        let closure = of_closure(ledger, rulebook, survey);
        if let Some(sure) = certainty(ledger, survey) {
            return Doubt { shared: sure.off().and(closure), reading: sure.reading() };
        }
        let gauge = gauge(ledger, survey);
        let error = gauge.and_then(short_travel_error).map(|(error, _)| Variance::permissible_error(error.nm()));
        let graduation = gauge.and_then(|gauge| gauge.graduation);
        Doubt {
            shared: error.unwrap_or_default().and(closure),
            reading: graduation.map_or(Variance::default(), |graduation| Variance::resolution(graduation.nm())),
        }
    }
}

/// How sure the difference of two stations is: by the less sure of the two surveys that they were read in, with half of what a
/// closure may be, and the ties where those are two. Nothing where a gauge's graduation or error is not known.
pub(crate) fn of_pair(
    ledger: &Ledger,
    rulebook: &Rulebook,
    readings: &SurveyReadings,
    [a, b]: [&ReadStation; 2],
) -> Option<Uncertainty> {
    let (first, second) = (a.times, b.times);
    let of = |station: &ReadStation| {
        let survey = survey_at(ledger, station.record)?;
        let closure = Uncertainty::known(of_closure(ledger, rulebook, survey));
        Some(certainty(ledger, survey)?.of_difference(first, second).and_alike(closure))
    };
    let less_sure = if a.record == b.record { of(a)? } else { surest_last(of(a)?, of(b)?) };
    Some(less_sure.and_alike(Uncertainty::known(readings.tie_between(a, b))))
}

fn surest_last(a: Uncertainty, b: Uncertainty) -> Uncertainty {
    if b.expanded() > a.expanded() { b } else { a }
}

/// How sure a survey's range is.
pub(crate) fn of_range(ledger: &Ledger, rulebook: &Rulebook, readings: &SurveyReadings) -> Option<Uncertainty> {
    of_pair(ledger, rulebook, readings, [&readings.least, &readings.greatest])
}

/// How sure the width of a minimum zone is, from its three contact points: u²(1 + a² + (1 − a)²) with the lever a of the
/// station across, half of what a closure may be in each, and the ties where the three were not read in one survey. Nothing
/// where a gauge's graduation or error is not known.
pub(crate) fn of_zone(
    ledger: &Ledger,
    rulebook: &Rulebook,
    readings: &SurveyReadings,
    zone: &Zone,
) -> Option<Uncertainty> {
    let contacts = contacts(zone)?;
    let at = |nm: i64| readings.stations.iter().find(|station| station.row.position.nm() == nm);
    let [far, from, to] = contacts.map(|(station, _)| at(station.position_nm));
    let stations = [far?, from?, to?];
    let shares = [0, 1, 2].map(|index| (contacts[index].1, stations[index].times));
    let mut all = Uncertainty::default();
    for station in stations {
        let survey = survey_at(ledger, station.record)?;
        let closure = of_closure(ledger, rulebook, survey);
        let drift = shares.iter().fold(Variance::default(), |sum, (share, _)| sum.and(closure.weighed(*share)));
        let of_it = certainty(ledger, survey)?.of_zone(shares).and_alike(Uncertainty::known(drift));
        all = surest_last(all, of_it);
    }
    // A line that is taken off all three changes no straightness.
    let one = stations.iter().all(|station| station.record == stations[0].record);
    if !one {
        let tied = stations.iter().zip(shares).fold(Variance::default(), |sum, (station, (share, _))| {
            sum.and(readings.tie_variance(station).weighed(share))
        });
        all = all.and_alike(Uncertainty::known(tied));
    }
    Some(all)
}
