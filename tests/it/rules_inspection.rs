//! The rules on inspection, against the facts of the trade (common practice, no source, unless a check names one).

use crate::common::lint_text;

const RAIL: &str = "
shop { gauge DI-4 graduation=0.002 plus=outward { calibrated \"2026-01-12\" due=\"2027-01-12\" } }
machine m {
    axis X {
        rail a {
            segment 1200
            segment 1200
            segment 1200
            supports S first=240 pitch=240 count=14 length=80 { omit S5 S10 }
            joint-support J1 at=1200 length=200
            joint-support J2 at=2400 length=200
        }
    }
}
";

fn of_rule(text: &str, rule: &str) -> Vec<String> {
    let all: Vec<_> = lint_text(text).into_iter().filter(|finding| finding.rule.as_str() == rule).collect();
    all.into_iter()
        .map(|finding| format!("{} {}: {}", finding.grade.name(), finding.address, finding.message))
        .collect()
}

fn inspected(rows: &str) -> String {
    format!("{RAIL}inspect X.a.J1 date=\"2026-04-15\" by=i gauge=DI-4 {{ {rows} }}\n")
}

const GOOD: &str = "light none; UL 0 -> 0.01; UR 0 -> 0.005; LL 0 -> 0; LR 0 -> 0.01";

#[test]
fn a_step_of_just_the_limit_conforms() {
    let step = |rows: &str| of_rule(&inspected(rows), "joint-step");
    assert!(step("UL -0.04 -> -0.02").is_empty());
    assert!(step("UL -0.02 -> -0.04").is_empty());
    assert!(step("UL (um)-40 -> (um)-20").is_empty());
    assert_eq!(
        step("UL -0.04 -> -0.019"),
        ["nonconformity X.a.J1: groove UL steps by 0.021 mm, 0.001 mm over the limit"]
    );
    assert_eq!(step("UL -0.04 -> -0.019999").len(), 1);
    assert_eq!(step("UL 0 -> 0.03; LR 0.01 -> -0.02; UR 0 -> 0.02").len(), 2);
}

#[test]
fn repeats_count_by_their_mean_and_a_slanted_stylus_by_its_root() {
    let step = |rows: &str| of_rule(&inspected(rows), "joint-step");
    assert!(step("UL 0 -> 0.021 0 -> 0.019").is_empty());
    assert!(step("UL 0 -> 0.02 0 -> 0.02 0 -> 0.02").is_empty());
    assert_eq!(step("UL 0 -> 0.02 0 -> 0.02 0 -> 0.020001").len(), 1);
    // √2 × 0.02 = 0.028284…
    let level = |row: &str| of_rule(&inspected(row).replace("gauge=DI-4", "stylus=horizontal"), "joint-step");
    assert!(level("UL 0 -> 0.028284").is_empty());
    assert_eq!(level("UL 0 -> 0.028285").len(), 1);
}

#[test]
fn the_latest_reading_of_each_groove_counts() {
    let bad = inspected("light none; UL 0 -> 0.03; UR 0 -> 0.025; LL 0 -> 0; LR 0 -> 0");
    assert_eq!(of_rule(&bad, "joint-step").len(), 2);
    let again = |gauge: &str| format!("{bad}inspect X.a.J1 date=\"2026-04-16\" by=i {gauge} {{ UL 0 -> 0.01 }}\n");
    assert_eq!(
        of_rule(&again("gauge=DI-4"), "joint-step"),
        ["nonconformity X.a.J1: groove UR steps by 0.025 mm, 0.005 mm over the limit"]
    );
    assert_eq!(of_rule(&again(""), "joint-step").len(), 2, "without its gauge it does not count");
}

#[test]
fn the_finding_points_at_both_the_reading_and_the_joint() {
    let findings = lint_text(&inspected("UL 0 -> 0.03"));
    let step = findings.iter().find(|finding| finding.rule.as_str() == "joint-step").expect("is found");
    assert!(step.at.text.contains("the far rail's groove stands proud"), "{}", step.at.text);
    assert_eq!(step.also.len(), 1);
    let limit = step.limit.as_ref().expect("has a limit");
    assert_eq!((limit.entry, limit.text.as_str()), (Some("joint-step"), "at most 0.02 mm"));
}

#[test]
fn one_joint_is_one_outstanding_item() {
    let all = |text: &str| -> Vec<String> {
        let rules = ["groove-missing", "light-missing"];
        rules.iter().flat_map(|rule| of_rule(text, rule)).filter(|finding| finding.contains("J1")).collect()
    };
    assert_eq!(all(RAIL), ["outstanding X.a.J1: J1 is not inspected yet"]);
    assert_eq!(
        all(&inspected("UL 0 -> 0; UR 0 -> 0; LL 0 -> 0")),
        ["outstanding X.a.J1: groove LR of J1 not read yet, and light was not looked for"]
    );
    assert_eq!(
        all(&inspected("light none; LL 0 -> 0; UR 0 -> 0")),
        ["outstanding X.a.J1: grooves UL and LR of J1 not read yet"]
    );
    assert_eq!(
        all(&inspected("UL 0 -> 0; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0")),
        ["outstanding X.a.J1: no record says whether light shows through J1"]
    );
    assert!(all(&inspected(GOOD)).is_empty());
}

#[test]
fn loosening_beside_a_joint_makes_its_inspection_stale() {
    let after = |event: &str| of_rule(&format!("{}{event}", inspected(GOOD)), "inspection-stale");
    let loosened = |support: &str| after(&format!("loosen X.a.{support} date=\"2026-04-17\" by=f"));
    assert_eq!(
        loosened("J1"),
        ["outstanding X.a.J1: the inspection of J1 is stale: its own support J1 was loosened after it on 2026-04-17"]
    );
    assert_eq!(
        loosened("S6"),
        ["outstanding X.a.J1: the inspection of J1 is stale: its neighbour S6 was loosened after it on 2026-04-17"]
    );
    assert_eq!(
        loosened("S3"),
        [
            "observation X.a.J1: the inspection of J1 may have changed: S3, two supports away, was loosened after it on 2026-04-17"
        ]
    );
    assert!(loosened("S2").is_empty());
    assert_eq!(
        after("shim X.a date=\"2026-04-17\" by=f { at S4 0.05 }"),
        ["outstanding X.a.J1: the inspection of J1 is stale: its neighbour S4 was shimmed after it on 2026-04-17"]
    );
    // Before it, or tightened again without slackening: nothing.
    assert!(after("loosen X.a.J1 date=\"2026-04-14\" by=f").is_empty());
    assert!(after("fasten X.a date=\"2026-04-17\" by=f stage=full setting=10.5 { clicked J1 S4 }").is_empty());
    // A whole segment stales both its joints; the supports beside J1 are at 960 and 1440.
    assert_eq!(after("loosen X.a.seg2 date=\"2026-04-17\" by=f").len(), 1);
}

#[test]
fn only_what_was_read_before_the_loosening_is_stale() {
    let again = "loosen X.a.S4 date=\"2026-04-17\" by=f
inspect X.a.J1 date=\"2026-04-18\" by=i { light none; UL 0 -> 0; UR 0 -> 0; LL 0 -> 0 }";
    assert_eq!(
        of_rule(&format!("{}{again}", inspected(GOOD)), "inspection-stale"),
        ["outstanding X.a.J1: the reading of LR of J1 is stale: its neighbour S4 was loosened after it on 2026-04-17"]
    );
    let whole = again.replace("LL 0 -> 0", "LL 0 -> 0; LR 0 -> 0.001");
    assert!(of_rule(&format!("{}{whole}", inspected(GOOD)), "inspection-stale").is_empty());
    let dark = whole.replace("light none; ", "");
    assert_eq!(
        of_rule(&format!("{}{dark}", inspected(GOOD)), "inspection-stale"),
        ["outstanding X.a.J1: the light check of J1 is stale: its neighbour S4 was loosened after it on 2026-04-17"]
    );
}

#[test]
fn the_guard_band_is_twice_the_standard_uncertainty() {
    let judge = |shop: &str, book: &str, rows: &str| {
        let text = inspected(rows)
            .replace("graduation=0.002", shop)
            .replace("machine m {", &format!("machine m {{ rulebook {{ {book} }};"));
        of_rule(&text, "joint-step-unproven")
    };
    // GUM: u² = e²/3 + 2·d²/12; with e 3 µm and d 2 µm, U = 2u = 3.8297 µm, so 16.1703 µm is proven and no more.
    let gauge = "graduation=0.002 local-error=0.003";
    assert!(judge(gauge, "", "UL 0 -> 0.01617").is_empty());
    assert_eq!(
        judge(gauge, "", "UL 0 -> 0.01618"),
        ["observation X.a.J1: the step of 0.01618 mm at groove UL of J1 is not proven to be inside the limit"]
    );
    // Beyond the limit it is joint-step's business.
    assert!(judge(gauge, "", "UL 0 -> 0.021").is_empty());
    let proof = "proof is=required reason=\"customer\"";
    // Where it must be proven, how far the gauge scatters must be known: 0.5 µm once, which the graduation covers.
    assert_eq!(
        judge(gauge, proof, "UL 0 -> 0.001"),
        [
            "outstanding X.a.J1: whether the steps of J1 are proven cannot be told: read with DI-4, of which nothing says how far its readings scatter"
        ]
    );
    let gauge = "graduation=0.002 local-error=0.003 repeatability=0.0005";
    assert!(judge(gauge, proof, "UL 0 -> 0.018; LR 0.019 -> 0")[0].starts_with("nonconformity"));
    assert!(
        judge(gauge, proof, "UL 0 -> 0.018; LR 0.019 -> 0")[0]
            .ends_with("at groove LR of J1 is not proven to be inside the limit, nor is 1 other")
    );
    // No guard band: simple acceptance (ILAC-G8:09/2019, w = 0).
    assert!(judge(gauge, "guard-band most=0 reason=\"agreed\"", "UL 0 -> 0.02").is_empty());
    // A 0.01 mm dial indicator by JIS B 7503: local error 5 µm, so U = 2·√(25/3 + 200/12) = 10 µm exactly.
    let dial = "kind=dial-indicator graduation=0.01 range=5";
    assert!(judge(dial, "", "UL 0 -> 0.01").is_empty());
    assert_eq!(judge(dial, "", "UL 0 -> 0.010001").len(), 1);
    // Without figures nothing is judged, unless proof is required.
    assert!(judge("graduation=0.002", "", "UL 0 -> 0.02").is_empty());
    assert!(judge("graduation=0.002", proof, "UL 0 -> 0.02")[0].starts_with("outstanding"));
}

#[test]
fn the_cause_of_a_step_is_named_with_its_cure() {
    let cause = |rows: &str, rail: &str| {
        let text = inspected(rows)
            .replace("plus=outward", "plus=outward; profile R20 contact=outward")
            .replace("rail a {", &format!("rail a profile=R20 {rail} {{"));
        let found = lint_text(&text).into_iter().find(|finding| finding.rule.as_str() == "joint-step-cause");
        found.map(|finding| (finding.message, finding.next))
    };
    // 0.03 on a groove at 45° is 0.03·√2 = 0.042427 mm of height or side.
    let (message, next) = cause("UL 0 -> 0.03; UR 0 -> 0.03; LL 0 -> -0.03; LR 0 -> -0.03", "").expect("is found");
    assert_eq!(message, "the steps are one of height: the far rail stands 0.042 mm high");
    assert!(next.starts_with("clean the seat under the far end, or shim 0.042 mm under the near one"), "{next}");
    let (message, next) =
        cause("UL 0 -> -0.03; UR 0 -> 0.03; LL 0 -> -0.03; LR 0 -> 0.03", "datum=left").expect("is found");
    assert_eq!(message, "the steps are one to the side: the far rail stands 0.042 mm to the right");
    assert!(next.starts_with("loosen the far end, push it 0.042 mm left to its datum face"), "{next}");
    let (message, next) = cause("UL 0 -> 0.03; UR 0 -> 0.03; LL 0 -> 0.03; LR 0 -> 0.03", "").expect("is found");
    assert_eq!(message, "the steps are one of size: the far profile is larger by 0.03 mm at each groove");
    assert!(next.ends_with("perfect alignment would still leave 0.03 mm"), "{next}");
    let (message, _) = cause("UL 0 -> 0.03; UR 0 -> -0.03; LL 0 -> -0.03; LR 0 -> 0.03", "").expect("is found");
    assert_eq!(message, "the steps are a twist of 0.03 mm at each groove");
    let (message, _) = cause("UL 0 -> 0.03; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0", "").expect("is found");
    assert_eq!(message, "one groove alone makes the step: UL by 0.03 mm");
    // Steps that conform need no cure; three grooves tell nothing.
    assert!(cause("UL 0 -> 0.02; UR 0 -> 0.02; LL 0 -> -0.02; LR 0 -> -0.02", "").is_none());
    assert!(cause("UL 0 -> 0.03; UR 0 -> 0.03; LL 0 -> -0.03", "").is_none());
}

#[test]
fn a_gauge_of_unknown_sense_names_the_pattern_only() {
    let text = inspected("UL 0 -> 0.03; UR 0 -> 0.03; LL 0 -> -0.03; LR 0 -> -0.03").replace("plus=outward", "");
    assert_eq!(of_rule(&text, "joint-step-cause"), ["observation X.a.J1: the steps are one of height, of 0.042 mm"]);
}

#[test]
fn the_carrying_block_stays_on_one_rail() {
    let carrier = |held: &str| of_rule(&inspected(&format!("carrier {held}; UL 0 -> 0.01")), "step-carrier");
    assert!(carrier("reach=40 travel=39.9").is_empty());
    assert_eq!(
        carrier("reach=40"),
        [
            "outstanding X.a.J1: nothing says how the gauge was carried over J1, so nobody knows whether it shows whole steps"
        ]
    );
    assert_eq!(
        carrier("reach=40 travel=40"),
        ["nonconformity X.a.J1: the block travelled 40 mm and the stylus reached only 40 mm ahead of it"]
    );
}

#[test]
fn the_same_readings_twice_are_worth_a_look() {
    let both = |first: &str, second: &str| {
        of_rule(
            &format!("{}inspect X.a.J2 date=\"2026-04-15\" by=i {{ {second} }}", inspected(first)),
            "readings-copied",
        )
    };
    assert_eq!(both(GOOD, GOOD), ["observation X.a.J2: all readings here are those of X.a.J1"]);
    assert!(both(GOOD, &GOOD.replace("0.005", "0.006")).is_empty());
    let zero = "UL 0 -> 0; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0";
    assert!(both(zero, zero).is_empty());
}
