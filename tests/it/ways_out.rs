//! What is built or done in another way than most is said by one word, and not conceded joint by joint.

use crate::common::lint_text;
use crate::common::program::run;

fn of(rule: &str, text: &str) -> Vec<String> {
    let all = lint_text(text);
    let own = all.iter().filter(|finding| finding.rule.as_str() == rule);
    own.map(|it| format!("{} {}: {}", it.grade.name(), it.address, it.message)).collect()
}

/// Profile rails bolted at every hole straight onto one milled bed.
const BED: &str = r#"
shop {
    profile R20 hole-pitch=60 end-distance=30 contact=outward { stock 1200 2400 }
    fastener rb thread=M6 class="12.9" head=socket-cap into=steel { friction 0.10 0.14; full least=13 most=15 reason="drawing" }
}
machine saw {
    axis X {
        run to=3600
        beam bed { piece 3600 }
        rail a seat=continuous beam=bed profile=R20 datum=left rail-bolt=rb { segment 1200; segment 2400; supports S first=30 pitch=60 count=60 }
        rail b seat=continuous beam=bed profile=R20 datum=right follows=a rail-bolt=rb { segment 2400; segment 1200; supports S first=30 pitch=60 count=60 }
    }
}
"#;

#[test]
fn joints_on_a_milled_bed_need_no_support_of_their_own() {
    assert_eq!(of("joint-support", BED), [""; 0]);
    for other in ["", "seat=supports "] {
        let missing = of("joint-support", &BED.replace("seat=continuous ", other));
        assert_eq!(
            missing,
            [
                "nonconformity X.a.J1: there is no support under joint J1",
                "nonconformity X.b.J1: there is no support under joint J1"
            ]
        );
    }
    // One rail on the bed, the other beside it.
    assert_eq!(of("joint-support", &BED.replacen("seat=continuous ", "", 1)).len(), 1);
    // What is described all the same is judged.
    let described = BED.replacen("count=60 }", "count=60; joint-support J1 at=1210 length=20 }", 1);
    assert!(!of("joint-support", &described).is_empty());
}

#[test]
fn no_support_is_planned_under_a_joint_on_a_bed() {
    let planned = |bed: &str| {
        let folder = tempfile::tempdir().expect("a folder");
        std::fs::write(folder.path().join("machine.kdl"), bed).expect("written");
        let (out, told, code) = run(folder.path(), &["layout", "X", "--today", "2026-11-01"]);
        assert!(matches!(code, Some(0 | 1)), "{out}{told}");
        // The table of joints: each with where its support lies, or a dash.
        let mut joints = out.lines().filter(|line| line.trim_start().starts_with("J1 ")).peekable();
        assert!(joints.peek().is_some(), "{out}");
        joints.all(|line| !line.contains('–'))
    };
    assert!(!planned(BED));
    assert!(planned(
        &BED.replace("seat=continuous ", "").replace("first=30 pitch=60 count=60", "first=240 pitch=240 count=14")
    ));
}

/// Two rails of which one has a joint, both tightened one way along.
const ORDER: &str = r#"
machine m {
    axis X {
        rail a tighten=along { segment 1200; segment 1200; supports S first=120 pitch=240 count=10 { omit S5 S6 }; joint-support J1 at=1200 length=200 }
        rail b { segment 2400; supports S first=120 pitch=240 count=10 }
    }
}
fasten X.a date="2026-04-14T08:05" by=fitter-2 stage=snug setting=1.5 { clicked S1..S4 J1 S7..S10 }
fasten X.a date="2026-04-14T08:10" by=fitter-2 stage=full setting=10.5 { clicked S1..S4 J1 S7..S10 }
fasten X.b date="2026-04-14T08:05" by=fitter-2 stage=snug setting=1.5 { clicked S1..S10 }
fasten X.b date="2026-04-14T08:10" by=fitter-2 stage=full setting=10.5 { clicked S10..S6 S1..S5 }
"#;

const DONE: &str = "setting=10.5 { clicked S1..S4 J1 S7..S10 }";

fn in_order(rows: &str) -> Vec<String> {
    of("torque-order", &ORDER.replace(DONE, &format!("setting=10.5 {{ clicked {rows} }}")))
}

#[test]
fn one_word_for_one_way_tightening_serves_the_rail() {
    assert_eq!(of("torque-order", ORDER), [""; 0]);
    // Without the word it goes outward from the joint.
    let outward = of("torque-order", &ORDER.replace("tighten=along ", ""));
    assert_eq!(outward.len(), 1);
    assert!(outward[0].starts_with("nonconformity X.a.J1: S1 got full torque before"), "{outward:?}");
    // From the other end, and not yet all of it.
    assert_eq!(in_order("S10..S7 J1 S4..S1"), [""; 0]);
    assert_eq!(in_order("S10..S7 J1"), [""; 0]);
    // Outward from the joint is not one way.
    let said = in_order("J1 S4..S1 S7..S10");
    assert_eq!(
        said,
        [
            "nonconformity X.a: S2 got full torque before S1, though this rail is tightened one way along it, and 3 others are out of order"
        ]
    );
    let said = in_order("S1..S3 J1 S4 S7..S10");
    assert_eq!(
        said,
        ["nonconformity X.a: J1 got full torque before S4, though this rail is tightened one way along it"]
    );
}

#[test]
fn the_order_of_a_profile_serves_the_axis() {
    let of_profile = format!(
        "shop {{ profile R20 hole-pitch=60 end-distance=30 tighten=along }}{}",
        ORDER.replace("rail a tighten=along", "rail a profile=R20").replace("rail b", "rail b profile=R20")
    );
    let said = of("torque-order", &of_profile);
    // The rail without a joint has an order too, now that it is stated.
    assert_eq!(said.len(), 1, "{said:?}");
    assert!(said[0].starts_with("nonconformity X.b: "), "{said:?}");
    let own = of_profile.replace("rail b profile=R20", "rail b profile=R20 tighten=outward");
    assert_eq!(of("torque-order", &own), [""; 0]);
}

#[test]
fn reworking_one_support_does_not_count_against_the_way() {
    let reworked = format!(
        "{ORDER}loosen X.a date=\"2026-04-15T08:00\" by=fitter-2 {{ at S2 }}
fasten X.a date=\"2026-04-15T08:10\" by=fitter-2 stage=snug setting=1.5 {{ clicked S2 }}
fasten X.a date=\"2026-04-15T08:20\" by=fitter-2 stage=full setting=10.5 {{ clicked S2 }}
"
    );
    assert_eq!(of("torque-order", &reworked), [""; 0]);
    // The support that was too early cures it.
    let cured = format!(
        "{}loosen X.a date=\"2026-04-15T08:00\" by=fitter-2 {{ at J1 }}
fasten X.a date=\"2026-04-15T08:10\" by=fitter-2 stage=snug setting=1.5 {{ clicked J1 }}
fasten X.a date=\"2026-04-15T08:20\" by=fitter-2 stage=full setting=10.5 {{ clicked J1 }}
",
        ORDER.replace(DONE, "setting=10.5 { clicked S1..S3 J1 S4 S7..S10 }")
    );
    assert_eq!(of("torque-order", &cured), [""; 0]);
}

#[test]
fn the_light_that_may_show_is_a_limit_like_any_other() {
    let seen = |stated: &str, rows: &str| {
        of(
            "light-through-joint",
            &format!(
                "machine m {{ rulebook {{ {stated} }} axis X {{ rail a {{ segment 1200; segment 1200 }} }} }}
inspect X.a.J1 date=\"2026-04-15\" by=inspector-1 {{ {rows} }}\n"
            ),
        )
    };
    let stated = "light-gap most=0.02 reason=\"the maker's manual\"";
    let light = ["nonconformity X.a.J1: light shows through the joint"];
    for none in ["", "light-gap most=0 reason=\"none\""] {
        assert_eq!(seen(none, "light seen; feeler 0"), light);
        assert_eq!(seen(none, "light none"), [""; 0]);
    }
    assert_eq!(seen(stated, "light none"), [""; 0]);
    assert_eq!(seen(stated, "light seen; feeler 0.02"), [""; 0]);
    assert_eq!(
        seen(stated, "light seen; feeler 0.021"),
        ["nonconformity X.a.J1: a feeler of 0.021 mm goes into the joint"]
    );
    // One finding, though it is beyond both limits.
    assert_eq!(seen(stated, "light seen; feeler 0.06").len(), 1);
    assert_eq!(
        seen(stated, "light seen"),
        ["outstanding X.a.J1: light shows through the joint, and no feeler says how wide the gap is"]
    );
    // A feeler of before says nothing of the light that is seen now.
    let later = "light none; feeler 0 }\ninspect X.a.J1 date=\"2026-04-16\" by=inspector-1 { light seen";
    assert_eq!(seen(stated, later).len(), 1);
}
