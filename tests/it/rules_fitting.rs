//! The rules on fitting, against the facts of the trade (common practice, no source, unless a check names one).

use wayledger::lint::Grade;

use crate::common::{found, judge, lint_text};

/// How the shop stands in that rail's text.
const SHOP: &str =
    "shop { profile R20 hole-pitch=60 end-distance=30; fastener rb thread=M6 class=\"10.9\" into=steel }";

/// Two segments, one joint at 1200, supports every 240 with the joint's own in the middle; four bolts at the joint.
const RAIL: &str = "
shop { profile R20 hole-pitch=60 end-distance=30; fastener rb thread=M6 class=\"10.9\" into=steel }
machine m {
    axis X {
        rail a profile=R20 rail-bolt=rb {
            segment 1200
            segment 1200
            supports S first=240 pitch=240 count=9 length=80 { omit S5 }
            joint-support J1 at=1200 length=200
        }
    }
}
";

const SNUG: &str = "fasten X.a date=\"2026-04-13\" by=f stage=snug setting=1.5 { clicked S1..S9 }\n";

pub(crate) fn of_rule(text: &str, rule: &str) -> Vec<String> {
    let all: Vec<_> = lint_text(text).into_iter().filter(|finding| finding.rule.as_str() == rule).collect();
    all.into_iter()
        .map(|finding| format!("{} {}: {}", finding.grade.name(), finding.address, finding.message))
        .collect()
}

fn full(rows: &str) -> String {
    format!("{RAIL}{SNUG}fasten X.a date=\"2026-04-14\" by=f stage=full setting=10.5 {{ {rows} }}\n")
}

#[test]
fn both_ends_of_a_torque_window_conform() {
    let read = |torque: &str| {
        of_rule(&format!("{RAIL}fasten X.a date=\"2026-04-14\" by=f stage=full {{ at S1 {torque} }}"), "torque-window")
    };
    for inside in ["10", "11", "10.0000001", "10.999999999999999999", "(N.cm)1000", "(in-lbf)88.6", "(in-lbf)97"] {
        assert!(read(inside).is_empty(), "{inside}");
    }
    // 1 in-lbf = 0.1129848290276167 N·m exactly (NIST SP 811), so 10 N·m = 88.507… and 11 N·m = 97.358… in-lbf.
    for outside in ["9.999999999999999999", "11.000000000000000001", "(in-lbf)88.5", "(in-lbf)97.4", "(ft-lbf)8.2"] {
        assert_eq!(read(outside).len(), 1, "{outside}");
    }
    assert_eq!(
        read("11.4"),
        ["nonconformity X.a.S1: bolt 1 of S1 was tightened to 11.4 N·m, 0.4 N·m over the full window"]
    );
    assert_eq!(
        read("(in-lbf)88.5"),
        ["nonconformity X.a.S1: bolt 1 of S1 was tightened to 9.9991… N·m, 0.0008… N·m under the full window"]
    );
}

#[test]
fn a_setting_outside_the_window_is_told_once() {
    let text = full("clicked J1 S6..S9; clicked S4..S1").replace("setting=10.5", "setting=11.5");
    let findings = of_rule(&text, "torque-window");
    assert_eq!(findings, ["nonconformity X.a: the wrench was set to 11.5 N·m, 0.5 N·m over the full window"]);
    let none = full("clicked J1").replace(" setting=10.5", "");
    assert_eq!(
        of_rule(&none, "torque-window"),
        ["outstanding X.a: the rail bolts of J1 clicked at a setting that is not recorded"]
    );
}

#[test]
fn a_later_torque_ends_the_nonconformity() {
    let wrench = "wrench TW-2 kind=indicating least=4 most=20 { calibrated \"2026-02-02\" due=\"2027-02-02\" };";
    let first = full("at S1 9; at S2 10.5").replacen("shop {", &format!("shop {{ {wrench}"), 1);
    assert_eq!(of_rule(&first, "torque-window").len(), 1);
    let again =
        |wrench: &str| format!("{first}fasten X.a date=\"2026-04-15\" by=f {wrench} stage=full {{ at S1 10.5 }}");
    assert!(of_rule(&again("wrench=TW-2"), "torque-window").is_empty());
    assert_eq!(of_rule(&again(""), "torque-window").len(), 1, "without its wrench it does not count");
    let loose = format!("{first}loosen X.a.S1 date=\"2026-04-15\" by=f");
    assert!(of_rule(&loose, "torque-window").is_empty());
}

#[test]
fn the_fasteners_own_window_goes_before_the_rulebook() {
    let shop = "shop { fastener light thread=M6 { full least=7 most=8 reason=\"aluminium\" } }\n";
    let machine =
        "machine m { axis X { rail a rail-bolt=light { segment 1200; support S1 at=240; support S2 at=480 } } }\n";
    let text = format!("{shop}{machine}fasten X.a date=\"2026-04-14\" by=f stage=full {{ at S1 7.5; at S2 10.5 }}");
    let findings: Vec<_> =
        lint_text(&text).into_iter().filter(|finding| finding.rule.as_str() == "torque-window").collect();
    assert_eq!(findings.len(), 1);
    assert_eq!(findings[0].address, "X.a.S2");
    let limit = findings[0].limit.as_ref().expect("has a limit");
    assert_eq!((limit.text.as_str(), limit.source.as_str()), ("7 to 8 N·m", "fastener `light`: aluminium"));
    assert!(limit.set_at.is_some());
}

#[test]
fn every_bolt_without_full_torque_is_named() {
    assert_eq!(
        of_rule(RAIL, "torque-missing"),
        ["outstanding X.a: 9 supports have rail bolts without full torque: S1..S9"]
    );
    let part = full("at J1 10.5 10.5 #null 10.5; clicked S4..S1 S6..S8; missed S2 bolt=1");
    assert_eq!(
        of_rule(&part, "torque-missing"),
        ["outstanding X.a: 3 supports have rail bolts without full torque: S9, S2 (bolt 1), J1 (bolt 3)"]
    );
    // A row that is one bolt short.
    let short = full("at J1 10.5 10.5 10.5; clicked S4..S1 S6..S9");
    assert_eq!(
        of_rule(&short, "torque-missing"),
        ["outstanding X.a: 1 support has rail bolts without full torque: J1 (bolt 4)"]
    );
    let done = full("clicked J1 S4..S1 S6..S9");
    assert!(of_rule(&done, "torque-missing").is_empty());
    let loose = format!("{done}loosen X.a date=\"2026-04-15\" by=f {{ at S3 }}");
    assert_eq!(
        of_rule(&loose, "torque-missing"),
        ["outstanding X.a: 1 support has rail bolts without full torque: S3"]
    );
}

#[test]
fn snug_comes_before_full() {
    assert!(of_rule(&full("clicked J1 S4..S1"), "snug-before-full").is_empty());
    let never = full("clicked J1 S4..S1").replace("{ clicked S1..S9 }", "{ clicked J1 S1..S3 }");
    assert_eq!(
        of_rule(&never, "snug-before-full"),
        ["nonconformity X.a: S4 got full torque without snug torque before it"]
    );
    // Tightening again without slackening is fine; after slackening it is not.
    let again = format!(
        "{}fasten X.a date=\"2026-04-15\" by=f stage=full setting=10.5 {{ clicked S1 }}\n",
        full("clicked J1 S4..S1")
    );
    assert!(of_rule(&again, "snug-before-full").is_empty());
    let loose = format!(
        "{}loosen X.a.S1 date=\"2026-04-15\" by=f\nfasten X.a date=\"2026-04-15\" by=f stage=full setting=10.5 {{ clicked S1 }}\n",
        full("clicked J1 S4..S1")
    );
    assert_eq!(of_rule(&loose, "snug-before-full").len(), 1);
    // Loosened, snugged and tightened again: cured.
    let cured = format!(
        "{loose}loosen X.a.S1 date=\"2026-04-16\" by=f
fasten X.a date=\"2026-04-16\" by=f stage=snug setting=1.5 {{ clicked S1 }}
fasten X.a date=\"2026-04-16\" by=f stage=full setting=10.5 {{ clicked S1 }}"
    );
    assert!(of_rule(&cured, "snug-before-full").is_empty());
    // One bolt that did not click at the snug stage.
    let missed = full("clicked J1 S4..S1").replace("{ clicked S1..S9 }", "{ clicked S1..S9; missed J1 bolt=2 }");
    assert_eq!(of_rule(&missed, "snug-before-full").len(), 1);
}

#[test]
fn two_files_of_one_day_are_asked_for_the_time() {
    let snug = |time| format!("fasten X.a date=\"2026-04-14{time}\" by=f stage=snug setting=1.5 {{ clicked J1 }}");
    let full = |time| format!("fasten X.a date=\"2026-04-14{time}\" by=f stage=full setting=10.5 {{ clicked J1 }}");
    let grades = |snug: String, full: String, snug_file: &str, full_file: &str| -> Vec<Grade> {
        let judged = judge(&[("machine.kdl", RAIL), (snug_file, &snug), (full_file, &full)], &[]);
        let found = judged.findings.into_iter().filter(|finding| finding.rule.as_str() == "snug-before-full");
        found.map(|finding| finding.grade).collect()
    };
    for (snug_file, full_file) in [("1.kdl", "2.kdl"), ("2.kdl", "1.kdl")] {
        assert_eq!(grades(snug(""), full(""), snug_file, full_file), [Grade::Outstanding]);
        assert_eq!(grades(snug("T08:00"), full("T09:00"), snug_file, full_file), []);
        assert_eq!(grades(snug("T10:00"), full("T09:00"), snug_file, full_file), [Grade::Nonconformity]);
    }
}

#[test]
fn full_torque_goes_from_the_joint_outward() {
    let order = |rows: &str| of_rule(&full(rows), "torque-order");
    for right in
        ["clicked J1 S4..S1 S6..S9", "clicked J1 S6 S4 S7 S3 S8 S2 S1 S9", "clicked J1; at S4 10.5; at S3 10.5 #null"]
    {
        assert!(order(right).is_empty(), "{right}");
    }
    assert_eq!(
        order("clicked J1 S1..S4 S6..S9"),
        ["nonconformity X.a.J1: S1 got full torque before S2, which is nearer to J1"]
    );
    assert_eq!(
        order("clicked J1 S4 S2 S3 S1 S9..S6"),
        [
            "nonconformity X.a.J1: S2 got full torque before S3, which is nearer to J1",
            "nonconformity X.a.J1: S9 got full torque before S8, which is nearer to J1"
        ]
    );
    // The joint's own support comes first, on either side.
    assert_eq!(
        order("clicked S4..S1 J1 S6..S9"),
        ["nonconformity X.a.J1: S4 got full torque before the support of J1 itself"]
    );
    // What is not torqued yet is torque-missing's business.
    assert!(order("clicked J1 S3 S2").is_empty());
}

#[test]
fn what_two_files_of_one_day_tighten_is_asked_for_the_time() {
    let told = |first: &str, second: &str| {
        let machine =
            format!("{RAIL}fasten X.a date=\"2026-04-13\" by=f stage=snug setting=1.5 {{ clicked J1 S1..S4 S6..S9 }}");
        let full = |time: &str, rows: &str| {
            format!("fasten X.a date=\"2026-04-14{time}\" by=f stage=full setting=10.5 {{ clicked {rows} }}")
        };
        let (near, far) = (full(first, "J1 S4 S3"), full(second, "S2 S1 S6..S9"));
        let judged = judge(&[("machine.kdl", &machine), ("1.kdl", &far), ("2.kdl", &near)], &[]);
        let found = judged.findings.into_iter().filter(|finding| finding.rule.as_str() == "torque-order");
        found
            .map(|finding| {
                let also: Vec<_> = finding.also.iter().map(|label| label.text.to_string()).collect();
                format!("{} {}: {} ({})", finding.grade.name(), finding.address, finding.message, also.join(", "))
            })
            .collect::<Vec<_>>()
    };
    assert_eq!(
        told("", ""),
        [
            "outstanding X.a.J1: nothing says which of S3 and S2 got full torque first on 2026-04-14 (S3, in another)",
            "outstanding X.a.J1: nothing says which of J1 and S6 got full torque first on 2026-04-14 (J1, in another)"
        ]
    );
    assert_eq!(told("T08:00", "T09:00"), [""; 0]);
    let late = told("T10:00", "T09:00");
    assert!(late.iter().all(|one| one.starts_with("nonconformity")) && late.len() == 2, "{late:#?}");
}

#[test]
fn later_work_on_single_supports_does_not_break_the_order() {
    let done = full("clicked J1 S4..S1 S6..S9");
    let shimmed = format!(
        "{done}shim X.a date=\"2026-04-15\" by=f {{ at S4 0.05 }}
fasten X.a date=\"2026-04-15\" by=f stage=snug setting=1.5 {{ clicked S4 }}
fasten X.a date=\"2026-04-15\" by=f stage=full setting=10.5 {{ clicked S4 }}"
    );
    assert!(of_rule(&shimmed, "torque-order").is_empty());
    // A support that was too early is cured by loosening and tightening it again.
    let early = full("clicked J1 S4 S2 S3 S1");
    assert_eq!(of_rule(&early, "torque-order").len(), 1);
    let cured = format!(
        "{early}loosen X.a.S2 date=\"2026-04-15\" by=f
fasten X.a date=\"2026-04-15\" by=f stage=full setting=10.5 {{ clicked S2 }}"
    );
    assert!(of_rule(&cured, "torque-order").is_empty());
    // Loosening the rail starts the order anew.
    let anew = format!(
        "{done}loosen X.a date=\"2026-04-15\" by=f
fasten X.a date=\"2026-04-15\" by=f stage=full setting=10.5 {{ clicked J1 S1..S4 }}"
    );
    assert_eq!(of_rule(&anew, "torque-order").len(), 1);
}

#[test]
fn a_support_halfway_between_two_joints_belongs_to_either() {
    let machine = "machine m { axis X { rail a {
        segment 1200; segment 1200; segment 1200
        joint-support J1 at=1200 length=100; joint-support J2 at=2400 length=100
        support A at=1400; support H at=1800; support B at=2200
    } } }\n";
    let order = |rows: &str| {
        let snug = "fasten X.a date=\"2026-04-13\" by=f stage=snug setting=1.5 { clicked J1 A H B J2 }";
        let text = format!(
            "{machine}{snug}\nfasten X.a date=\"2026-04-14\" by=f stage=full setting=10.5 {{ clicked {rows} }}"
        );
        of_rule(&text, "torque-order")
    };
    assert!(order("J1 A H J2 B").is_empty());
    assert!(order("J2 B H J1 A").is_empty());
    assert_eq!(order("J1 H A J2 B"), ["nonconformity X.a.J1: H got full torque before A, which is nearer to J1"]);
}

#[test]
fn light_through_a_joint_counts_until_it_is_gone() {
    let seen = format!("{RAIL}inspect X.a.J1 date=\"2026-04-15\" by=i {{ light seen; feeler 0.05 }}\n");
    assert_eq!(of_rule(&seen, "light-through-joint").len(), 1);
    let gone = format!("{seen}inspect X.a.J1 date=\"2026-04-16\" by=i {{ light none }}\n");
    assert!(of_rule(&gone, "light-through-joint").is_empty());
    let thick = format!("{RAIL}inspect X.a.J1 date=\"2026-04-15\" by=i {{ light none; feeler 0.051 }}\n");
    assert_eq!(
        of_rule(&thick, "light-through-joint"),
        ["nonconformity X.a.J1: a feeler of 0.051 mm goes into the joint"]
    );
}

#[test]
fn a_withdrawn_record_counts_no_more() {
    let text =
        format!("{}void fasten X.a of=\"2026-04-14\" date=\"2026-04-15\" by=e reason=\"wrong rail\"", full("at S1 12"));
    assert_eq!(found(&text), ["torque-missing X.a", "groove-missing X.a.J1", "instrument-missing X.a"]);
}

#[test]
fn instruments_and_bolts_that_are_not_there_are_unknown() {
    let text = format!(
        "{RAIL}fasten X.a date=\"2026-04-14\" by=f wrench=TW-9 stage=full setting=10.5 {{ clicked J1; missed J1 bolt=5 }}
inspect X.a.J1 date=\"2026-04-15\" by=i gauge=DI-9 {{ light none }}"
    );
    assert_eq!(
        of_rule(&text, "unknown-reference"),
        [
            "nonconformity X.a: there is no wrench `TW-9`",
            "nonconformity X.a.J1: J1 has 4 bolts, and no bolt 5",
            "nonconformity X.a.J1: there is no gauge `DI-9`"
        ]
    );
    // Where the shop file cannot be read whole, nobody knows which instruments there are.
    let records = "inspect X.a.J1 date=\"2026-04-15\" by=i gauge=DI-9 { light none }";
    let machine = RAIL.replace(SHOP, "");
    let unknown = |shop: &str| {
        let judged = judge(&[("machine.kdl", &machine), ("r.kdl", records)], &[shop]);
        judged.findings.iter().filter(|finding| finding.message == "there is no gauge `DI-9`").count()
    };
    assert_eq!(unknown("shop { profile R20 hole-pitch=60; fastener rb }"), 1);
    assert_eq!(unknown("shop { profile R20 hole-pitch=60; fastener rb }; gauge \"DI-9 "), 0);
}

#[test]
fn a_wrench_is_used_inside_its_range() {
    let shop = "shop { wrench TW-1 kind=setting least=1.5 most=5; wrench TW-2 kind=indicating least=4 most=20; profile R20 hole-pitch=60 end-distance=30; fastener rb thread=M6 class=\"10.9\" into=steel }";
    let text = RAIL.replace(SHOP, shop);
    let used = |record: &str| of_rule(&format!("{text}fasten X.a date=\"2026-04-14\" by=f {record}"), "wrench-range");
    assert!(used("wrench=TW-1 stage=snug setting=1.5 { clicked J1 }").is_empty());
    assert!(used("wrench=TW-1 stage=snug setting=5 { clicked J1 }").is_empty());
    assert_eq!(
        used("wrench=TW-1 stage=snug setting=1.49 { clicked J1 }"),
        ["outstanding X.a: 1.49 N·m is below the range of TW-1"]
    );
    assert_eq!(used("wrench=TW-2 stage=full { at J1 21 10 3.9 10 }").len(), 2);
    assert_eq!(
        used("wrench=TW-2 stage=full setting=10.5 { clicked J1 }"),
        ["nonconformity X.a: `clicked` with TW-2, which does not click but reads"]
    );
    assert_eq!(
        used("wrench=TW-1 stage=snug { at J1 2 2 2 2 }"),
        ["nonconformity X.a: torques read with TW-1, which only clicks at its setting"]
    );
}

/// The calibration of one gauge or wrench against one record of 2026-04-15.
fn calibrated(instrument: &str) -> Vec<String> {
    let record = if instrument.starts_with("wrench") {
        "fasten X.a date=\"2026-04-15\" by=f wrench=I stage=full setting=10.5 { clicked J1 }"
    } else {
        "inspect X.a.J1 date=\"2026-04-15\" by=i gauge=I { light none }"
    };
    let machine = "machine m { axis X { rail a { segment 1200; segment 1200; joint-support J1 at=1200 length=200 } } }";
    of_rule(&format!("shop {{ {instrument} }}\n{machine}\n{record}"), "gauge-calibration")
}

#[test]
fn a_record_is_judged_by_the_calibration_of_its_date() {
    // The day it is due is still good; a later calibration alters nothing.
    assert!(calibrated("gauge I { calibrated \"2025-04-15\" due=\"2026-04-15\" }").is_empty());
    let out = ["outstanding X.a.J1: 1 record made with I after its calibration ran out"];
    assert_eq!(calibrated("gauge I { calibrated \"2025-04-15\" due=\"2026-04-14\" }"), out);
    assert_eq!(
        calibrated(
            "gauge I { calibrated \"2025-04-15\" due=\"2026-04-14\"; calibrated \"2026-04-20\" due=\"2027-04-20\" }"
        ),
        out
    );
    assert_eq!(
        calibrated("gauge I { calibrated \"2026-04-16\" due=\"2027-04-16\" }"),
        ["outstanding X.a.J1: 1 record made with I before its first calibration"]
    );
    assert_eq!(
        calibrated("gauge I { calibrated \"2025-12-01\"; calibrated \"2026-04-15\" result=failed }"),
        ["outstanding X.a.J1: 1 record made with I after it failed its calibration"]
    );
    assert_eq!(
        calibrated("gauge I { calibrated \"2025-12-01\"; calibrated \"2026-04-20\" result=failed }"),
        ["outstanding X.a.J1: 1 record made with I before it failed its next calibration"]
    );
    assert_eq!(calibrated("gauge I"), ["outstanding X.a.J1: 1 record made with I, of which no calibration is known"]);
}

#[test]
fn a_wrench_is_due_after_twelve_months_or_5000_cycles() {
    // ISO 6789 (2003 edition), where the calibration does not say when it is due.
    assert!(calibrated("wrench I kind=setting { calibrated \"2025-04-15\" }").is_empty());
    assert_eq!(calibrated("wrench I kind=setting { calibrated \"2025-04-14\" }").len(), 1);
    let counted = |count: &str, more: &str| {
        calibrated(&format!(
            "wrench I kind=setting {{ calibrated \"2026-01-15\" cycles=2000 {more}; cycles {count} on=\"2026-04-10\" }}"
        ))
    };
    assert!(counted("7000", "").is_empty());
    assert_eq!(counted("7001", ""), ["outstanding X.a: 1 record made with I beyond its cycles"]);
    assert!(counted("7001", "due=\"2027-01-15\"").is_empty());
}

#[test]
fn what_is_due_soon_is_mentioned_while_work_goes_on() {
    // Tests judge on 2026-11-01.
    let due = |due: &str, used: &str| {
        let text = format!(
            "shop {{ gauge I {{ calibrated \"2025-12-01\" due=\"{due}\" }} }}
             machine m {{ axis X {{ rail a {{ segment 1200; segment 1200 }} }} }}
             inspect X.a.J1 date=\"{used}\" by=i gauge=I {{ light none }}"
        );
        let found = lint_text(&text).into_iter().find(|finding| finding.rule.as_str() == "gauge-calibration");
        found.map(|finding| (finding.message, finding.by_date, finding.grade))
    };
    let (message, by_date, grade) = due("2026-11-21", "2026-10-20").expect("is mentioned");
    assert_eq!(message, "the calibration of I runs out in 20 days, on 2026-11-21");
    assert!(by_date && grade == Grade::Observation);
    assert!(due("2026-12-02", "2026-10-20").is_none());
    assert!(due("2026-11-21", "2026-09-20").is_none());
    assert_eq!(
        due("2026-10-25", "2026-10-20").expect("is mentioned").0,
        "the calibration of I ran out 7 days ago, on 2026-10-25"
    );
}

#[test]
fn a_graduation_is_at_most_half_the_limit() {
    let read = |graduation: &str, rows: &str| {
        let text = format!(
            "shop {{ gauge I graduation={graduation} }}
             machine m {{ axis X {{ rail a {{ segment 1200; segment 1200 }} }} }}
             inspect X.a.J1 date=\"2026-04-15\" by=i gauge=I {{ {rows} }}"
        );
        of_rule(&text, "gauge-graduation")
    };
    assert!(read("0.01", "UL 0 -> 0.01").is_empty());
    assert_eq!(
        read("0.011", "UL 0 -> 0.011"),
        ["nonconformity X.a.J1: a gauge with a graduation of 0.011 mm is too coarse for a limit of 0.02 mm"]
    );
    assert!(read("0.02", "light none").is_empty());
    assert_eq!(
        read("0.01", "UL 0.005 -> 0.01; LL 0 -> 0.012"),
        ["observation X.a.J1: 0.005 mm is finer than the 0.01 mm the instrument shows, and so is 1 more"]
    );
    assert!(read("(in)0.0005", "UL 0 -> (in)0.0005").iter().all(|finding| finding.starts_with("nonconformity")));
}

#[test]
fn parts_that_meet_belong_together() {
    let of = |rule: &str, segments: &str, records: &str| {
        of_rule(&format!("machine m {{ axis X {{ rail a {{ {segments} }} }} }}\n{records}"), rule)
    };
    let mixed = |segments: &str, records: &str| of("parts-mixed", segments, records);
    assert!(mixed("segment 1200 mark=A lot=\"1\"; segment 1200 mark=A lot=\"2\"", "").is_empty());
    assert_eq!(
        mixed("segment 1200 lot=\"1\"; segment 1200 lot=\"2\"", ""),
        ["observation X.a.J1: lots 1 and 2 meet in J1 without match marks"]
    );
    let read = "inspect X.a.J1 date=\"2026-04-15\" by=i { UL 0 -> 0; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0.001 }";
    assert!(mixed("segment 1200 lot=\"1\"; segment 1200 lot=\"2\"", read).is_empty());
    assert_eq!(mixed("segment 1200 serial=K-1; segment 1200 serial=K-1", "").len(), 1);
    let came = |part: &str| {
        mixed(
            "segment 1200 serial=K-1 lot=\"7\"",
            &format!("receive date=\"2026-03-30\" by=i {{ part serial=K-1 {part} }}"),
        )
    };
    assert!(came("lot=\"7\" length=1201 state=accepted").is_empty());
    assert_eq!(came("lot=\"8\""), ["nonconformity X.a.seg1: the lot of K-1 is 7 here, and 8 as it came in"]);
    assert_eq!(came("length=1201.1"), [""; 0]);
    let length = "receive date=\"2026-03-30\" by=i { part serial=K-1 length=1201.1 }";
    assert_eq!(
        of("length-mismatch", "segment 1200 serial=K-1", length),
        ["nonconformity X.a.seg1: the segment is 1200 mm here, and 1201.1 mm as it came in"]
    );
    // A number that stands twice says nothing of the second one's length, nor does a part that was rejected.
    assert_eq!(of("length-mismatch", "segment 1200 serial=K-1; segment 1200 serial=K-1", length).len(), 1);
    assert_eq!(of("length-mismatch", "segment 1200 serial=K-1", &length.replace(" }", " state=rejected }")), [""; 0]);
    assert_eq!(
        came("state=rejected"),
        ["nonconformity X.a.seg1: part K-1 was rejected when it came in, and is in the machine"]
    );
}

/// Whatever it held before: the wrench turned it and never clicked.
#[test]
fn a_bolt_that_missed_its_full_torque_has_none() {
    let machine = "machine m { axis X { rail a { segment 600; supports S first=100 pitch=200 count=3 } } }\n\
        fasten X.a date=\"2026-05-01T08:00\" by=f stage=full setting=10.5 { clicked S1..S3 }\n";
    let again =
        "fasten X.a date=\"2026-05-02T08:00\" by=f stage=full setting=10.5 { clicked S1 S2; missed S3 bolt=1 }\n";
    let cured = "fasten X.a date=\"2026-05-02T09:00\" by=f stage=full setting=10.5 { clicked S3 }\n";
    let missing = |text: String| -> Vec<String> {
        let all = crate::common::lint_text(&text).into_iter();
        all.filter(|it| it.rule.as_str() == "torque-missing").map(|it| it.message).collect()
    };
    assert_eq!(missing(machine.to_string()), [""; 0]);
    let told = missing(format!("{machine}{again}"));
    assert!(matches!(&told[..], [it] if it.contains("S3")), "{told:?}");
    assert_eq!(missing(format!("{machine}{again}{cured}")), [""; 0]);
}
