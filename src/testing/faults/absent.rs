//! What a conforming ledger lacks once one thing that must be there is left out: asked for, or said to be not judged.

use wayledger::lint::Grade;
use wayledger::model::RailId;

use super::case::{Case, Fault};
use super::fitting::shimmed;
use super::gap::stations;
use super::pages::{MACHINE, Record, SHOP};

pub(crate) const FAULTS: &[Fault] = &[
    Fault { name: "no snugging", finds: &["snug-before-full"], make: no_snugging },
    Fault { name: "a rail never tightened in full", finds: &["torque-missing"], make: no_torque },
    Fault { name: "a gap never read", finds: &["station-missing"], make: no_gap },
    Fault { name: "the first station not read again", finds: &["survey-closure"], make: no_closure },
    Fault { name: "a survey without its temperature", finds: &["survey-temperature"], make: no_temperature },
    Fault { name: "a joint read without a carrier", finds: &["step-carrier"], make: no_carrier },
    Fault { name: "a rail whose joints nobody read", finds: &["groove-missing"], make: no_joint_read },
    Fault { name: "a gauge never calibrated", finds: &["gauge-calibration"], make: no_calibration },
    Fault { name: "a gauge of no stated range", finds: &["gauge-range"], make: no_range },
    Fault { name: "no shims recorded", finds: &["shim-missing"], make: no_shims },
    Fault { name: "no carriage", finds: &["overtravel"], make: no_carriage },
    Fault { name: "no stock", finds: &["segment-stock"], make: no_stock },
    Fault { name: "a limit that nobody read", finds: &["limit-unread"], make: no_force_read },
];

fn first(case: &Case, words: &str) -> Option<Record> {
    case.pages.records(words).first().copied()
}

/// The records of a stage of the rail bolts of a rail.
fn stage(case: &Case, address: &str, stage: &str) -> Vec<Record> {
    let mut all = case.pages.records(&format!("fasten {address}"));
    let of_it = |it: &Record| {
        let head = case.pages.line(it.head());
        head.contains(&format!("stage={stage}")) && !head.contains("interface=base")
    };
    all.retain(of_it);
    all
}

fn no_snugging(case: &mut Case) -> bool {
    let Some(id) = case.rail_where(|case, id| shimmed(case, id).is_empty()) else { return false };
    let address = case.address(id);
    let Some(snug) = stage(case, &address, "snug").first().copied() else { return false };
    case.pages.delete_record(snug);
    let Some(full) = stage(case, &address, "full").first().copied() else { return false };
    case.pages.expect((full.file, full.first + 1), "snug-before-full", &address);
    true
}

fn no_torque(case: &mut Case) -> bool {
    // Where it has joints, its layout is judged anew.
    let one_piece = |case: &Case, id| case.ledger.machine.rail(id).joints.is_empty() && shimmed(case, id).is_empty();
    let Some(id) = case.rail_where(one_piece) else { return false };
    let address = case.address(id);
    while let Some(record) = stage(case, &address, "full").first().copied() {
        case.pages.delete_record(record);
    }
    let head = case.pages.rail(&case.name(id)).head();
    case.pages.expect(head, "torque-missing", &address);
    true
}

fn follower(case: &mut Case, is_shimmed: bool) -> Option<RailId> {
    case.rail_where(|case, id| {
        case.ledger.machine.rail(id).follows.is_some() && shimmed(case, id).is_empty() != is_shimmed
    })
}

fn no_gap(case: &mut Case) -> bool {
    let Some(id) = follower(case, false) else { return false };
    let address = case.address(id);
    while let Some(record) = first(case, &format!("survey gap {address}")) {
        case.pages.delete_record(record);
    }
    let head = case.pages.rail(&case.name(id)).head();
    case.pages.expect(head, "station-missing", &address);
    true
}

fn no_closure(case: &mut Case) -> bool {
    let Some(id) = follower(case, false) else { return false };
    let address = case.address(id);
    let Some(survey) = first(case, &format!("survey gap {address}")) else { return false };
    let Some(row) = case.pages.row(survey, "closure") else { return false };
    case.pages.delete(row);
    case.pages.expect_grade(survey.head(), Grade::Outstanding, "survey-closure", &address);
    true
}

fn no_temperature(case: &mut Case) -> bool {
    let Some(id) = follower(case, false) else { return false };
    let address = case.address(id);
    let Some(survey) = first(case, &format!("survey gap {address}")) else { return false };
    let head = case.pages.line(survey.head()).to_string();
    let Some((before, after)) = head.split_once(" temperature=") else { return false };
    let after = after.split_once(' ').map_or("", |(_, rest)| rest);
    case.pages.set(survey.head(), format!("{before} {after}"));
    case.pages.expect_grade(survey.head(), Grade::Outstanding, "survey-temperature", &address);
    true
}

fn no_carrier(case: &mut Case) -> bool {
    let Some((id, joint)) = case.joint() else { return false };
    let address = case.ledger.machine.joint_address(id, joint);
    let all = case.pages.records(&format!("inspect {address}"));
    let [record] = all[..] else { return false };
    let Some(row) = case.pages.row(record, "carrier") else { return false };
    case.pages.delete(row);
    case.pages.expect_grade(record.head(), Grade::Outstanding, "step-carrier", &address);
    true
}

fn no_joint_read(case: &mut Case) -> bool {
    let Some((id, _)) = case.joint() else { return false };
    for joint in 0..case.ledger.machine.rail(id).joints.len() {
        let address = case.ledger.machine.joint_address(id, joint);
        while let Some(record) = first(case, &format!("inspect {address}")) {
            case.pages.delete_record(record);
        }
        let spot = case.pages.segment(&case.name(id), joint + 1);
        case.pages.expect(spot, "groove-missing", &address);
    }
    true
}

fn shop_line(case: &Case, words: &str) -> Option<usize> {
    case.pages.files[SHOP].1.iter().position(|line| line.trim_start().starts_with(words))
}

/// The first record of a joint's grooves.
fn first_read(case: &Case) -> Option<Record> {
    let rails = case.ledger.machine.rails();
    let joints = rails.flat_map(|(id, _, rail)| (0..rail.joints.len()).map(move |joint| (id, joint)));
    let records = joints
        .filter_map(|(id, joint)| first(case, &format!("inspect {}", case.ledger.machine.joint_address(id, joint))));
    records.min_by_key(|it| (case.pages.date(*it), it.file, it.first))
}

/// What nobody can judge on the machine's only axis, told at its name.
fn not_judged(case: &mut Case, names: &[&str]) -> bool {
    let spot = case.pages.described("axis ").expect("an axis");
    for name in names {
        case.pages.expect_grade(spot, Grade::NotJudged, name, "X");
    }
    true
}

fn no_calibration(case: &mut Case) -> bool {
    if !case.whole() {
        return false;
    }
    let Some(record) = first_read(case) else { return false };
    let Some(line) = shop_line(case, "gauge DI-4") else { return false };
    while case.pages.line((SHOP, line + 1)).trim() != "}" {
        case.pages.delete((SHOP, line + 1));
    }
    let address = case.pages.line(record.head()).split(' ').nth(1).map(str::to_string).expect("an address");
    case.pages.expect_grade(record.head(), Grade::Outstanding, "gauge-calibration", &address);
    true
}

fn no_range(case: &mut Case) -> bool {
    if !case.whole() {
        return false;
    }
    let Some(line) = shop_line(case, "gauge DI-4") else { return false };
    first_read(case).is_some()
        && case.pages.replace((SHOP, line), " range=0.8", "")
        && not_judged(case, &["gauge-range"])
}

fn no_shims(case: &mut Case) -> bool {
    let Some(id) = follower(case, true) else { return false };
    let address = case.address(id);
    let [shims] = case.pages.records(&format!("shim {address}"))[..] else { return false };
    let before = case.pages.records(&format!("survey gap {address}"))[0];
    let read: Vec<i64> = stations(case, before).into_iter().map(|(_, reading)| reading).collect();
    let range = read.iter().max().zip(read.iter().min()).map_or(0, |(most, least)| most - least);
    if range <= 5 {
        return false;
    }
    case.pages.delete_record(shims);
    let surveys = case.pages.records(&format!("survey gap {address}"));
    case.pages.expect(surveys.last().expect("it was verified").head(), "shim-missing", &address);
    true
}

fn no_carriage(case: &mut Case) -> bool {
    if !case.whole() {
        return false;
    }
    // A life that is required needs a carriage.
    let (Some((file, line)), None) = (case.pages.described("carriage "), case.pages.described("life-required ")) else {
        return false;
    };
    while case.pages.line((file, line)).trim() != "}" {
        case.pages.delete((file, line));
    }
    case.pages.delete((file, line));
    let joints = case.ledger.machine.rails().any(|(_, _, rail)| !rail.joints.is_empty());
    not_judged(case, if joints { &["joint-meeting", "overtravel"] } else { &["overtravel"] })
}

fn no_stock(case: &mut Case) -> bool {
    if !case.whole() {
        return false;
    }
    let Some(line) = shop_line(case, "stock ") else { return false };
    case.pages.delete((SHOP, line));
    let joints = case.ledger.machine.rails().any(|(_, _, rail)| !rail.joints.is_empty());
    not_judged(
        case,
        if joints { &["joint-end", "joint-needless", "segment-stock"] } else { &["joint-needless", "segment-stock"] },
    )
}

fn no_force_read(case: &mut Case) -> bool {
    // One rulebook a machine.
    let read = !case.pages.records("running-force X").is_empty();
    if read || case.pages.described("rulebook ").is_some() || !case.claim("rulebook") {
        return false;
    }
    case.pages.insert((MACHINE, 1), "    rulebook { running-force most=20 reason=\"drive sized for 20 N\" }");
    let axis = case.pages.described("axis ").expect("an axis");
    case.pages.expect(axis, "limit-unread", "X");
    true
}
