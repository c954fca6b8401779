//! No text, however made, means more than a ledger can hold: each total is counted before anything is made of it, told as
//! one finding at the place where it is passed, and such a ledger is never clean.

use wayledger::lint::MOST_FINDINGS;
use wayledger::model::CountedPart;

use crate::common::judge;
use crate::common::yard::Yard;

const TOO_MUCH: &str = "too-much";

/// The findings of a ledger in one file, and how much was made of it.
fn judged(text: &str) -> wayledger::lint::Judged {
    judge(&[("machine.kdl", text)], &[])
}

/// Texts that pass one total each, by as little as can be; and by very much in a few letters.
fn texts() -> Vec<(CountedPart, String)> {
    let machine = |inside: &str| format!("machine m {{ axis X {{ {inside} }} }}\n");
    let rail = |inside: &str| machine(&format!("rail a {{ {inside} }}"));
    let many = |count: usize, of: &dyn Fn(usize) -> String| (0..count).map(of).collect::<String>();
    let over = |what: CountedPart| what.most() + 1;
    let long = rail("supports S first=100 pitch=1 count=20000");
    let row = |name: usize| format!("support s{name} at={name}; ");
    let void = |name: usize| format!("void fasten X.a of=\"2026-01-01\" date=\"2026-01-02\" by=f reason=r{name}\n");
    let correction = |name: usize| {
        format!("service X date=\"2026-01-02\" replaces=\"2026-01-01\" by=f task=reading {{ note n{name} }}\n")
    };
    let declared = |what: CountedPart| {
        let line = "not-applicable step-carrier X.a date=\"2026-01-01\" by=f reason=\"no carrier is used\"; ";
        line.repeat(what.most() + 1)
    };
    let profile = "shop s { profile P hole-pitch=0.1 end-distance=1 }\n";
    vec![
        (CountedPart::Supports, rail("supports S first=100 pitch=1 count=20001")),
        (
            CountedPart::Supports,
            rail("supports S first=100 pitch=1 count=100000; supports T first=100 pitch=1 count=100000"),
        ),
        (CountedPart::Supports, rail("supports S first=100 pitch=1 count=4000000000")),
        (CountedPart::Supports, rail(&many(over(CountedPart::Supports), &row))),
        (
            CountedPart::Supports,
            rail(&format!(
                "supports S first=100 pitch=1 count=9 {{ {}}}",
                "omit S2; ".repeat(over(CountedPart::Supports))
            )),
        ),
        (CountedPart::Segments, rail(&"segment 100; ".repeat(over(CountedPart::Segments)))),
        (CountedPart::Parts, machine(&many(over(CountedPart::Parts), &|name| format!("rail r{name}; ")))),
        (
            CountedPart::Parts,
            format!("machine m {{ {} }}\n", many(over(CountedPart::Parts), &|name| format!("axis A{name}; "))),
        ),
        (CountedPart::Parts, machine(&format!("beam b {{ {} }}", "piece 100; ".repeat(over(CountedPart::Parts))))),
        (
            CountedPart::Parts,
            machine(&format!("rail a; carriage {{ {} }}", "block a at=1; ".repeat(over(CountedPart::Parts)))),
        ),
        (CountedPart::Parts, machine(&"service-interval re-torque months=12; ".repeat(over(CountedPart::Parts)))),
        (CountedPart::Holes, format!("{profile}{}", rail("segment 30000").replace("rail a", "rail a profile=P"))),
        (
            CountedPart::Bolts,
            format!(
                "{profile}{}",
                rail("segment 9000; supports S first=4500 pitch=0.001 count=200 length=9000")
                    .replace("rail a", "rail a profile=P")
            ),
        ),
        (CountedPart::Bolts, rail("support S1 at=100 base-bolts=4000000000")),
        (CountedPart::Bolts, rail("supports S first=100 pitch=1 count=1000 base-bolts=201")),
        (
            CountedPart::Records,
            format!(
                "{}{}",
                rail(""),
                "service X date=\"2026-01-01\" by=f task=reading\n".repeat(over(CountedPart::Records))
            ),
        ),
        (CountedPart::Lookups, format!("{}{}", rail(""), many(over(CountedPart::Lookups), &void))),
        (CountedPart::Lookups, format!("{}{}", rail(""), many(over(CountedPart::Lookups), &correction))),
        (CountedPart::Lookups, format!("machine m {{ {} axis X {{ rail a }} }}\n", declared(CountedPart::Lookups))),
        (
            CountedPart::Lookups,
            format!("machine m {{ {} }}\n", "built-to d revision=1; ".repeat(over(CountedPart::Lookups))),
        ),
        (CountedPart::Lookups, format!("shop s {{ {} }}\n{}", declared(CountedPart::Lookups), rail(""))),
        (
            CountedPart::ShopEntries,
            format!(
                "shop s {{ {} }}\n{}",
                many(over(CountedPart::ShopEntries), &|name| format!("gauge g{name}; ")),
                rail("")
            ),
        ),
        (
            CountedPart::ShopEntries,
            format!(
                "shop s {{ gauge g {{ {} }} }}\n{}",
                "calibrated \"2026-01-01\"; ".repeat(over(CountedPart::ShopEntries)),
                rail("")
            ),
        ),
        (
            CountedPart::Rows,
            format!(
                "{long}fasten X.a date=\"2026-01-01\" by=f stage=snug {{ clicked {} }}\n",
                "S1..S20000 ".repeat(60)
            ),
        ),
        (
            CountedPart::Rows,
            format!(
                "{}running-force X date=\"2026-01-01\" by=f {{ {} }}\n",
                rail(""),
                "at 600 14; ".repeat(over(CountedPart::Rows))
            ),
        ),
        (
            CountedPart::Rows,
            format!(
                "receive date=\"2026-01-01\" by=f {{ {} }}\n{}",
                many(over(CountedPart::Rows), &|name| format!("part serial=K{name}; ")),
                rail("")
            ),
        ),
        (CountedPart::Rows, format!("{long}{}", "loosen X.a date=\"2026-01-01\" by=f reason=r\n".repeat(11))),
        (
            CountedPart::Rows,
            format!("{long}{}", "loosen X.a date=\"2026-01-01\" by=f reason=r { at S1..S20000 }\n".repeat(11)),
        ),
    ]
}

#[test]
fn each_total_is_one_finding_where_it_is_passed() {
    let mut met = Vec::new();
    for (counted, text) in texts() {
        let judged = judged(&text);
        let told: Vec<_> = judged.findings.iter().filter(|finding| finding.rule.as_str() == TOO_MUCH).collect();
        let head: String = text.chars().take(100).collect();
        assert_eq!(told.len(), 1, "{head}: {:?}", judged.findings.iter().take(3).collect::<Vec<_>>());
        assert!(told[0].message.contains(counted.words()), "{head}: {}", told[0].message);
        assert!(!told[0].at.place.span.is_empty() && !told[0].next.is_empty(), "{head}");
        // Nothing is made of the ledger, and nothing else of it is judged.
        assert!(judged.ledger.machine.axes.is_empty() && judged.ledger.records.is_empty(), "{head}");
        assert!(judged.findings.len() <= 2, "{head}: {:?}", &judged.findings[..3]);
        assert!(!judged.unread.is_empty() && !judged.failed, "{head}");
        met.push(counted);
    }
    assert!(CountedPart::ALL.iter().all(|counted| met.contains(counted)), "{met:?}");
}

/// At the limit itself nothing is said.
#[test]
fn at_a_total_nothing_is_said() {
    let text = "machine m { axis X { rail a { supports S first=100 pitch=240 count=20000 } } }
loosen X.a date=\"2026-01-01\" by=f reason=r { at S1..S20000 }\n";
    let judged = judged(text);
    assert!(judged.findings.iter().all(|finding| finding.rule.as_str() != TOO_MUCH));
    assert_eq!(judged.ledger.machine.axes[0].rails[0].supports.len(), 20_000);
}

/// Findings are told up to a number, and that there are more; in the text and by the rules.
#[test]
fn findings_are_told_up_to_a_number() {
    let texts = [
        "x\n".repeat(300_000),
        format!("machine m {{ {} }}\n", "x; ".repeat(300_000)),
        format!("machine m {{ axis X {} }}\n", "a=1 ".repeat(300_000)),
        format!("machine m {{ axis X {} }}\n", "1 ".repeat(300_000)),
        format!("machine m {{ axis X {{ rail a {{ supports S first=1 pitch=240 count=20000 }} }} }}\n{}", {
            "fasten X.a date=\"2026-01-01\" by=f stage=snug { at T1 1; at T2 1; at T3 1 }\n".repeat(6_000)
        }),
        // Two rails, each with supports that lie in one another.
        "machine m { axis X {
            rail a { supports S first=1 pitch=1 count=10000 length=80 }
            rail b { supports S first=1 pitch=1 count=10000 length=80 }
        } }\n"
            .to_owned(),
    ];
    for (index, text) in texts.iter().enumerate() {
        let judged = judged(text);
        let count = judged.findings.len();
        assert!(count <= MOST_FINDINGS + 2_100, "{index}: {count}");
        if count > 100 {
            assert!(judged.findings.iter().any(|finding| finding.rule.as_str() == TOO_MUCH), "{index}: {count}");
            assert!(!judged.unread.is_empty(), "{index}");
        }
    }
}

/// The texts that were seen to fill memory and the screen, through the program: every command ends with a clear word.
#[test]
fn every_command_ends_with_a_word() {
    let rows = "machine m { axis X { rail a { supports S first=100 pitch=1 count=100000; supports T first=9 pitch=1 count=100000 } } }\n";
    let ranges = format!(
        "machine m {{ axis X {{ rail a {{ supports S first=100 pitch=1 count=20000 }} }} }}\nfasten X.a date=\"2026-01-01\" by=f stage=snug {{ clicked {} }}\n",
        "S1..S20000 ".repeat(60)
    );
    for text in [rows.to_owned(), ranges] {
        let yard = Yard::empty();
        yard.write("m/machine.kdl", &text).commit("too much");
        let ran = yard.wayledger(&["lint", "--today", "2026-11-01"]);
        assert_eq!(ran.code, 1, "{ran:?}");
        assert!(ran.out.len() < 4_000 && ran.out.contains("too-much") && !ran.out.contains("clean"), "{}", ran.out);
        for command in [
            &["report"][..],
            &["report", "m"],
            &["export"],
            &["compare", "HEAD", "HEAD"],
            &["how", "X.a", "--ledger", "m"],
            &["traveler", "X", "--ledger", "m"],
            &["shims", "X", "--ledger", "m"],
        ] {
            let ran = yard.wayledger(&[command, &["--today", "2026-11-01"]].concat());
            assert!(ran.out.len() + ran.err.len() < 20_000, "{command:?}");
            assert!(command[0] == "compare" || ran.code == 2 && ran.err.contains("at most"), "{command:?}: {ran:?}");
        }
    }
}
