//! Limits: the nearest change wins, is given with its reason and place, and reaches the findings.

use wayledger::format::limits_in_force;

use crate::common::judge;

const MACHINE: &str = r#"
machine m {
    rulebook { joint-step most=(um)12 reason="grinding spindle" }
    axis X { rail a { segment 1200; segment 1200 } }
}
inspect X.a.J1 date="2026-04-15" by=inspector-1 { light none; UL 0 -> 0.013; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }
"#;
const SHOP: &str = r#"shop "S" {
    rulebook {
        joint-step most=0.015 reason="all our spindles"
        gap-range most=0.04 reason="agreed with the customer"
    }
}"#;

#[test]
fn the_machine_wins_over_the_shop_and_the_shop_over_the_default() {
    let judged = judge(&[("machine.kdl", MACHINE)], &[SHOP]);
    let text = limits_in_force(&judged.ledger);
    assert!(text.contains("joint-step: at most 12 um\n"), "{text}");
    assert!(text.contains("set by the machine at m/machine.kdl:3: grinding spindle\n    default: at most 0.02 mm (common practice, no source)"), "{text}");
    assert!(text.contains("gap-range: at most 0.04 mm\n"), "{text}");
    assert!(text.contains("set by the shop at shop.kdl:4: agreed with the customer"), "{text}");
    assert!(text.contains("full-torque: 10 to 11 N·m\n"), "{text}");
}

#[test]
fn a_changed_limit_is_what_the_finding_names() {
    let judged = judge(&[("machine.kdl", MACHINE)], &[SHOP]);
    let step =
        judged.findings.iter().find(|finding| finding.rule.as_str() == "joint-step").expect("0.013 is over 12 µm");
    let limit = step.limit.as_ref().expect("it has a limit");
    assert_eq!(limit.text, "at most 0.012 mm");
    assert_eq!(limit.source, "set by the machine: grinding spindle");
    assert!(limit.set_at.is_some());
    let plain = judge(&[("machine.kdl", &MACHINE.replace("joint-step most=(um)12", "gap-range most=0.05"))], &[]);
    assert!(plain.findings.iter().all(|finding| finding.rule.as_str() != "joint-step"), "{:?}", plain.findings);
}
