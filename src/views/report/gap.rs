//! Surveys as they count now: straightness of a rail; the gap before shims, as the shims lead to expect, and after.

use std::borrow::Cow;

use super::gather::{ReportBuilder, signed, text};
use super::model::{Gap, GapStation, LocalReport, StationReport, Straightness, SummedAngles, SurveyHead};
use crate::calc::exact::Ratio;
use crate::calc::shims::predicted;
use crate::calc::survey::{ShimEffect, SurveyStation};
use crate::facts::local_limit::{HeldLocally, UnseenStretch, held_locally};
use crate::facts::shimmed::{last_shimmed, surveyed_before};
use crate::facts::survey::{
    ReadStation, Seat, SurveyReadings, bent_by, curvature, length, mean_of, minus, read_steps, step_again, subject,
    survey_at,
};
use crate::facts::survey_state::{CurrentSurveys, Plane};
use crate::language::rulebook::LimitName;
use crate::ledger::{Keyword, Rail, RailId, SurveyKind};
use crate::quantity::Length;

impl ReportBuilder<'_> {
    /// The latest straightness survey of a rail in each plane that was read.
    pub(super) fn straightness(&self, id: RailId) -> Vec<Straightness> {
        let planes = CurrentSurveys::planes(self.case.ledger, id, SurveyKind::Straightness).into_iter();
        let readings = planes.filter_map(|plane| Some(plane.readings(self.case.ledger, plane.latest()?)?.into_owned()));
        let most = self.case.rulebook.most::<Length>(LimitName::Straightness).map(|(most, _)| most);
        let one = |readings: SurveyReadings| {
            let off = readings.off_zone();
            let stations = readings.stations.iter().enumerate().map(|(at, station)| StationReport {
                name: station.row.name.to_string(),
                at: station.row.told_at(),
                reading: length(station.value),
                off_zone: off.as_ref().and_then(|off| off.get(at)).copied().map(length),
            });
            let stations = stations.collect();
            let is_upright = Plane::for_survey(self.case.ledger, readings.survey) == Plane::Upright;
            let summed = |record: usize| {
                let survey = survey_at(self.case.ledger, record)?;
                let steps = survey.angles.as_ref()?;
                Some(SummedAngles {
                    signed: signed(&self.case.ledger.records[record]),
                    base: *steps.base,
                    steps: read_steps(survey).len(),
                    curvature: curvature(self.case.ledger, survey),
                })
            };
            let summed = readings.records().into_iter().filter_map(summed).collect();
            let (zone, local) = (readings.zone().map(length), self.local(&readings));
            Straightness { head: self.head(&readings), is_upright, zone, most, local, summed, stations }
        };
        readings.map(one).collect()
    }

    /// What the shims of a rail do not move, of the gap and the height to the rail that it follows; nothing where it was not
    /// surveyed.
    pub(super) fn unmoved(&self, id: RailId) -> Option<Gap> {
        let (kind, limit) = match Seat::for_rail(self.case.ledger, id)?.kind {
            SurveyKind::Height => (SurveyKind::Gap, LimitName::GapRange),
            _ => (SurveyKind::Height, LimitName::HeightRange),
        };
        Some(self.gap(id, Seat { kind, limit, effect: None })).filter(|gap| !gap.stations.is_empty())
    }

    /// The gap or the height of a rail that follows another.
    pub(super) fn gap(&self, id: RailId, seat: Seat) -> Gap {
        let case = &self.case;
        let shims_move_it = Seat::for_rail(case.ledger, id).is_some_and(|own| own.kind == seat.kind);
        let effect = seat.effect.unwrap_or(ShimEffect::Widens);
        let standing = CurrentSurveys::for_rail(case.ledger, id, seat.kind);
        let ledger = case.ledger;
        let shimmed = last_shimmed(ledger, id)
            .filter(|_| shims_move_it)
            .and_then(|last| surveyed_before(ledger, id, seat.kind, last));
        let fitted = || standing.readings(ledger, standing.as_fitted.or(standing.latest())?).map(Cow::into_owned);
        let before = shimmed.or_else(fitted);
        let after = standing
            .verifications(case)
            .find(|record| before.as_ref().is_none_or(|before| case.after(*record, before.record)))
            .and_then(|record| standing.readings(case.ledger, record).map(Cow::into_owned));
        let limit = case.rulebook.most::<Length>(seat.limit);
        // With where each is known as a station.
        let mut stations: Vec<(Length, GapStation)> = Vec::new();
        let rail = ledger.machine.rail(id);
        let read_after = |station: &ReadStation| {
            let after = after.as_ref()?;
            Some(from_zero(after, mean_of(after.again(rail, station.row)?)?, effect))
        };
        if let Some(before) = &before {
            let expected = if shims_move_it { self.expected(id, before, effect) } else { None };
            for (at, station) in before.stations.iter().enumerate() {
                let here = expected.as_ref().and_then(|expected| expected.get(at));
                let shown = GapStation {
                    name: station.row.name.to_string(),
                    at: station.row.told_at(),
                    before: Some(from_zero(before, station.value, effect)),
                    shim: here.map(|(shim, _)| *shim),
                    predicted: here.map(|(_, predicted)| *predicted),
                    after: read_after(station),
                };
                stations.push((station.row.position, shown));
            }
        }
        for station in after.iter().flat_map(|after| &after.stations) {
            let value = after.as_ref().map(|after| from_zero(after, station.value, effect));
            if !stations.iter().any(|(at, _)| *at == station.row.position) {
                let (name, at) = (station.row.name.to_string(), station.row.told_at());
                let shown = GapStation { name, at, before: None, shim: None, predicted: None, after: value };
                stations.push((station.row.position, shown));
            }
        }
        stations.sort_by_key(|(at, _)| *at);
        let stations: Vec<GapStation> = stations.into_iter().map(|(_, station)| station).collect();
        let predicted = stations.iter().filter_map(|station| station.predicted);
        let range_predicted = predicted.clone().max().zip(predicted.min()).map(|(greatest, least)| greatest - least);
        let latest = after.as_ref().or(before.as_ref());
        let shimmed_since = |readings: &SurveyReadings| {
            shims_move_it && last_shimmed(ledger, id).is_some_and(|last| case.after(last, readings.record))
        };
        let local = latest.and_then(|readings| {
            let local = self.local(readings)?;
            let not_judged = if shimmed_since(readings) { Some("it was read before shims") } else { local.not_judged };
            Some(LocalReport { not_judged, ..local })
        });
        Gap {
            kind: subject(seat.kind),
            follows: text(&case.ledger.machine.rail(id).follows),
            zero: match (seat.kind, effect) {
                (SurveyKind::Height, _) | (_, ShimEffect::Lifts) => "highest",
                (_, ShimEffect::Widens) => "widest",
                (_, ShimEffect::Narrows) => "narrowest",
            },
            most: limit.as_ref().map(|(most, _)| *most),
            limit_source: limit.map(|(_, limit)| limit.source()),
            range_before: before.as_ref().map(|before| length(before.range())),
            range_predicted,
            range_after: after.as_ref().map(|after| length(after.range())),
            local,
            before: before.as_ref().map(|before| self.head(before)),
            after: after.as_ref().map(|after| self.head(after)),
            stations,
        }
    }

    /// What a survey shows by the local limit of what it read.
    fn local(&self, readings: &SurveyReadings) -> Option<LocalReport> {
        let HeldLocally { most, over, seen } = held_locally(self.case.rulebook, readings)?;
        let end = |at: usize| seen.worst.map(|worst| worst.ends[at].row.name.to_string());
        Some(LocalReport {
            most,
            over,
            worst: seen.worst.map(|worst| length(worst.width)),
            from: end(0),
            to: end(1),
            not_judged: seen.passed_over.map(UnseenStretch::words),
        })
    }

    /// For each station what the shims put in since change there, and what it should then read, counted from the widest
    /// (or narrowest, or highest) place that is to be expected. Nothing where no shims were put in since.
    fn expected(&self, id: RailId, before: &SurveyReadings, effect: ShimEffect) -> Option<Vec<(Length, Length)>> {
        let ledger = self.case.ledger;
        let rail = ledger.machine.rail(id);
        let change = |support: usize| {
            let total = |when| ledger.shim_total(id, support, when);
            (rail.supports[support].at.nm(), (total(None) - total(Some(before.record))).nm())
        };
        let shims: Vec<(i64, i64)> = (0..rail.supports.len()).map(change).collect();
        if shims.iter().all(|(_, total)| *total == 0) {
            return None;
        }
        let stations: Vec<SurveyStation> =
            before.stations.iter().enumerate().map(|(number, station)| carried(rail, number, station)).collect();
        let expected = predicted(&stations, &shims, effect)?;
        let values = expected.iter().map(|expected| expected.reading);
        let zero = if effect == ShimEffect::Narrows { values.min()? } else { values.max()? };
        let of = |(station, expected): (&SurveyStation, Ratio)| {
            (length(minus(expected, Ratio::whole(station.reading_nm.into()))), length(minus(expected, zero)))
        };
        Some(stations.iter().zip(expected.iter().map(|expected| expected.reading)).map(of).collect())
    }

    fn head(&self, readings: &SurveyReadings) -> SurveyHead {
        let survey = readings.survey;
        let closure = survey.closure.as_ref().and_then(|closure| {
            if survey.angles.is_some() {
                let (_, drift) = step_again(survey, closure)?;
                return Some(length(bent_by(survey, drift)?));
            }
            let (again, times) = closure.mean()?;
            let first = survey.stations.iter().find(|station| station.position == closure.position)?;
            let (sum, count) = first.mean()?;
            let mean = |sum: Length, count: usize| Ratio::new(sum.nm().into(), count as i128);
            Some(length(minus(mean(again, times)?, mean(sum, count)?)))
        });
        SurveyHead {
            stage: survey.stage.map(|stage| stage.word()),
            signed: signed(&self.case.ledger.records[readings.record]),
            gauge: text(&survey.gauge),
            temperature: survey.temperature.map(|temperature| temperature.value),
            closure,
            tied_at: readings
                .ties
                .last()
                .map_or(Vec::new(), |tie| tie.at.iter().map(|(_, now)| now.name.to_string()).collect()),
        }
    }
}

/// A station in whole nanometres, where shims move it.
fn carried(rail: &Rail, number: usize, station: &ReadStation) -> SurveyStation {
    let (position_nm, reading_nm) = (rail.carried_at(station.row).nm(), length(station.value).nm());
    SurveyStation { position_nm, reading_nm, number }
}

/// A reading counted from the place that the others are shimmed to.
fn from_zero(readings: &SurveyReadings, value: Ratio, effect: ShimEffect) -> Length {
    length(minus(value, readings.target(effect).value))
}
