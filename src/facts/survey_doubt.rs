//! How sure a survey is beside its gauge: how far it may have drifted before its closure tells, and what a tie adds.
//!
//! What all readings of a survey share (the gauge's error, the drift) is never averaged by a tie; only the scatter of the
//! single readings is.
//!
//! Heights that are sums of angles are not sure by themselves. A weighed sum of them is one of the steps, each with the weights
//! of all heights behind it: what each step has of its own adds up by squares, and so grows with the root of their number; what
//! a permissible error may do in all of them adds up by size, and grows with their number. It is taken to lean each step to the
//! worse side: one that is the same in all steps alone would only tilt the line. Beside other surveys each height counts as
//! unsure as the middle one of its survey is, against the line from end to end.

use std::collections::BTreeMap;

use super::joined_doubt::JoinedDoubt;
use super::proof::{GaugeCertainty, rise_of, short_travel_error};
use super::survey::{ReadStation, SurveyReadings, bent_by, read_steps, survey_at};
use super::survey_limits::narrowest;
use crate::calc::angles::shares;
use crate::calc::exact::Ratio;
use crate::calc::straightness::{Zone, contacts, weighed};
use crate::calc::uncertainty::{Uncertainty, Variance};
use crate::language::rulebook::{LimitName, Rulebook};
use crate::ledger::{Gauge, Ledger, Survey, SurveyKind};
use crate::quantity::{Angle, Length};

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
    let figures = gauge.map(|gauge| match &survey.angles {
        Some(_) => [gauge.angles.graduation, gauge.angles.repeatability].map(|it| bent(survey, it?.value)),
        None => [gauge.graduation, gauge.repeatability].map(|it| Some(it?.value)),
    });
    let [graduation, scatter] = figures.unwrap_or_default();
    let graduation = graduation.map(|most| ClosureLimit { most, basis: ClosureBasis::Graduation });
    let scatter = scatter.map(|most| ClosureLimit { most, basis: ClosureBasis::Repeatability });
    let tenth = narrowest(rulebook, kind(survey))
        .map(|it| ClosureLimit { most: Length(it.most.nm() / 10), basis: ClosureBasis::Tenth(it.name) });
    // Of equals the graduation.
    tenth.into_iter().chain(scatter).chain(graduation).max_by_key(|it| it.most)
}

/// How far an even drift by an angle of its gauge bends the line of a survey, up to the next nanometre.
fn bent(survey: &Survey, drift: Angle) -> Option<Length> {
    let by = bent_by(survey, Ratio::whole(drift.picoradians().into()))?;
    i64::try_from(by.ceil()).ok().map(Length)
}

/// What a closure within its limit leaves unknown: half of the limit, which it is known to lie within either way.
pub(crate) fn of_closure(ledger: &Ledger, rulebook: &Rulebook, survey: &Survey) -> Variance {
    let limit = closure_limit(ledger, rulebook, survey);
    limit.map_or(Variance::default(), |limit| Variance::permissible_error((limit.most.nm().max(0) + 1) / 2))
}

/// How sure the gauge of a survey is; nothing where its graduation or error is not known.
fn certainty(ledger: &Ledger, survey: &Survey) -> Option<GaugeCertainty> {
    GaugeCertainty::for_survey(ledger, gauge(ledger, survey)?, survey)
}

/// How sure one station by itself is, as it was read; nothing where its gauge's graduation or error is not known.
pub(crate) fn of_one_station(ledger: &Ledger, rulebook: &Rulebook, survey: &Survey) -> Option<Uncertainty> {
    let sure = certainty(ledger, survey).filter(|_| survey.angles.is_none())?;
    Some(Uncertainty::known(sure.off().and(of_closure(ledger, rulebook, survey))).and_alike(sure.of_mean(1)))
}

/// How many times what a station has of its own, and what it shares with its survey, there is of one reading: of a sum of
/// angles as in the middle of its n steps, n/4 and n²/4.
fn of_one_reading(survey: &Survey) -> [Ratio; 2] {
    if survey.angles.is_none() {
        return [Ratio::whole(1); 2];
    }
    let steps = read_steps(survey).len() as i128;
    [steps, steps * steps].map(|times| Ratio::new(times, 4).unwrap_or(Ratio::whole(1)))
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
        let ([own, shared], one) = (of_one_reading(survey), Doubt::of_one(ledger, survey));
        let shared = one.shared.times(shared).and(of_closure(ledger, rulebook, survey));
        Doubt { shared, reading: one.reading.times(own), ..one }
    }

    /// The same of one reading: of angles that of a step. It has no part in the closure.
    pub(crate) fn of_one(ledger: &'l Ledger, survey: &Survey) -> Doubt<'l> {
        let gauge = gauge(ledger, survey);
        let name = gauge.map(|gauge| gauge.name.as_str());
        if let Some(sure) = certainty(ledger, survey) {
            return Doubt { gauge: name, shared: sure.off(), reading: sure.of_mean(1) };
        }
        let [error, graduation] = match &survey.angles {
            Some(steps) => {
                let angles = gauge.map(|gauge| [gauge.angles.permissible_error, gauge.angles.graduation]);
                angles.unwrap_or_default().map(|it| Some(rise_of(it?.value, *steps.base)))
            }
            None => [
                gauge.and_then(short_travel_error).map(|(error, _)| error),
                gauge.and_then(|gauge| gauge.graduation).map(|graduation| graduation.value),
            ],
        };
        let error = error.map_or(Variance::default(), |error| Variance::permissible_error(error.nm()));
        let marks = graduation.map_or(Variance::default(), |graduation| Variance::resolution(graduation.nm()));
        Doubt { gauge: name, shared: error, reading: Uncertainty::known(marks) }
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
    let (times, [own, shared]) = (if survey.angles.is_some() { 1 } else { station.times }, of_one_reading(survey));
    let own = JoinedDoubt::of_gauge(gauge, sure.of_mean(times).times(own));
    Some((own, JoinedDoubt::known(sure.off().times(shared).and(of_closure(ledger, rulebook, survey)))))
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
    let stations = contacts.map(|(station, _)| &readings.stations[station.number]);
    // A line that is taken off all three changes no straightness.
    let one = stations.iter().all(|station| station.record == stations[0].record);
    if let Some(survey) = survey_at(ledger, stations[0].record).filter(|survey| one && survey.angles.is_some()) {
        return of_summed(ledger, rulebook, survey, &weighed(&contacts));
    }
    let mut all = JoinedDoubt::default();
    for (station, (_, share)) in stations.into_iter().zip(contacts) {
        let (own, shared) = of_station(ledger, rulebook, station)?;
        let read = own.and(&shared);
        let of_it = if one { read } else { read.and(&readings.tie_doubt(station)) };
        all = all.and(&of_it.weighed(share));
    }
    Some(all.total())
}

/// How sure a weighed sum of heights is that one survey of angles has, of which a line changes nothing; with half of what its
/// closure may be. Nothing where its gauge's graduation or error is not known.
fn of_summed(ledger: &Ledger, rulebook: &Rulebook, survey: &Survey, weighed: &[(i64, f64)]) -> Option<Uncertainty> {
    let (sure, steps) = (certainty(ledger, survey)?, read_steps(survey));
    let ends: Vec<i64> = steps.iter().map(|step| step.row.position.nm()).collect();
    let shares = shares(&ends, weighed);
    // Steps that were read equally often are equally sure.
    let mut squares: BTreeMap<usize, f64> = BTreeMap::new();
    for (step, share) in steps.iter().zip(&shares) {
        *squares.entry(step.times).or_default() += share * share;
    }
    let all_alike = shares.iter().map(|share| share.abs()).sum();
    let shared = sure.off().weighed(all_alike).and(of_closure(ledger, rulebook, survey));
    let own = squares.into_iter().map(|(times, squares)| sure.of_mean(times).weighed(squares.sqrt()));
    Some(own.fold(Uncertainty::known(shared), Uncertainty::and_alike))
}
