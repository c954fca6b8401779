//! What was read while a rail was set is kept and shown, and nothing is judged by it. What was read of a rail before it was
//! shimmed says nothing of how it lies since.

use wayledger::lint::Finding;

use crate::common::lint_text;

const MACHINE: &str = r#"
shop {
    gauge LA kind=laser graduation=0.001 plus=right { calibrated "2026-01-12" due="2027-01-12" certificate="C-1" }
    gauge DI kind=dial-indicator graduation=0.001 plus=wider { calibrated "2026-01-12" due="2027-01-12" certificate="C-2" }
    gauge LV kind=laser graduation=0.001 plus=up { calibrated "2026-01-12" due="2027-01-12" certificate="C-3" }
}
machine m {
    rulebook { straightness most=0.03 reason="drawing 7"; height-range most=0.05 reason="drawing 7" }
    axis X {
        rail a { segment 600; supports S first=100 pitch=200 count=3 }
        rail b follows=a shims=widen { segment 600; supports S first=100 pitch=200 count=3 }
    }
}
"#;

const TIGHTENED: &str = r#"
fasten X.a date="2026-05-01" by=fitter-1 stage=full setting=10.5 { clicked S1..S3 }
fasten X.b date="2026-05-01" by=fitter-1 stage=full setting=10.5 { clicked S1..S3 }
"#;

fn said(records: &str) -> Vec<String> {
    said_around("", records)
}

/// The same with some records before the bolts were tightened.
fn said_around(before: &str, records: &str) -> Vec<String> {
    let line = |it: Finding| format!("{} {}: {}", it.rule, it.address, it.message);
    let mut all: Vec<String> =
        lint_text(&format!("{MACHINE}{before}{TIGHTENED}{records}")).into_iter().map(line).collect();
    all.sort();
    all
}

fn of(rule: &str, records: &str) -> Vec<String> {
    said(records).into_iter().filter(|it| it.starts_with(&format!("{rule} "))).collect()
}

/// A survey of the reference rail that breaks its limit by far.
fn bent(stage: &str) -> String {
    format!(
        "survey straightness X.a date=\"2026-05-02\" by=inspector-1 gauge=LA temperature=20 stage={stage} \
         {{ at S1 0; at S2 2.5; at S3 0; closure S1 0 }}\n"
    )
}

#[test]
fn what_is_read_while_a_rail_is_set_proves_nothing_and_breaks_nothing() {
    let nothing_read = said("");
    let set = bent("aligning").replace("05-02", "04-30");
    assert_eq!(said_around(&set, ""), nothing_read);
    // The limit still waits for its reading.
    let asked = said_around(&set, "");
    assert!(asked.iter().any(|it| it.contains("the straightness of X.a is limited and not surveyed")), "{asked:?}");
    // The same as a survey of the finished rail is judged.
    let judged = said(&bent("as-fitted"));
    assert!(judged.iter().any(|it| it.starts_with("straightness-range ")), "{judged:?}");
    // Nor does it stand in the way of one that follows.
    let straight = bent("as-fitted").replace("2.5", "0.01");
    assert_eq!(said_around(&set, &straight), said(&straight));
}

/// Else a bad reading of a tightened rail would be kept and never judged.
#[test]
fn what_is_called_aligning_is_read_before_full_torque() {
    let late = of("survey-out-of-place", &bent("aligning"));
    assert!(matches!(&late[..], [it] if it.contains("3 of 3 supports of X.a had their full torque")), "{late:?}");
    let loosened = "loosen X.a date=\"2026-05-02\" by=fitter-1 reason=\"pushed over\" { at S1..S3 }\n";
    let set = bent("aligning").replace("05-02", "05-03");
    assert_eq!(of("survey-out-of-place", &format!("{loosened}{set}")), [""; 0]);
}

#[test]
fn it_may_be_made_with_any_gauge_and_is_still_read_for_its_text() {
    // A gauge that is no longer calibrated, or none, or one of another kind sets a rail as well.
    let survey = bent("aligning").replace("05-02", "04-30");
    for other in [survey.replace(" gauge=LA", ""), survey.replace("gauge=LA", "gauge=DI")] {
        assert_eq!(said_around(&other, ""), said(""), "{other}");
    }
    let unreadable = survey.replace("2.5", "2,5");
    assert!(said(&unreadable).iter().any(|it| it.starts_with("unreadable ")), "{:?}", said(&unreadable));
}

#[test]
fn a_height_read_before_shims_that_set_the_gap_is_stale() {
    let height = "survey height X.b date=\"2026-05-02\" by=inspector-1 gauge=LV temperature=20 stage=as-fitted \
                  { at S1 0; at S2 0.01; at S3 0; closure S1 0 }\n";
    let gap = "survey gap X.b date=\"2026-05-02\" by=inspector-1 gauge=DI temperature=20 stage=as-fitted \
               { at S1 0; at S2 -0.08; at S3 0; closure S1 0 }\n";
    let shim = "shim X.b date=\"2026-05-03\" by=fitter-1 { at S2 0.05 }\n\
                fasten X.b date=\"2026-05-04\" by=fitter-1 stage=full setting=10.5 { clicked S2 }\n";
    let verified = gap.replace("05-02", "05-05").replace("-0.08", "-0.03").replace("as-fitted", "verification");
    let again = height.replace("05-02", "05-05").replace("as-fitted", "verification");
    assert_eq!(of("survey-stale", &format!("{height}{gap}")), [""; 0]);
    // The gap is verified, as shim-unverified asks; the height is not read since.
    let stale = of("survey-stale", &format!("{height}{gap}{shim}{verified}"));
    assert!(
        matches!(&stale[..], [it] if it.contains("the height readings at S2 are stale") || it.contains("the height readings at S1, S2, S3 are stale")),
        "{stale:?}"
    );
    assert_eq!(of("survey-stale", &format!("{height}{gap}{shim}{verified}{again}")), [""; 0]);
    // Unverified shims are one finding, and it is not this rule's of the gap.
    assert_eq!(of("survey-stale", &format!("{gap}{shim}")), [""; 0]);
    assert_eq!(of("shim-unverified", &format!("{gap}{shim}")).len(), 1);
}

/// Two segments on a rail with a joint; `stage` is that of the inspection, and before and after stand around the tightening.
fn joined(before: &str, after: &str) -> String {
    format!(
        "shop {{ gauge DI kind=dial-indicator graduation=0.001 plus=outward {{ calibrated \"2026-01-12\" due=\"2027-01-12\" certificate=\"C-1\" }} }}
machine m {{ axis X {{ rail a {{ segment 600; segment 600; supports S first=100 pitch=200 count=6 }} }} }}
{before}
fasten X.a date=\"2026-05-01\" by=fitter-1 stage=full setting=10.5 {{ clicked S1..S6 }}
{after}"
    )
}

fn step(date: &str, stage: &str, step: &str) -> String {
    format!(
        "inspect X.a.J1 date=\"{date}\" by=inspector-1 gauge=DI {stage} {{ light seen; UL 0 -> {step}; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }}"
    )
}

fn lines(text: &str) -> Vec<String> {
    let mut all: Vec<String> =
        lint_text(text).into_iter().map(|it| format!("{} {}: {}", it.rule, it.address, it.message)).collect();
    all.sort();
    all
}

#[test]
fn a_joint_read_while_its_rail_is_set_proves_nothing_and_breaks_nothing() {
    let set = step("2026-04-30", "stage=aligning", "0.08");
    let nothing_read = lines(&joined("", ""));
    assert!(nothing_read.iter().any(|it| it.starts_with("groove-missing X.a.J1")), "{nothing_read:?}");
    assert_eq!(lines(&joined(&set, "")), nothing_read);
    // Without its stage it is a break, light and all.
    let judged = lines(&joined(&set.replace("stage=aligning", ""), ""));
    assert!(judged.iter().any(|it| it.starts_with("reading-early ")), "{judged:?}");
    let late = step("2026-05-02", "", "0.08");
    assert!(lines(&joined("", &late)).iter().any(|it| it.starts_with("joint-step X.a.J1")));
    // It cures no break, and stands in the way of no reading that counts.
    let good = step("2026-05-02", "", "0.004").replace("seen", "none");
    assert_eq!(lines(&joined(&set, &good)), lines(&joined("", &good)));
    let cured = step("2026-05-03", "stage=aligning", "0.004").replace("seen", "none");
    let still = lines(&joined("", &format!("{late}\n{cured}")));
    assert!(still.iter().any(|it| it.starts_with("joint-step X.a.J1")), "{still:?}");
}

#[test]
fn a_joint_that_is_called_aligning_is_read_before_full_torque_beside_it() {
    let of =
        |text: &str| lines(text).into_iter().filter(|it| it.starts_with("survey-out-of-place ")).collect::<Vec<_>>();
    let late = of(&joined("", &step("2026-05-02", "stage=aligning", "0.08")));
    assert_eq!(
        late,
        [
            "survey-out-of-place X.a.J1: this inspection is called aligning, and 2 of 2 supports of X.a.J1 had their full torque"
        ]
    );
    assert_eq!(of(&joined(&step("2026-04-30", "stage=aligning", "0.08"), "")), [""; 0]);
}

#[test]
fn a_joint_read_while_it_was_set_is_shown_and_judged_by_nothing() {
    let text = joined(&step("2026-04-30", "stage=aligning", "0.08"), "");
    let judged = crate::common::judge(&[("machine.kdl", &text)], &[]);
    let rows = wayledger::papers::readings(&judged);
    let shown: Vec<(&str, &str, &str)> = rows
        .iter()
        .filter(|it| it.record == "inspect")
        .map(|it| (it.stage, it.quantity.as_str(), it.verdict.word()))
        .collect();
    assert_eq!(shown.len(), 1 + 4 * 3);
    assert!(shown.iter().all(|it| it.0 == "aligning" && it.2 == "unjudged"), "{shown:?}");
    let json = serde_json::to_value(wayledger::papers::trace(&judged, &wayledger::papers::Tracing::new("DI", None)));
    assert_eq!(json.expect("data")["records"][0]["evidence"], "read while it was set");
}
