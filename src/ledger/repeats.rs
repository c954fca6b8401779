//! How far repeats lie apart: for each gauge and what it read, over all records of the ledger.

use std::collections::BTreeMap;

use super::record::{Body, Record, RunningForce, StationReading, Survey, SurveyKind};
use super::spanned::Name;

/// What a gauge reads several times at one place: the step of a groove, a station of a survey, the size of a force.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum RepeatedQuantity {
    Step,
    Gap,
    Straightness,
    Height,
    Force,
    /// Of the steps of a survey.
    Angle,
}

impl From<SurveyKind> for RepeatedQuantity {
    fn from(kind: SurveyKind) -> Self {
        match kind {
            SurveyKind::Gap => RepeatedQuantity::Gap,
            SurveyKind::Straightness => RepeatedQuantity::Straightness,
            SurveyKind::Height => RepeatedQuantity::Height,
        }
    }
}

/// The repeats of one gauge and quantity, those of each place about their own mean.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Repeats {
    /// The sum of the squared deviations, that of each place rounded up: of lengths in nm², of forces in µN², of angles in prad².
    pub squares: u128,
    /// Its degrees of freedom: one less than there are readings, for each place.
    pub degrees: u32,
}

impl Repeats {
    /// Takes the readings of one place, in nm, µN or prad.
    pub(crate) fn take(&mut self, readings: impl Iterator<Item = i64> + Clone) {
        let count = readings.clone().count() as u128;
        let Some(first) = readings.clone().next().filter(|_| count > 1) else { return };
        // About the first reading, so that the numbers stay small.
        let (mut sum, mut squares) = (0i128, 0u128);
        for reading in readings {
            let off = i128::from(reading) - i128::from(first);
            sum += off;
            squares = squares.saturating_add(off.unsigned_abs().saturating_mul(off.unsigned_abs()));
        }
        // Σ (x − mean)² = (n Σ x² − (Σ x)²) / n
        let all = squares.saturating_mul(count);
        let of_mean = sum.unsigned_abs().saturating_mul(sum.unsigned_abs());
        self.squares = self.squares.saturating_add(all.saturating_sub(of_mean).div_ceil(count));
        self.degrees = self.degrees.saturating_add(u32::try_from(count - 1).unwrap_or(u32::MAX));
    }
}

/// The repeats of every gauge that read anything more than once.
pub(crate) type AllRepeats = BTreeMap<(Name, RepeatedQuantity), Repeats>;

/// The repeats in some records. What a gauge read that was not in calibration on that day, which `held` tells, says nothing
/// of how far its readings scatter when it is; a record that does not count for another reason shows it as well as others.
pub(super) fn gathered<'r>(records: impl Iterator<Item = &'r Record>, held: impl Fn(&Record) -> bool) -> AllRepeats {
    let mut all = AllRepeats::new();
    for record in records {
        let Some(gauge) = record.gauge() else { continue };
        let mut own: Vec<(RepeatedQuantity, Repeats)> = Vec::new();
        match &record.body {
            // What is read while the rail is set is no evidence of anything.
            _ if record.is_aligning() => {}
            Body::Inspect(inspect) => {
                let mut repeats = Repeats::default();
                for groove in inspect.grooves.iter().filter(|groove| groove.pairs.len() > 1) {
                    repeats.take(groove.pairs.iter().map(|(before, after)| (after.value - before.value).nm()));
                }
                own.push((RepeatedQuantity::Step, repeats));
            }
            Body::Survey(survey) if survey.angles.is_some() => {
                own.push((
                    RepeatedQuantity::Angle,
                    of_stations(survey, |row| row.angles.iter().map(|angle| angle.picoradians())),
                ));
            }
            Body::Survey(survey) => own.extend(survey.kind.map(|kind| {
                (kind.value.into(), of_stations(survey, |row| row.readings.iter().map(|reading| reading.nm())))
            })),
            Body::RunningForce(run) => own.push((RepeatedQuantity::Force, of_run(run))),
            _ => {}
        }
        own.retain(|(_, repeats)| repeats.degrees > 0);
        if own.is_empty() || !held(record) {
            continue;
        }
        for (quantity, repeats) in own {
            let known = all.entry((gauge.value.clone(), quantity)).or_default();
            known.squares = known.squares.saturating_add(repeats.squares);
            known.degrees = known.degrees.saturating_add(repeats.degrees);
        }
    }
    all
}

fn of_run(run: &RunningForce) -> Repeats {
    let mut repeats = Repeats::default();
    for row in run.rows.iter().filter(|row| row.forces.len() > 1) {
        repeats.take(row.forces.iter().map(|force| force.abs().micronewtons()));
    }
    repeats
}

/// A station in two rows was read again: repeats like those in one row.
fn of_stations<'s, I: ExactSizeIterator<Item = i64> + Clone>(
    survey: &'s Survey,
    read: impl Fn(&'s StationReading) -> I,
) -> Repeats {
    let mut repeats = Repeats::default();
    let rows = &survey.stations;
    if rows.is_sorted_by(|row, next| row.position < next.position) {
        for row in rows.iter().filter(|row| read(row).len() > 1) {
            repeats.take(read(row));
        }
        return repeats;
    }
    let mut rows: Vec<&StationReading> = rows.iter().collect();
    rows.sort_by_key(|row| row.position);
    for rows in rows.chunk_by(|row, next| row.position == next.position) {
        repeats.take(rows.iter().flat_map(|row| read(row)));
    }
    repeats
}
