//! A rule says that a reading conforms only where it was read, by what counts, and where the rail still lies as it was
//! read. The table is written by hand from the pages of the rules.

use crate::rules::judge::verdicts;
use crate::rules::{Case, Subject, Verdict};

use crate::testing::{judge, today};

/// A rail of two segments beside one that follows it, three supports and a joint at the second one.
const MACHINE: &str = r#"
shop {
    gauge DI graduation=0.001 local-error=0.001 plus=outward { calibrated "2026-01-01" certificate=c-1 }
    gauge GAP graduation=0.001 local-error=0.001 plus=wider { calibrated "2026-01-01" certificate=c-2 }
    shim-stock { leaf 0.05; leaf 0.02 }
}
machine m {
    axis X {
        rail a { segment 340; segment 340; supports S first=100 pitch=240 count=3 }
        rail b follows=a shims=widen { supports S first=100 pitch=240 count=4 }
    }
}
"#;

const INSPECTED: &str = r#"
inspect X.a.J1 date="2026-04-15" by=inspector-1 gauge=DI { light none; UL 0 -> 0.01; UR 0 -> 0.002; LL 0 -> 0; LR 0 -> 0.001 }
"#;
const STEPPED: &str = r#"
inspect X.a.J1 date="2026-04-15" by=inspector-1 gauge=DI { light none; UL 0 -> 0.05; UR 0 -> 0.002; LL 0 -> 0; LR 0 -> 0.001 }
"#;
const THREE_GROOVES: &str = r#"
inspect X.a.J1 date="2026-04-15" by=inspector-1 gauge=DI { light none; UL 0 -> 0.01; UR 0 -> 0.002; LL 0 -> 0 }
"#;
const NO_GAUGE: &str = r#"
inspect X.a.J1 date="2026-04-15" by=inspector-1 { light none; UL 0 -> 0.01; UR 0 -> 0.002; LL 0 -> 0; LR 0 -> 0.001 }
"#;
const LOOSENED: &str = r#"
loosen X.a date="2026-04-16" by=fitter-2 { at S1 }
"#;
const EVEN: &str = r#"
survey gap X.b date="2026-04-17" by=inspector-1 gauge=GAP stage=as-fitted { at S1 0; at S2 -0.01; at S3 -0.02; at S4 0 }
"#;
const UNEVEN: &str = r#"
survey gap X.b date="2026-04-17" by=inspector-1 gauge=GAP stage=as-fitted { at S1 0; at S2 -0.07; at S3 -0.02; at S4 0 }
"#;
const SHIMMED: &str = r#"
shim X.b date="2026-04-18" by=fitter-2 { at S2 0.05 0.02 }
"#;
const VERIFIED: &str = r#"
survey gap X.b date="2026-04-19" by=inspector-1 gauge=GAP stage=verification { at S1 0; at S2 0; at S3 -0.02; at S4 0 }
"#;

#[derive(Debug, PartialEq)]
enum Said {
    /// By a place in the record whose text this is.
    Conforms(&'static str),
    Broken,
    Outstanding,
    Awaits,
    NotJudged,
    NotRequired,
}
use Said::*;

/// What a rule says of the joint, or of a rail by its number.
fn said(records: &[&'static str], rule: &str, subject: Subject) -> Said {
    let text = format!("{MACHINE}{}", records.concat());
    let judged = judge(&[("machine.kdl", &text)], &[]);
    let all = verdicts(&Case::new(&judged.ledger, today()));
    let mut own = all.into_iter().filter(|(name, of, _)| name.as_str() == rule && *of == subject);
    let (_, _, verdict) = own.next().unwrap_or_else(|| panic!("{rule} says nothing of {subject:?}"));
    assert!(own.next().is_none(), "{rule} says two things of {subject:?}");
    match verdict {
        Verdict::Conforms(place) => {
            let at = place.span.start as usize;
            let mut end = MACHINE.len();
            let record = records.iter().find(|record| {
                end += record.len();
                at < end
            });
            assert!(at > MACHINE.len(), "{rule} calls a description a reading");
            Conforms(record.expect("the place lies in a record"))
        }
        Verdict::Broken => Broken,
        Verdict::Outstanding => Outstanding,
        Verdict::Awaits(lacking) => {
            assert!(!lacking.is_empty() && !lacking.ends_with('.'), "{rule}: {lacking}");
            Awaits
        }
        Verdict::NotJudged(lacking) => {
            assert!(!lacking.is_empty() && !lacking.ends_with('.'), "{rule}: {lacking}");
            NotJudged
        }
        Verdict::NotRequired => NotRequired,
    }
}

fn rail(rail: usize) -> crate::ledger::RailId {
    crate::ledger::RailId { axis: 0, rail }
}

#[test]
fn a_joint_conforms_by_what_was_read_there_and_still_holds() {
    let joint = Subject::Joint(rail(0), 0);
    let table: &[(&str, &[&'static str], Said)] = &[
        ("joint-step", &[], Awaits),
        ("joint-step", &[INSPECTED], Conforms(INSPECTED)),
        ("joint-step", &[STEPPED], Broken),
        ("joint-step", &[THREE_GROOVES], Awaits),
        ("joint-step", &[NO_GAUGE], Awaits),
        ("joint-step", &[INSPECTED, LOOSENED], Awaits),
        ("joint-step", &[STEPPED, LOOSENED], Awaits),
        ("joint-step-unproven", &[INSPECTED], Conforms(INSPECTED)),
        ("joint-step-unproven", &[STEPPED], NotRequired),
        ("joint-step-cause", &[INSPECTED], Conforms(INSPECTED)),
        ("step-carrier", &[INSPECTED], Outstanding),
        ("light-missing", &[], Awaits),
        ("light-missing", &[THREE_GROOVES], Conforms(THREE_GROOVES)),
        ("inspection-stale", &[], Awaits),
        ("inspection-stale", &[INSPECTED], Conforms(INSPECTED)),
        ("inspection-stale", &[INSPECTED, LOOSENED], Outstanding),
        ("readings-copied", &[THREE_GROOVES], Awaits),
        ("readings-copied", &[INSPECTED], Conforms(INSPECTED)),
        ("torque-after-shim", &[LOOSENED, INSPECTED], Conforms(INSPECTED)),
        // No support has its full torque yet.
        ("reading-early", &[INSPECTED], Awaits),
        ("limit-unread", &[INSPECTED], NotRequired),
    ];
    for (rule, records, expected) in table {
        assert_eq!(said(records, rule, joint), *expected, "{rule} of {}", records.concat());
    }
}

#[test]
fn a_gap_conforms_by_the_survey_that_says_how_the_rails_lie_now() {
    let table: &[(&str, &[&'static str], Said)] = &[
        ("station-missing", &[], Outstanding),
        ("station-missing", &[EVEN], Conforms(EVEN)),
        ("gap-range", &[], Awaits),
        ("gap-range", &[EVEN], Conforms(EVEN)),
        ("gap-range", &[EVEN, SHIMMED], Awaits),
        ("gap-range", &[UNEVEN], Awaits),
        ("gap-range", &[UNEVEN, SHIMMED, VERIFIED], Conforms(VERIFIED)),
        ("gap-range-unproven", &[EVEN], Conforms(EVEN)),
        ("gap-range-unproven", &[UNEVEN, SHIMMED, VERIFIED], Conforms(VERIFIED)),
        ("gap-zero", &[EVEN], NotRequired),
        ("gap-zero", &[UNEVEN], Conforms(UNEVEN)),
        ("toe-in", &[UNEVEN], Conforms(UNEVEN)),
        ("shim-missing", &[], Awaits),
        ("shim-missing", &[EVEN], Conforms(EVEN)),
        ("shim-missing", &[UNEVEN], Outstanding),
        ("shim-missing", &[UNEVEN, SHIMMED], Conforms(SHIMMED)),
        ("shim-missing", &[UNEVEN, SHIMMED, VERIFIED], NotRequired),
        ("shim-total", &[UNEVEN], NotRequired),
        ("shim-total", &[UNEVEN, SHIMMED], Conforms(SHIMMED)),
        ("shim-total", &[SHIMMED], Awaits),
        ("shim-at-widest", &[SHIMMED], Awaits),
        ("shim-not-seated", &[SHIMMED], Awaits),
        // What lay there before can no more be read: nobody waits for it once the outcome is verified.
        ("shim-total", &[SHIMMED, VERIFIED], NotJudged),
        ("shim-at-widest", &[SHIMMED, VERIFIED], NotJudged),
        ("shim-not-seated", &[SHIMMED, VERIFIED], NotJudged),
        ("shim-at-widest", &[UNEVEN, SHIMMED], Conforms(UNEVEN)),
        ("shim-unverified", &[UNEVEN], NotRequired),
        ("shim-unverified", &[UNEVEN, SHIMMED], Outstanding),
        ("shim-unverified", &[UNEVEN, SHIMMED, VERIFIED], Conforms(VERIFIED)),
        ("shim-not-seated", &[UNEVEN, SHIMMED], Awaits),
        ("shim-not-seated", &[UNEVEN, SHIMMED, VERIFIED], Conforms(VERIFIED)),
        ("survey-temperature", &[UNEVEN, SHIMMED], Outstanding),
        ("survey-temperature", &[UNEVEN, SHIMMED, VERIFIED], Outstanding),
        ("survey-stale", &[EVEN], Conforms(EVEN)),
        ("survey-closure", &[EVEN], Outstanding),
        ("straightness-range", &[EVEN], NotRequired),
        ("height-range", &[EVEN], NotRequired),
        // The shim was not tightened before the survey.
        ("torque-after-shim", &[UNEVEN, SHIMMED, VERIFIED], Broken),
        ("limit-unread", &[EVEN], NotRequired),
    ];
    for (rule, records, expected) in table {
        assert_eq!(said(records, rule, Subject::Rail(rail(1))), *expected, "{rule} of {}", records.concat());
    }
    // The rail that is followed is asked for no gap.
    for rule in ["gap-range", "toe-in", "shim-missing", "station-missing", "survey-stale"] {
        assert_eq!(said(&[EVEN], rule, Subject::Rail(rail(0))), NotRequired, "{rule}");
    }
}

#[test]
fn shims_are_judged_at_the_support_that_they_lie_under() {
    let at = |support| Subject::Support(rail(1), support);
    for rule in ["shim-stock", "shim-leaves"] {
        assert_eq!(said(&[UNEVEN, SHIMMED], rule, at(1)), Conforms(SHIMMED), "{rule}");
        assert_eq!(said(&[UNEVEN, SHIMMED], rule, at(2)), NotRequired, "{rule}");
    }
    let strange = "\nshim X.b date=\"2026-04-18\" by=fitter-2 { at S2 0.03 }\n";
    assert_eq!(said(&[UNEVEN, strange], "shim-stock", at(1)), Broken);
    // Nothing in stock makes 0.03, so that one leaf is as few as it can be.
    assert_eq!(said(&[UNEVEN, strange], "shim-leaves", at(1)), Conforms(strange));
}

#[test]
fn an_axis_conforms_by_the_force_that_was_read() {
    let axis = Subject::Axis(0);
    let force = "\nrunning-force X date=\"2026-04-20\" by=inspector-1 gauge=N { at 300 14 }\n";
    assert_eq!(said(&[force], "running-force", axis), NotRequired);
    assert_eq!(said(&[force], "limit-unread", axis), NotRequired);
    assert_eq!(said(&[], "reading-early", axis), NotRequired);
    // No support has its full torque yet.
    assert_eq!(said(&[force], "reading-early", axis), Awaits);
}

/// Marks are fine enough for a limit. Where none is stated, they are fine enough for nothing.
#[test]
fn a_graduation_conforms_to_a_limit_alone() {
    let first = Subject::Record(0);
    let straight = "\nsurvey straightness X.a date=\"2026-04-17\" by=inspector-1 gauge=DI stage=as-fitted { at S1 0; at S2 0.01 }\n";
    let height =
        "\nsurvey height X.b date=\"2026-04-17\" by=inspector-1 gauge=DI stage=as-fitted { at S1 0; at S2 0.01 }\n";
    for unlimited in [straight, height] {
        assert_eq!(said(&[unlimited], "gauge-graduation", first), NotRequired, "{unlimited}");
    }
    // A gap and a step have a limit by default.
    for limited in [EVEN, INSPECTED] {
        let said = said(&[limited], "gauge-graduation", first);
        assert_eq!(said, Conforms(limited), "{limited}");
    }
}
