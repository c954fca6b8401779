//! Slips of the pen in the text.

use super::case::{Case, Fault};
use super::pages::{Record, SHOP};

pub(crate) const FAULTS: &[Fault] = &[
    Fault { name: "a comma for a point", finds: &["unreadable"], make: comma },
    Fault { name: "a misspelt node", finds: &["unknown-node"], make: node },
    Fault { name: "a misspelt property", finds: &["unknown-property"], make: property },
    Fault { name: "a word that is not allowed", finds: &["wrong-value"], make: word },
    Fault { name: "an unknown unit", finds: &["wrong-unit"], make: unit },
    Fault { name: "nobody did it", finds: &["missing-part"], make: nobody },
    Fault { name: "light twice", finds: &["repeated-part"], make: twice },
    Fault { name: "a comma behind a name", finds: &["joined-punctuation"], make: joined },
    Fault { name: "an unknown gauge", finds: &["unknown-reference"], make: gauge },
    Fault { name: "an unknown support", finds: &["unknown-reference"], make: support },
    Fault { name: "two fasteners of one name", finds: &["duplicate-name"], make: fasteners },
];

/// An inspection of a free rail, with its address.
pub(crate) fn inspection(case: &mut Case) -> Option<(Record, String)> {
    let (id, joint) = case.joint()?;
    let address = case.ledger.machine.joint_address(id, joint);
    let all = case.pages.records(&format!("inspect {address}"));
    if all.is_empty() {
        return None;
    }
    let record = all[case.index(all.len())];
    Some((record, address))
}

fn comma(case: &mut Case) -> bool {
    let Some((record, _)) = inspection(case) else { return false };
    let groove = *case.dice.pick(&["UL", "UR", "LL", "LR"]);
    let Some(spot) = case.pages.row(record, groove) else { return false };
    let text = case.pages.line(spot).to_string();
    let (before, after) = text.rsplit_once('.').expect("a decimal number");
    case.pages.set(spot, format!("{before},{after}"));
    case.pages.expect(spot, "unreadable", "");
    true
}

fn node(case: &mut Case) -> bool {
    let Some((record, _)) = inspection(case) else { return false };
    let Some(spot) = case.pages.row(record, "light") else { return false };
    case.pages.replace(spot, "light", "lihgt");
    case.pages.expect(spot, "unknown-node", "");
    true
}

/// Replaces something in the head of an inspection and announces what it gives.
fn head(case: &mut Case, from: &str, to: &str, rule: &str) -> bool {
    let Some((record, _)) = inspection(case) else { return false };
    if !case.pages.replace(record.head(), from, to) {
        return false;
    }
    case.pages.expect(record.head(), rule, "");
    true
}

fn property(case: &mut Case) -> bool {
    head(case, " temperature=", " temprature=", "unknown-property")
}

fn unit(case: &mut Case) -> bool {
    head(case, " temperature=", " temperature=(degX)", "wrong-unit")
}

fn nobody(case: &mut Case) -> bool {
    head(case, " by=inspector-1", "", "missing-part")
}

fn joined(case: &mut Case) -> bool {
    head(case, " gauge=DI-4", " gauge=DI-4,", "joined-punctuation")
}

fn word(case: &mut Case) -> bool {
    let Some((record, _)) = inspection(case) else { return false };
    let Some(spot) = case.pages.row(record, "light") else { return false };
    case.pages.replace(spot, "none", "nothing");
    case.pages.expect(spot, "wrong-value", "");
    true
}

fn twice(case: &mut Case) -> bool {
    let Some((record, _)) = inspection(case) else { return false };
    let Some(spot) = case.pages.row(record, "light") else { return false };
    let text = case.pages.line(spot).to_string();
    case.pages.insert(spot, &text);
    case.pages.expect((spot.0, spot.1 + 1), "repeated-part", "");
    true
}

fn gauge(case: &mut Case) -> bool {
    let Some((record, address)) = inspection(case) else { return false };
    if !case.pages.replace(record.head(), " gauge=DI-4", " gauge=DI-44") {
        return false;
    }
    case.pages.expect(record.head(), "unknown-reference", &address);
    true
}

fn support(case: &mut Case) -> bool {
    let Some(id) = case.rail() else { return false };
    let address = case.address(id);
    let file = case.pages.add_file(
        "loosened",
        &[format!("loosen {address} date=\"2026-06-02T10:00\" by=fitter-2 {{"), "    at S777".into(), "}".into()],
    );
    case.pages.expect((file, 1), "unknown-reference", &address);
    true
}

fn fasteners(case: &mut Case) -> bool {
    if !case.claim("fasteners") {
        return false;
    }
    let lines = &case.pages.files[SHOP].1;
    let line = lines.iter().position(|line| line.trim_start().starts_with("fastener rail-bolt "));
    let spot = (SHOP, line.expect("the shop has rail bolts"));
    let text = case.pages.line(spot).to_string();
    case.pages.insert(spot, &text);
    case.pages.expect((SHOP, spot.1 + 1), "duplicate-name", "");
    true
}
