//! Surveys and shims that are incomplete, wrong or out of order.

use wayledger::model::RailId;

use super::case::{Case, Fault};
use super::fitting::{full, shimmed};
use super::pages::{Record, Spot};

pub(crate) const FAULTS: &[Fault] = &[
    Fault { name: "a station not read", finds: &["station-missing"], make: station },
    Fault { name: "not shimmed, and zeroed elsewhere", finds: &["gap-zero", "shim-missing"], make: unshimmed },
    Fault { name: "a leaf too many", finds: &["shim-total"], make: leaf },
    Fault { name: "a leaf nobody stocks", finds: &["shim-stock"], make: stock },
    Fault { name: "shims not verified", finds: &["shim-unverified"], make: unverified },
    Fault { name: "tightened after it was verified", finds: &["torque-after-shim"], make: late },
    Fault { name: "a narrow place", finds: &["gap-range", "shim-not-seated"], make: range },
];

/// A rail that was shimmed, with its two gap surveys and its shims.
struct Shimmed {
    id: RailId,
    address: String,
    before: Record,
    after: Record,
    shims: Record,
}

fn take(case: &mut Case) -> Option<Shimmed> {
    let id = case.rail_where(|case, id| !shimmed(case, id).is_empty())?;
    let address = case.address(id);
    let surveys = case.pages.records(&format!("survey gap {address}"));
    let shims = case.pages.records(&format!("shim {address}"));
    Some(Shimmed { id, address, before: surveys[0], after: surveys[1], shims: shims[0] })
}

/// The stations of a survey with their readings in hundredths.
pub(super) fn stations(case: &Case, survey: Record) -> Vec<(Spot, i64)> {
    let rows = case.pages.rows(survey).filter(|(_, row)| row.starts_with("at "));
    let reading = |row: &str| row.split_whitespace().nth(2).map(hundredths).expect("a reading");
    rows.map(|(spot, row)| (spot, reading(row))).collect()
}

fn hundredths(word: &str) -> i64 {
    let digits: i64 = word.replace(['-', '.'], "").parse().expect("a number with two decimals");
    if word.starts_with('-') { -digits } else { digits }
}

fn written(n: i64) -> String {
    format!("{}{}.{:02}", if n < 0 { "-" } else { "" }, n.abs() / 100, n.abs() % 100)
}

fn set_reading(case: &mut Case, spot: Spot, reading: &str) {
    let text = case.pages.line(spot).to_string();
    let mut words: Vec<&str> = text.split_whitespace().collect();
    words[2] = reading;
    case.pages.set(spot, format!("    {}", words.join(" ")));
}

/// Whether shims narrow the gap of a rail: then its target is the narrowest place.
fn narrows(case: &Case, id: RailId) -> bool {
    case.pages.line(case.pages.rail(&case.name(id)).head()).contains("shims=narrow")
}

fn station(case: &mut Case) -> bool {
    let Some(id) = case.rail_where(|case, id| case.ledger.machine.rail(id).follows.is_some()) else { return false };
    let address = case.address(id);
    let surveys = case.pages.records(&format!("survey gap {address}"));
    // A later survey that leaves one out may be tied to this one.
    let Some(&survey) = surveys.first() else { return false };
    let mut all = stations(case, survey);
    all.remove(0);
    // The zero is what the others are held against.
    all.retain(|(_, reading)| *reading != 0);
    if all.is_empty() {
        return false;
    }
    let (spot, _) = all[case.index(all.len())];
    if case.dice.chance(50) {
        case.pages.delete(spot);
    } else {
        set_reading(case, spot, "#null");
    }
    case.pages.expect(survey.head(), "station-missing", &address);
    true
}

/// Whether the gap may be one that grows from end to end, which is told as well.
fn grows(all: &[(Spot, i64)]) -> bool {
    let third = (all.len() / 3).max(1);
    let sum = |some: &[(Spot, i64)]| some.iter().map(|(_, reading)| reading).sum::<i64>();
    (sum(&all[all.len() - third..]) - sum(&all[..third])).abs() > 3 * third as i64
}

/// Takes the rail back to the day of its first survey, and moves the survey's zero.
fn unshimmed(case: &mut Case) -> bool {
    let Some(it) = take(case) else { return false };
    let all = stations(case, it.before);
    let target = if narrows(case, it.id) { 0 } else { all.iter().map(|(_, reading)| *reading).max().unwrap_or(0) };
    let worst = all.iter().map(|(_, reading)| (reading - target).abs()).max().unwrap_or(0);
    if worst <= 5 || grows(&all) {
        return false;
    }
    let at = |case: &Case, wanted: i64| {
        let found = stations(case, it.before).into_iter().find(|(_, reading)| (reading - target).abs() == wanted);
        found.expect("the station is there").0
    };
    let (zero, far) = (at(case, 0), at(case, worst));
    let by = case.dice.roll(1..=4);
    for (spot, reading) in all {
        set_reading(case, spot, &written(reading + by));
    }
    let closure = case.pages.row(it.before, "closure").expect("the first station was read again");
    let text = case.pages.line(closure).split_whitespace().nth(2).map(hundredths).expect("a reading");
    set_reading(case, closure, &written(text + by));
    case.pages.expect(zero, "gap-zero", &it.address);
    case.pages.expect(far, "shim-missing", &it.address);
    // Everything later goes, the last first, so that lines before it keep their places.
    let mut later: Vec<Record> = ["fasten", "shim", "survey gap", "inspect"]
        .iter()
        .flat_map(|kind| {
            let joints = case.ledger.machine.rail(it.id).joints.iter().map(|joint| format!(".{}", joint.name));
            let on: Vec<String> = std::iter::once(String::new()).chain(joints).collect();
            on.iter().flat_map(|on| case.pages.records(&format!("{kind} {}{on}", it.address))).collect::<Vec<_>>()
        })
        .filter(|record| case.pages.date(*record).as_str() >= "2026-04-17")
        .collect();
    later.sort_by_key(|record| std::cmp::Reverse((record.file, record.first)));
    for record in later {
        case.pages.delete_record(record);
    }
    true
}

/// A shimmed support's row and name.
fn shim_row(case: &mut Case, it: &Shimmed) -> (Spot, String) {
    let rows: Vec<(Spot, String)> = case
        .pages
        .rows(it.shims)
        .map(|(spot, row)| (spot, row.split_whitespace().nth(1).unwrap_or("").into()))
        .collect();
    rows[case.index(rows.len())].clone()
}

fn leaf(case: &mut Case) -> bool {
    let Some(it) = take(case) else { return false };
    let (spot, name) = shim_row(case, &it);
    let text = format!("{} 0.10", case.pages.line(spot));
    case.pages.set(spot, text);
    case.pages.expect(spot, "shim-total", &format!("{}.{name}", it.address));
    true
}

fn stock(case: &mut Case) -> bool {
    let Some(it) = take(case) else { return false };
    let (spot, name) = shim_row(case, &it);
    if !case.pages.replace(spot, " 0.05", " 0.04") {
        case.pages.replace(spot, " 0.03", " 0.025");
    }
    case.pages.expect(spot, "shim-stock", &format!("{}.{name}", it.address));
    true
}

fn unverified(case: &mut Case) -> bool {
    let Some(it) = take(case) else { return false };
    let first = (it.shims.file, it.shims.first + 1);
    case.pages.expect(first, "shim-unverified", &it.address);
    case.pages.delete_record(it.after);
    true
}

/// The bolts over the shims were tightened only after survey and inspections.
fn late(case: &mut Case) -> bool {
    let Some(it) = take(case) else { return false };
    let record = *full(case, it.id).last().expect("it was tightened");
    let shims = shimmed(case, it.id);
    case.pages.expect(it.after.head(), "torque-after-shim", &it.address);
    // The running force rests on every support of the axis.
    if let Some(force) = case.pages.records("running-force X").last() {
        case.pages.expect(force.head(), "reading-early", "X");
    }
    let rail = case.ledger.machine.rail(it.id);
    let loose = |index: usize| {
        rail.supports.get(index).is_some_and(|support| shims.iter().any(|shimmed| support.name == *shimmed))
    };
    for (joint, its) in rail.joints.iter().enumerate() {
        let own = its.support.expect("a joint support");
        let beside = loose(own) || loose(own + 1) || own > 0 && loose(own - 1);
        let address = case.ledger.machine.joint_address(it.id, joint);
        let last = *case.pages.records(&format!("inspect {address}")).last().expect("it was inspected");
        if beside {
            case.pages.expect(last.head(), "torque-after-shim", &address);
        }
    }
    let lines: Vec<String> = (record.first..=record.last).map(|at| case.pages.line((record.file, at)).into()).collect();
    let date = case.pages.date(record);
    let head = lines[0].replace(&date, "2026-04-18T23:50");
    case.pages.delete_record(record);
    case.pages.add_file("late", &[&[head], &lines[1..]].concat());
    true
}

/// One place reads far from where its shims must have brought it.
fn range(case: &mut Case) -> bool {
    let Some(it) = take(case) else { return false };
    let all = stations(case, it.after);
    let (spot, _) = all[1 + case.index(all.len() - 1)];
    let far = case.dice.roll(12..=30) * if narrows(case, it.id) { 1 } else { -1 };
    set_reading(case, spot, &written(far));
    let name = case.pages.line(spot).split_whitespace().nth(1).unwrap_or("").to_string();
    case.pages.expect(spot, "shim-not-seated", &format!("{}.{name}", it.address));
    // The narrowest place, the first of several.
    let all = stations(case, it.after);
    let least = all.iter().map(|(_, reading)| *reading).min();
    let first = all.iter().find(|(_, reading)| Some(*reading) == least).expect("stations").0;
    case.pages.expect(first, "gap-range", &it.address);
    true
}
