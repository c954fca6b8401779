//! One row a thing in one record, and service that is done by readings.

use wayledger::lint::{Finding, Grade};

use crate::common::lint_text;

fn repeated(text: &str) -> Vec<String> {
    let all = lint_text(text);
    let own: Vec<&Finding> = all.iter().filter(|it| it.rule.as_str() == "repeated-row").collect();
    assert!(own.iter().all(|it| it.grade == Grade::Nonconformity));
    own.iter().map(|it| it.message.clone()).collect()
}

#[test]
fn two_supports_that_were_tightened_twice_in_one_record() {
    let all = lint_text(
        r#"
shop { profile R20 hole-pitch=60 end-distance=30; gauge DI-7 kind=dial-indicator graduation=0.002 range=0.8 plus=outward { calibrated "2026-01-02" due="2027-01-02" } }
machine m { axis X { beam b { piece 2400 }
    rail a beam=b profile=R20 datum=left { segment 1200; segment 1200
        supports S first=240 pitch=240 count=9 length=80 { omit S5 }
        joint-support J1 at=1200 length=200 } } }
fasten X.a date="2026-05-11T08:00" by=fitter-2 stage=snug { clicked J1 S4..S1 S6..S9 }
fasten X.a date="2026-05-11T09:00" by=fitter-2 stage=full { at J1 10.5 10.5 10.5 10.5; at S4 10.4 10.4; at S4 10.6 10.6; at S3 14.5 10.5; at S3 10.5 10.5; at S2 10.5 10.5; at S1 10.5 10.5; at S6 10.5 10.5; at S7 10.5 10.5; at S8 10.5 10.5; at S9 10.5 10.5 }
"#,
    );
    let finding = all.iter().find(|it| it.rule.as_str() == "repeated-row").expect("it is told");
    assert_eq!((finding.grade, finding.address.as_str()), (Grade::Nonconformity, "X.a"));
    assert_eq!(finding.message, "S3, S4 are tightened twice in one record");
    // Both rows of both supports are shown: no value vanishes.
    assert_eq!(finding.also.len(), 3);
}

/// A rail with a joint, another that follows it, and one record.
fn with(record: &str) -> Vec<String> {
    repeated(&format!(
        r#"
machine m {{ axis X {{
    rail a {{ segment 1200; segment 1200; supports S first=240 pitch=240 count=9 {{ omit S5 }}; joint-support J1 at=1200 length=200 }}
    rail b follows=a {{ segment 2400; supports S first=240 pitch=240 count=9 }}
}} }}
{record}"#
    ))
}

#[test]
fn whatever_may_stand_twice_is_told() {
    let fasten = "fasten X.a date=\"2026-05-11\" by=fitter-2 stage=full setting=10.5";
    let survey = "survey gap X.b date=\"2026-05-11\" by=inspector-1 stage=as-fitted";
    let cases: &[(&str, &str, &str)] = &[
        (fasten, "clicked S1 S2 S1", "S1 is tightened twice in one record"),
        (fasten, "clicked S1..S4 S3..S7", "S3, S4 are tightened twice in one record"),
        (fasten, "clicked S1..S9 J1", "J1 is tightened twice in one record"),
        (fasten, "clicked J1; clicked J1", "J1 is tightened twice in one record"),
        (fasten, "clicked S1..S3; at S2 10.5 10.5", "S2 is tightened twice in one record"),
        (fasten, "at S2 10.5 10.5; clicked S1..S3", "S2 is tightened twice in one record"),
        (fasten, "at S2 10.5 10.5; at S2 10.5 10.5", "S2 is tightened twice in one record"),
        (fasten, "at S2 10.5 #null; at S2 10.6 10.5", "S2 is tightened twice in one record"),
        (fasten, "at S2 10.5 #null; at S2 #null 10.5; at S2 10.5 10.5", "S2 is tightened twice in one record"),
        (
            fasten,
            "clicked S1; missed S1 bolt=1; missed S1 bolt=1",
            "bolt 1 of S1 is said to have missed twice in one record",
        ),
        (survey, "at S1 0; at S2 0; at S1 0.01", "S1 is read twice in one record"),
        (survey, "at S1 0; at S1 0", "S1 is read twice in one record"),
        (survey, "at S1 0; at 240 0.01", "S1 is read twice in one record"),
        (survey, "at 300 0; at 300.0 0.01", "300 mm is read twice in one record"),
        (survey, "at S1 #null; at S1 0.01", "S1 is read twice in one record"),
        (survey, "at S1 0; at S2 0; at S3 0; at S2 0; at S1 0", "S1, S2 are read twice in one record"),
        (
            "shim X.b date=\"2026-05-11\" by=fitter-2",
            "at S1 0.05; at S2 0.05; at S1 0.02",
            "S1 is shimmed twice in one record",
        ),
        (
            "running-force X date=\"2026-05-11\" by=inspector-1",
            "at 300 14; at 300 15",
            "300 mm is read twice in one record",
        ),
        (
            "receive date=\"2026-05-11\" by=inspector-1",
            "part serial=K-1 length=1200; part serial=K-1 length=1100",
            "K-1 is received twice in one record",
        ),
    ];
    for (head, rows, told) in cases {
        assert_eq!(with(&format!("{head} {{ {rows} }}")), [*told], "{head} {{ {rows} }}");
    }
}

#[test]
fn what_is_said_once_is_in_order() {
    let cases = [
        "fasten X.a date=\"2026-05-11\" by=fitter-2 stage=full { at S2 10.5 #null; at S2 #null 10.5 }",
        "fasten X.a date=\"2026-05-11\" by=fitter-2 stage=full setting=10.5 { clicked J1 S4..S1 S6..S9; missed S1 bolt=1; missed S1 bolt=2 }",
        "survey gap X.b date=\"2026-05-11\" by=inspector-1 stage=as-fitted { at S2 0 0.01; at S1 0 0; closure S2 0 }",
        "loosen X.a date=\"2026-05-11\" by=fitter-2 reason=\"seat cleaned\" { at S1..S3; at S2 }",
        "inspect X.a.J1 date=\"2026-05-11\" by=inspector-1 { UL 0 -> 0.01 0 -> 0.01 }",
        "running-force X date=\"2026-05-11\" by=inspector-1 { at 600 14; at 300 14 }",
        // In two records it is no repeat but a later word.
        "shim X.b date=\"2026-05-11\" by=fitter-2 { at S1 0.05 }\nshim X.b date=\"2026-05-12\" by=fitter-2 { at S1 0.02 }",
        // A record that was withdrawn is asked nothing.
        "shim X.b date=\"2026-05-11\" by=fitter-2 { at S1 0.05; at S1 0.02 }\nvoid shim X.b of=\"2026-05-11\" date=\"2026-05-12\" by=fitter-2 reason=\"S2 was meant\"",
    ];
    for record in cases {
        assert_eq!(with(record), [""; 0], "{record}");
    }
    // A groove in two rows is told by the check of the text.
    let all = lint_text(
        "machine m { axis X { rail a { segment 1200; segment 1200; support S1 at=300 } } }\n\
         inspect X.a.J1 date=\"2026-05-11\" by=inspector-1 { UL 0 -> 0.01; UL 0 -> 0.01 }",
    );
    assert!(all.iter().any(|it| it.rule.as_str() == "repeated-part"), "{all:#?}");
}
