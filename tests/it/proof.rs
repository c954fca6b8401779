//! Proof: what must be proven, how sure a reading is, and that repeats narrow their scatter and nothing else.
//!
//! Numbers are reckoned by hand beside each; t by GUM table G.2 (95.45 %): 13.97, 4.53, 3.31, 2.87 for 1 to 4 degrees.

use wayledger::lint::{Finding, Grade};

use crate::common::lint_text;
use crate::rules_fitting::of_rule;

/// What is found, as grade, rule and address.
fn told(text: &str) -> Vec<String> {
    let of = |finding: &Finding| format!("{} {} {}", finding.grade.name(), finding.rule, finding.address);
    lint_text(text).iter().map(of).collect()
}

fn has(all: &[String], wanted: &str) -> bool {
    all.iter().any(|found| found == wanted)
}

/// A straightness of 0.03 against 0.03, a height of 0.04 against 0.04, a gap without a gauge, and a rulebook that asks for
/// proof. Every limit is just kept.
const AT_EVERY_LIMIT: &str = r#"
shop {
  fastener b thread=M6 class="10.9" head=socket-cap into=steel { friction 0.12 0.14 }
  gauge LA-1 kind=laser graduation=0.001 permissible-error=0.02 plus=right { calibrated "2026-01-12" due="2027-01-12" }
  gauge HT-1 kind=electronic-indicator graduation=0.001 permissible-error=0.02 plus=up { calibrated "2026-01-12" due="2027-01-12" }
  wrench TW-2 kind=indicating least=4 most=20 graduation=0.1 permissible-error=(%)4 { calibrated "2026-02-02" due="2027-02-02" }
}
machine m {
    rulebook {
        proof is=required reason="customer"
        straightness most=0.03 reason="drawing 12"
        height-range most=0.04 reason="drawing 12"
    }
    axis X {
        rail a rail-bolt=b { segment 1200; supports S first=120 pitch=240 count=3 }
        rail b follows=a rail-bolt=b { segment 1200; supports S first=120 pitch=240 count=3 }
    }
}
fasten X.a date="2026-04-14T08:00" by=fitter-2 stage=snug setting=1.5 { clicked S1..S3 }
fasten X.b date="2026-04-14T08:05" by=fitter-2 stage=snug setting=1.5 { clicked S1..S3 }
fasten X.a date="2026-04-14T08:10" by=fitter-2 stage=full wrench=TW-2 { at S1 10; at S2 11; at S3 10 }
fasten X.b date="2026-04-14T08:20" by=fitter-2 stage=full wrench=TW-2 { at S1 10; at S2 11; at S3 10 }
survey straightness X.a date="2026-04-15" by=inspector-1 gauge=LA-1 stage=as-fitted { at S1 0; at S2 0.03; at S3 0 }
survey height X.b date="2026-04-15" by=inspector-1 gauge=HT-1 stage=as-fitted { at S1 0; at S2 0.04; at S3 0 }
survey gap X.b date="2026-04-15" by=inspector-1 stage=as-fitted { at S1 0; at S2 0.05; at S3 0 }
"#;

#[test]
fn whoever_asks_for_proof_asks_for_all_but_the_torque() {
    let all = told(AT_EVERY_LIMIT);
    assert!(has(&all, "nonconformity straightness-range-unproven X.a"), "{all:#?}");
    assert!(has(&all, "nonconformity height-range-unproven X.b"), "{all:#?}");
    // Read without a gauge: whether it is proven nobody can tell.
    assert!(has(&all, "outstanding gap-range-unproven X.b"), "{all:#?}");
    assert!(!all.iter().any(|found| found.contains("torque-window")), "{all:#?}");
    // Torque by its name, and straightness alone.
    let asks = |line: &str| told(&AT_EVERY_LIMIT.replace("proof is=required", line));
    let all = asks("proof-of-torque is=required");
    assert!(has(&all, "nonconformity torque-window-unproven X.a"), "{all:#?}");
    assert!(has(&all, "observation straightness-range-unproven X.a"), "{all:#?}");
    assert!(!all.iter().any(|found| found.contains("gap-range-unproven")), "{all:#?}");
    let all = asks("proof-of-straightness is=required");
    assert!(has(&all, "nonconformity straightness-range-unproven X.a"), "{all:#?}");
    assert!(has(&all, "observation height-range-unproven X.b"), "{all:#?}");
    // All but one.
    let all = asks("proof-of-height is=observed reason=\"agreed\"; proof is=required");
    assert!(has(&all, "observation height-range-unproven X.b"), "{all:#?}");
    assert!(has(&all, "nonconformity straightness-range-unproven X.a"), "{all:#?}");
}

/// A step and a gap at their limits, the step read without a gauge.
const STEP_WITHOUT_A_GAUGE: &str = r#"
shop { gauge G1 kind=dial-indicator graduation=0.01 range=1 plus=wider { calibrated "2026-01-12" due="2027-01-12" } }
machine m {
    rulebook { proof is=required reason="customer" }
    axis X {
        rail a { segment 1200; segment 1200; supports S first=120 pitch=240 count=10 { omit S5 S6 }; joint-support J1 at=1200 length=200 }
        rail b follows=a { segment 2400; supports S first=120 pitch=240 count=3 }
    }
}
inspect X.a.J1 date="2026-04-15" by=inspector-1 { light none; UL 0 -> 0.02; UR 0 -> 0.02; LL 0 -> -0.02; LR 0 -> -0.02 }
survey gap X.b date="2026-04-15" by=inspector-1 gauge=G1 stage=as-fitted { at S1 0; at S2 0.05; at S3 0 }
"#;

#[test]
fn a_reading_without_an_instrument_is_not_proven_nor_is_one_at_its_limit() {
    let all = told(STEP_WITHOUT_A_GAUGE);
    assert!(has(&all, "outstanding joint-step-unproven X.a.J1"), "{all:#?}");
    assert!(has(&all, "nonconformity gap-range-unproven X.b"), "{all:#?}");
    // Shims follow: what was read before them is not the final gap.
    let shimmed = format!("{STEP_WITHOUT_A_GAUGE}shim X.b date=\"2026-04-16\" by=fitter-2 {{ at S1 0.05 }}\n");
    assert!(!told(&shimmed).iter().any(|found| found.contains("gap-range-unproven")));
}

/// Repeats that lie far apart: steps of 40, −30 and 20 µm.
const SCATTERED: &str = r#"
shop {
 gauge G1 kind=dial-indicator graduation=0.01 local-error=0.005 plus=wider { calibrated "2026-01-12" due="2027-01-12" }
 gauge G2 kind=dial-indicator graduation=0.002 local-error=0.003 plus=outward { calibrated "2026-01-12" due="2027-01-12" }
}
machine m {
    axis X {
        rail a { segment 1200; segment 1200; joint-support J1 at=1200 length=200 }
        rail b follows=a shims=widen { segment 2400; supports S first=120 pitch=240 count=3 }
    }
}
inspect X.a.J1 date="2026-04-15" by=inspector-1 gauge=G2 { light none; UL 0 -> 0.04 0 -> -0.03 0 -> 0.02; UR 0 -> 0.01; LL 0 -> 0; LR 0 -> 0 }
survey gap X.b date="2026-04-16" by=inspector-1 gauge=G1 stage=verification { at S1 0 0.03 -0.03; at S2 -0.03 0.01 -0.07; at S3 -0.02 }
"#;

fn finding(text: &str, rule: &str) -> Finding {
    lint_text(text).into_iter().find(|finding| finding.rule.as_str() == rule).unwrap_or_else(|| panic!("{rule}"))
}

/// The guard band that a finding tells, in µm.
fn guard(finding: &Finding) -> f64 {
    let said = finding.at.text.split("w = ").nth(1).and_then(|rest| rest.split(' ').next());
    said.and_then(|mm| mm.parse::<f64>().ok()).expect("tells its guard band") * 1000.0
}

#[test]
fn scattered_repeats_prove_nothing() {
    let step = finding(SCATTERED, "joint-step-unproven");
    // The repeats alone: s = 36.1 µm, of the mean of three 20.8 µm, k = 4.53: 94.2 µm; with the error of 3 µm 94.6 µm. The
    // grooves that were read once carry s undivided, so that theirs is √3 times as wide: 36.1 · 4.53 = 163 µm.
    assert_eq!(step.address, "X.a.J1");
    assert!(step.message.ends_with("nor are 3 others"), "{}", step.message);
    assert!(step.at.text.contains("U = 4.527u from the local error 0.003 mm once and its repeats"), "{}", step.at.text);
    let alone = SCATTERED.replace("; UR 0 -> 0.01; LL 0 -> 0; LR 0 -> 0", "");
    let step = finding(&alone, "joint-step-unproven");
    assert!((94.0..95.0).contains(&guard(&step)), "{}", step.at.text);
    // The gap: s² = (1800 + 3200) / 4 = 1250 µm²; S1 to S3, three readings against one: 20 + 2.87 · √(1250 · 4/3 + 25/3) =
    // 137 µm reaches farther than S1 to S2, three against three: 30 + 2.87 · √(1250 · 2/3 + 25/3) = 113 µm.
    let gap = finding(SCATTERED, "gap-range-unproven");
    assert!(
        gap.message.starts_with("the gap varies by 0.02 mm: inside its limit, and not proven so (w = U = 0.117"),
        "{}",
        gap.message
    );
}

#[test]
fn repeats_narrow_the_gap() {
    // s = 10 µm is stated: of single readings U = 2 · √(25/3 + 2 · 100) = 28.9 µm, of nine 2 · √(25/3 + 200/9) = 11.1 µm.
    let gap = |readings: &str| {
        let times = |mm: &str| readings.replace('x', mm);
        let text = SCATTERED
            .replace("graduation=0.01 local-error=0.005", "graduation=0.005 local-error=0.005 repeatability=0.01")
            .replace(
                "at S1 0 0.03 -0.03; at S2 -0.03 0.01 -0.07; at S3 -0.02",
                &format!("at S1 {}; at S2 {}; at S3 {}", times("0"), times("-0.03"), times("-0.02")),
            );
        of_rule(&text, "gap-range-unproven")
    };
    assert_eq!(gap("x").len(), 1);
    assert!(gap("x")[0].contains("w = U = 0.0289 mm") || gap("x")[0].contains("w = U = 0.029"), "{:?}", gap("x"));
    assert!(gap("x x x x x x x x x").is_empty());
}

#[test]
fn one_more_reading_that_agrees_never_takes_proof_away() {
    // 16 µm is just proven with 3.83 µm where nothing scatters; more readings of the same change nothing for the worse.
    let step = |times: usize, own: &str| {
        let pairs = vec!["0 -> 0.016"; times].join(" ");
        let text = SCATTERED
            .replace("graduation=0.002 local-error=0.003", &format!("graduation=0.002 local-error=0.003{own}"))
            .replace("UL 0 -> 0.04 0 -> -0.03 0 -> 0.02", &format!("UL {pairs}"));
        of_rule(&text, "joint-step-unproven")
    };
    for own in ["", " repeatability=0.0005"] {
        for times in 1..12 {
            assert!(step(times, own).is_empty(), "{times} {own}");
        }
    }
    // A repeatability of 4 µm once: 2 · √(3 + 2 · 16 / n) is 11.8 µm for one reading and 3.8 µm for fifty.
    let step = |times: usize| step(times, " repeatability=0.004");
    let proven: Vec<bool> = (1..60).map(|times| step(times).is_empty()).collect();
    assert!(proven.is_sorted() && !proven[0], "{proven:?}");
}

#[test]
fn a_stated_repeatability_holds_until_the_repeats_deny_it() {
    let step = |own: &str, pairs: &str| {
        let text = SCATTERED
            .replace("graduation=0.002 local-error=0.003", &format!("graduation=0.002 local-error=0.003 {own}"))
            .replace("UL 0 -> 0.04 0 -> -0.03 0 -> 0.02", pairs)
            .replace("; UR 0 -> 0.01; LL 0 -> 0; LR 0 -> 0", "");
        lint_text(&text).into_iter().find(|finding| finding.rule.as_str() == "joint-step-unproven")
    };
    // Two steps 4 µm apart have s = 2.83 µm, one 1.41 µm of a single reading: within twice the 1 µm that is stated.
    let apart = "UL 0 -> 0.012 0 -> 0.016";
    assert!(step("repeatability=0.001", apart).is_none());
    // Of 40, −30 and 20 µm it cannot be true.
    let denied = step("repeatability=0.001", "UL 0 -> 0.04 0 -> -0.03 0 -> 0.02").expect("is not proven");
    assert!(denied.at.text.contains("more than twice as much as is stated"), "{}", denied.at.text);
    // Without a statement they stand for themselves: 3 µm² of error and 8/2 of scatter with one degree of freedom make
    // (7/4)² = 3 effective ones, and U = 3.31 · √7 = 8.7 µm.
    let alone = step("", apart).expect("is not proven");
    assert!(alone.at.text.contains("U = 3.307u"), "{}", alone.at.text);
    assert!((8.7..8.8).contains(&guard(&alone)), "{}", alone.at.text);
}

#[test]
fn repeats_that_scatter_do_not_prove_a_step_of_three_micrometres() {
    let text = r#"
shop {
 gauge FG-1 kind=force-gauge { calibrated "2026-02-02" due="2027-02-02" }
 gauge DI-4 kind=dial-indicator graduation=0.002 range=0.8 permissible-error=0.005 local-error=0.003 plus=outward { calibrated "2026-01-12" due="2027-01-12" }
}
machine m { axis X { rail a { segment 1200; segment 1200; segment 1200; segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 gauge=FG-1 { light none; UL 0 -> 0.01; UR 0 -> 0.01; LL 0 -> 0; LR 0 -> 0 }
inspect X.a.J2 date="2026-04-15" by=inspector-1 gauge=DI-4 { light none; UL 4.000 -> 4.010; UR 0 -> 0.01; LL 0 -> 0; LR 0 -> 0 }
inspect X.a.J3 date="2026-04-15" by=inspector-1 gauge=DI-4 { light none; UL 0 -> 0; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }
inspect X.a.J4 date="2026-04-15" by=inspector-1 gauge=DI-4 { light none; UL 0 -> 0.009 0 -> -0.018 0 -> 0.018; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }
"#;
    let all = told(text);
    assert!(has(&all, "observation joint-step-unproven X.a.J4"), "{all:#?}");
    assert!(has(&all, "outstanding instrument-unsuited X.a.J1"), "{all:#?}");
    assert!(has(&all, "nonconformity gauge-range X.a.J2"), "{all:#?}");
}

#[test]
fn a_minimum_zone_hangs_on_three_readings() {
    // LA-1: u² = 5²/3 + 1²/12 = 8.4167 µm². In the middle (a = ½) u² · 1.5, U = 2 · √12.625 = 7.1064 µm; a quarter of the
    // way u² (1 + 1/16 + 9/16) = 13.677, U = 7.3966 µm (GUM 5.1.2).
    let straight = |at: &str, reading: &str, most: &str| {
        of_rule(
            &format!(
                "shop {{ gauge LA-1 kind=laser graduation=0.001 permissible-error=0.005 plus=right }}
machine m {{ rulebook {{ straightness most={most} reason=\"x\" }}; axis X {{ rail a {{ segment 2000 }} }} }}
survey straightness X.a date=\"2026-04-15\" by=i gauge=LA-1 stage=as-fitted {{ at 0 0; at {at} {reading}; at 1000 0 }}"
            ),
            "straightness-range-unproven",
        )
    };
    // Beside it half of what a closure may be, a tenth of the limit: 1.368² / 3 · 1.5 = 0.93571 more, U = 7.3650; a quarter of
    // the way 1.384² / 3 · 1.625 = 1.03754 more, U = 7.6720.
    assert!(straight("500", "0.02", "0.027365").is_empty());
    assert_eq!(straight("500", "0.02", "0.027364").len(), 1);
    assert!(straight("250", "0.02", "0.027672").is_empty());
    assert_eq!(straight("250", "0.02", "0.027671").len(), 1);
}

#[test]
fn a_force_is_proven_by_the_figures_of_its_gauge_in_newtons() {
    // u² = 0.5²/3 + 0.1²/12 = 0.084167 N², U = 0.58023 N: 19.419 N is proven of 20. A scatter of 0.3 N once: u² = 0.25/3 +
    // 0.09, U = 0.83267 N: 19.167 N.
    let force = |gauge: &str, book: &str, force: &str| {
        let text = format!(
            "shop {{ gauge FG-1 kind=force-gauge {gauge} {{ calibrated \"2026-02-02\" due=\"2027-02-02\" }} }}
machine m {{ rulebook {{ running-force most=20 reason=\"drive\"; {book} }}; axis X {{ rail a {{ segment 1200 }} }} }}
running-force X date=\"2026-04-16\" by=i gauge=FG-1 {{ at 300 {force} }}"
        );
        of_rule(&text, "running-force-unproven")
    };
    let plain = "graduation=0.1 permissible-error=0.5";
    assert!(force(plain, "", "19.4197").is_empty() && force(plain, "", "-19.4197").is_empty());
    assert_eq!(force(plain, "", "19.4198").len(), 1);
    assert!(force("graduation=(N)0.1 permissible-error=(N)0.5", "", "19.4197").is_empty());
    let scatter = "graduation=0.1 permissible-error=0.5 repeatability=0.3";
    assert!(force(scatter, "", "19.1673").is_empty());
    assert!(force(scatter, "", "19.1674")[0].starts_with("observation"));
    let proof = "proof is=required reason=\"customer\"";
    assert!(force(scatter, proof, "19.1674")[0].starts_with("nonconformity"));
    assert!(force(plain, proof, "10")[0].starts_with("outstanding"));
    assert!(force("", proof, "10")[0].starts_with("outstanding"));
    assert!(force("", "", "20").is_empty() && force(plain, "", "21").is_empty());
}

#[test]
fn a_torque_is_proven_by_the_deviation_of_its_wrench() {
    // ± 4 % proves 10 / 0.96 = 10.41667 to 11 / 1.04 = 10.576923 N·m of 10 to 11, by hand.
    let torque = |wrench: &str, book: &str, torque: &str| {
        let text = format!(
            "shop {{ fastener b thread=M6 class=\"10.9\" head=socket-cap into=steel {{ friction 0.12 0.14 }}; wrench TW-2 kind=indicating least=4 most=20 {wrench} {{ calibrated \"2026-02-02\" due=\"2027-02-02\" }} }}
machine m {{ rulebook {{ {book} }}; axis X {{ rail a rail-bolt=b {{ segment 1200; support S1 at=240 }} }} }}
fasten X.a date=\"2026-04-14\" by=f wrench=TW-2 stage=full {{ at S1 {torque} }}"
        );
        of_rule(&text, "torque-window-unproven")
    };
    let (four, asked) = ("permissible-error=(%)4", "proof-of-torque is=required reason=\"customer\"");
    for (read, proven) in [("10.4166", false), ("10.4167", true), ("10.5769", true), ("10.577", false), ("10", false)] {
        assert_eq!(torque(four, asked, read).is_empty(), proven, "{read}");
    }
    // Beyond the window it is another rule's business, and unasked for nothing is said.
    assert!(torque(four, asked, "11.1").is_empty());
    assert!(torque(four, "", "10").is_empty() && torque(four, "proof is=required reason=\"x\"", "10").is_empty());
    assert!(torque("", asked, "10.5")[0].starts_with("outstanding"));
    // A deviation that leaves nothing of the window.
    let found = lint_text(&format!(
        "shop {{ fastener b thread=M6 class=\"10.9\" head=socket-cap into=steel {{ friction 0.12 0.14 }}; wrench TW-2 kind=indicating least=4 most=20 permissible-error=(%)6 }}
machine m {{ rulebook {{ {asked} }}; axis X {{ rail a rail-bolt=b {{ segment 1200; support S1 at=240 }} }} }}
fasten X.a date=\"2026-04-14\" by=f wrench=TW-2 stage=full {{ at S1 10.5 10.5 }}"
    ));
    let found = found.iter().find(|it| it.rule.as_str() == "torque-window-unproven").expect("nothing is proven");
    assert!(found.grade == Grade::Nonconformity && found.message.ends_with("nor is 1 other"), "{}", found.message);
    let limit = found.limit.as_ref().map(|limit| limit.text.as_str());
    assert_eq!(limit, Some("10 to 11 N·m; nothing proven with ±6 %"));
}

#[test]
fn repeats_by_a_gauge_out_of_calibration_say_nothing_of_its_scatter() {
    // Wild repeats in April, recalibrated in May and read once: u² = 3²/3 + 2 · 2²/12 as if nothing had been repeated.
    let later = "inspect X.a.J1 date=\"2026-05-02\" by=inspector-1 gauge=G2 { light none; UL 0 -> 0.018; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }\n";
    let stated = "plus=outward { calibrated \"2026-01-12\" due=\"2027-01-12\" }\n}";
    assert!(SCATTERED.contains(stated));
    let rests = |calibrations: &str| {
        // What follows the calibrations stands beside the gauge.
        let (calibrations, beside) = calibrations.split_once(" beside ").unwrap_or((calibrations, ""));
        let with = format!("plus=outward {{ {calibrations} }}\n{beside}\n}}");
        finding(&format!("{}{later}", SCATTERED.replace(stated, &with)), "joint-step-unproven").at.text
    };
    let again = "calibrated \"2026-05-01\" due=\"2027-05-01\"";
    let held = rests(&format!("calibrated \"2026-01-12\" due=\"2027-01-12\"; {again}"));
    assert!(held.contains("its repeats in the ledger"), "{held}");
    for (calibrations, why) in [
        (format!("calibrated \"2026-01-12\" due=\"2026-02-12\"; {again}"), "it ran out"),
        (format!("calibrated \"2025-01-12\"; {again}"), "it ran out by the months of the rulebook"),
        (format!("calibrated \"2026-01-12\" result=failed; {again}"), "it failed"),
        (again.to_string(), "before the first one"),
        (
            format!("calibrated \"2026-01-12\" due=\"2027-01-12\"; {again} as-found=outside result=adjusted"),
            "found wrong",
        ),
        (
            format!(
                "calibrated \"2026-01-12\" due=\"2027-01-12\"; {again} beside doubt G2 date=\"2026-04-20\" by=e from=\"2026-03-01\" to=\"2026-04-15\" reason=\"bent\""
            ),
            "somebody says that it was wrong",
        ),
    ] {
        let rests = rests(&calibrations);
        assert!(rests.contains("the graduation, for want of a repeatability"), "{why}: {rests}");
    }
}

/// A gap survey of all stations, and one of some after a rework that is tied to it, each with a gauge of its own.
fn tied(first: &str, second: &str) -> Vec<Finding> {
    let all = lint_text(&format!(
        r#"
shop {{
    gauge E1 kind=electronic-indicator {first} plus=wider {{ calibrated "2026-01-12" due="2027-01-12" }}
    gauge E2 kind=electronic-indicator {second} plus=wider {{ calibrated "2026-01-12" due="2027-01-12" }}
}}
machine m {{
    rulebook {{ proof is=required reason="customer" }}
    axis X {{ rail a; rail b follows=a {{ supports S first=240 pitch=240 count=9 }} }}
}}
survey gap X.b date="2026-04-16" by=inspector-1 gauge=E1 stage=verification {{ at S1 0; at S2 0; at S3 0; at S4 0; at S5 0.1; at S6 0; at S7 0; at S8 0; at S9 0 }}
loosen X.b date="2026-04-17" by=fitter-2 reason="pushed over" {{ at S5 }}
survey gap X.b date="2026-04-18" by=inspector-1 gauge=E2 stage=verification {{ at S2 0; at S3 0; at S4 0; at S5 0.02; at S6 0; at S7 0; at S8 0 }}
"#
    ));
    all.into_iter().filter(|it| it.rule.as_str() == "gap-range-unproven").collect()
}

#[test]
fn each_gauge_of_a_tied_survey_is_asked_how_sure_it_is() {
    let sure = "graduation=0.001 permissible-error=0.003 repeatability=0.001";
    assert_eq!(tied(sure, sure).len(), 0, "{:#?}", tied(sure, sure));
    for lacking in ["", "graduation=0.001", "graduation=0.001 permissible-error=0.003"] {
        for (first, second, named) in [(lacking, sure, "E1"), (sure, lacking, "E2")] {
            let [found] = &tied(first, second)[..] else { panic!("{lacking}: {named}") };
            assert!(found.grade == Grade::Outstanding && found.message.contains(named), "{}", found.message);
        }
    }
    // Where it is not proven both gauges are shown.
    let poor = "graduation=0.001 permissible-error=0.04 repeatability=0.001";
    for (first, second) in [(poor, sure), (sure, poor)] {
        let [found] = &tied(first, second)[..] else { panic!("not proven") };
        let told = found.also.iter().filter(|it| it.text.contains("U = ")).count();
        assert!(found.grade == Grade::Nonconformity && told == 2, "{found:#?}");
    }
}

#[test]
fn repeats_that_lie_far_apart_point_at_the_figure_that_counts() {
    for (figures, counts) in [
        ("graduation=0.002 repeatability=0.001", "0.002"),
        ("graduation=0.002 repeatability=0.004", "0.004"),
        ("graduation=0.002", "0.002"),
    ] {
        let text = format!(
            "shop {{ gauge G kind=dial-indicator {figures} {{ calibrated \"2026-01-12\" due=\"2027-01-12\" }} }}
machine m {{ axis X {{ rail a {{ segment 2400; supports S first=120 pitch=240 count=3 }} }} }}
survey height X.a date=\"2026-04-15\" by=i gauge=G plus=up stage=as-fitted {{ at S1 0 0.05; at S2 0 }}"
        );
        let told = finding(&text, "repeats-apart");
        let stated = &told.also[0].place.span;
        let shown = text.get(stated.range()).expect("a part of the text");
        assert!(shown.ends_with(counts), "{figures}: {shown}");
    }
}

#[test]
fn repeats_that_lie_far_apart_are_told_whatever_their_mean() {
    // Against 5 times the greater of graduation and repeatability; the mean conforms all along.
    let found = |figures: &str, row: &str| {
        let text = format!(
            "shop {{ gauge G kind=dial-indicator {figures} {{ calibrated \"2026-01-12\" due=\"2027-01-12\" }} }}
machine m {{ axis X {{ rail a {{ segment 1200; segment 1200 }}; rail b follows=a {{ supports S first=120 pitch=240 count=3 }} }} }}
{row}"
        );
        of_rule(&text, "repeats-apart").len()
    };
    let step = |pairs: &str| format!("inspect X.a.J1 date=\"2026-04-15\" by=i gauge=G {{ light none; UL {pairs} }}");
    let gap = |rows: &str| format!("survey gap X.b date=\"2026-04-15\" by=i gauge=G stage=as-fitted {{ {rows} }}");
    for (figures, row, told) in [
        // 10 µm for a graduation of 2 µm.
        ("graduation=0.002", step("0 -> 0.005 0 -> -0.005"), false),
        ("graduation=0.002", step("0 -> 0.005 0 -> -0.005001"), true),
        ("graduation=0.002", step("0 -> 0.04 0 -> -0.03 0 -> 0.02"), true),
        ("graduation=0.002", step("0 -> 0.04"), false),
        ("graduation=0.002", gap("at S1 0 0.01; at S2 0"), false),
        ("graduation=0.002", gap("at S1 0 0.010001; at S2 0"), true),
        // A station in two rows is read again, wherever the second row stands.
        ("graduation=0.002", gap("at S1 0; at S2 0; at S1 0.02"), true),
        ("graduation=0.002", gap("at S1 0; at S2 0; at S3 0.02"), false),
        // A stated repeatability of 4 µm: 20 µm, of a step √2 times that, 28.285 µm.
        ("graduation=0.002 repeatability=0.004", gap("at S1 0 0.02; at S2 0"), false),
        ("graduation=0.002 repeatability=0.004", gap("at S1 0 0.020001; at S2 0"), true),
        ("graduation=0.002 repeatability=0.004", step("0 -> 0.028 0 -> 0"), false),
        ("graduation=0.002 repeatability=0.004", step("0 -> 0.0283 0 -> 0"), true),
    ] {
        assert_eq!(found(figures, &row), usize::from(told), "{figures}: {row}");
    }
    // While the rail is set its readings move; read again it is history.
    let wild = step("0 -> 0.04 0 -> -0.03");
    assert_eq!(found("graduation=0.002", &wild.replace(" by=", " stage=aligning by=")), 0);
    let aligning = gap("at S1 0 0.05; at S2 0").replace("as-fitted", "aligning");
    assert_eq!(found("graduation=0.002", &aligning), 0);
    let again = format!("{wild}\n{}", step("0 -> 0.005").replace("04-15", "04-16"));
    assert_eq!([found("graduation=0.002", &wild), found("graduation=0.002", &again)], [1, 0]);
}
