//! Notes, reasons and delivery notes are shown where people look.

use crate::common::lint_text;
use crate::common::yard::Yard;

const LEDGER: &str = r#"
machine m { axis X { run to=2400; rail a { segment 1200; segment 1200; supports S first=240 pitch=480 count=5 } } }
receive date="2026-04-01" by=store-1 delivery="D-77" { part serial=K-1 length=(mm)1200 }
fasten X.a date="2026-04-14" by=fitter-2 stage=full setting=10.5 { clicked S1..S5; note "S3 felt soft" }
loosen X.a date="2026-04-15" by=fitter-2 reason="shims under S3" { at S3 }
"#;

#[test]
fn every_paper_tells_what_was_written_in_the_records() {
    let yard = Yard::empty();
    yard.write("m/machine.kdl", LEDGER);
    let lines = [
        "2026-04-14, fitter-2, fasten X.a, note: S3 felt soft",
        "2026-04-15, fitter-2, loosen X.a, reason: shims under S3",
    ];
    let traveler = yard.wayledger(&["traveler", "X", "--format", "markdown", "--ledger", "m"]);
    let how = yard.wayledger(&["how", "X.a", "--ledger", "m"]);
    for line in lines {
        for (paper, ran) in [("traveler", &traveler), ("how", &how)] {
            assert!(ran.out.contains(line), "{paper} lacks {line}\n{}\n{}", ran.out, ran.err);
        }
    }
    let report = yard.wayledger(&["report", "--format", "markdown", "m"]);
    for text in ["D-77", "S3 felt soft", "shims under S3"] {
        assert!(report.out.contains(text), "the report lacks {text}\n{}\n{}", report.out, report.err);
    }
    // What goes with another address is not told there, and what is withdrawn is told nowhere.
    assert!(!how.out.contains("D-77"), "{}", how.out);
    let void = "void loosen X.a of=\"2026-04-15\" date=\"2026-04-16\" by=inspector-1 reason=\"another rail\"\n";
    yard.write("m/machine.kdl", format!("{LEDGER}{void}"));
    let how = yard.wayledger(&["how", "X.a", "--ledger", "m"]);
    assert!(!how.out.contains("shims under S3") && how.out.contains("reason: another rail"), "{}", how.out);
}

#[test]
fn a_finding_shows_the_note_of_the_record_that_it_shows() {
    let find = |text: &str| {
        let found = lint_text(text).into_iter().find(|it| it.rule.as_str() == "torque-missing").expect("S3 is loose");
        found.also.iter().filter(|label| label.text == "the reason given there").count()
    };
    assert_eq!(find(LEDGER), 1);
    assert_eq!(find(&LEDGER.replace(" reason=\"shims under S3\"", "")), 0);
}
