//! The life of a segment by its serial number: what of the records is about it while it lies where it lies.

use std::collections::BTreeSet;

use jiff::civil::Date;

use crate::ledger::{Body, Ledger, Rail, RailId, Record, Segment, Target};
use crate::quantity::{Amount as _, Length};

/// Where a serial number lies in a machine, or lay.
pub(super) struct SerialPlace<'l> {
    rail: RailId,
    segment: &'l Segment,
    /// The names of the joints that it meets, and its own on its rail.
    joints: Vec<&'l str>,
    name: String,
    /// Where it went: the day, and the rail as it stood before.
    went: Option<(Date, &'l Rail)>,
    /// What is said of it where its number only looks like the one looked for.
    alike: Option<String>,
}

/// The places of a serial number: one, unless it is written twice, and those that it left. `is` shows a number that is the one
/// looked for.
pub(super) fn places<'l>(ledger: &'l Ledger, is: impl Fn(&str) -> Option<String>) -> Vec<SerialPlace<'l>> {
    let mut all = Vec::new();
    for (id, _, rail) in ledger.machine.rails() {
        let mut take = |segment: &'l Segment, number: usize, joints: Vec<&'l str>, went: Option<(Date, &'l Rail)>| {
            let Some(serial) = &segment.serial else { return };
            let Some(shown) = is(serial) else { return };
            let alike = (shown != serial.as_str()).then(|| format!("serial {shown}"));
            all.push(SerialPlace { rail: id, segment, joints, name: format!("seg{}", number + 1), went, alike });
        };
        for (number, segment) in rail.segments.iter().enumerate() {
            let meets = rail.joints.iter().filter(|it| it.before == number || it.before + 1 == number);
            take(segment, number, meets.map(|joint| joint.name.as_str()).collect(), None);
        }
        for gone in rail.gone_segments() {
            take(gone.segment, gone.number, gone.joints, Some((gone.until, gone.rail)));
        }
    }
    all
}

/// Why a record is about it: nothing where it is not, or was made before the segment came or after it went.
pub(super) fn reason(ledger: &Ledger, record: &Record, place: &SerialPlace) -> Option<String> {
    let day = record.date.map(|date| date.date);
    let came = place.segment.life.since.as_ref().map(|since| since.date);
    let before = came.zip(day).is_some_and(|(came, day)| day < came);
    let behind = place.went.is_some_and(|(until, _)| day.is_none_or(|day| day > until));
    if before || behind {
        return None;
    }
    let mut reason = while_there(ledger, record, place)?;
    if let Some(alike) = &place.alike {
        reason = format!("{reason}: {alike}");
    }
    Some(if place.went.is_some() { format!("{reason}, before it went") } else { reason })
}

/// How many places on a segment a record names, by the rail as it stood: supports, ranges of them, and positions.
fn named_then(ledger: &Ledger, record: &Record, then: &Rail, segment: &Segment) -> usize {
    let document = &ledger.sources.get(record.place.source).document;
    let Some(node) = document.node_at(record.place.span.range().start) else { return 0 };
    let mut named: BTreeSet<Length> = BTreeSet::new();
    for row in node.children().filter(|row| row.is("at") || row.is("clicked")) {
        // Behind the support of a row stands what was read there.
        let all = row.is("clicked") || matches!(record.body, Body::Loosen(_));
        for cell in row.args().take(if all { usize::MAX } else { 1 }) {
            let Some(word) = cell.word() else { continue };
            let (first, last) = word.split_once("..").unwrap_or((word, word));
            match then.support(first).zip(then.support(last)) {
                Some((a, b)) => named.extend(then.supports[a.min(b)..=a.max(b)].iter().map(|support| support.at)),
                None => named.extend(Length::read(word, cell.ty().map(|(unit, _)| unit)).ok()),
            }
        }
    }
    named.range(segment.from..=segment.to).count()
}

fn while_there(ledger: &Ledger, record: &Record, place: &SerialPlace) -> Option<String> {
    let rail = ledger.machine.rail(place.rail);
    let within = place.segment.from..=place.segment.to;
    let holds = |support: usize| within.contains(&rail.supports[support].at);
    // What was recorded of a part that went has no rows any more; it is named in the text.
    let rows = |rows: usize| place.went.map_or(rows, |(_, then)| named_then(ledger, record, then, place.segment));
    let on_it = |count: usize, what: &str| {
        let count = rows(count);
        (count > 0).then(|| format!("{what} {count} of its supports"))
    };
    let own_rail = record.target.and_then(Target::rail) == Some(place.rail);
    match &record.body {
        Body::Fasten(fasten) if own_rail => {
            on_it(fasten.rows.iter().filter(|row| holds(row.support)).count(), "tightened")
        }
        Body::Shim(shim) if own_rail => on_it(shim.rows.iter().filter(|row| holds(row.support)).count(), "shimmed"),
        Body::Loosen(loosen) if own_rail && !loosen.supports.is_empty() => {
            on_it(loosen.supports.iter().filter(|support| holds(support.value)).count(), "loosened")
        }
        Body::Survey(survey) if own_rail => {
            let count = rows(survey.stations.iter().filter(|station| within.contains(&station.position)).count());
            (count > 0).then(|| format!("{count} stations on it"))
        }
        Body::Receive(_) => None,
        _ => {
            // By its own words: a part that went is named by nothing else.
            let (on, axis) = (record.on.as_ref()?.as_str(), &ledger.machine.axes[place.rail.axis].name);
            if on == axis.as_str() {
                return Some("its axis".into());
            }
            let part = match on.strip_prefix(ledger.machine.rail_address(place.rail).as_str())? {
                "" => return Some("its rail".into()),
                rest => rest.strip_prefix('.')?,
            };
            if let Some(joint) = place.joints.iter().find(|joint| **joint == part) {
                return Some(format!("its joint {joint}"));
            }
            if part == place.name {
                return Some("about it".into());
            }
            let support = rail.support(part).filter(|support| holds(*support))?;
            Some(format!("its support {}", rail.supports[support].name))
        }
    }
}
