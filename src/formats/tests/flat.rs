//! Cells of a table that a spreadsheet opens.

use crate::formats::flat::defused;

#[test]
fn no_cell_is_run_as_a_formula() {
    for bad in ["=1+1", "+cmd|' /C calc'!A0", "-2+3", "@SUM(A1)", "=\"a\"", "＝1", " =1", "\"=1"] {
        assert_eq!(defused(bad), format!("'{bad}"));
    }
    for bad in ["\t=1", "\r=1", "\n=1"] {
        assert!(defused(bad).starts_with("\\u{"), "{bad:?}");
    }
    assert_eq!(defused("a;=1;b; -2"), "a;'=1;b;' -2");
    for fine in ["-0.02", "+10.5", "10", "S1", "", "(um)-12", "X.port.S1", "'quoted'"] {
        assert_eq!(defused(fine), fine);
    }
    // And no more than a number passes: not `-1-1`, not `-.5e9`.
    for bad in ["-1-1", "-1e5", "-", "+", "-1.", "-.5", "-1.2.3", "- 1"] {
        assert_eq!(defused(bad), format!("'{bad}"));
    }
}
