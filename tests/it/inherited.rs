//! A nearer shop file says again a part of what a farther one says: the rest comes from there, and hides nothing.

use crate::common::judge;

const MACHINE: &str =
    "machine m { axis X { rail a rail-bolt=b { segment 1200; segment 1200; supports S first=100 pitch=240 count=9 } } }
shim X.a date=\"2026-04-13\" by=f { at S1 0.05; at S2 0.10; at S3 0.20 }
fasten X.a date=\"2026-04-14\" by=f wrench=W stage=full { at S1 10.1; at S2 10.9; at S3 9.5 }
inspect X.a.J1 date=\"2026-04-15\" by=i gauge=G { light none; UL 0 -> 0.01; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }
";

const COMPANY: &str = "shop {
    gauge G kind=dial-indicator graduation=0.001 permissible-error=0.003 plus=outward {
        calibrated \"2026-01-12\" due=\"2027-01-12\" certificate=c1
        calibrated \"2026-09-01\" certificate=c2 result=failed
    }
    wrench W kind=indicating least=4 most=20 { calibrated \"2026-01-12\" due=\"2027-01-12\" certificate=w1 }
    shim-stock { leaf 0.05; leaf 0.10; leaf 0.20 }
    fastener b thread=M6 class=\"10.9\" head=socket-cap into=steel { friction 0.12 0.14; full least=10.2 most=10.8 reason=\"drawing 4\" }
    rulebook { full-torque least=10.2 most=10.8 reason=\"drawing 4\" }
}
";

/// What a rule finds with the company's file above, and the yard's nearer to the machine.
fn found(company: &str, yard: &str, rule: &str) -> Vec<String> {
    // Nearest first.
    let both = [yard, company];
    let judged = judge(&[("machine.kdl", MACHINE)], if yard.is_empty() { &both[1..] } else { &both });
    let of_it = judged.findings.iter().filter(|finding| finding.rule.as_str() == rule);
    of_it.map(|finding| format!("{}: {}", finding.address, finding.message)).collect()
}

#[test]
fn a_copy_of_an_entry_hides_no_failed_calibration() {
    let failed = ["X.a.J1: 1 record made with G before it failed its next calibration"];
    assert_eq!(found(COMPANY, "", "gauge-calibration"), failed);
    for copy in [
        "shop { gauge G kind=dial-indicator plus=outward { calibrated \"2026-01-12\" due=\"2027-01-12\" certificate=c1 } }",
        "shop { gauge G kind=dial-indicator plus=outward { calibrated \"2026-09-01\" certificate=c2 result=passed } }",
        "shop { gauge G }",
    ] {
        assert_eq!(found(COMPANY, copy, "gauge-calibration"), failed, "{copy}");
    }
    // Nor one that is nearer, nor a doubt.
    let company = COMPANY.replace("result=failed", "result=passed");
    assert_eq!(found(&company, "", "gauge-calibration"), [""; 0]);
    let yard = "shop { gauge G { calibrated \"2026-08-01\" result=failed } }";
    assert_eq!(found(&company, yard, "gauge-calibration"), failed);
    let doubt = company.replace(
        "    wrench W",
        "    doubt G date=\"2026-09-01\" by=e from=\"2026-03-01\" to=\"2026-06-01\" reason=\"bent\"\n    wrench W",
    );
    assert_eq!(found(&doubt, "shop { gauge G }", "gauge-calibration").len(), 1);
}

#[test]
fn what_a_nearer_entry_leaves_out_comes_from_above() {
    let off = |yard: &str| found(COMPANY, yard, "torque-window").len();
    // 10.1, 10.9 and 9.5 against 10.2 to 10.8: each support once.
    assert_eq!(off(""), 3);
    assert_eq!(off("shop { fastener b }"), 3, "a bare entry has the window of the one above");
    assert_eq!(off("shop { fastener b { full least=9 most=11 reason=\"the yard's\" } }"), 0);
    assert_eq!(found(COMPANY, "shop { shim-stock }", "shim-stock"), [""; 0]);
    let own = found(COMPANY, "shop { shim-stock { leaf 0.10 count=0 } }", "shim-stock");
    assert_eq!(own, ["X.a.S2: 1 leaf of 0.1 mm lies in this machine, 0 were in stock"]);
}

#[test]
fn a_limit_of_which_one_end_is_said_has_the_other_from_above_and_tells_both() {
    let company = COMPANY.replace("; full least=10.2 most=10.8 reason=\"drawing 4\"", "");
    let yard = "shop { rulebook { full-torque least=9 reason=\"soft seats\" } }";
    let judged = judge(&[("machine.kdl", MACHINE)], &[yard, &company]);
    let off: Vec<_> = judged.findings.iter().filter(|finding| finding.rule.as_str() == "torque-window").collect();
    // 9 to 10.8: nobody said 11.
    let addresses: Vec<&str> = off.iter().map(|finding| finding.address.as_str()).collect();
    assert_eq!(addresses, ["X.a.S2"]);
    let limit = off[0].limit.as_ref().expect("a limit");
    assert_eq!(limit.text, "9 to 10.8 N·m");
    assert_eq!(limit.source, "9: set by the shop: soft seats; 10.8: set by the shop: drawing 4");
}

#[test]
fn a_machine_that_loosens_the_limit_of_its_shop_is_told() {
    let loosened = |own: &str| {
        let machine = format!(
            "machine m {{ rulebook {{ joint-step most={own} reason=\"slow\" }}; axis X {{ rail a {{ segment 1200 }} }} }}"
        );
        let shop = "shop { rulebook { joint-step most=0.018 reason=\"noise\" } }";
        let judged = judge(&[("machine.kdl", &machine)], &[shop]);
        let of_it = judged.findings.iter().filter(|finding| finding.rule.as_str() == "limit-loosened");
        of_it.map(|it| format!("{}: {}", it.grade.name(), it.message)).collect::<Vec<_>>()
    };
    assert_eq!(
        loosened("0.02"),
        ["observation: joint-step is at most 0.02 mm here, and the shop wants at most 0.018 mm"]
    );
    assert_eq!(loosened("0.018"), [""; 0]);
    assert_eq!(loosened("0.01"), [""; 0]);
}

/// Of three that state a limit each is held against all above it, not the next alone.
#[test]
fn a_limit_is_held_against_every_file_above() {
    let shop =
        |most: &str, more: &str| format!("shop {{ rulebook {{ joint-step most={most} reason=\"noise\" }} }}{more}");
    let loosened = |company: &str, yard: &str, machine: &str| {
        let own = shop(yard, &format!("\nmachine m {{ rulebook {{ joint-step most={machine} reason=\"slow\" }} }}"));
        let judged = judge(&[("machine.kdl", &own)], &[&shop(company, "")]);
        let of_it = judged.findings.iter().filter(|finding| finding.rule.as_str() == "limit-loosened");
        of_it.filter(|it| it.message.contains("machine") || it.message.contains("the shop wants")).count()
    };
    // Company, yard, machine: whoever is wider than anybody above is told.
    for (company, yard, machine, told) in [
        ("0.018", "0.018", "0.018", 0),
        ("0.018", "0.016", "0.017", 1),
        ("0.016", "0.0185", "0.018", 1),
        ("0.016", "0.0185", "0.016", 0),
        ("0.018", "0.016", "0.016", 0),
    ] {
        assert_eq!(loosened(company, yard, machine), told, "{company} {yard} {machine}");
    }
}

/// A shop node of the machine's own file hides too, and a ledger is no worse for it.
#[test]
fn an_entry_that_hides_another_one_is_told_with_what_differs() {
    let hidden = |own: &str| {
        let text = format!("shop {{ {own} }}\n{MACHINE}");
        let judged = judge(&[("machine.kdl", &text)], &[COMPANY]);
        assert!(judged.ledger.text_findings.is_empty(), "{own}");
        let of_it = judged.findings.iter().filter(|finding| finding.rule.as_str() == "duplicate-name");
        of_it.map(|it| format!("{}: {}", it.grade.name(), it.message)).collect::<Vec<_>>()
    };
    let says = |what: &str, otherwise: &str| {
        vec![format!("observation: the {what} says otherwise here than in the file above: {otherwise}")]
    };
    assert_eq!(hidden("gauge G permissible-error=0.005 plus=inward"), says("gauge `G`", "permissible-error, plus"));
    assert_eq!(hidden("wrench W kind=setting least=4"), says("wrench `W`", "kind"));
    assert_eq!(hidden("fastener b { friction 0.10 0.14 }"), says("fastener `b`", "friction"));
    assert_eq!(hidden("shim-stock { leaf 0.05 count=3 }"), says("leaf `0.05 mm`", "count"));
    // What is the same in other words, or only there, hides nothing; nor do calibrations, which are one history.
    for same in [
        "gauge G permissible-error=(um)3 plus=outward { calibrated \"2026-10-01\" result=passed }",
        "gauge G range=3; gauge H kind=laser",
        "shim-stock { leaf 0.05; leaf 0.03 count=2 }",
        "fastener b { friction 0.120 0.140; full least=10.2 most=10.8 reason=\"ours\" }",
    ] {
        assert_eq!(hidden(same), [""; 0], "{same}");
    }
}

/// The figures of a gauge that are lengths, or forces where it reads those: as the schema has them.
fn lengths_or_forces() -> Vec<&'static str> {
    let schema = include_str!("../../schema/shop.kdl");
    let rows = schema.lines().filter(|line| line.contains(" length-or-force-or-angle "));
    let all: Vec<&str> = rows.filter_map(|line| line.trim().strip_prefix("prop ")?.split(' ').next()).collect();
    // The one of a calibration is looked at by itself.
    let (of_calibration, of_gauge): (Vec<&str>, Vec<&str>) = all.into_iter().partition(|part| *part == "error");
    assert!(of_calibration.len() == 1 && of_gauge.len() >= 4, "{of_gauge:?}");
    of_gauge
}

#[test]
fn a_figure_counts_as_the_kind_of_its_gauge_says_in_whichever_file_that_stands() {
    let found = |company: &str, own: &str| {
        let text = format!("shop {{ {own} }}\nmachine m {{ axis X {{ rail a {{ segment 1200 }} }} }}");
        let judged = judge(&[("machine.kdl", &text)], &[&format!("shop {{ {company} }}")]);
        let of_it = judged.findings.iter().filter(|it| matches!(it.rule.as_str(), "duplicate-name" | "wrong-value"));
        of_it.map(|it| it.message.clone()).collect::<Vec<_>>()
    };
    for part in lengths_or_forces() {
        let company = format!("gauge F kind=force-gauge {part}=(N)1; gauge O kind=other {part}=(N)1 {{ reads force }}");
        for name in ["F", "O"] {
            let otherwise = [format!("the gauge `{name}` says otherwise here than in the file above: {part}")];
            assert_eq!(found(&company, &format!("gauge {name} {part}=(N)0.5")), otherwise);
            assert_eq!(found(&company, &format!("gauge {name} {part}=0.5")), otherwise, "a bare number");
            assert_eq!(found(&company, &format!("gauge {name} {part}=1")), [""; 0]);
            assert_eq!(
                found(&company, &format!("gauge {name} {part}=(mm)1")),
                [format!("this cannot be a figure of {name}")]
            );
        }
        let length = found("", &format!("gauge L kind=laser {part}=(N)1"));
        assert_eq!(length, ["this cannot be a figure of L"], "{part}");
        assert_eq!(found("", &format!("gauge U {part}=(N)1")), [""; 0], "of no kind: by its unit");
    }
    let calibrated = |error: &str| {
        let own = format!("gauge F {{ calibrated \"2026-09-01\" result=failed error={error} }}");
        found("gauge F kind=force-gauge", &own)
    };
    assert_eq!(calibrated("(N)0.5"), [""; 0]);
    assert_eq!(calibrated("(mm)0.5"), ["this cannot be the error of F"]);
}

/// A rating that states no distance is for 100 km (ISO 14728-1), whatever the file above says of its own rating.
#[test]
fn a_rating_and_the_distance_that_it_is_for_go_together() {
    let basis = |own: &str| {
        let text = format!("shop {{ block B {own} }}\n{MACHINE}");
        let judged = judge(&[("machine.kdl", &text)], &["shop { block B C=20000 basis=50 }"]);
        let block = judged.ledger.shop.block("B").expect("the block");
        (block.dynamic.is_some(), block.basis.is_some())
    };
    assert_eq!(basis("C=20000"), (true, false));
    assert_eq!(basis("length=80"), (true, true));
    assert_eq!(basis("basis=100"), (true, true));
}

/// What lies there stays as it is; what is put in later is told, and nothing is planned with it.
#[test]
fn a_leaf_that_is_to_be_had_no_more_leaves_what_was_built_with_it_alone() {
    let stock = |until: &str| COMPANY.replace("leaf 0.10;", &format!("leaf 0.10 until=\"{until}\";"));
    let said = |until: &str| found(&stock(until), "", "shim-stock");
    assert_eq!(said("2026-04-13"), [""; 0], "put in on its last day");
    assert_eq!(said("2026-04-12"), ["X.a.S2: a leaf of 0.1 mm was put in, and was to be had until 2026-04-12"]);
    let since =
        |day: &str| found(&COMPANY.replace("leaf 0.10;", &format!("leaf 0.10 since=\"{day}\";")), "", "shim-stock");
    assert_eq!(since("2026-04-13"), [""; 0], "put in on its first day");
    assert_eq!(since("2026-04-14"), ["X.a.S2: a leaf of 0.1 mm was put in, and was to be had from 2026-04-14"]);
    // Taken out of the stock, as before: not known.
    let gone = COMPANY.replace("leaf 0.10;", "");
    assert_eq!(found(&gone, "", "shim-stock"), ["X.a.S2: there is no leaf of 0.1 mm in stock"]);
}

/// An instrument is used on days on which the shop has it, both ends among them; what it read on another day does not count.
#[test]
fn an_instrument_is_used_while_the_shop_has_it() {
    let since = |gauge: &str, wrench: &str| {
        COMPANY
            .replace("result=failed", "result=passed")
            .replace("plus=outward {", &format!("plus=outward {gauge} {{"))
            .replace("least=4 most=20 {", &format!("least=4 most=20 {wrench} {{"))
    };
    let said = |gauge: &str, wrench: &str| found(&since(gauge, wrench), "", "gauge-calibration");
    assert_eq!(said("", ""), [""; 0]);
    assert_eq!(said("since=\"2026-04-15\" until=\"2026-04-15\"", "since=\"2026-04-14\" until=\"2026-04-14\""), [""; 0]);
    assert_eq!(
        said("since=\"2026-04-16\"", ""),
        ["X.a.J1: 1 record made with G before the shop had it, from 2026-04-16"]
    );
    assert_eq!(
        said("until=\"2026-04-14\"", "until=\"2026-04-13\""),
        [
            "X.a: 1 record made with W after the shop had it last, until 2026-04-13",
            "X.a.J1: 1 record made with G after the shop had it last, until 2026-04-14"
        ]
    );
    // A nearer file that leaves the day out takes it over.
    let yard = found(&since("until=\"2026-04-14\"", ""), "shop { gauge G }", "gauge-calibration");
    assert_eq!(yard.len(), 1, "{yard:?}");
}

/// A doubt names an instrument: two that bear one name cannot be told apart by it.
#[test]
fn a_wrench_that_bears_the_name_of_a_gauge_is_told() {
    let found = found(&COMPANY.replace("wrench W", "wrench G"), "", "duplicate-name");
    assert_eq!(found, [": the wrench `G` has the name of a gauge"]);
}

/// What may still be put in is planned with too, up to its last day.
#[test]
fn a_leaf_is_planned_with_as_long_as_it_is_to_be_had() {
    let text = |until: &str| {
        format!(
            "shop {{ shim-stock {{ leaf 0.05; leaf 0.02 until=\"{until}\" }} }}
machine m {{ axis X {{
    rail a {{ segment 600; supports S first=100 pitch=200 count=3 }}
    rail b follows=a shims=widen {{ segment 600; supports S first=100 pitch=200 count=3 }}
}} }}
survey gap X.b date=\"2026-04-15\" by=i stage=as-fitted {{ at S1 0; at S2 -0.07; at S3 0; closure S1 0 }}
"
        )
    };
    // Tests are judged on 2026-11-01.
    let next = |until: &str| {
        let found = judge(&[("machine.kdl", &text(until))], &[]).findings;
        found.into_iter().find(|it| it.rule.as_str() == "shim-missing").map(|it| it.next).unwrap_or_default()
    };
    assert!(next("2026-11-01").contains("S2 with 0.02;"), "{}", next("2026-11-01"));
    assert!(next("2026-10-31").contains("S2 with 0.05;"), "{}", next("2026-10-31"));
}
