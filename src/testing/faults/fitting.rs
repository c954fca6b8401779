//! Bolts and joints that were done wrong, or not recorded.

use wayledger::lint::Grade;
use wayledger::model::RailId;

use super::case::{Case, Fault};
use super::layout::mm;
use super::pages::{Record, Spot};
use super::text::inspection;

pub(crate) const FAULTS: &[Fault] = &[
    Fault { name: "a torque outside its window", finds: &["torque-window"], make: torque },
    Fault { name: "a bolt without torque", finds: &["torque-missing"], make: blank },
    Fault { name: "a snug setting outside its window", finds: &["snug-window"], make: snug },
    Fault { name: "a bolt that did not click", finds: &["snug-before-full"], make: missed },
    Fault { name: "a neighbour before the joint", finds: &["torque-order"], make: order },
    Fault { name: "light through the joint", finds: &["light-through-joint"], make: light },
    Fault { name: "a feeler goes in", finds: &["light-through-joint"], make: feeler },
    Fault { name: "a step", finds: &["joint-step", "joint-step-cause"], make: step },
    Fault { name: "a groove not read", finds: &["groove-missing"], make: groove },
    Fault { name: "no light check", finds: &["light-missing"], make: no_light },
    Fault { name: "a joint not inspected", finds: &["groove-missing"], make: uninspected },
    Fault { name: "a reading without its gauge", finds: &["instrument-missing"], make: unnamed },
    Fault { name: "bolts without their wrench", finds: &["instrument-missing"], make: no_wrench },
    Fault { name: "a gauge that counts another way", finds: &["instrument-unsuited"], make: unsuited },
    Fault { name: "a reading beyond its gauge", finds: &["gauge-range"], make: beyond },
    Fault { name: "a joint read before full torque", finds: &["reading-early"], make: early },
    Fault { name: "torques in inch-pounds", finds: &["unit-mistaken"], make: inch_pounds },
    Fault { name: "degrees Fahrenheit", finds: &["temperature-span"], make: fahrenheit },
    Fault { name: "a support loosened later", finds: &["inspection-stale", "survey-stale"], make: loosened },
];

/// The full rail torques of a rail, by date.
pub(crate) fn full(case: &Case, id: RailId) -> Vec<Record> {
    let all = case.pages.records(&format!("fasten {}", case.address(id)));
    let full = |record: &Record| {
        let head = case.pages.line(record.head());
        head.contains("stage=full") && !head.contains("interface=base")
    };
    all.into_iter().filter(full).collect()
}

/// The names of the supports that a rail's shim record names.
pub(crate) fn shimmed(case: &Case, id: RailId) -> Vec<String> {
    let all = case.pages.records(&format!("shim {}", case.address(id)));
    let rows = all.iter().flat_map(|record| case.pages.rows(*record));
    rows.filter_map(|(_, row)| row.split_whitespace().nth(1)).map(String::from).collect()
}

/// A rail with a row of torques that count, and the row's support.
fn read_row(case: &mut Case, unshimmed: bool) -> Option<(RailId, Spot, String)> {
    let id = case.rail()?;
    let shimmed = shimmed(case, id);
    let records = full(case, id);
    let rows = |record: &Record| case.pages.rows(*record).collect::<Vec<_>>();
    let mut rows: Vec<(Spot, String)> = records
        .iter()
        .enumerate()
        .flat_map(|(at, record)| rows(record).into_iter().map(move |row| (at, row)))
        .filter_map(|(at, (spot, row))| {
            let name = row.strip_prefix("at ")?.split_whitespace().next()?.to_string();
            let again = shimmed.contains(&name);
            // Of a shimmed support the later torques count.
            (again == (at > 0) && !(unshimmed && again)).then_some((spot, name))
        })
        .collect();
    if rows.is_empty() {
        return None;
    }
    let (spot, name) = rows.swap_remove(case.index(rows.len()));
    Some((id, spot, name))
}

/// Replaces one torque of a row.
fn set_torque(case: &mut Case, spot: Spot, torque: &str) {
    let text = case.pages.line(spot).to_string();
    let mut words: Vec<&str> = text.split_whitespace().collect();
    let bolt = 2 + case.index(words.len() - 2);
    words[bolt] = torque;
    case.pages.set(spot, format!("    {}", words.join(" ")));
}

fn torque(case: &mut Case) -> bool {
    let Some((id, spot, name)) = read_row(case, false) else { return false };
    let torque = *case.dice.pick(&["9.9", "11.1", "8", "14.5"]);
    set_torque(case, spot, torque);
    let address = format!("{}.{name}", case.address(id));
    case.pages.expect(spot, "torque-window", &address);
    true
}

/// Every torque of a record is copied as the wrench showed it: 10.5 N·m are 93 in·lbf.
fn inch_pounds(case: &mut Case) -> bool {
    let Some(id) = case.rail() else { return false };
    let record = full(case, id)[0];
    let rows: Vec<(Spot, String)> = case.pages.rows(record).map(|(spot, row)| (spot, row.to_string())).collect();
    if rows.is_empty() || !rows.iter().all(|(_, row)| row.starts_with("at ") && !row.contains('#')) {
        return false;
    }
    let mut torques = Vec::new();
    for (spot, row) in rows {
        let words: Vec<&str> = row.split_whitespace().collect();
        torques.extend(std::iter::repeat_n(spot, words.len() - 2));
        case.pages.set(spot, format!("    {} {}{}", words[0], words[1], " 93".repeat(words.len() - 2)));
    }
    // All are alike: the middle one as they stand.
    let (address, middle) = (case.address(id), torques[torques.len() / 2]);
    case.pages.expect(middle, "unit-mistaken", &address);
    true
}

fn fahrenheit(case: &mut Case) -> bool {
    let Some((record, address)) = inspection(case) else { return false };
    let head = case.pages.line(record.head()).to_string();
    match head.split_whitespace().find(|word| word.starts_with("temperature=")) {
        Some(stated) => assert!(case.pages.replace(record.head(), stated, "temperature=68")),
        None => assert!(case.pages.replace(record.head(), " {", " temperature=68 {")),
    }
    case.pages.expect(record.head(), "temperature-span", &address);
    true
}

fn blank(case: &mut Case) -> bool {
    let Some((id, spot, _)) = read_row(case, true) else { return false };
    set_torque(case, spot, "#null");
    let (rail, address) = (case.pages.rail(&case.name(id)), case.address(id));
    case.pages.expect(rail.head(), "torque-missing", &address);
    true
}

fn snug_record(case: &Case, id: RailId) -> Option<Record> {
    let all = case.pages.records(&format!("fasten {}", case.address(id)));
    all.into_iter().find(|record| case.pages.line(record.head()).contains("stage=snug"))
}

/// The supports of a rail that are not shimmed, so that the first torques count.
fn unshimmed(case: &Case, id: RailId) -> Vec<String> {
    let shimmed = shimmed(case, id);
    let supports = case.ledger.machine.rail(id).supports.iter().map(|support| support.name.to_string());
    supports.filter(|name| !shimmed.contains(name)).collect()
}

fn snug(case: &mut Case) -> bool {
    let Some(id) = case.rail_where(|case, id| !unshimmed(case, id).is_empty()) else { return false };
    let record = snug_record(case, id).expect("it was snugged");
    let setting = *case.dice.pick(&["0.9", "2.1", "0.5", "4"]);
    assert!(case.pages.replace(record.head(), "setting=1.5", &format!("setting={setting}")));
    let address = case.address(id);
    case.pages.expect(record.head(), "snug-window", &address);
    true
}

fn missed(case: &mut Case) -> bool {
    let Some(id) = case.rail_where(|case, id| !unshimmed(case, id).is_empty()) else { return false };
    let names = unshimmed(case, id);
    let name = names[case.index(names.len())].clone();
    let first = full(case, id)[0];
    let row = case.pages.row(first, &format!("at {name}")).or_else(|| case.pages.row(first, "clicked"));
    let address = case.address(id);
    case.pages.expect(row.expect("it was tightened"), "snug-before-full", &address);
    let record = snug_record(case, id).expect("it was snugged");
    case.pages.insert((record.file, record.last), &format!("    missed {name} bolt=1"));
    true
}

/// The first support outward of a joint gets its full torque before the joint's own support.
fn order(case: &mut Case) -> bool {
    let Some((id, joint)) = case.joint() else { return false };
    let rail = case.ledger.machine.rail(id);
    let (name, position) = (rail.joints[joint].name.clone(), mm(rail.joints[joint].position));
    let first = full(case, id)[0];
    let Some(own) = case.pages.row(first, &format!("at {name}")) else { return false };
    let next = (own.0, own.1 + 1);
    let text = case.pages.line(next).to_string();
    let Some(neighbour) = text.trim_start().strip_prefix("at ").and_then(|row| row.split_whitespace().next()) else {
        return false;
    };
    let rail = case.ledger.machine.rail(id);
    let Some(support) = rail.support(neighbour).map(|index| &rail.supports[index]) else { return false };
    let away = |joint: &wayledger::model::Joint| (mm(joint.position) - mm(support.at)).abs();
    let others = rail.joints.iter().enumerate().filter(|(other, _)| *other != joint);
    // Halfway between two joints it may be the last of either.
    let strictly = others.map(|(_, other)| away(other)).all(|other| other > (position - mm(support.at)).abs());
    if support.joint.is_some() || !strictly || shimmed(case, id).iter().any(|name| name == neighbour) {
        return false;
    }
    let joints_row = case.pages.line(own).to_string();
    case.pages.set(next, joints_row);
    case.pages.set(own, text);
    let address = case.ledger.machine.joint_address(id, joint);
    case.pages.expect(own, "torque-order", &address);
    true
}

/// A joint with its inspections; `once` where it must have one only.
fn inspected(case: &mut Case, once: bool) -> Option<(RailId, usize, Record)> {
    let (id, joint) = case.joint()?;
    let all = case.pages.records(&format!("inspect {}", case.ledger.machine.joint_address(id, joint)));
    (!once || all.len() == 1).then(|| (id, joint, *all.last().expect("it was inspected")))
}

fn light(case: &mut Case) -> bool {
    let Some((id, joint, record)) = inspected(case, false) else { return false };
    let spot = case.pages.row(record, "light").expect("light was looked for");
    case.pages.replace(spot, "none", "seen");
    let address = case.ledger.machine.joint_address(id, joint);
    case.pages.expect(spot, "light-through-joint", &address);
    true
}

fn feeler(case: &mut Case) -> bool {
    let Some((id, joint, record)) = inspected(case, false) else { return false };
    let spot = (record.file, record.first + 1);
    let thickness = *case.dice.pick(&["0.06", "0.051", "0.1"]);
    case.pages.insert(spot, &format!("    feeler {thickness}"));
    let address = case.ledger.machine.joint_address(id, joint);
    case.pages.expect(spot, "light-through-joint", &address);
    true
}

/// One groove steps and the other three do not, so that it is the cause as well.
fn step(case: &mut Case) -> bool {
    let Some((id, joint, record)) = inspected(case, false) else { return false };
    let grooves = ["UL", "UR", "LL", "LR"];
    let groove = *case.dice.pick(&grooves);
    for even in grooves.into_iter().filter(|other| *other != groove) {
        let spot = case.pages.row(record, even).expect("it was read");
        case.pages.set(spot, format!("    {even} 0.010 -> 0.010"));
    }
    let spot = case.pages.row(record, groove).expect("it was read");
    let (before, step) = (case.dice.roll(-20..=20) * 2, case.dice.roll(11..=40) * 2);
    let after = if case.dice.chance(50) { before + step } else { before - step };
    let mm = |n: i64| format!("{}{}.{:03}", if n < 0 { "-" } else { "" }, n.abs() / 1000, n.abs() % 1000);
    case.pages.set(spot, format!("    {groove} {} -> {}", mm(before), mm(after)));
    let address = case.ledger.machine.joint_address(id, joint);
    case.pages.expect(spot, "joint-step", &address);
    case.pages.expect(spot, "joint-step-cause", &address);
    true
}

fn groove(case: &mut Case) -> bool {
    let Some((id, joint, record)) = inspected(case, true) else { return false };
    let groove = *case.dice.pick(&["UL", "UR", "LL", "LR"]);
    let spot = case.pages.row(record, groove).expect("it was read");
    case.pages.delete(spot);
    let address = case.ledger.machine.joint_address(id, joint);
    case.pages.expect(record.head(), "groove-missing", &address);
    true
}

fn no_light(case: &mut Case) -> bool {
    let Some((id, joint, record)) = inspected(case, true) else { return false };
    let spot = case.pages.row(record, "light").expect("light was looked for");
    case.pages.delete(spot);
    let address = case.ledger.machine.joint_address(id, joint);
    case.pages.expect(record.head(), "light-missing", &address);
    true
}

fn uninspected(case: &mut Case) -> bool {
    let Some((id, joint, record)) = inspected(case, true) else { return false };
    case.pages.delete_record(record);
    let spot = case.pages.segment(&case.name(id), joint + 1);
    let address = case.ledger.machine.joint_address(id, joint);
    case.pages.expect(spot, "groove-missing", &address);
    true
}

fn unnamed(case: &mut Case) -> bool {
    let Some((id, _, record)) = inspected(case, true) else { return false };
    assert!(case.pages.replace(record.head(), " gauge=DI-4", ""));
    let address = case.address(id);
    case.pages.expect(record.head(), "instrument-missing", &address);
    true
}

fn no_wrench(case: &mut Case) -> bool {
    let Some(id) = case.rail_where(|case, id| !unshimmed(case, id).is_empty()) else { return false };
    let record = full(case, id)[0];
    let wrench =
        ["TW-2", "TW-3"].into_iter().any(|name| case.pages.replace(record.head(), &format!(" wrench={name}"), ""));
    assert!(wrench, "{}", case.pages.line(record.head()));
    let address = case.address(id);
    case.pages.expect(record.head(), "instrument-missing", &address);
    true
}

/// A laser that is good enough for a groove, and takes right for plus.
fn unsuited(case: &mut Case) -> bool {
    let Some((id, joint, record)) = inspected(case, true) else { return false };
    assert!(case.pages.replace(record.head(), " gauge=DI-4", " gauge=LA-1"));
    let address = case.ledger.machine.joint_address(id, joint);
    case.pages.expect(record.head(), "instrument-unsuited", &address);
    true
}

fn beyond(case: &mut Case) -> bool {
    let Some((id, joint, record)) = inspected(case, true) else { return false };
    let groove = *case.dice.pick(&["UL", "UR", "LL", "LR"]);
    let spot = case.pages.row(record, groove).expect("it was read");
    let (before, after) = *case.dice.pick(&[("4.000", "4.004"), ("-0.802", "-0.800"), ("0.800", "0.802")]);
    case.pages.set(spot, format!("    {groove} {before} -> {after}"));
    let address = case.ledger.machine.joint_address(id, joint);
    case.pages.expect(spot, "gauge-range", &address);
    true
}

/// An inspection is dated days before the bolts were tightened, in a file of its own.
fn early(case: &mut Case) -> bool {
    let Some((id, joint, record)) = inspected(case, true) else { return false };
    let mut rows: Vec<String> =
        (record.first..=record.last).map(|line| case.pages.line((record.file, line)).to_string()).collect();
    let date = case.pages.date(record);
    rows[0] = rows[0].replacen(&date, "2026-04-10T09:00", 1);
    case.pages.delete_record(record);
    let file = case.pages.add_file("early", &rows);
    let address = case.ledger.machine.joint_address(id, joint);
    case.pages.expect((file, 0), "reading-early", &address);
    true
}

/// A support is slackened and tightened again in full, long after everything else.
fn loosened(case: &mut Case) -> bool {
    if !case.whole() {
        return false;
    }
    let rails: Vec<RailId> = case.ledger.machine.rails().map(|(id, ..)| id).collect();
    let id = rails[case.index(rails.len())];
    let rail = case.ledger.machine.rail(id);
    let support = case.dice.clone().roll(0..=rail.supports.len() as i64 - 1) as usize;
    let (address, name) = (case.address(id), rail.supports[support].name.clone());
    let mut lines = vec![
        format!("loosen {address} date=\"2026-06-02T08:00\" by=fitter-2 reason=\"a noise\" {{"),
        format!("    at {name}"),
        "}".into(),
        format!("fasten {address} date=\"2026-06-02T08:10\" by=fitter-2 wrench=TW-1 stage=snug setting=1.5 {{"),
        format!("    clicked {name}"),
        "}".into(),
        format!("fasten {address} date=\"2026-06-02T08:20\" by=fitter-2 wrench=TW-2 stage=full {{"),
        format!(
            "    at {name}{}",
            " 10.5".repeat(rail.supports[support].bolts.as_ref().map_or(0, |bolts| bolts.len()))
        ),
        "}".into(),
    ];
    if let Some(bolts) = rail.supports[support].base_bolts {
        let head = format!("fasten {address} date=\"2026-06-02T08:30\" by=fitter-2");
        lines.push(format!("{head} wrench=TW-2 stage=full interface=base {{"));
        lines.push(format!("    at {name}{}", " 21".repeat(bolts as usize)));
        lines.push("}".into());
    }
    for (joint, it) in rail.joints.iter().enumerate() {
        let away = it.support.expect("a joint support").abs_diff(support);
        let grade = if away < 2 { Grade::Outstanding } else { Grade::Observation };
        let address = case.ledger.machine.joint_address(id, joint);
        if away <= 2 {
            let last = *case.pages.records(&format!("inspect {address}")).last().expect("it was inspected");
            case.pages.expect_grade(last.head(), grade, "inspection-stale", &address);
        }
    }
    for other in rails {
        let on = case.address(other);
        let follows = case.ledger.machine.rail(other).follows.as_ref().is_some_and(|name| **name == *rail.name);
        let mut kinds = Vec::new();
        if other == id {
            kinds.extend(["gap", "straightness"]);
        } else if follows && reads_beside(case, id, other, support) {
            kinds.push("gap");
        }
        for kind in kinds {
            if let Some(last) = case.pages.records(&format!("survey {kind} {on}")).last() {
                case.pages.expect(last.head(), "survey-stale", &on);
            }
        }
    }
    case.pages.add_file("loosened", &lines);
    true
}

/// Whether a station of another rail, all of whose supports are stations, lies where that support bears on it: at it or
/// at a neighbour of it, or between it and a neighbour.
fn reads_beside(case: &Case, id: RailId, other: RailId, support: usize) -> bool {
    let supports = &case.ledger.machine.rail(id).supports;
    let at = |index: Option<usize>| index.and_then(|index| supports.get(index)).map(|support| mm(support.at));
    let (before, after) = (at(support.checked_sub(1)), at(Some(support + 1)));
    let stations = &case.ledger.machine.rail(other).supports;
    stations
        .iter()
        .map(|station| mm(station.at))
        .any(|position| before.is_none_or(|before| position >= before) && after.is_none_or(|after| position <= after))
}
