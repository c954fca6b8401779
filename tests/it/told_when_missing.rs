//! Facts that are missing or turned round are told: ends of a span, what a gauge is, what came in.

use wayledger::lint::Grade;

use crate::common::judge;

/// What a rule says of a text, whatever its grade.
fn said(rule: &str, text: &str) -> Vec<String> {
    let judged = judge(&[("machine.kdl", text)], &[]);
    let of = judged.findings.iter().filter(|finding| finding.rule.as_str() == rule);
    of.map(|finding| format!("{} {}", finding.grade.name(), finding.message)).collect()
}

#[test]
fn the_lower_end_of_a_span_is_not_above_the_upper_one() {
    let machine = |axis: &str, shop: &str| {
        format!("shop {{ {shop} }}\nmachine m {{ axis X {{ run to=1200; {axis}; rail a {{ segment 1200 }} }} }}\n")
    };
    for (axis, shop, message) in [
        ("stroke from=800 to=300", "", "`from` of `stroke` lies above `to`"),
        ("temperature least=30 most=10", "", "`least` of `temperature` lies above `most`"),
        ("", "wrench TW-1 kind=setting least=50 most=5", "`least` of `wrench` lies above `most`"),
        ("", "wrench TW-1 kind=setting least=(in-lbf)50 most=5", "`least` of `wrench` lies above `most`"),
        ("", "fastener b { friction 0.14 0.12 }", "`least` of `friction` lies above `most`"),
        ("", "rulebook { snug-torque least=3 most=2 reason=\"agreed\" }", "`least` of `snug-torque` lies above `most`"),
    ] {
        assert_eq!(said("wrong-value", &machine(axis, shop)), [format!("nonconformity {message}")]);
    }
    for (axis, shop) in [
        ("stroke from=300 to=800; temperature least=-5 most=30", "wrench TW-1 kind=setting least=(in-lbf)40 most=5"),
        ("stroke from=300 to=300", "fastener b { friction 0.12 }; rulebook { joint-bolts least=2 reason=\"agreed\" }"),
    ] {
        assert_eq!(said("wrong-value", &machine(axis, shop)), [""; 0]);
    }
}

#[test]
fn a_gauge_that_nobody_describes_is_not_called_suited() {
    let text = |gauge: &str, record: &str| {
        format!(
            "shop {{ gauge DI-4 {gauge} }}\nmachine m {{ axis X {{ rail a {{ segment 1200; segment 1200 }} }} }}\n\
             inspect X.a.J1 date=\"2026-04-15\" by=inspector-1 gauge=DI-4 {record} {{ light none; UL 0 -> 0.01 }}\n"
        )
    };
    let not_judged = |what: &str| vec![format!("{} {what} (X.a)", Grade::NotJudged.name())];
    let lacks_kind = said("instrument-unsuited", &text("plus=outward", ""));
    assert_eq!(lacks_kind, not_judged("the kind of its gauge is not stated"));
    let lacks_plus = said("instrument-unsuited", &text("kind=dial-indicator", ""));
    assert_eq!(lacks_plus, not_judged("which way a growing reading of its gauge points is not stated"));
    for (gauge, record) in [("kind=dial-indicator plus=outward", ""), ("kind=other", "plus=outward")] {
        assert_eq!(said("instrument-unsuited", &text(gauge, record)), [""; 0]);
    }
}

#[test]
fn a_bar_that_never_came_in_is_not_judged_where_goods_are_recorded() {
    let text = |parts: &str| {
        format!("machine m {{ axis X {{ rail a {{ segment 1200 serial=K-1; segment 1200 serial=K-2 }} }} }}\n{parts}")
    };
    let receive = |parts: &str| format!("receive date=\"2026-03-30\" by=inspector-1 {{ {parts} }}\n");
    let of_parts = |text: &str| -> Vec<String> {
        said("parts-mixed", text).into_iter().filter(|it| it.contains("came in")).collect()
    };
    assert_eq!(of_parts(&text("")), [""; 0]);
    assert_eq!(of_parts(&text(&receive("part serial=K-1; part serial=K-2"))), [""; 0]);
    let one = of_parts(&text(&receive("part serial=K-1")));
    assert!(matches!(&one[..], [it] if it.contains("no part came in under its serial number (X.a.seg2)")), "{one:?}");
}
