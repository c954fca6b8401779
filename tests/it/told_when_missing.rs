//! Facts that are missing or turned round are told: ends of a span, what a gauge is, what came in.

use wayledger::lint::{Finding, Grade};

use crate::common::{judge, lint_text};

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
        ("stroke from=300 to=300", "", "`from` and `to` of `stroke` lie in one place"),
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
        ("stroke from=300 to=301", "fastener b { friction 0.12 }; rulebook { joint-bolts least=2 reason=\"agreed\" }"),
    ] {
        assert_eq!(said("wrong-value", &machine(axis, shop)), [""; 0]);
    }
}

#[test]
fn no_part_is_more_than_the_whole_and_no_block_has_no_length() {
    let text = |shop: &str| format!("shop {{ {shop} }}\nmachine m {{ axis X {{ rail a {{ segment 1200 }} }} }}\n");
    for entry in ["proof-load-share", "gauge-graduation"] {
        let share =
            |most: &str| said("wrong-value", &text(&format!("rulebook {{ {entry} most={most} reason=\"agreed\" }}")));
        for most in ["0.8", "1", "1.0", "(%)80", "0"] {
            assert_eq!(share(most), [""; 0], "{entry} {most}");
        }
        for most in ["9", "1.01", "(%)101", "-0.1"] {
            assert_eq!(share(most).len(), 1, "{entry} {most}");
        }
    }
    let block = |length: &str| said("block-implausible", &text(&format!("block B20 length={length}")));
    assert_eq!(block("1"), ["observation an effective length of 1 mm at block `B20` is none that blocks have"]);
    assert_eq!((block("78"), block("5"), block("500")), (vec![], vec![], vec![]));
    assert_eq!((block("4.9").len(), block("500.1").len()), (1, 1));
    // No preload is more than C, nor so little of it that nobody feels it; a share is judged with or without C.
    let preload = |said_of: &str| {
        let found = lint_text(&text(&format!("block B20 {said_of}")));
        let of = found.iter().filter(|it| it.rule.as_str() == "block-implausible");
        let found = |it: &Finding| it.found.as_ref().map(|it| it.value.number()).expect("a number");
        of.map(|it| format!("{}; {}", found(it), it.next)).collect::<Vec<_>>()
    };
    let (share, force) = ("the maker's table again, and correct the share", "correct the one that slipped or its unit");
    let per_cent = "if it is in per cent, write preload-share=(%)5";
    for (said_of, number, next) in [
        ("preload-share=0.00001", "0.00001", share),
        ("C=(kN)18 preload-share=0.00029999", "0.0002999", share),
        ("preload-share=5", "5", per_cent),
        ("C=(kN)18 preload-share=5", "5", per_cent),
        ("preload-share=1.0001", "1.001", "write preload-share=(%)1.0001"),
        ("C=(kN)18 preload=(kN)18.1", "1.006", force),
        ("C=(kN)18 preload=0.18", "0.00001", "if it is in kilonewtons, write (kN)0.18"),
    ] {
        let said = preload(said_of);
        assert!(
            matches!(&said[..], [it] if it.starts_with(&format!("{number}; ")) && it.ends_with(next)),
            "{said_of}: {said:?}"
        );
    }
    for right in [
        "preload-share=0.0003",
        "preload-share=(%)5",
        "preload-share=1",
        "C=(kN)18 preload=(kN)18",
        "C=(kN)18 preload=5.4",
    ] {
        assert_eq!(preload(right), [""; 0], "{right}");
    }
    // One on a carriage may state its own.
    let own = "machine m { axis X { rail a { segment 1200 }; carriage { block a at=0 type=B20 length=1 } } }\n";
    assert_eq!(said("block-implausible", &format!("shop {{ block B20 length=78 }}\n{own}")).len(), 1);
}

#[test]
fn holes_that_nobody_describes_are_not_judged() {
    let text = |profile: &str, segment: &str| {
        format!(
            "shop {{ profile R20 hole-pitch=60 {profile} {{ stock 1200; cutting }} }}
machine m {{ axis X {{ rail a profile=R20 {{ {segment}; segment 600; joint-support J1 at=1200 length=200 {{ bolts -90 -30 30 90 }} }} }} }}"
        )
    };
    let lacking = |of: &str| [format!("{} the end-distance of its profile is not stated{of}", Grade::NotJudged.name())];
    let unknown = text("bolt-edge=10", "segment 1200");
    for rule in ["joint-support", "hole-pitch-break"] {
        assert_eq!(said(rule, &unknown), lacking(""), "{rule}");
        assert_eq!(said(rule, &text("bolt-edge=10 end-distance=30", "segment 1200")), [""; 0], "{rule}");
    }
    assert_eq!(said("segment-stock", &unknown), lacking(" (X.a.seg2)"));
    assert_eq!(said("bolt-off-hole", &unknown).len(), 1);
    // One segment alone says it: of a joint with the other one nothing is known.
    assert_eq!(said("joint-support", &text("bolt-edge=10", "segment 1200 near-distance=30")), lacking(""));
}

#[test]
fn bolts_that_are_counted_to_the_very_end_of_a_support_are_too_few_or_not_judged() {
    let text = |edge: &str, support: &str| {
        format!(
            "shop {{ profile R20 hole-pitch=60 end-distance=30 {edge} }}
machine m {{ axis X {{ rail a profile=R20 {{ segment 1200; segment 600; joint-support J1 at=1200 {support} }} }} }}"
        )
    };
    let of = |edge: &str, support: &str| said("joint-support", &text(edge, support));
    // Two bolts of each end, the outer ones 90 mm from the joint.
    let open = [format!("{} the bolt-edge of its profile is not stated", Grade::NotJudged.name())];
    assert_eq!(of("", "length=200"), open);
    assert_eq!(of("bolt-edge=10", "length=200"), [""; 0]);
    assert_eq!(of("", "length=200 { bolts -90 -30 30 90 }"), [""; 0]);
    for (edge, support) in [("bolt-edge=11", "length=200"), ("bolt-edge=10", "length=170")] {
        assert!(of(edge, support)[0].starts_with("nonconformity"), "{edge} {support}");
    }
    assert!(of("", "length=170").iter().any(|it| it.starts_with("nonconformity")));
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
    for (gauge, record) in [
        ("kind=dial-indicator plus=outward", ""),
        ("kind=other { reads groove }", "plus=outward"),
        ("kind=other plus=outward { reads gap groove }", ""),
    ] {
        assert_eq!(said("instrument-unsuited", &text(gauge, record)), [""; 0]);
    }
    // One of a kind of its own says what it reads.
    let of_own = |gauge: &str| said("instrument-unsuited", &text(gauge, "plus=outward"));
    assert_eq!(of_own("kind=other"), not_judged("what its gauge of kind other reads is not stated"));
    let unsuited = ["outstanding DI-4 is not said to read a groove: this record does not count"];
    assert_eq!(of_own("kind=other { reads gap height }"), unsuited);
    let force = |gauge: &str, rule: &str| {
        let machine =
            "machine m { rulebook { running-force most=20 reason=\"drive\" }; axis X { rail a { segment 1200 } } }";
        let run = "running-force X date=\"2026-04-15\" by=i gauge=G { at 300 14 }";
        said(rule, &format!("shop {{ gauge G kind=other {gauge} }}\n{machine}\n{run}\n"))
    };
    assert_eq!(force("range=50 graduation=0.5 { reads force }", "instrument-unsuited"), [""; 0]);
    assert_eq!(force("range=50 graduation=0.5 { reads force }", "gauge-range"), [""; 0]);
    assert_eq!(force("range=(N)13 { reads force }", "gauge-range"), ["nonconformity G cannot show 14 N"]);
    assert_eq!(force("{ reads gap }", "instrument-unsuited").len(), 1);
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

/// Which way a step to the side is cured hangs on the datum face; of a pair of rails one that states it asks for the other.
#[test]
fn the_side_of_a_datum_face_is_asked_for_where_it_matters() {
    let text = |left: &str, right: &str, step: &str| {
        format!(
            "shop {{ gauge G kind=dial-indicator graduation=0.001 plus=outward; profile R20 contact=outward }}
machine m {{ axis X {{
    rail a profile=R20 {left} {{ segment 1200; segment 1200 }}
    rail b profile=R20 {right} follows=a shims=widen {{ segment 900; segment 1500 }}
}} }}
inspect X.b.J1 date=\"2026-04-15\" by=i gauge=G {{ UL 0 -> -{step}; UR 0 -> {step}; LL 0 -> -{step}; LR 0 -> {step} }}"
        )
    };
    let of = |left: &str, right: &str, step: &str| -> Vec<String> {
        let all = said("joint-step-cause", &text(left, right, step));
        all.into_iter().filter(|it| it.starts_with(Grade::NotJudged.name())).collect()
    };
    let (left, right) = ("datum=left", "datum=right");
    for (a, b) in [(left, right), ("", "")] {
        assert_eq!(of(a, b, "0.004"), [""; 0], "{a} {b}");
    }
    let half = "of a pair of rails the side of one datum face is described and not that of the other";
    assert_eq!(of(left, "", "0.004"), [format!("not judged {half} (X.b.J1)")]);
    assert_eq!(of("", right, "0.004"), [format!("not judged {half} (X.a.J1)")]);
    assert_eq!(of(left, right, "0.03"), [""; 0]);
    assert_eq!(of("", "", "0.03"), ["not judged the side of the datum face of its rail is not described (X.b.J1)"]);
}
