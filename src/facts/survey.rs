//! A survey's record as numbers: which way is plus, repeats as their exact mean, angles added up to heights; and what several
//! surveys that are tied to each other say together.

use crate::calc::angles::{bend_of_drift, earth_bulge, rise};
use crate::calc::exact::{MOST_LENGTH_NM, Ratio, gcd};
use crate::calc::straightness::minimum_zone;
use crate::calc::survey::{self, ShimEffect};
use crate::calc::tie::{Fit, Free, fine};
use crate::calc::uncertainty::Variance;
use crate::finding::Place;
use crate::language::rulebook::LimitName;
use crate::ledger::{
    Body, Gauge, JointEnd, Ledger, PlusDirection, Rail, RailId, ShimSense, StationReading, Survey, SurveyKind,
    SurveyStage,
};
use crate::quantity::Length;

use super::joined_doubt::JoinedDoubt;

/// One station that was read.
#[derive(Clone, Copy, Debug)]
pub struct ReadStation<'l> {
    pub row: &'l StationReading,
    /// The record that read it.
    pub record: usize,
    /// How often it was read there.
    pub times: usize,
    /// The mean of its readings in nm, wider, higher or to the left being plus; counted from the zero, and where a line is
    /// free from the line, of the first of the surveys that are tied to each other.
    pub value: Ratio,
}

/// How a survey of some stations was tied to what was known before it.
#[derive(Clone, Debug)]
pub struct TiedSurvey<'l> {
    pub record: usize,
    /// The stations it is tied at, as they were read before and in it.
    pub at: Vec<(&'l StationReading, &'l StationReading)>,
    /// What its zero, or its line, was off by.
    pub(crate) fit: Fit,
    /// What all its tied stations have in common, and what they have of the leverage.
    pub(crate) shared: JoinedDoubt<'l>,
    pub(crate) reading: JoinedDoubt<'l>,
}

/// A survey with at least one reading, its stations in order of position; with those of earlier ones that it was tied to.
#[derive(Clone, Debug)]
pub struct SurveyReadings<'l> {
    /// The latest record among them.
    pub record: usize,
    pub place: Place,
    pub survey: &'l Survey,
    /// It shows what shims, or years of service, made of the rails, and not how they were first fitted.
    pub verifies: bool,
    /// The surveys of some stations that it is put together from, beside the first one.
    pub ties: Vec<TiedSurvey<'l>>,
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
        let survey = survey_at(ledger, record)?;
        let sign = sign(ledger, survey);
        let stations = match &survey.angles {
            Some(_) => summed(ledger, survey, sign, record),
            None => stations(&survey.stations, sign, record),
        };
        let verifies = survey.stage.is_some_and(|stage| stage.value != SurveyStage::AsFitted);
        let (greatest, least) = ends(&stations)?;
        let place = ledger.records[record].place;
        Some(SurveyReadings { record, place, survey, verifies, ties: Vec::new(), sign, stations, greatest, least })
    }

    /// The same survey with some of its stations only; nothing where none is left.
    pub fn only(&self, keep: impl FnMut(&&ReadStation<'l>) -> bool) -> Option<SurveyReadings<'l>> {
        let stations: Vec<_> = self.stations.iter().filter(keep).copied().collect();
        let (greatest, least) = ends(&stations)?;
        Some(SurveyReadings { ties: self.ties.clone(), stations, greatest, least, ..*self })
    }

    /// The same stations, as they would read otherwise; as many values as stations.
    pub(crate) fn with_values(&self, values: &[Ratio]) -> Option<SurveyReadings<'l>> {
        let stations: Vec<_> = self
            .stations
            .iter()
            .zip(values)
            .map(|(station, value)| ReadStation { value: *value, ..*station })
            .collect();
        let (greatest, least) = ends(&stations)?;
        Some(SurveyReadings { ties: self.ties.clone(), stations, greatest, least, ..*self })
    }

    /// A later survey of some stations put on top of this one: with these stations in all.
    pub(crate) fn with_tied(
        &self,
        later: &SurveyReadings<'l>,
        tie: TiedSurvey<'l>,
        stations: Vec<ReadStation<'l>>,
    ) -> Option<SurveyReadings<'l>> {
        let (greatest, least) = ends(&stations)?;
        // A tie of which nothing is left says nothing any more.
        let left = |tie: &&TiedSurvey| stations.iter().any(|station| station.record == tie.record);
        let mut ties: Vec<TiedSurvey> = self.ties.iter().filter(left).cloned().collect();
        ties.push(tie);
        Some(SurveyReadings { verifies: self.verifies || later.verifies, ties, stations, greatest, least, ..*later })
    }

    /// The records that stations of it were read in, the earliest first.
    pub fn records(&self) -> Vec<usize> {
        let ties = self.ties.iter().map(|tie| tie.record);
        let first =
            self.stations.iter().map(|station| station.record).find(|record| !ties.clone().any(|it| it == *record));
        let read = |record: &usize| self.stations.iter().any(|station| station.record == *record);
        first.into_iter().chain(ties).filter(read).collect()
    }

    /// How a station was tied to the others; nothing where it is of the first survey.
    pub(crate) fn tie(&self, station: &ReadStation) -> Option<&TiedSurvey<'l>> {
        self.ties.iter().find(|tie| tie.record == station.record)
    }

    /// What the tie of a station adds to its variance.
    pub(crate) fn tie_doubt(&self, station: &ReadStation) -> JoinedDoubt<'l> {
        let Some(tie) = self.tie(station) else { return JoinedDoubt::default() };
        match tie.fit.leverage(station.row.position.nm()) {
            Some(leverage) => tie.shared.clone().and(&tie.reading.clone().times(leverage)),
            // Without a number for the leverage the tie vouches for nothing.
            None => JoinedDoubt::known(Variance::permissible_error(i64::MAX)),
        }
    }

    /// What ties add to the variance of the difference of two stations: nothing where both were moved alike.
    pub(crate) fn tie_between(&self, a: &ReadStation, b: &ReadStation) -> JoinedDoubt<'l> {
        let alike = || self.tie(a).is_none_or(|tie| tie.fit.free() == Free::Offset);
        if a.record == b.record && alike() {
            return JoinedDoubt::default();
        }
        self.tie_doubt(a).and(&self.tie_doubt(b))
    }
}

/// The survey that a record is.
pub(crate) fn survey_at(ledger: &Ledger, record: usize) -> Option<&Survey> {
    match &ledger.records[record].body {
        Body::Survey(survey) => Some(survey),
        _ => None,
    }
}

/// The first of the greatest and the first of the least; nothing where there is none.
fn ends<'l>(stations: &[ReadStation<'l>]) -> Option<(ReadStation<'l>, ReadStation<'l>)> {
    stations.first()?;
    let (mut greatest, mut least) = (&stations[0], &stations[0]);
    for station in stations {
        if station.value > greatest.value {
            greatest = station;
        } else if station.value < least.value {
            least = station;
        }
    }
    Some((*greatest, *least))
}

impl<'l> SurveyReadings<'l> {
    /// What was read.
    pub fn kind(&self) -> SurveyKind {
        self.survey.kind.map_or(SurveyKind::Gap, |kind| kind.value)
    }

    /// The survey in whole numbers for `calc`, each station by its number and where people are told that it lies; and how many
    /// of them make a nanometre: more than one where means of repeats are no whole nanometres.
    pub fn survey(&self) -> Option<(survey::SurveyLine, i128)> {
        let greatest = self.greatest.value.abs().max(self.least.value.abs()).ceil().max(1);
        // As many as keep the readings within the lengths that `calc` takes.
        let most = i128::from(MOST_LENGTH_NM) / greatest;
        let scale = self.stations.iter().try_fold(1i128, |scale, station| {
            let den = station.value.denominator();
            if den == 1 {
                return Some(scale);
            }
            let gcd = i128::try_from(gcd(scale.unsigned_abs(), den.unsigned_abs())).ok()?;
            scale.checked_mul(den / gcd).filter(|scale| *scale <= most)
        });
        // Means of very unlike numbers of repeats are rounded outward, to less than a millionth of a nanometre where they are
        // below 10 mm.
        let scale = scale.unwrap_or_else(|| most.clamp(1, 1_000_000));
        let stations = self.stations.iter().enumerate().map(|(number, station)| {
            let value = station.value.numerator().checked_mul(scale)?;
            let value = match station.value.denominator() {
                1 => value,
                den => Ratio::new(value, den)?.away_from_zero(),
            };
            Some(survey::SurveyStation {
                position_nm: station.row.told_at().nm(),
                reading_nm: i64::try_from(value).ok()?,
                number,
            })
        });
        let mut all = Vec::with_capacity(self.stations.len());
        for station in stations {
            all.push(station?);
        }
        Some((survey::SurveyLine::new(all).ok()?, scale))
    }

    /// Greatest minus least.
    pub fn range(&self) -> Ratio {
        minus(self.greatest.value, self.least.value)
    }

    /// The width of the minimum zone (ISO 12780-1); nothing where the numbers are out of range.
    pub fn zone(&self) -> Option<Ratio> {
        let (survey, scale) = self.survey()?;
        minimum_zone(&survey)?.width.over(scale)
    }

    /// How far each station lies off that line of the minimum zone which runs through two of them: all on one side, the
    /// farthest as far as the zone is wide.
    pub fn off_zone(&self) -> Option<Vec<Ratio>> {
        let (survey, scale) = self.survey()?;
        let zone = minimum_zone(&survey)?;
        survey.stations().iter().map(|station| zone.off_line(*station)?.over(scale)).collect()
    }

    /// What was read at a place.
    pub(crate) fn at(&self, place: Length) -> Option<&ReadStation<'l>> {
        let at = self.stations.binary_search_by_key(&place, |it| it.row.position).ok()?;
        Some(&self.stations[at])
    }

    /// What was read at both ends in the joint over a support, the one before first; nothing where one of them was not.
    pub(crate) fn over_support(&self, rail: &Rail, support: usize) -> Option<[&ReadStation<'l>; 2]> {
        self.both_ends(rail, rail.joints.iter().position(|joint| joint.support == Some(support))?)
    }

    /// What was read at both ends in a joint.
    fn both_ends(&self, rail: &Rail, joint: usize) -> Option<[&ReadStation<'l>; 2]> {
        let read = |end: JointEnd| self.at(end.position());
        let [before, behind] = rail.ends_of(joint).map(read);
        Some([before?, behind?])
    }

    /// The stations that tell what was read at the place of another one: the one there, or both ends where that is the mean of
    /// a joint. Nothing where it was not read.
    pub(crate) fn again(&self, rail: &Rail, row: &StationReading) -> Option<[&ReadStation<'l>; 2]> {
        if let Some(there) = self.at(row.position) {
            return Some([there; 2]);
        }
        let joint = rail.joint_at(row).filter(|_| row.end.is_none())?;
        self.both_ends(rail, joint)
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

/// Half the sum of what two stations read.
pub(crate) fn mean_of([one, other]: [&ReadStation; 2]) -> Option<Ratio> {
    one.value.plus(other.value)?.over(2)
}

/// The stations of a survey that were read, in order of position.
fn stations(rows: &[StationReading], sign: i128, record: usize) -> Vec<ReadStation<'_>> {
    let mut stations = Vec::with_capacity(rows.len());
    let read = || rows.iter().filter(|row| !row.readings.is_empty());
    if rows.is_sorted_by(|row, next| row.position < next.position) {
        stations.extend(read().filter_map(|row| match &row.readings[..] {
            [once] => Some(ReadStation { row, record, times: 1, value: Ratio::whole(sign * i128::from(once.nm())) }),
            _ => station(&[row], sign, record),
        }));
        return stations;
    }
    let mut read: Vec<&StationReading> = read().collect();
    read.sort_by_key(|row| row.position);
    // A station in two rows was read again: repeats like those in one row.
    stations.extend(
        read.chunk_by(|row, next| row.position == next.position).filter_map(|rows| station(rows, sign, record)),
    );
    stations
}

/// A step between two stations whose angle was read.
#[derive(Clone, Copy, Debug)]
pub(crate) struct ReadStep<'l> {
    /// Where it ends.
    pub row: &'l StationReading,
    /// What lay there is there still.
    pub stands: bool,
    /// How it leans, as it was read, in picoradians: the mean of its repeats.
    pub slope: Ratio,
    pub times: usize,
}

/// The steps of a survey of angles as far as each begins where the one before it ends: beyond a step that is left out or blank,
/// or is not as long as the base, no height is known.
pub(crate) fn read_steps(survey: &Survey) -> Vec<ReadStep<'_>> {
    let Some(steps) = survey.angles.as_ref().filter(|_| is_straightness(survey)) else { return Vec::new() };
    let rows = survey.stations.iter().map(|row| (row, true)).chain(survey.former.iter().map(|row| (row, false)));
    let mut rows: Vec<(&StationReading, bool)> = rows.filter(|(row, _)| !row.angles.is_empty()).collect();
    rows.sort_by_key(|(row, _)| row.position);
    let (mut all, mut end) = (Vec::with_capacity(rows.len()), steps.from.position);
    for rows in rows.chunk_by(|(row, _), (next, _)| row.position == next.position) {
        let angles = || rows.iter().flat_map(|(row, _)| &row.angles);
        let (sum, times) = (angles().map(|angle| i128::from(angle.picoradians())).sum(), angles().count());
        let (row, stands) = rows[0];
        let Some(slope) = Ratio::new(sum, times as i128).filter(|_| row.position - end == *steps.base) else { break };
        all.push(ReadStep { row, stands, slope, times });
        end = row.position;
    }
    all
}

/// The step that a closure reads again: where it was read before, and by how much its angle changed, in picoradians.
pub(crate) fn step_again<'l>(survey: &'l Survey, closure: &StationReading) -> Option<(&'l StationReading, Ratio)> {
    let before = read_steps(survey).into_iter().find(|step| step.row.position == closure.position)?;
    let sum = closure.angles.iter().map(|angle| i128::from(angle.picoradians())).sum();
    Some((before.row, minus(Ratio::new(sum, closure.angles.len() as i128)?, before.slope)))
}

fn is_straightness(survey: &Survey) -> bool {
    survey.kind.is_some_and(|kind| kind.value == SurveyKind::Straightness)
}

/// The stations of a survey of angles: the heights of the ends of its steps above the line along which its first one stands.
/// What follows gravity is turned to a straight line, from end to end.
fn summed<'l>(ledger: &Ledger, survey: &'l Survey, sign: i128, record: usize) -> Vec<ReadStation<'l>> {
    let (Some(steps), read) = (&survey.angles, read_steps(survey)) else { return Vec::new() };
    let Some(last) = read.last() else { return Vec::new() };
    let (from, span) = (steps.from.position, last.row.position - steps.from.position);
    let bulge = |at: Length| match follows_gravity(ledger, survey) {
        true => earth_bulge((at - from).nm(), span.nm()),
        false => Some(Ratio::whole(0)),
    };
    let mut stations = Vec::with_capacity(read.len() + 1);
    if steps.from_stands {
        stations.push(ReadStation { row: &steps.from, record, times: 1, value: Ratio::whole(0) });
    }
    let mut height = Ratio::whole(0);
    for step in &read {
        let next = rise(step.slope, steps.base.nm()).and_then(|rise| height.plus(rise.times(Ratio::whole(sign))?));
        // Numbers that are beyond reckoning are no heights.
        let Some(next) = next.and_then(fine) else { break };
        height = next;
        let value = bulge(step.row.position).and_then(|bulge| fine(height.plus(bulge)?));
        let Some(value) = value else { break };
        if step.stands {
            stations.push(ReadStation { row: step.row, record, times: step.times, value });
        }
    }
    stations
}

fn follows_gravity(ledger: &Ledger, survey: &Survey) -> bool {
    survey.gauge.as_ref().and_then(|name| ledger.shop.gauge(name)).is_some_and(Gauge::follows_gravity)
}

/// How far the angles of a survey reach; nothing where it has none.
pub(crate) fn span_of_angles(survey: &Survey) -> Option<Length> {
    Some(read_steps(survey).last()?.row.position - survey.angles.as_ref()?.from.position)
}

/// The curvature of the earth that is taken off a survey, in the middle of its span; nothing where it does not follow gravity.
pub(crate) fn curvature(ledger: &Ledger, survey: &Survey) -> Option<Length> {
    let span = span_of_angles(survey).filter(|_| follows_gravity(ledger, survey))?;
    // L²/(8R) is what the line has at half of the span.
    Some(length(earth_bulge(span.nm() / 2, span.nm())?))
}

/// How far an angle by which the gauge of a survey drifted evenly bends its line.
pub(crate) fn bent_by(survey: &Survey, drift: Ratio) -> Option<Ratio> {
    bend_of_drift(drift, span_of_angles(survey)?.nm())
}

/// The station that some rows read.
fn station<'l>(rows: &[&'l StationReading], sign: i128, record: usize) -> Option<ReadStation<'l>> {
    let all = rows.iter().filter_map(|row| row.mean());
    let (sum, count) = all.fold((0, 0), |(sum, count), (more, times)| (sum + i128::from(more.nm()), count + times));
    let times = rows.iter().map(|row| row.readings.len()).sum();
    Some(ReadStation { row: rows.first()?, record, times, value: Ratio::new(sign * sum, count as i128)? })
}

/// Which way a growing reading points, where the record or its gauge says so.
pub(super) fn plus(ledger: &Ledger, survey: &Survey) -> Option<PlusDirection> {
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
