//! Records that are out of order, older than what they are about, or withdrawn.

use super::case::{Case, Fault};
use super::fitting::full;
use super::text::inspection;

pub(crate) const FAULTS: &[Fault] = &[
    Fault { name: "a record ahead of today", finds: &["date-order"], make: ahead },
    Fault { name: "a record out of order", finds: &["date-order"], make: backwards },
    Fault { name: "a torque too many", finds: &["described-after"], make: surplus },
    Fault { name: "an inspection withdrawn", finds: &["groove-missing"], make: withdrawn },
    Fault { name: "nothing to withdraw", finds: &["unknown-reference"], make: nothing },
];

fn ahead(case: &mut Case) -> bool {
    let Some((record, address)) = inspection(case) else { return false };
    let last = case.pages.files[record.file].1.len() - 1;
    if record.last != last {
        return false;
    }
    let date = case.pages.date(record);
    case.pages.replace(record.head(), &date, "2026-12-01T10:00");
    case.pages.expect(record.head(), "date-order", &address);
    true
}

/// An inspection that nothing was loosened after is dated before the record above it.
fn backwards(case: &mut Case) -> bool {
    let Some((record, address)) = inspection(case) else { return false };
    let once = case.pages.records(&format!("inspect {address}")).len() == 1;
    let above = (0..record.first).rev().map(|line| case.pages.line((record.file, line)));
    let above = above.filter(|line| line.contains(" date=\"")).find(|line| !line.starts_with(' '));
    if !once || above.is_none_or(|line| line.contains("2026-03-30")) {
        return false;
    }
    let date = case.pages.date(record);
    case.pages.replace(record.head(), &date, "2026-04-01T06:00");
    case.pages.expect(record.head(), "date-order", &address);
    // By that date the joint was read before its bolts were tightened.
    case.pages.expect(record.head(), "reading-early", &address);
    true
}

fn surplus(case: &mut Case) -> bool {
    let Some(id) = case.rail() else { return false };
    let records = full(case, id);
    let record = records[case.index(records.len())];
    let rows: Vec<_> =
        case.pages.rows(record).filter(|(_, row)| row.starts_with("at ")).map(|(spot, _)| spot).collect();
    if rows.is_empty() {
        return false;
    }
    let spot = rows[case.index(rows.len())];
    let text = case.pages.line(spot).to_string();
    let name = text.split_whitespace().nth(1).unwrap_or("").to_string();
    case.pages.set(spot, format!("{text} 10.5"));
    let address = format!("{}.{name}", case.address(id));
    case.pages.expect(spot, "described-after", &address);
    true
}

fn void(case: &mut Case, address: &str, of: &str) -> usize {
    let head = format!("void inspect {address} of=\"{of}\" date=\"2026-06-01T09:00\"");
    case.pages.add_file("withdrawn", &[format!("{head} by=inspector-1 reason=\"read on the wrong joint\"")])
}

fn withdrawn(case: &mut Case) -> bool {
    let Some((id, joint)) = case.joint() else { return false };
    let address = case.ledger.machine.joint_address(id, joint);
    let all = case.pages.records(&format!("inspect {address}"));
    if all.len() != 1 {
        return false;
    }
    let of = case.pages.date(all[0]);
    void(case, &address, &of);
    let spot = case.pages.segment(&case.name(id), joint + 1);
    case.pages.expect(spot, "groove-missing", &address);
    true
}

fn nothing(case: &mut Case) -> bool {
    let Some((id, joint)) = case.joint() else { return false };
    let address = case.ledger.machine.joint_address(id, joint);
    let file = void(case, &address, "2025-01-02");
    case.pages.expect((file, 0), "unknown-reference", &address);
    true
}
