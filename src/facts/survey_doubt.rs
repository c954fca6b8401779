//! How sure a survey is beside its gauge: how far it may have drifted before its closure tells, and what a tie adds.
//!
//! What all readings of a survey share (the gauge's error, the drift) is never averaged by a tie; only the scatter of the
//! single readings is.
//!
//! Heights that are sums of angles are not sure by themselves: how sure the middle one of n steps is against the line from end to
//! end comes from all of them ([`in_the_middle`]). No station of them is less sure, and so a zone counts as unsure as that one.
//! Beside other surveys each height does.

use super::joined_doubt::JoinedDoubt;
use super::proof::{GaugeCertainty, rise_of, short_travel_error};
use super::survey::{ReadStation, SurveyReadings, bent_by, read_steps, survey_at};
use super::survey_limits::narrowest;
use crate::calc::angles::in_the_middle;
use crate::calc::exact::Ratio;
use crate::calc::straightness::{Zone, contacts};
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
/// angles as in the middle of its steps.
fn of_one_reading(steps: Option<usize>) -> [Ratio; 2] {
    steps.map_or([Ratio::whole(1); 2], in_the_middle)
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
        let steps = survey.angles.as_ref().map(|_| read_steps(survey).len());
        let ([own, shared], one) = (of_one_reading(steps), Doubt::of_one(ledger, survey));
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

/// How sure a survey's range is.
pub(crate) fn of_range<'l>(
    ledger: &'l Ledger,
    rulebook: &Rulebook,
    readings: &SurveyReadings<'l>,
) -> Option<Uncertainty> {
    ReadingsDoubt::new(ledger, rulebook, readings).of_pair([&readings.least, &readings.greatest])
}

/// How sure is what stations tell together: what that needs of the surveys behind them, read once. Of a survey nothing where its
/// gauge's graduation or error is not known.
pub(crate) struct ReadingsDoubt<'r, 'l> {
    readings: &'r SurveyReadings<'l>,
    by_record: Vec<(usize, Option<SurveyDoubt<'l>>)>,
}

/// What one survey brings in.
struct SurveyDoubt<'l> {
    gauge: &'l Gauge,
    sure: GaugeCertainty,
    closure: Variance,
    /// How many times what a station has of its own, and what it shares, there is of one reading.
    one_reading: [Ratio; 2],
    /// Of a survey of angles: where each step ends, and how often it was read.
    steps: Option<Vec<(Length, usize)>>,
}

impl<'l> SurveyDoubt<'l> {
    fn new(ledger: &'l Ledger, rulebook: &Rulebook, record: usize) -> Option<SurveyDoubt<'l>> {
        let survey = survey_at(ledger, record)?;
        let steps = survey.angles.as_ref().map(|_| read_steps(survey));
        let steps: Option<Vec<_>> =
            steps.map(|steps| steps.iter().map(|step| (step.row.position, step.times)).collect());
        Some(SurveyDoubt {
            gauge: gauge(ledger, survey)?,
            sure: certainty(ledger, survey)?,
            closure: of_closure(ledger, rulebook, survey),
            one_reading: of_one_reading(steps.as_ref().map(Vec::len)),
            steps,
        })
    }

    /// What a station as it was read has of its own, and what it shares with its survey.
    fn of_station(&self, times: usize) -> (JoinedDoubt<'l>, JoinedDoubt<'l>) {
        let (times, [own, shared]) = (if self.steps.is_some() { 1 } else { times }, self.one_reading);
        let own = JoinedDoubt::of_gauge(self.gauge, self.sure.of_mean(times).times(own));
        (own, JoinedDoubt::known(self.sure.off().times(shared).and(self.closure)))
    }

    /// How sure straightness is that steps between two places add up to: as where it is the least sure, in the middle, wherever
    /// the zone touches. Nothing where it is of no angles.
    fn of_steps(&self, [first, last]: [Length; 2]) -> Option<Uncertainty> {
        let steps = self.steps.as_ref()?;
        let begins = |at: Length| steps.partition_point(|(end, _)| *end <= at);
        let between = steps.get(begins(first)..begins(last))?;
        let [own, shared] = in_the_middle(between.len());
        // As if all had been read as seldom as the one that was read the least often.
        let least = between.iter().map(|(_, times)| *times).min()?;
        let shared = self.sure.off().times(shared).and(self.closure);
        Some(Uncertainty::known(shared).and_alike(self.sure.of_mean(least).times(own)))
    }
}

impl<'r, 'l> ReadingsDoubt<'r, 'l> {
    pub(crate) fn new(
        ledger: &'l Ledger,
        rulebook: &Rulebook,
        readings: &'r SurveyReadings<'l>,
    ) -> ReadingsDoubt<'r, 'l> {
        let of = |record| (record, SurveyDoubt::new(ledger, rulebook, record));
        ReadingsDoubt { readings, by_record: readings.records().into_iter().map(of).collect() }
    }

    fn survey(&self, record: usize) -> Option<&SurveyDoubt<'l>> {
        self.by_record.iter().find(|(of, _)| *of == record)?.1.as_ref()
    }

    /// How sure the difference of two stations is: what each has of its own; what the gauge of their survey may be off by, with
    /// half of what its closure may be; and the ties where those are two. Nothing where a gauge's graduation or error is not
    /// known.
    ///
    /// A tied station is known by its difference from the ties of its own survey, and theirs from what was read before: the tie
    /// holds what those readings share, so that a station that is tied to nothing brings it only where the other one is of its
    /// own survey.
    pub(crate) fn of_pair(&self, [a, b]: [&ReadStation; 2]) -> Option<Uncertainty> {
        let (own, shared) = self.survey(a.record)?.of_station(a.times);
        let (other, of_other) = self.survey(b.record)?.of_station(b.times);
        let mut all = own.and(&other);
        if a.record == b.record || self.readings.tie(a).is_some() {
            all = all.and(&shared);
        }
        if a.record != b.record && self.readings.tie(b).is_some() {
            all = all.and(&of_other);
        }
        Some(all.and(&self.readings.tie_between(a, b)).total())
    }

    /// How sure the width is of a zone of the stations from one to another by their numbers, as well as these stations allow: of readings from its three
    /// contact points; of summed angles, where a station is the surer the nearer it lies to an end, from the least sure station
    /// of all, so that a bend which is not seen there is not taken for proof.
    pub(crate) fn of_zone(&self, zone: &Zone, ends: [usize; 2]) -> Option<Uncertainty> {
        let surveys = self.by_record.iter().map(|(_, survey)| survey.as_ref());
        let surveys: Vec<&SurveyDoubt> = surveys.collect::<Option<_>>()?;
        let here = contacts(zone)?.map(|(station, share)| (station.number, share));
        if surveys.iter().all(|survey| survey.steps.is_none()) {
            return self.of_contacts(here);
        }
        let [first, last] = ends.map(|number| self.readings.stations[number].row.position);
        if let [survey] = surveys[..] {
            return survey.of_steps([first, last]);
        }
        let mut least_sure = self.of_contacts(here)?;
        let (begins, span) = (first.nm(), (last - first).nm() as f64);
        for (number, station) in self.readings.stations.iter().enumerate() {
            let at = station.row.position;
            if at <= first || at >= last {
                continue;
            }
            let lever = (at.nm() - begins) as f64 / span;
            let found = self.of_contacts([(number, 1.0), (ends[0], 1.0 - lever), (ends[1], lever)])?;
            if found.expanded() > least_sure.expanded() {
                least_sure = found;
            }
        }
        Some(least_sure)
    }

    /// From three stations, each with its share: u²(1 + a² + (1 − a)²) with the lever a of the one across, half of what a
    /// closure may be in each, and the ties where the three were not read in one survey.
    fn of_contacts(&self, contacts: [(usize, f64); 3]) -> Option<Uncertainty> {
        let stations = contacts.map(|(number, _)| &self.readings.stations[number]);
        // A line that is taken off all three changes no straightness.
        let one = stations.iter().all(|station| station.record == stations[0].record);
        if one && let Some(survey) = self.survey(stations[0].record).filter(|survey| survey.steps.is_some()) {
            let places = stations.map(|station| station.row.position);
            return survey.of_steps([*places.iter().min()?, *places.iter().max()?]);
        }
        let mut sum = JoinedDoubt::default();
        for (station, (_, share)) in stations.into_iter().zip(contacts) {
            let (own, shared) = self.survey(station.record)?.of_station(station.times);
            let read = own.and(&shared);
            let of_it = if one { read } else { read.and(&self.readings.tie_doubt(station)) };
            sum = sum.and(&of_it.weighed(share));
        }
        Some(sum.total())
    }
}

/// How sure the width of a survey's minimum zone is. Nothing where a gauge's graduation or error is not known.
pub(crate) fn of_zone<'l>(
    ledger: &'l Ledger,
    rulebook: &Rulebook,
    readings: &SurveyReadings<'l>,
    zone: &Zone,
) -> Option<Uncertainty> {
    ReadingsDoubt::new(ledger, rulebook, readings).of_zone(zone, [0, readings.stations.len().checked_sub(1)?])
}
