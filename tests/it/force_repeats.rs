//! Several forces at one place of the carriage are repeats: their mean is judged, they say how sure the gauge is, and each is
//! shown as it was read.

use wayledger::papers;

use crate::common::{judge, lint_text};
use crate::rules_fitting::of_rule;

fn ledger(gauge: &str, book: &str, rows: &str) -> String {
    format!(
        "shop {{ gauge FG kind=force-gauge {gauge} {{ calibrated \"2026-01-12\" due=\"2027-01-12\" }} }}
machine m {{ rulebook {{ running-force most=20 reason=\"drive sized for 20 N\"; {book} }}; axis X {{ rail a {{ segment 1200 }} }} }}
running-force X date=\"2026-04-16\" by=i gauge=FG {{ {rows} }}"
    )
}

fn heavy(rows: &str) -> Vec<String> {
    of_rule(&ledger("graduation=0.1", "", rows), "running-force")
}

#[test]
fn the_mean_of_their_sizes_is_judged_without_rounding() {
    assert_eq!(heavy("at 300 14; at 600 19 21 20"), [""; 0], "a mean of just the limit conforms");
    // 60.000001 / 3 is more than 20 by a third of a micronewton, and told rounded up.
    assert_eq!(
        heavy("at 300 14; at 600 19 21 20.000001"),
        [
            "nonconformity X: it takes 20.000001 N, the mean of 3 readings, to push the carriage at 600 mm, 0.000001 N over the limit"
        ]
    );
    // Pulled the other way it is as heavy: no mean of 0.
    assert_eq!(heavy("at 300 14; at 600 30 -30").len(), 1);
    assert_eq!(
        heavy("at 300 14; at 600 21"),
        ["nonconformity X: it takes 21 N to push the carriage at 600 mm, 1 N over the limit"]
    );
}

#[test]
fn repeats_narrow_the_scatter_alone_and_tell_it_where_nothing_is_stated() {
    let unproven = |gauge: &str, book: &str, rows: &str| of_rule(&ledger(gauge, book, rows), "running-force-unproven");
    // By hand, GUM 4.3.7: u² = 0.5²/3 + 0.6²/4 = 0.173333 for the mean of four, U = 0.832666 N; of one 0.443333, U = 1.331666 N.
    let stated = "graduation=0.1 permissible-error=0.5 repeatability=0.6";
    assert_eq!(unproven(stated, "", "at 300 19.167 19.167 19.167 19.167"), [""; 0]);
    assert_eq!(unproven(stated, "", "at 300 19.168 19.168 19.168 19.168").len(), 1);
    assert_eq!(unproven(stated, "", "at 300 18.669").len(), 1);
    assert_eq!(unproven(stated, "", "at 300 18.668"), [""; 0]);
    // Nothing stated: the repeats of the ledger say how far it scatters, so that proof can be given and is no more outstanding.
    let proof = "proof is=required reason=\"customer\"";
    let plain = "graduation=0.1 permissible-error=0.5";
    assert!(unproven(plain, proof, "at 300 14")[0].starts_with("outstanding"));
    assert_eq!(unproven(plain, proof, "at 300 14 14.1 13.9; at 600 14"), [""; 0]);
    // s² = (0.1² + 0.1²) / 2 = 0.01 with 2 degrees of freedom, so that of one reading u² = 0.25/3 + 0.01 = 0.093333. Effective
    // degrees 0.093333² / (0.01² / 2) = 174, thus k = 2: U = 0.611010 N.
    assert_eq!(unproven(plain, proof, "at 300 14 14.1 13.9; at 600 19.3889"), [""; 0]);
    assert_eq!(unproven(plain, proof, "at 300 14 14.1 13.9; at 600 19.3890").len(), 1);
}

#[test]
fn repeats_that_lie_far_apart_say_nothing() {
    let apart = |rows: &str| of_rule(&ledger("graduation=0.1 repeatability=0.2", "", rows), "repeats-apart");
    // Five times the repeatability is common practice, no source: 1 N.
    assert_eq!(apart("at 300 14 15 14.2"), [""; 0]);
    assert_eq!(
        apart("at 300 14 15.1 14.2"),
        [
            "outstanding X: the readings of the force at 300 mm lie 1.1 N apart, from 14 N to 15.1 N: their mean says nothing"
        ]
    );
    assert_eq!(apart("at 300 -14 14.2"), [""; 0], "pushed back it is of one size");
}

#[test]
fn each_is_shown_as_it_was_read() {
    let judged = judge(&[("machine.kdl", &ledger("graduation=0.1", "", "at 300 14; at 600 19 -21.5 20"))], &[]);
    let rows: Vec<String> = papers::readings(&judged)
        .into_iter()
        .map(|it| format!("{} {} {} {} {}", it.quantity, it.address, it.repeat, it.written, it.verdict.word()))
        .collect();
    assert_eq!(
        rows,
        [
            "running-force X@300 1 14 conforming",
            "running-force X@600 1 19 nonconforming",
            "running-force X@600 2 -21.5 nonconforming",
            "running-force X@600 3 20 nonconforming",
        ]
    );
}

/// What stands out of a record is the mean, whichever reading comes first.
#[test]
fn the_mean_of_repeats_is_what_stands_out() {
    for row in ["5 80 85", "80 5 85", "85 80 5"] {
        let found = of_rule(
            &ledger("graduation=0.1", "", &format!("at 100 5; at 200 5; at 300 5; at 400 {row}")),
            "force-jump",
        );
        assert_eq!(found.len(), 1, "{found:?}");
        assert!(found[0].contains("56.666667 N at 400 mm"), "{found:?}");
    }
}

#[test]
fn a_place_in_two_rows_is_told_to_be_one_row_of_repeats() {
    let found = lint_text(&ledger("graduation=0.1", "", "at 300 14; at 300 15"));
    let found = found.iter().find(|it| it.rule.as_str() == "repeated-row").expect("two rows");
    assert_eq!(found.next, "keep the row that is true; where both were read, write them in one row as repeats");
}
