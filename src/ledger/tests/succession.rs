//! Who took over from whom: a chain, and never a ring without end. Worked out by hand.

use jiff::civil::date;

use crate::ledger::Permission;
use crate::testing::judge;

/// Whether somebody may release on a day of 2026, by the rows of a shop.
fn may(rows: &str, name: &str, (month, day): (i8, i8)) -> bool {
    let text = format!("shop {{ {rows} }}\nmachine m {{ axis X {{ rail a {{ segment 1200 }} }} }}");
    let judged = judge(&[("machine.kdl", &text)], &[]);
    assert!(judged.ledger.text_findings.is_empty(), "{:?}", judged.ledger.text_findings);
    judged.ledger.shop.may(name, Permission::Release, date(2026, month, day)).is_some()
}

#[test]
fn a_right_goes_on_from_one_to_the_next() {
    let chain = "person a1 until=\"2026-03-01\" successor=b1 { may release }
        person b1 until=\"2026-06-01\" successor=c1
        person c1
        person d1";
    for (name, day, may_release) in [
        ("a1", (3, 1), true),
        ("a1", (3, 2), false),
        ("b1", (3, 1), false),
        ("b1", (3, 2), true),
        ("b1", (6, 2), false),
        ("c1", (6, 1), false),
        ("c1", (6, 2), true),
        ("d1", (6, 2), false),
    ] {
        assert_eq!(may(chain, name, day), may_release, "{name} on {day:?}");
    }
    // A right that ended by itself is nobody's any more.
    let ended = chain.replace("may release", "may release until=\"2026-02-01\"");
    assert!(!may(&ended, "c1", (6, 2)));
}

#[test]
fn two_who_name_each_other_end() {
    let ring = "person a1 until=\"2026-03-01\" successor=b1
        person b1 until=\"2026-03-01\" successor=a1 { may concede }
        person c1 until=\"2026-03-01\" successor=c1
        person d1 { may release }";
    for name in ["a1", "b1", "c1"] {
        assert!(!may(ring, name, (2, 1)) && !may(ring, name, (6, 1)), "{name}");
    }
    let back = ring.replace("may concede", "may release").replacen("until=\"2026-03-01\" ", "", 1);
    assert!(may(&back, "a1", (6, 1)), "who goes on has taken over");
}
