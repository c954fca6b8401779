//! The life of a segment by its serial number: what of the records is about it while it lies where it lies.

use crate::ledger::{Body, Ledger, RailId, Record, Target};

/// Where a serial number lies in a machine.
#[derive(Clone, Copy)]
pub(super) struct SerialPlace {
    rail: RailId,
    segment: usize,
}

/// The places of a serial number: one, unless it is written twice.
pub(super) fn places(ledger: &Ledger, serial: &str) -> Vec<SerialPlace> {
    let rails = ledger.machine.rails();
    let all = rails.flat_map(|(rail, _, it)| {
        let own = move |segment: &usize| it.segments[*segment].serial.as_ref().is_some_and(|own| **own == *serial);
        (0..it.segments.len()).filter(own).map(move |segment| SerialPlace { rail, segment })
    });
    all.collect()
}

/// Why a record is about it: nothing where it is not, or was made before the segment came.
pub(super) fn reason(ledger: &Ledger, record: &Record, place: SerialPlace) -> Option<String> {
    let rail = ledger.machine.rail(place.rail);
    let segment = &rail.segments[place.segment];
    let came = segment.life.since.as_ref().map(|since| since.date);
    if came.zip(record.date).is_some_and(|(came, date)| date.date < came) {
        return None;
    }
    let holds = |support: usize| (segment.from..=segment.to).contains(&rail.supports[support].at);
    let meets = |joint: usize| {
        let before = rail.joints[joint].before;
        before == place.segment || before + 1 == place.segment
    };
    let on_it = |count: usize, what: &str| (count > 0).then(|| format!("{what} {count} of its supports"));
    let own_rail = record.target.and_then(Target::rail) == Some(place.rail);
    match (&record.body, record.target) {
        (Body::Fasten(fasten), _) if own_rail => {
            on_it(fasten.rows.iter().filter(|row| holds(row.support)).count(), "tightened")
        }
        (Body::Shim(shim), _) if own_rail => {
            on_it(shim.rows.iter().filter(|row| holds(row.support)).count(), "shimmed")
        }
        (Body::Loosen(loosen), _) if own_rail && !loosen.supports.is_empty() => {
            on_it(loosen.supports.iter().filter(|support| holds(support.value)).count(), "loosened")
        }
        (Body::Survey(survey), _) if own_rail => {
            let along = |at| (segment.from..=segment.to).contains(&at);
            let count = survey.stations.iter().filter(|station| along(station.position)).count();
            (count > 0).then(|| format!("{count} stations on it"))
        }
        (Body::Receive(_), _) => None,
        (_, Some(Target::Joint(id, joint))) if id == place.rail && meets(joint) => {
            Some(format!("its joint {}", rail.joints[joint].name))
        }
        (_, Some(Target::Segment(id, at))) if id == place.rail && at == place.segment => Some("about it".into()),
        (_, Some(Target::Support(id, support))) if id == place.rail && holds(support) => {
            Some(format!("its support {}", rail.supports[support].name))
        }
        (_, Some(Target::Rail(id))) if id == place.rail => Some("its rail".into()),
        (_, Some(Target::Axis(axis))) if axis == place.rail.axis => Some("its axis".into()),
        _ => None,
    }
}
