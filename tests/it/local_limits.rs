//! Local limits: at just their figure and a thousandth beyond it, over which length, and where stations lie too far apart.
//! The figures are differences done by hand; of three stations at even distances the zone is half of their second difference.

use crate::common::yard::Yard;
use crate::common::{judge, lint_text};

/// A machine with two rails, supports every 120 mm, all of them tight, and one survey.
fn machine(limit: &str, survey: &str) -> String {
    let (of, rows) = survey.split_once(':').expect("what is surveyed, and its rows");
    let tight = ["a", "b"].map(|rail| {
        format!("fasten X.{rail} date=\"2026-05-04\" by=f-1 stage=full setting=10.5 {{ clicked S1..S9 }}\n")
    });
    format!(
        "shop {{ gauge DI-6 kind=dial-indicator graduation=0.002 range=5 permissible-error=0.005 local-error=0.003 plus=wider {{
    calibrated \"2026-01-12\" due=\"2027-01-12\" certificate=\"C-2212\" }} }}
machine m {{ rulebook {{ {limit} reason=\"drawing 7\" }}; axis X {{
    rail a {{ supports S first=60 pitch=120 count=9 }}
    rail b follows=a shims=widen {{ supports S first=60 pitch=120 count=9 }} }} }}
{}survey {of} date=\"2026-05-05\" by=i-1 gauge=DI-6 temperature=20 {{ {rows} }}\n",
        tight.concat()
    )
}

/// What the rule of that limit says.
fn said(limit: &str, survey: &str) -> Vec<String> {
    let rule = limit.split(' ').next().expect("a limit");
    let judged = judge(&[("machine.kdl", &machine(limit, survey))], &[]);
    let of_it = judged.findings.iter().filter(|finding| finding.rule.as_str() == rule);
    of_it.map(|finding| format!("{}: {}", finding.grade.name(), finding.message)).collect()
}

const GAP: &str = "gap X.b stage=verification: at S1 0; at S2 -0.01; at S3 -0.02; at S4 -0.03; at S5 -0.04";

#[test]
fn two_stations_may_differ_by_just_the_limit_within_its_length() {
    for (limit, told) in [
        ("most=0.02 over=240", None),
        ("most=0.019 over=240", Some("0.02 mm between S1 and S3, 240 mm apart")),
        // A longer length sees more.
        ("most=0.02 over=360", Some("0.03 mm between S1 and S4, 360 mm apart")),
        ("most=0.02 over=359.999", None),
    ] {
        let told: Vec<String> = told.iter().map(|it| format!("nonconformity: the gap differs by {it}")).collect();
        assert_eq!(said(&format!("gap-local {limit}"), GAP), told, "{limit}");
    }
    // Height and gap are judged alike, whichever way it goes.
    let height = "height X.b stage=as-fitted plus=down: at S1 0; at S2 0.01; at S3 0.04; at S4 0.03";
    assert_eq!(
        said("height-local most=0.03 over=240", height),
        ["nonconformity: the height differs by 0.04 mm between S1 and S3, 240 mm apart"]
    );
    assert_eq!(said("height-local most=0.04 over=240", height), [""; 0]);
}

#[test]
fn a_rail_is_straight_within_each_window() {
    // Second differences 0, 0.03, -0.06, 0.03: the worst window has half of 0.06.
    let survey = "straightness X.a stage=as-fitted plus=left: at S1 0; at S2 0; at S3 0; at S4 0.03; at S5 0; at S6 0";
    assert_eq!(said("straightness-local most=0.03 over=240", survey), [""; 0]);
    assert_eq!(
        said("straightness-local most=0.029 over=240", survey),
        ["nonconformity: the rail is straight within 0.03 mm from S3 to S5, 240 mm along"]
    );
}

#[test]
fn sparse_stations_show_a_break_and_clear_none() {
    let of = |limit: &str| said(limit, GAP);
    // Neighbours lie 120 mm apart: half of 240, and more than half of 239.
    assert_eq!(of("gap-local most=0.04 over=240"), [""; 0]);
    assert!(matches!(&of("gap-local most=0.04 over=239")[..], [one] if one.starts_with("not judged")));
    assert_eq!(
        of("gap-local most=0.009 over=239"),
        ["nonconformity: the gap differs by 0.01 mm between S1 and S2, 120 mm apart"]
    );
    assert!(matches!(&of("gap-local most=0.04 over=100")[..], [one] if one.starts_with("not judged")));
}

/// It is written whole, tried, listed, told where it comes from, and worked out.
#[test]
fn it_is_listed_tried_and_derived() {
    for (half, lacking) in [("gap-local most=0.02", "over"), ("gap-local over=300", "most")] {
        let told = lint_text(&machine(half, GAP)).into_iter().filter(|it| it.message.contains(lacking)).count();
        assert!(told > 0, "{half}");
    }
    let yard = Yard::empty();
    yard.write("m/machine.kdl", machine("gap-local most=0.03 over=240", GAP));
    let ran = |of: &[&str]| {
        let ran = yard.wayledger(of);
        format!("{}{}", ran.out, ran.err)
    };
    let listed = ran(&["rules", "--in-force", "m"]);
    assert!(listed.contains("gap-local: at most 0.03 mm over 240 mm"), "{listed}");
    let report = ran(&["report", "m", "--today", "2026-06-01", "--format", "markdown"]);
    assert!(report.contains("at most 0.03 mm over 240 mm"), "{report}");
    let how = ran(&["how", "X.b", "gap-local", "--ledger", "m", "--today", "2026-06-01"]);
    assert!(how.contains("gap within L = 0.02 mm") && how.contains("240"), "{how}");
    let tried = ran(&["report", "m", "--try", "gap-local=0.015/240", "--today", "2026-06-01"]);
    assert!(tried.contains("at most 0.015 mm over 240 mm") && tried.contains("0.02 mm between S1 and S3"), "{tried}");
    let tried = ran(&["report", "m", "--try", "gap-local=0.015", "--today", "2026-06-01"]);
    assert!(tried.contains("gap-local=0.01/300"), "{tried}");
}

/// The planner knows its range alone: what it leaves is held against the local limit, and told.
#[test]
fn a_shim_plan_that_leaves_a_local_break_is_told() {
    let plan = |limit: &str| {
        let yard = Yard::empty();
        let survey = "gap X.b stage=as-fitted: at S1 0; at S2 0; at S3 -0.05; at S4 -0.05; at S5 -0.09";
        yard.write(
            "m/machine.kdl",
            machine(limit, survey).replace("shop { ", "shop { shim-stock { leaf 0.02; leaf 0.05 }; "),
        );
        let ran = yard.wayledger(&["shims", "X", "--ledger", "m", "--today", "2026-05-06"]);
        (format!("{}{}", ran.out, ran.err), ran.code)
    };
    let (told, code) = plan("gap-local most=0.03 over=240");
    assert!(told.contains("gap-local: S") && told.contains("at most 0.03 mm over 240 mm is the limit"), "{told}");
    assert_eq!(code, 1, "{told}");
    let (told, code) = plan("gap-local most=0.05 over=240");
    assert!(!told.contains("gap-local") && code == 0, "{told}");
}

/// What is broken and accepted asks for no survey: a concession of something else does not let pass what waits for one.
#[test]
fn a_concession_of_something_else_does_not_hide_what_waits_for_a_survey() {
    let yard = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers/boatyard");
    let text = |path: &str| std::fs::read_to_string(yard.join(path)).expect("an example");
    let shop = text("shop.kdl");
    let limit = "    rulebook { gap-local most=0.001 over=1000 reason=\"drawing 131-9\" }\n    axis X {";
    let planer = text("plank-planer/machine.kdl").replacen("    axis X {", limit, 1);
    let days = ["2026-05-04-fitter-2.kdl", "2026-05-05-inspector-1.kdl", "2026-05-06-engineer-1.kdl"];
    let records = days.map(|day| (day, text(&format!("plank-planer/{day}"))));
    let mut files = vec![("machine.kdl", planer.as_str())];
    files.extend(records.iter().map(|(name, text)| (*name, text.as_str())));
    let judged = judge(&files, &[&shop]);
    let conceded = |rule: &str| judged.findings.iter().any(|it| it.rule.as_str() == rule && it.conceded.is_some());
    assert!(conceded("joint-over-seam"));
    let asked: Vec<&str> = judged
        .findings
        .iter()
        .filter(|it| it.rule.as_str() == "gap-local" && it.conceded.is_none())
        .map(|it| it.message.as_str())
        .collect();
    assert_eq!(asked.len(), 1, "{asked:?}");
    assert!(asked[0].starts_with("gap-local waits for evidence"), "{asked:?}");
}
