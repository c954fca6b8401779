//! A survey's record as numbers: which way is plus, repeats as their exact mean, and which surveys of a rail count.

use smallvec::SmallVec;

use crate::calc::exact::{Ratio, gcd};
use crate::calc::straightness::minimum_zone;
use crate::calc::survey::{self, ShimEffect};
use crate::finding::Place;
use crate::language::rulebook::LimitName;
use crate::ledger::{Body, Ledger, PlusDirection, RailId, ShimSense, StationReading, Survey, SurveyKind, SurveyStage};
use crate::quantity::Length;

/// One station that was read.
#[derive(Clone, Copy, Debug)]
pub struct ReadStation<'l> {
    pub row: &'l StationReading,
    /// The mean of its readings in nm, wider, higher or to the left being plus.
    pub value: Ratio,
}

/// A survey with at least one reading, its stations in order of position.
#[derive(Clone, Debug)]
pub struct SurveyReadings<'l> {
    pub record: usize,
    pub place: Place,
    pub survey: &'l Survey,
    /// 1 where the gauge's plus is wider, higher or to the left, else -1.
    pub sign: i128,
    pub stations: Vec<ReadStation<'l>>,
    /// The first of the greatest readings.
    pub greatest: ReadStation<'l>,
    /// The first of the least readings.
    pub least: ReadStation<'l>,
}

impl<'l> SurveyReadings<'l> {
    /// The numbers of a survey record; nothing where it has no reading.
    pub fn for_record(ledger: &'l Ledger, record: usize) -> Option<SurveyReadings<'l>> {
        let Body::Survey(survey) = &ledger.records[record].body else { return None };
        let sign = sign(ledger, survey);
        let stations = stations(&survey.stations, sign);
        SurveyReadings::with(record, ledger.records[record].place, survey, sign, stations)
    }

    /// The same survey with some of its stations only; nothing where none is left.
    pub fn only(&self, keep: impl FnMut(&&ReadStation<'l>) -> bool) -> Option<SurveyReadings<'l>> {
        let stations = self.stations.iter().filter(keep).copied().collect();
        SurveyReadings::with(self.record, self.place, self.survey, self.sign, stations)
    }

    fn with(
        record: usize,
        place: Place,
        survey: &'l Survey,
        sign: i128,
        stations: Vec<ReadStation<'l>>,
    ) -> Option<SurveyReadings<'l>> {
        let first = *stations.first()?;
        let (mut greatest, mut least) = (&first, &first);
        for station in &stations {
            if station.value > greatest.value {
                greatest = station;
            } else if station.value < least.value {
                least = station;
            }
        }
        let (greatest, least) = (*greatest, *least);
        Some(SurveyReadings { record, place, survey, sign, stations, greatest, least })
    }

    /// What was read.
    pub fn kind(&self) -> SurveyKind {
        self.survey.kind.map_or(SurveyKind::Gap, |kind| kind.value)
    }

    /// The survey in whole numbers for `calc`, and how many of them make a nanometre: more than one where means of
    /// repeats are no whole nanometres.
    pub fn survey(&self) -> Option<(survey::SurveyLine, i128)> {
        let scale = self.stations.iter().try_fold(1i128, |scale, station| {
            let den = station.value.denominator();
            if den == 1 {
                return Some(scale);
            }
            let gcd = i128::try_from(gcd(scale.unsigned_abs(), den.unsigned_abs())).ok()?;
            scale.checked_mul(den / gcd).filter(|scale| *scale <= 1000)
        });
        // Means of very unlike numbers of repeats: a nanometre is fine enough.
        let scale = scale.unwrap_or(1);
        let stations = self.stations.iter().map(|station| {
            let value = station.value.numerator().checked_mul(scale)?;
            let value = match station.value.denominator() {
                1 => value,
                den => Ratio::new(value, den)?.away_from_zero(),
            };
            Some(survey::SurveyStation {
                position_nm: station.row.position.nm(),
                reading_nm: i64::try_from(value).ok()?,
            })
        });
        let mut all = Vec::with_capacity(self.stations.len());
        for station in stations {
            all.push(station?);
        }
        Some((survey::SurveyLine::new(all).ok()?, scale))
    }

    /// It shows what shims, or years of service, made of the rails, and not how they were first fitted.
    pub fn verifies(&self) -> bool {
        self.survey.stage.is_some_and(|stage| stage.value != SurveyStage::AsFitted)
    }

    /// Greatest minus least.
    pub fn range(&self) -> Ratio {
        minus(self.greatest.value, self.least.value)
    }

    /// The width of the minimum zone (ISO 12780-1); nothing where the numbers are out of range.
    pub fn zone(&self) -> Option<Ratio> {
        let (survey, scale) = self.survey()?;
        let width = minimum_zone(&survey)?.width;
        Ratio::new(width.numerator(), width.denominator().checked_mul(scale)?)
    }

    /// The station that the others are shimmed to.
    #[inline]
    pub fn target(&self, effect: ShimEffect) -> ReadStation<'l> {
        if effect == ShimEffect::Narrows { self.least } else { self.greatest }
    }

    /// The shim a station needs to read like the target; at least 0.
    pub fn need(&self, station: &ReadStation, effect: ShimEffect) -> Ratio {
        minus(self.target(effect).value, station.value).abs()
    }
}

/// The stations of a survey that were read, in order of position.
fn stations(rows: &[StationReading], sign: i128) -> Vec<ReadStation<'_>> {
    let mut stations = Vec::with_capacity(rows.len());
    let read = || rows.iter().filter(|row| !row.readings.is_empty());
    if rows.is_sorted_by(|row, next| row.position < next.position) {
        stations.extend(read().filter_map(|row| match &row.readings[..] {
            [once] => Some(ReadStation { row, value: Ratio::whole(sign * i128::from(once.nm())) }),
            _ => station(&[row], sign),
        }));
        return stations;
    }
    let mut read: Vec<&StationReading> = read().collect();
    read.sort_by_key(|row| row.position);
    // A station in two rows was read again: repeats like those in one row.
    stations.extend(read.chunk_by(|row, next| row.position == next.position).filter_map(|rows| station(rows, sign)));
    stations
}

/// The station that some rows read.
fn station<'l>(rows: &[&'l StationReading], sign: i128) -> Option<ReadStation<'l>> {
    let all = rows.iter().filter_map(|row| row.mean());
    let (sum, count) = all.fold((0, 0), |(sum, count), (more, times)| (sum + i128::from(more.nm()), count + times));
    Some(ReadStation { row: rows.first()?, value: Ratio::new(sign * sum, count as i128)? })
}

/// Which way a growing reading points, where the record or its gauge says so.
fn plus(ledger: &Ledger, survey: &Survey) -> Option<PlusDirection> {
    let gauge = || ledger.shop.gauge(survey.gauge.as_ref()?)?.plus;
    survey.plus.or_else(gauge).map(|plus| plus.value)
}

fn sign(ledger: &Ledger, survey: &Survey) -> i128 {
    match plus(ledger, survey) {
        Some(PlusDirection::Narrower | PlusDirection::Down | PlusDirection::Right) => -1,
        _ => 1,
    }
}

/// The difference of two readings; readings are bounded, so that it always fits.
pub(crate) fn minus(a: Ratio, b: Ratio) -> Ratio {
    a.minus(b).unwrap_or(Ratio::whole(0))
}

/// A reading or a difference as a length, rounded away from zero.
pub(crate) fn length(value: Ratio) -> Length {
    Length(i64::try_from(value.away_from_zero()).unwrap_or(i64::MAX / 4))
}

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

/// The surveys of one kind that count for a rail now, in one plane.
///
/// A later survey takes the place of an earlier one only where it reads again all that the earlier one read. One that
/// reads less stands beside it as partial: it can show a fault, and cannot clear one.
#[derive(Clone, Debug, Default)]
pub(crate) struct CurrentSurveys {
    /// The latest as-fitted survey.
    pub as_fitted: Option<usize>,
    /// The latest verification or service survey, where no as-fitted one came after it.
    pub verified: Option<usize>,
    /// Later surveys that left out some of what these read.
    pub partial: SmallVec<[usize; 1]>,
}

impl CurrentSurveys {
    /// Where straightness was read in several planes, those of the plane that was read last.
    pub(crate) fn for_rail(ledger: &Ledger, id: RailId, kind: SurveyKind) -> CurrentSurveys {
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
    pub(crate) fn planes(ledger: &Ledger, id: RailId, kind: SurveyKind) -> SmallVec<[CurrentSurveys; 1]> {
        CurrentSurveys::until(ledger, id, kind, None)
    }

    /// As it was when record `before` was made.
    pub(crate) fn until(
        ledger: &Ledger,
        id: RailId,
        kind: SurveyKind,
        before: Option<usize>,
    ) -> SmallVec<[CurrentSurveys; 1]> {
        CurrentSurveys::among(ledger, id, kind, |record| before.is_none_or(|before| ledger.after(before, record)))
    }

    /// The same, with some of the records only.
    pub(crate) fn among(
        ledger: &Ledger,
        id: RailId,
        kind: SurveyKind,
        keep: impl Fn(usize) -> bool,
    ) -> SmallVec<[CurrentSurveys; 1]> {
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
            let mut said = planes.iter().filter(|(plane, _)| *plane != Plane::Unsaid).filter_map(|(_, of)| of.latest());
            let again = |later: usize, earlier: usize| {
                ledger.after(later, earlier) && unread_again(ledger, id, earlier, later).is_empty()
            };
            if said.all(|later| planes[at].1.all().all(|earlier| again(later, earlier))) {
                planes.remove(at);
            }
        }
        match planes.is_empty() {
            true => SmallVec::from_iter([CurrentSurveys::default()]),
            false => planes.into_iter().map(|(_, of)| of).collect(),
        }
    }

    /// Takes the next survey in the order of the timeline.
    fn take(&mut self, ledger: &Ledger, id: RailId, record: usize, stage: SurveyStage) {
        let again = |earlier: usize| unread_again(ledger, id, earlier, record).is_empty();
        self.partial.retain(|earlier| !again(*earlier));
        if !self.latest().is_none_or(again) {
            self.partial.push(record);
        } else if stage == SurveyStage::AsFitted {
            (self.as_fitted, self.verified) = (Some(record), None);
        } else {
            self.verified = Some(record);
        }
    }

    /// The survey that says how the rail stands now.
    pub(crate) fn latest(&self) -> Option<usize> {
        self.verified.or(self.as_fitted)
    }

    /// Those that say something of how it stands now: the latest, and the partial ones since.
    pub(crate) fn now(&self) -> impl Iterator<Item = usize> {
        self.latest().into_iter().chain(self.partial.iter().copied())
    }

    /// All that count, the as-fitted one first.
    pub(crate) fn all(&self) -> impl Iterator<Item = usize> {
        self.as_fitted.into_iter().chain(self.verified).chain(self.partial.iter().copied())
    }

    /// The verification and service surveys that count, partial ones too, the latest last.
    pub(crate) fn verifications(&self, ledger: &Ledger) -> impl Iterator<Item = usize> {
        let verifies = |record: &usize| match &ledger.records[*record].body {
            Body::Survey(survey) => survey.stage.is_some_and(|stage| stage.value != SurveyStage::AsFitted),
            _ => false,
        };
        self.verified.into_iter().chain(self.partial.iter().copied().filter(verifies))
    }
}

/// The stations of a survey that a later one did not read again.
///
/// Stations are known by where they lie, so that supports may be renamed, added or left out between. A place between
/// supports counts as read again where both supports beside it were, unless it stood out from its neighbours: what was found
/// there is cleared by nothing read elsewhere.
pub(crate) fn unread_again(ledger: &Ledger, id: RailId, earlier: usize, later: usize) -> Vec<&StationReading> {
    let stations = |record: usize| match &ledger.records[record].body {
        Body::Survey(survey) => &survey.stations[..],
        _ => &[],
    };
    let (earlier, later) = (stations(earlier), stations(later));
    let was_read = |row: &&StationReading| !row.readings.is_empty();
    let mut again: Vec<Length> = later.iter().filter(was_read).map(|row| row.position).collect();
    again.sort_unstable();
    let is_again = |position: Length| again.binary_search(&position).is_ok();
    let rail = ledger.machine.rail(id);
    let is_support = |position: Length| rail.supports.binary_search_by_key(&position, |support| support.at).is_ok();
    let between = |row: &StationReading| {
        let mut beside = ledger.adjoining(id, row.position).map(|support| rail.supports[support].at).peekable();
        !is_support(row.position) && beside.peek().is_some() && beside.all(is_again) && !stands_out(row, earlier)
    };
    earlier.iter().filter(was_read).filter(|row| !is_again(row.position) && !between(row)).collect()
}

/// Whether a station reads more or less than both stations beside it.
fn stands_out(row: &StationReading, all: &[StationReading]) -> bool {
    let value = |row: &StationReading| row.mean().and_then(|(sum, count)| Ratio::new(sum.nm().into(), count as i128));
    let read = || all.iter().filter(|other| !other.readings.is_empty());
    let before = read().filter(|other| other.position < row.position).max_by_key(|other| other.position);
    let after = read().filter(|other| other.position > row.position).min_by_key(|other| other.position);
    match (before.and_then(value), value(row), after.and_then(value)) {
        (Some(before), Some(own), Some(after)) => own < before.min(after) || own > before.max(after),
        _ => true,
    }
}

/// What shims of a rail work on: the survey that shows it, its limit, and which way they move it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Seat {
    pub kind: SurveyKind,
    pub limit: LimitName,
    /// Nothing where the rail does not say what its shims do.
    pub effect: Option<ShimEffect>,
}

impl Seat {
    /// Of a rail that follows another.
    pub(crate) fn for_rail(ledger: &Ledger, id: RailId) -> Option<Seat> {
        let rail = ledger.machine.rail(id);
        rail.follows.as_ref()?;
        let gap = |effect| Seat { kind: SurveyKind::Gap, limit: LimitName::GapRange, effect };
        Some(match rail.shims.map(|sense| sense.value) {
            Some(ShimSense::Widen) => gap(Some(ShimEffect::Widens)),
            Some(ShimSense::Narrow) => gap(Some(ShimEffect::Narrows)),
            Some(ShimSense::Lift) => {
                Seat { kind: SurveyKind::Height, limit: LimitName::HeightRange, effect: Some(ShimEffect::Lifts) }
            }
            None => gap(None),
        })
    }
}

/// How the place that others are shimmed to is called.
pub(crate) fn target_words(effect: ShimEffect) -> &'static str {
    match effect {
        ShimEffect::Widens => "the widest place",
        ShimEffect::Narrows => "the narrowest place",
        ShimEffect::Lifts => "the highest place",
    }
}

/// What a kind of survey reads.
pub(crate) fn subject(kind: SurveyKind) -> &'static str {
    match kind {
        SurveyKind::Gap => "gap",
        SurveyKind::Straightness => "straightness",
        SurveyKind::Height => "height",
    }
}

/// The rail that a rail follows.
pub(crate) fn reference(ledger: &Ledger, id: RailId) -> Option<RailId> {
    let axis = &ledger.machine.axes[id.axis];
    let name = axis.rails[id.rail].follows.as_ref()?;
    let rail = axis.rails.iter().position(|rail| *rail.name == **name)?;
    (rail != id.rail).then_some(RailId { axis: id.axis, rail })
}
