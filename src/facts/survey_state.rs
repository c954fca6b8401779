//! The state of a rail: which surveys count now in each plane, and what they say together.
//!
//! A later survey takes the place of an earlier one where it reads again all that the earlier one read. One that reads less
//! changes only what it reads, once it is tied to the earlier ones; until then it stands beside them as partial: it can show
//! a fault, and cannot clear one.

use std::borrow::Cow;

use smallvec::SmallVec;

use crate::calc::exact::Ratio;
use crate::ledger::{Body, Ledger, PlusDirection, RailId, StationReading, Survey, SurveyKind, SurveyStage};
use crate::quantity::Length;

use super::survey::{ReadStation, SurveyReadings, plus};
use super::survey_tie::{TieError, tied};

/// In which plane a survey reads. A gap and a height have one plane only, and so need not say which.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Plane {
    Unsaid,
    Sideways,
    Upright,
}

impl Plane {
    pub(crate) fn for_survey(ledger: &Ledger, survey: &Survey) -> Plane {
        match plus(ledger, survey) {
            _ if survey.kind.is_none_or(|kind| kind.value != SurveyKind::Straightness) => Plane::Unsaid,
            Some(PlusDirection::Left | PlusDirection::Right) => Plane::Sideways,
            Some(PlusDirection::Up | PlusDirection::Down) => Plane::Upright,
            _ => Plane::Unsaid,
        }
    }
}

/// A survey of some stations that is not tied to what was known before it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct PartialSurvey<'l> {
    pub record: usize,
    pub why: TieError<'l>,
}

/// The surveys of one kind that count for a rail now, in one plane. A survey that others are tied to is known by the last of
/// them.
#[derive(Clone, Debug, Default)]
pub(crate) struct CurrentSurveys<'l> {
    /// The latest as-fitted survey.
    pub as_fitted: Option<usize>,
    /// The latest verification or service survey, where no as-fitted one came after it.
    pub verified: Option<usize>,
    /// Later surveys that left out some of what these read, and are not tied to them.
    pub partial: Vec<PartialSurvey<'l>>,
    /// What those of these that were tied say together with those they are tied to.
    tied: Vec<SurveyReadings<'l>>,
}

impl<'l> CurrentSurveys<'l> {
    /// Where straightness was read in several planes, those of the plane that was read last.
    pub(crate) fn for_rail(ledger: &'l Ledger, id: RailId, kind: SurveyKind) -> CurrentSurveys<'l> {
        let mut planes = CurrentSurveys::planes(ledger, id, kind);
        let last = CurrentSurveys::last_read(ledger, &planes);
        planes.swap_remove(last)
    }

    /// Which of the planes of a rail, of which there is always one, was read last.
    pub(crate) fn last_read(ledger: &Ledger, planes: &[CurrentSurveys]) -> usize {
        let when = |at: &usize| planes[*at].latest().and_then(|record| ledger.timeline.rank[record]);
        (0..planes.len()).max_by_key(when).unwrap_or(0)
    }

    /// The same for each plane that was read, and one that is empty where nothing was.
    pub(crate) fn planes(ledger: &'l Ledger, id: RailId, kind: SurveyKind) -> Vec<CurrentSurveys<'l>> {
        CurrentSurveys::until(ledger, id, kind, None)
    }

    /// As it was when record `before` was made.
    pub(crate) fn until(
        ledger: &'l Ledger,
        id: RailId,
        kind: SurveyKind,
        before: Option<usize>,
    ) -> Vec<CurrentSurveys<'l>> {
        CurrentSurveys::among(ledger, id, kind, |record| before.is_none_or(|before| ledger.after(before, record)))
    }

    /// The same, with some of the records only.
    pub(crate) fn among(
        ledger: &'l Ledger,
        id: RailId,
        kind: SurveyKind,
        keep: impl Fn(usize) -> bool,
    ) -> Vec<CurrentSurveys<'l>> {
        let mut planes: SmallVec<[(Plane, CurrentSurveys); 1]> = SmallVec::new();
        for &record in &ledger.history(id).surveys {
            let Body::Survey(survey) = &ledger.records[record].body else { continue };
            let (Some(of), Some(stage)) = (survey.kind, survey.stage) else { continue };
            if of.value != kind || !keep(record) {
                continue;
            }
            let plane = Plane::for_survey(ledger, survey);
            let at = planes.iter().position(|(of, _)| *of == plane).unwrap_or_else(|| {
                planes.push((plane, CurrentSurveys::default()));
                planes.len() - 1
            });
            planes[at].1.take(ledger, id, record, stage.value);
        }
        // One that does not say its plane is answered once both planes were read again.
        if let Some(at) = planes.iter().position(|(plane, _)| *plane == Plane::Unsaid).filter(|_| planes.len() == 3) {
            let said = planes.iter().filter(|(plane, _)| *plane != Plane::Unsaid).map(|(_, of)| of);
            let again = |of: &CurrentSurveys<'l>, earlier: usize| {
                of.latest().is_none_or(|later| {
                    let read = || of.rows(ledger, later);
                    ledger.after(later, earlier)
                        && unread(ledger, id, planes[at].1.rows(ledger, earlier), read()).is_empty()
                })
            };
            if said.clone().all(|of| planes[at].1.all().all(|earlier| again(of, earlier))) {
                planes.remove(at);
            }
        }
        match planes.is_empty() {
            true => vec![CurrentSurveys::default()],
            false => planes.into_iter().map(|(_, of)| of).collect(),
        }
    }

    /// Takes the next survey in the order of the timeline.
    fn take(&mut self, ledger: &'l Ledger, id: RailId, record: usize, stage: SurveyStage) {
        self.partial.retain(|earlier| !unread_again(ledger, id, earlier.record, record).is_empty());
        let Some(latest) = self.latest() else { return self.stand(record, stage) };
        let left = unread(ledger, id, self.rows(ledger, latest), rows(ledger, record));
        if left.is_empty() {
            return self.stand(record, stage);
        }
        let left: Vec<Length> = left.iter().map(|row| row.position).collect();
        let before = self.readings(ledger, latest);
        let state = match (before, SurveyReadings::for_record(ledger, record)) {
            (Some(before), Some(later)) => {
                tied(ledger, id, &before, &later, |station: &ReadStation| left.contains(&station.row.position))
            }
            _ => Err(TieError::TooFew { ties: 0, needed: 2 }),
        };
        match state {
            Ok(state) => {
                // Where it stood verified it still does: what was read anew is a part of it.
                let verifies = state.verifies;
                self.tied.push(state);
                if verifies {
                    self.verified = Some(record);
                } else {
                    self.as_fitted = Some(record);
                }
                self.forget();
            }
            Err(why) => self.partial.push(PartialSurvey { record, why }),
        }
    }

    /// A survey that needs no other one.
    fn stand(&mut self, record: usize, stage: SurveyStage) {
        if stage == SurveyStage::AsFitted {
            (self.as_fitted, self.verified) = (Some(record), None);
        } else {
            self.verified = Some(record);
        }
        self.forget();
    }

    /// Keeps only what still stands: thousands of surveys may follow each other.
    fn forget(&mut self) {
        let current = [self.as_fitted, self.verified];
        self.tied.retain(|state| current.contains(&Some(state.record)));
    }

    /// The survey that says how the rail stands now.
    pub(crate) fn latest(&self) -> Option<usize> {
        self.verified.or(self.as_fitted)
    }

    /// Those that say something of how it stands now: the latest, and the partial ones since.
    pub(crate) fn now(&self) -> impl Iterator<Item = usize> {
        self.latest().into_iter().chain(self.partial.iter().map(|of| of.record))
    }

    /// All that count, the as-fitted one first.
    pub(crate) fn all(&self) -> impl Iterator<Item = usize> {
        self.as_fitted.into_iter().chain(self.verified).chain(self.partial.iter().map(|of| of.record))
    }

    /// The verification and service surveys that count, partial ones too, the latest last.
    pub(crate) fn verifications(&self, ledger: &Ledger) -> impl Iterator<Item = usize> {
        let verifies = |record: &usize| match &ledger.records[*record].body {
            Body::Survey(survey) => survey.stage.is_some_and(|stage| stage.value != SurveyStage::AsFitted),
            _ => false,
        };
        self.verified.into_iter().chain(self.partial.iter().map(|of| of.record).filter(verifies))
    }

    /// What a survey says together with those it is tied to; nothing where it is tied to none.
    pub(crate) fn tied(&self, record: usize) -> Option<&SurveyReadings<'l>> {
        self.tied.iter().find(|state| state.record == record)
    }

    /// What a survey says, together with those it is tied to where there are any.
    pub(crate) fn readings(&self, ledger: &'l Ledger, record: usize) -> Option<Cow<'_, SurveyReadings<'l>>> {
        match self.tied(record) {
            Some(state) => Some(Cow::Borrowed(state)),
            None => SurveyReadings::for_record(ledger, record).map(Cow::Owned),
        }
    }

    /// The records that some surveys are put together from.
    pub(crate) fn records(&self, of: impl Iterator<Item = usize>) -> Vec<usize> {
        let mut all: Vec<usize> = Vec::new();
        for record in of {
            match self.tied(record) {
                Some(state) => all.extend(state.records()),
                None => all.push(record),
            }
        }
        let mut seen = Vec::with_capacity(all.len());
        all.retain(|record| {
            let new = !seen.contains(record);
            seen.push(*record);
            new
        });
        all
    }

    /// The rows of a survey that were read, with their values.
    fn rows(&self, ledger: &'l Ledger, record: usize) -> Vec<Row<'l>> {
        match self.tied(record) {
            Some(state) => state.stations.iter().map(|it| (it.row, it.value)).collect(),
            None => rows(ledger, record),
        }
    }
}

/// What a survey said when it was made, together with those it is tied to where there are any.
pub(crate) fn as_of(ledger: &Ledger, record: usize) -> Option<SurveyReadings<'_>> {
    let Body::Survey(survey) = &ledger.records[record].body else { return None };
    let (id, kind) = (ledger.records[record].rail()?, survey.kind?);
    let planes = CurrentSurveys::among(ledger, id, kind.value, |other| !ledger.after(other, record));
    let tied = planes.iter().find_map(|plane| plane.tied(record));
    tied.cloned().or_else(|| SurveyReadings::for_record(ledger, record))
}

/// A row of a survey and what it reads.
type Row<'l> = (&'l StationReading, Ratio);

fn rows(ledger: &Ledger, record: usize) -> Vec<Row<'_>> {
    let Body::Survey(survey) = &ledger.records[record].body else { return Vec::new() };
    if survey.angles.is_some() {
        let summed = SurveyReadings::for_record(ledger, record).map(|of| of.stations).unwrap_or_default();
        return summed.iter().map(|it| (it.row, it.value)).collect();
    }
    let value = |row: &StationReading| row.mean().and_then(|(sum, count)| Ratio::new(sum.nm().into(), count as i128));
    survey.stations.iter().filter_map(|row| Some((row, value(row)?))).collect()
}

/// The stations of a survey that a later one did not read again.
///
/// Stations are known by where they lie, so that supports may be renamed, added or left out between. A place between
/// supports counts as read again where both supports beside it were, unless it is an end in a joint or stood out from its
/// neighbours: what was found there is cleared by nothing read elsewhere.
pub(crate) fn unread_again(ledger: &Ledger, id: RailId, earlier: usize, later: usize) -> Vec<&StationReading> {
    unread(ledger, id, rows(ledger, earlier), rows(ledger, later))
}

fn unread<'l>(ledger: &Ledger, id: RailId, earlier: Vec<Row<'l>>, later: Vec<Row>) -> Vec<&'l StationReading> {
    let mut again: Vec<Length> = later.iter().map(|(row, _)| row.position).collect();
    again.sort_unstable();
    let rail = ledger.machine.rail(id);
    let is_again = |position: Length| again.binary_search(&position).is_ok();
    // The mean of both ends in a joint is known again by each of them, and neither by the mean.
    let both_ends = |row: &StationReading| {
        let joint = rail.joint_at(row).filter(|_| row.end.is_none());
        joint.is_some_and(|joint| rail.ends_of(joint).iter().all(|end| is_again(end.position())))
    };
    let is_support = |position: Length| rail.supports.binary_search_by_key(&position, |support| support.at).is_ok();
    let between = |row: &Row| {
        let position = row.0.position;
        let mut beside = ledger.adjoining(id, position).map(|support| rail.supports[support].at).peekable();
        row.0.end.is_none()
            && !is_support(position)
            && beside.peek().is_some()
            && beside.all(is_again)
            && !stands_out(row, &earlier)
    };
    let left = earlier.iter().filter(|row| !is_again(row.0.position) && !both_ends(row.0) && !between(row));
    left.map(|(row, _)| *row).collect()
}

/// Whether a station reads more or less than both stations beside it.
fn stands_out((row, own): &Row, all: &[Row]) -> bool {
    let before = all.iter().filter(|(other, _)| other.position < row.position).max_by_key(|(other, _)| other.position);
    let after = all.iter().filter(|(other, _)| other.position > row.position).min_by_key(|(other, _)| other.position);
    match (before, after) {
        (Some((_, before)), Some((_, after))) => own < before.min(after) || own > before.max(after),
        _ => true,
    }
}
