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

/// Where the survey has too few stations for the local limit, the plan says so: it is silent of nothing that nobody can know.
#[test]
fn a_shim_plan_says_what_its_survey_cannot_show() {
    let plan = |limit: &str| {
        let yard = Yard::empty();
        let survey = "gap X.b stage=as-fitted: at S1 0; at S2 0; at S3 -0.02; at S4 -0.02; at S5 -0.06";
        yard.write(
            "m/machine.kdl",
            machine(limit, survey).replace("shop { ", "shop { shim-stock { leaf 0.02; leaf 0.05 }; "),
        );
        let ran = yard.wayledger(&["shims", "X", "--ledger", "m", "--today", "2026-05-06"]);
        let sheet = yard.wayledger(&["traveler", "m", "X", "--format", "markdown", "--today", "2026-06-01"]).out;
        (format!("{}{}", ran.out, ran.err), sheet, ran.code)
    };
    let unseen = "at most 0.05 mm over 200 mm, cannot be judged by this survey: stations lie farther apart than half the length of its limit";
    let (told, sheet, code) = plan("gap-local most=0.05 over=200");
    assert!(told.contains(&format!("gap-local, {unseen}")) && code == 0, "{told}");
    assert!(sheet.contains(unseen), "{sheet}");
    for seen in ["gap-local most=0.05 over=240", "straightness-local most=0.05 over=200"] {
        let (told, sheet, _) = plan(seen);
        assert!(!told.contains("cannot be judged") && !sheet.contains("cannot be judged"), "{seen}: {told}");
    }
}

/// By hand, GUM 4.3.7 and F.2.2.1 as for the whole range: the gauge's local error of 0.003 enters once as 0.003/√3, its graduation of
/// 0.002 twice as 0.001/√3, a closure within one graduation as 0.001/√3: u = √(0.003² + 3 · 0.001²)/√3 = 0.002 mm, U = 2u = 0.004 mm.
/// So 0.01 is proven to be within 0.02, and 0.02 is not.
#[test]
fn each_local_limit_asks_for_proof_as_the_whole_one_does() {
    let proof = |kind: &str, before: &str, worst: &str| {
        let rows = format!("at S1 0; at S2 0; at S3 {worst}; at S4 0; at S5 0; at S6 0; at S7 0; at S8 0; at S9 0");
        let text = machine(
            &format!("{before}{kind}-local most=0.02 over=240"),
            &survey_of(kind, &format!("{rows}; closure S1 0")),
        );
        // How far its readings scatter is asked for only where proof is required.
        let text = if before.is_empty() { text } else { text.replace("=0.002 ", "=0.002 repeatability=0.0005 ") };
        let found = judge(&[("machine.kdl", &text)], &[]).findings;
        let of_rule = found.into_iter().filter(|it| it.rule.as_str() == format!("{kind}-local-unproven"));
        of_rule.map(|it| format!("{}: {}", it.grade.name(), it.message)).collect::<Vec<_>>()
    };
    for kind in ["gap", "height", "straightness"] {
        let told = |before: &str, worst: &str, grade: &str| {
            let told = proof(kind, before, worst);
            assert!(
                matches!(&told[..], [one] if one.starts_with(grade) && one.contains("0.02 mm") && one.contains("not proven so")),
                "{kind}: {told:?}"
            );
        };
        told("", "0.02", "observation: ");
        let required = format!("proof-of-{kind} is=required reason=\"customer\"; ");
        told(&required, "0.02", "nonconformity: ");
        for before in ["", &required] {
            assert_eq!(proof(kind, before, "0.01"), [""; 0], "{kind}");
            // Beyond the limit is the other rule's matter.
            assert_eq!(proof(kind, before, "0.022"), [""; 0], "{kind}");
        }
    }
}

/// What is broken and accepted asks for no survey: a concession of something else does not let pass what waits for one.
#[test]
fn a_concession_of_something_else_does_not_hide_what_waits_for_a_survey() {
    let yard = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers/boatyard");
    let text = |path: &str| std::fs::read_to_string(yard.join(path)).expect("an example");
    let shop = text("shop.kdl");
    let limit = "    rulebook { gap-local most=0.02 over=2000 reason=\"drawing 131-9\" }\n    axis X {";
    let planer = text("plank-planer/machine.kdl").replacen("    axis X {", limit, 1);
    let days = ["2026-05-04-fitter-2.kdl", "2026-05-05-inspector-1.kdl", "2026-05-06-engineer-1.kdl"];
    let records = days.map(|day| (day, text(&format!("plank-planer/{day}"))));
    let mut files = vec![("machine.kdl", planer.as_str())];
    files.extend(records.iter().map(|(name, text)| (*name, text.as_str())));
    // On a day on which nothing else is due.
    let judged = wayledger::lint::judge_ledger(judge(&files, &[&shop]).ledger, jiff::civil::date(2026, 5, 20));
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

/// Each kind of survey with its limit over the whole rail and its local one, each narrower than any default.
const BOTH: [[(&str, &str); 2]; 3] = [
    [("gap", "gap-range most=0.005"), ("gap", "gap-local most=0.005 over=500")],
    [("straightness", "straightness most=0.005"), ("straightness", "straightness-local most=0.005 over=500")],
    [("height", "height-range most=0.005"), ("height", "height-local most=0.005 over=500")],
];

fn survey_of(kind: &str, rows: &str) -> String {
    let head = match kind {
        "gap" => "gap X.b stage=verification",
        "straightness" => "straightness X.a stage=as-fitted plus=left",
        _ => "height X.b stage=as-fitted plus=down",
    };
    format!("{head}: {rows}")
}

const LEVEL: &str = "at S1 0; at S2 0; at S3 0; at S4 0; at S5 0; at S6 0; at S7 0; at S8 0; at S9 0";

/// Whichever of the two is stated, a gauge has to be fine enough for it, and a survey to close within a tenth of it.
#[test]
fn either_limit_asks_for_a_fine_gauge_and_a_closed_survey() {
    for (kind, limit) in BOTH.into_iter().flatten() {
        let entry = limit.split(' ').next().expect("a limit");
        let told = |rule: &str, graduation: &str, again: &str| {
            let text = machine(limit, &survey_of(kind, &format!("{LEVEL}; closure S1 {again}")));
            let judged = judge(&[("machine.kdl", &text.replace("graduation=0.002", graduation))], &[]);
            let of_rule = judged.findings.iter().filter(|it| it.rule.as_str() == rule);
            let words = of_rule.map(|it| it.limit.as_ref().map_or(String::new(), |limit| limit.text.clone()));
            words.collect::<Vec<_>>()
        };
        let coarse = told("gauge-graduation", "graduation=0.05", "0");
        assert!(matches!(&coarse[..], [one] if one.ends_with(&format!("of the {entry} limit 0.005 mm"))), "{coarse:?}");
        assert_eq!(told("gauge-graduation", "graduation=0.002", "0"), [""; 0], "{limit}");
        let open = told("survey-closure", "graduation=0.0001", "0.0006");
        assert_eq!(open, [format!("at most 0.0005 mm, a tenth of {entry}")]);
        assert_eq!(told("survey-closure", "graduation=0.0001", "0.0005"), [""; 0], "{limit}");
    }
}

/// Where both are stated the narrower one holds.
#[test]
fn of_both_limits_the_narrower_one_says_how_finely_is_read() {
    for [(kind, whole), (_, local)] in BOTH {
        for (wide, narrow) in [(whole, local), (local, whole)] {
            let both = format!("{} reason=\"drawing 6\"; {narrow}", wide.replace("0.005", "0.05"));
            let text = machine(&both, &survey_of(kind, &format!("{LEVEL}; closure S1 0")));
            let text = text.replace("graduation=0.002", "graduation=0.01");
            let of_rule = judge(&[("machine.kdl", &text)], &[]).findings;
            let told = of_rule.iter().filter(|it| it.rule.as_str() == "gauge-graduation");
            let told: Vec<_> = told.map(|it| it.limit.as_ref().expect("a limit").text.clone()).collect();
            let named = narrow.split(' ').next().expect("a limit");
            assert!(matches!(&told[..], [one] if one.contains(named)), "{wide} and {narrow}: {told:?}");
        }
    }
}

/// A height copied in micrometres is far beyond a local limit, as it is beyond one over the whole rail.
#[test]
fn either_limit_tells_a_unit_that_was_mistaken() {
    for (kind, limit) in BOTH.into_iter().flatten() {
        let text = machine(limit, &survey_of(kind, &LEVEL.replace("S5 0", "S5 3")));
        // By the gap's default alone 3 mm would be far off too: with a wide one only the limit itself says so.
        let wide = if limit.starts_with("gap-range") { "" } else { "gap-range most=1 reason=\"drawing 5\"; " };
        let text = text.replace("rulebook { ", &format!("rulebook {{ {wide}"));
        let found = judge(&[("machine.kdl", &text)], &[]).findings;
        assert!(found.iter().any(|it| it.rule.as_str() == "unit-mistaken"), "{limit}: {found:?}");
    }
}

/// What the lint asks for has a sheet, with its limit; nothing is asked for that nobody limits.
#[test]
fn either_limit_has_its_sheet_on_the_traveler() {
    let sheets = |text: &str| {
        let yard = Yard::empty();
        yard.write("m/machine.kdl", text);
        let ran = yard.wayledger(&["traveler", "m", "X", "--format", "markdown", "--today", "2026-06-01"]);
        assert_eq!(ran.code, 0, "{}", ran.err);
        ran.out
    };
    let of = |limit: &str| {
        let text = machine(limit, &survey_of("gap", LEVEL));
        sheets(text.split_once("\nfasten").expect("records").0)
    };
    for (kind, limit) in BOTH.into_iter().flatten() {
        let out = of(limit);
        let sheet = out.split("## ").find(|it| it.starts_with(&format!("Survey: {kind} of")));
        let sheet = sheet.unwrap_or_else(|| panic!("{limit}: no sheet in {out}"));
        let text = if limit.contains("over") { "at most 0.005 mm over 500 mm" } else { "at most 0.005 mm" };
        assert!(sheet.contains(text), "{limit}: {sheet}");
    }
    assert!(!of("joint-step most=0.02").contains("Survey: height"));
    // A rail by itself, whose straightness is limited.
    for (_, limit) in BOTH[1] {
        let alone = format!(
            "machine m {{ rulebook {{ {limit} reason=\"drawing 7\" }}; axis X {{ rail a {{ supports S first=60 pitch=120 count=9 }} }} }}\n"
        );
        assert!(sheets(&alone).contains("## Survey: straightness of X.a"), "{limit}");
    }
}

/// Which surveys a re-survey needs: a gap survey by itself does where nothing else is limited.
#[test]
fn either_limit_is_surveyed_again_in_service() {
    let due = |limit: &str, again: &str| {
        let text = format!(
            "shop {{ gauge DI-6 kind=dial-indicator plus=wider {{ calibrated \"2025-01-12\" due=\"2028-01-12\" }} }}
machine m {{ {limit}; axis X {{ service-interval re-survey months=6
    rail a {{ supports S first=60 pitch=240 count=3 }}; rail b follows=a {{ supports S first=60 pitch=240 count=3 }} }} }}
release X date=\"2026-01-01\" by=engineer-1
{again}"
        );
        lint_text(&text).iter().filter(|it| it.rule.as_str() == "service-due").count()
    };
    let read = |on: &str| {
        format!(
            "survey {on} date=\"2026-06-20\" by=i-1 gauge=DI-6 stage=service {{ at S1 0; at S2 0; at S3 0; closure S1 0 }}\n"
        )
    };
    let gap = read("gap X.b");
    assert_eq!(due("description \"a yard\"", &gap), 0);
    for (kind, limit) in BOTH[1..].iter().copied().flatten() {
        let limit = format!("rulebook {{ {limit} reason=\"drawing 7\" }}");
        assert_eq!(due(&limit, &gap), 1, "{limit}");
        let rest = read(if kind == "height" { "height X.b" } else { "straightness X.a" });
        let rest = rest.replace("stage=", if kind == "height" { "plus=up stage=" } else { "plus=right stage=" });
        assert_eq!(due(&limit, &(gap.clone() + &rest)), 0, "{limit}");
    }
}

/// A local limit that is only tried is held against what was read.
#[test]
fn each_local_limit_can_be_tried() {
    for [_, (kind, limit)] in BOTH {
        let yard = Yard::empty();
        yard.write("m/machine.kdl", machine(limit, &survey_of(kind, &LEVEL.replace("S5 0", "S5 0.01"))));
        let tried = |most: &str| {
            let name = limit.split(' ').next().expect("a limit");
            let ran = yard.wayledger(&["report", "m", "--try", &format!("{name}={most}/500"), "--today", "2026-06-01"]);
            assert_eq!(ran.code, 0, "{}", ran.err);
            ran.out.split_whitespace().collect::<Vec<_>>().join(" ")
        };
        let (wide, narrow) = (tried("0.02"), tried("0.004"));
        assert!(wide.contains("0 of 1 machine would not meet it"), "{kind}: {wide}");
        assert!(!wide.contains("nothing is said to meet it"), "{kind}: {wide}");
        assert!(narrow.contains("1 of 1 machine would not meet it"), "{kind}: {narrow}");
    }
}

/// Too many stations to look at every stretch: a break among those that were looked at is told, and none is denied.
#[test]
fn a_break_stands_though_not_every_stretch_is_looked_at() {
    let of = |second: &str| {
        let rows: String = (3..=3100).map(|station| format!("at S{station} 0\n")).collect();
        let survey = format!("straightness X.a stage=as-fitted plus=left: at S1 0\nat S2 {second}\n{rows}");
        let text = machine("straightness-local most=0.02 over=1000", &survey);
        let text = text.replace("first=60 pitch=120 count=9", "first=60 pitch=1 count=3100");
        let judged = judge(&[("machine.kdl", &text.replace("S1..S9", "S1..S3100"))], &[]);
        let of_it = judged.findings.iter().filter(|finding| finding.rule.as_str() == "straightness-local");
        of_it.map(|finding| format!("{}: {}", finding.grade.name(), finding.message)).collect::<Vec<_>>()
    };
    assert_eq!(of("0.03"), ["nonconformity: the rail is straight within 0.03 mm from S1 to S1001, 1000 mm along"]);
    let flat = of("0.01");
    assert!(
        matches!(&flat[..], [one] if one.starts_with("not judged") && one.contains("not every stretch can be looked at")),
        "{flat:?}"
    );
}
