//! How sure a survey is beside its gauge: how far it may have drifted before its closure tells, and what a tie adds.
//!
//! What all readings of a survey share (the gauge's error, the drift) is never averaged by a tie; only the scatter of the
//! single readings is.

use super::joined_doubt::JoinedDoubt;
use super::proof::{GaugeCertainty, short_travel_error};
use super::survey::{ReadStation, SurveyReadings, survey_at};
use super::survey_limits::narrowest;
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
    /// A tenth of the narrowest limit of what is surveyed.
    Tenth(LimitName),
}

fn gauge<'l>(ledger: &'l Ledger, survey: &Survey) -> Option<&'l Gauge> {
    ledger.shop.gauge(survey.gauge.as_ref()?)
}

fn kind(survey: &Survey) -> SurveyKind {
    survey.kind.map_or(SurveyKind::Gap, |kind| kind.value)
}

impl ClosureLimit {
    /// As printed, and what it is derived from.
    pub(crate) fn derived(self) -> (String, String) {
        let from = match self.basis {
            ClosureBasis::Stated => "as stated".to_string(),
            ClosureBasis::Graduation => "one graduation of the gauge".to_string(),
            ClosureBasis::Repeatability => "the repeatability of the gauge".to_string(),
            ClosureBasis::Tenth(of) => format!("a tenth of {of}"),
        };
        (format!("at most {}", self.most), from)
    }
}

/// How far a survey may be open: as stated, else the greatest of one graduation of its gauge, that gauge's repeatability and a
/// tenth of the narrowest limit of what it reads. Nothing where none is known.
pub(crate) fn closure_limit(ledger: &Ledger, rulebook: &Rulebook, survey: &Survey) -> Option<ClosureLimit> {
    if let Some((most, _)) = rulebook.most::<Length>(LimitName::SurveyClosure) {
        return Some(ClosureLimit { most, basis: ClosureBasis::Stated });
    }
    let gauge = gauge(ledger, survey);
    let graduation = gauge.and_then(|gauge| gauge.graduation);
    let graduation = graduation.map(|it| ClosureLimit { most: it.value, basis: ClosureBasis::Graduation });
    let scatter = gauge.and_then(|gauge| gauge.repeatability);
    let scatter = scatter.map(|it| ClosureLimit { most: it.value, basis: ClosureBasis::Repeatability });
    let tenth = narrowest(rulebook, kind(survey))
        .map(|it| ClosureLimit { most: Length(it.most.nm() / 10), basis: ClosureBasis::Tenth(it.name) });
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

/// How sure one station by itself is; nothing where its gauge's graduation or error is not known.
pub(crate) fn of_one_station(ledger: &Ledger, rulebook: &Rulebook, survey: &Survey) -> Option<Uncertainty> {
    let sure = certainty(ledger, survey)?;
    Some(Uncertainty::known(sure.off().and(of_closure(ledger, rulebook, survey))).and_alike(sure.of_mean(1)))
}

/// What is known of a survey's readings, however little.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Doubt<'l> {
    gauge: Option<&'l str>,
    /// What they share: the gauge's error and the drift.
    shared: Variance,
    /// What each has by itself.
    reading: Uncertainty,
}

impl<'l> Doubt<'l> {
    /// What is not stated is left out: two surveys then have to agree the better before one is tied to the other.
    pub(crate) fn for_survey(ledger: &'l Ledger, rulebook: &Rulebook, survey: &Survey) -> Doubt<'l> {
        let closure = of_closure(ledger, rulebook, survey);
        let gauge = gauge(ledger, survey);
        let name = gauge.map(|gauge| gauge.name.as_str());
        if let Some(sure) = certainty(ledger, survey) {
            return Doubt { gauge: name, shared: sure.off().and(closure), reading: sure.of_mean(1) };
        }
        let error = gauge.and_then(short_travel_error).map(|(error, _)| Variance::permissible_error(error.nm()));
        let graduation = gauge.and_then(|gauge| gauge.graduation);
        let marks = graduation.map_or(Variance::default(), |graduation| Variance::resolution(graduation.nm()));
        Doubt { gauge: name, shared: error.unwrap_or_default().and(closure), reading: Uncertainty::known(marks) }
    }

    /// What its readings share.
    pub(crate) fn shared(&self) -> JoinedDoubt<'l> {
        JoinedDoubt::known(self.shared)
    }

    /// What each of them has by itself.
    pub(crate) fn reading(&self) -> JoinedDoubt<'l> {
        JoinedDoubt::of(self.gauge, self.reading)
    }
}

/// What a station as it was read has of its own, and what it shares with its survey; nothing where its gauge's graduation or
/// error is not known.
fn of_station<'l>(
    ledger: &'l Ledger,
    rulebook: &Rulebook,
    station: &ReadStation,
) -> Option<(JoinedDoubt<'l>, JoinedDoubt<'l>)> {
    let survey = survey_at(ledger, station.record)?;
    let (gauge, sure) = (gauge(ledger, survey)?, certainty(ledger, survey)?);
    let own = JoinedDoubt::of_gauge(gauge, sure.of_mean(station.times));
    Some((own, JoinedDoubt::known(sure.off().and(of_closure(ledger, rulebook, survey)))))
}

/// How sure the difference of two stations is: what each has of its own; what the gauge of their survey may be off by, with
/// half of what its closure may be; and the ties where those are two. Nothing where a gauge's graduation or error is not
/// known.
///
/// A tied station is known by its difference from the ties of its own survey, and theirs from what was read before: the tie
/// holds what those readings share, so that a station that is tied to nothing brings it only where the other one is of its
/// own survey.
pub(crate) fn of_pair<'l>(
    ledger: &'l Ledger,
    rulebook: &Rulebook,
    readings: &SurveyReadings<'l>,
    [a, b]: [&ReadStation; 2],
) -> Option<Uncertainty> {
    let (own, shared) = of_station(ledger, rulebook, a)?;
    let (other, of_other) = of_station(ledger, rulebook, b)?;
    let mut all = own.and(&other);
    if a.record == b.record || readings.tie(a).is_some() {
        all = all.and(&shared);
    }
    if a.record != b.record && readings.tie(b).is_some() {
        all = all.and(&of_other);
    }
    Some(all.and(&readings.tie_between(a, b)).total())
}

/// How sure a survey's range is.
pub(crate) fn of_range<'l>(
    ledger: &'l Ledger,
    rulebook: &Rulebook,
    readings: &SurveyReadings<'l>,
) -> Option<Uncertainty> {
    of_pair(ledger, rulebook, readings, [&readings.least, &readings.greatest])
}

/// How sure the width of a minimum zone is, from its three contact points: u²(1 + a² + (1 − a)²) with the lever a of the
/// station across, half of what a closure may be in each, and the ties where the three were not read in one survey. Nothing
/// where a gauge's graduation or error is not known.
pub(crate) fn of_zone<'l>(
    ledger: &'l Ledger,
    rulebook: &Rulebook,
    readings: &SurveyReadings<'l>,
    zone: &Zone,
) -> Option<Uncertainty> {
    let contacts = contacts(zone)?;
    let at = |nm: i64| readings.stations.iter().find(|station| station.row.position.nm() == nm);
    let [far, from, to] = contacts.map(|(station, _)| at(station.position_nm));
    let stations = [far?, from?, to?];
    // A line that is taken off all three changes no straightness.
    let one = stations.iter().all(|station| station.record == stations[0].record);
    let mut all = JoinedDoubt::default();
    for (station, (_, share)) in stations.into_iter().zip(contacts) {
        let (own, shared) = of_station(ledger, rulebook, station)?;
        let read = own.and(&shared);
        let of_it = if one { read } else { read.and(&readings.tie_doubt(station)) };
        all = all.and(&of_it.weighed(share));
    }
    Some(all.total())
}
