//! What records read of what, without their days: whether one was copied is told by that.

use std::hash::{BuildHasher as _, Hasher as _};

use foldhash::fast::FixedState;

use crate::ledger::{Body, Record};

/// So many readings must agree: fewer may do so by chance.
pub(in crate::rules) const ENOUGH: usize = 12;

/// More records than this are counted and not shown.
pub(super) const MOST_SHOWN: usize = 6;

/// Hands over each place and reading of a record, in order; the last says whether it is a reading.
fn each(record: &Record, take: &mut impl FnMut(i128, bool)) {
    match &record.body {
        Body::Fasten(fasten) => {
            for row in &fasten.rows {
                take(row.support as i128, false);
                fasten.torques_of(row).iter().flatten().for_each(|torque| take(torque.value.0, true));
            }
        }
        Body::Inspect(inspect) => {
            for groove in &inspect.grooves {
                take(groove.groove as i128, false);
                for (before, after) in &groove.pairs {
                    take(before.value.nm().into(), true);
                    take(after.value.nm().into(), true);
                }
            }
        }
        Body::Survey(survey) => {
            for station in &survey.stations {
                take(station.position.nm().into(), false);
                station.readings.iter().for_each(|reading| take(reading.value.nm().into(), true));
                station.angles.iter().for_each(|angle| take(angle.value.picoradians().into(), true));
            }
        }
        Body::RunningForce(run) => {
            for row in &run.rows {
                take(row.position.nm().into(), false);
                row.forces.iter().for_each(|force| take(force.0, true));
            }
        }
        _ => {}
    }
}

/// What a record of a ledger reads of what, in few bytes and whatever its day; nothing where it has no readings.
pub(crate) fn readings_digest(record: &Record) -> Option<u64> {
    let on = record.on.as_ref()?;
    Some(FixedState::default().hash_one((record.kind, on.as_str(), digest(record)?)))
}

/// What a record says, in few bytes; nothing where it has no readings.
pub(super) fn digest(record: &Record) -> Option<u64> {
    let mut hasher = FixedState::default().build_hasher();
    let mut read = false;
    each(record, &mut |value, is_reading| {
        hasher.write_i128(value);
        read |= is_reading;
    });
    read.then(|| hasher.finish())
}

pub(super) fn said(record: &Record) -> Vec<(i128, bool)> {
    let mut all = Vec::new();
    each(record, &mut |value, is_reading| all.push((value, is_reading)));
    all
}

/// How many readings some records have together; nothing where so many may agree by chance, or are all alike.
pub(super) fn telling<'r>(records: impl Iterator<Item = &'r Record>) -> Option<usize> {
    let values: Vec<i128> = records.flat_map(said).filter(|(_, is_reading)| *is_reading).map(|of| of.0).collect();
    (values.len() >= ENOUGH && values.iter().any(|value| *value != values[0])).then_some(values.len())
}
