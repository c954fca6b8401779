//! Which way each limit lets more pass, held against what people mean by them and not against the table itself.

use crate::language::rulebook::{ENTRIES, LimitEntry, LimitType, Rulebook};
use crate::quantity::Dimension;
use crate::rules::keeping::limit_loosened;
use crate::testing::judge;

/// Choices: the stricter word and the looser one.
const WORDS: [(&str, [&str; 2]); 10] = [
    ("proof", ["required", "observed"]),
    ("proof-of-step", ["required", "observed"]),
    ("proof-of-gap", ["required", "observed"]),
    ("proof-of-straightness", ["required", "observed"]),
    ("proof-of-height", ["required", "observed"]),
    ("proof-of-running-force", ["required", "observed"]),
    ("proof-of-torque", ["required", "observed"]),
    ("sawn-ends", ["forbidden", "allowed"]),
    ("self-release", ["forbidden", "allowed"]),
    ("signed-release", ["required", "optional"]),
];

/// A guard band keeps readings away from a limit, and a due date is told from some days ahead: the more, the stricter.
const MORE_IS_STRICTER: [&str; 2] = ["guard-band", "due-soon"];

fn machine(rulebook: &str) -> String {
    format!("machine m {{ rulebook {{ {rulebook} }}; axis X {{ rail a {{ segment 1200; segment 1200 }} }} }}")
}

fn book(stated: &str) -> Rulebook {
    judge(&[("machine.kdl", &machine(stated))], &[]).ledger.rulebook
}

/// How an entry is stated stricter and looser than a number, by a factor or by one where that is nought.
fn both_ways(entry: &LimitEntry, end: &str, number: f64, factor: f64) -> [String; 2] {
    let by = if number == 0.0 { 1.0 } else { number.abs() * (factor - 1.0) };
    // Floats have more digits than a limit is read with.
    let state = |number: f64| format!("{} {end}={} reason=\"agreed\"", entry.name, (number * 1e6).round() / 1e6);
    let (more, less) = (state(number + by), state(if number > 0.0 { number / factor } else { number - by }));
    match (end == "least") != MORE_IS_STRICTER.contains(&entry.name) {
        true => [more, less],
        false => [less, more],
    }
}

#[test]
fn each_limit_is_wider_the_way_that_lets_more_pass() {
    let own = Rulebook::default();
    for entry in ENTRIES {
        let stated: Vec<[String; 2]> = match entry.holds {
            LimitType::Choice(_) => {
                let words = WORDS.iter().find(|(name, _)| *name == entry.name).expect("a new choice stands above").1;
                vec![words.map(|word| format!("{} is={word} reason=\"agreed\"", entry.name))]
            }
            LimitType::Count | LimitType::Amount(_) => ["least", "most"]
                .into_iter()
                .filter(|end| entry.takes(end))
                .map(|end| {
                    let default = if end == "least" { entry.least } else { entry.most };
                    both_ways(entry, end, default.map_or(40.0, |it| it.parse().expect("a number")), 2.0)
                })
                .collect(),
        };
        assert!(!stated.is_empty(), "{}", entry.name);
        for [strict, loose] in stated {
            let (strict_book, loose_book) = (book(&strict), book(&loose));
            assert!(loose_book.is_wider(&strict_book, entry), "{loose} after {strict}");
            assert!(!strict_book.is_wider(&loose_book, entry), "{strict} after {loose}");
            assert!(!loose_book.is_wider(&loose_book, entry), "{loose}");
            if !matches!(entry.holds, LimitType::Choice(_)) {
                let none = entry.least.is_none() && entry.most.is_none();
                assert!(own.is_wider(&strict_book, entry), "none or the default after {strict}");
                assert!(!strict_book.is_wider(&own, entry), "{strict}");
                assert_eq!(loose_book.is_wider(&own, entry), !none, "{loose}");
            }
        }
    }
}

/// What one quantity leaves to `proof` is as strict as that.
#[test]
fn a_proof_that_is_left_to_the_one_of_all_is_as_strict_as_that() {
    let entry = ENTRIES.iter().find(|entry| entry.name == "proof-of-step").expect("an entry");
    let required = book("proof is=required reason=\"agreed\"");
    let alone = book("proof-of-step is=observed reason=\"agreed\"");
    let both = book("proof is=required reason=\"agreed\"; proof-of-step is=observed reason=\"agreed\"");
    assert!(both.is_wider(&required, entry) && !required.is_wider(&both, entry));
    assert!(!alone.is_wider(&Rulebook::default(), entry), "what nobody asked for was observed before");
    assert!(!Rulebook::default().is_wider(&required, entry), "it is told with `proof`");
}

#[test]
fn a_limit_twenty_times_looser_than_its_default_is_told_and_one_as_much_stricter_is_not() {
    let told = |stated: &str| {
        let judged = judge(&[("machine.kdl", &machine(stated))], &[]);
        judged.findings.iter().any(|finding| finding.rule == limit_loosened::RULE.name)
    };
    let mut held = 0;
    for entry in ENTRIES.iter().filter(|entry| !entry.is_of_today()) {
        // A span of temperatures has no quotient.
        if matches!(entry.holds, LimitType::Choice(_) | LimitType::Amount(Dimension::Temperature)) {
            continue;
        }
        for (end, default) in [("least", entry.least), ("most", entry.most)] {
            let Some(number) = default.map(|it| it.parse::<f64>().expect("a number")).filter(|it| *it != 0.0) else {
                continue;
            };
            // A count is whole: fewer than two are none.
            let loose_count = matches!(entry.holds, LimitType::Count) && end == "least";
            let [strict, loose] = both_ways(entry, end, number, 20.0);
            let loose = if loose_count { format!("{} least=0 reason=\"agreed\"", entry.name) } else { loose };
            assert!(told(&loose), "{loose}");
            assert!(!told(&strict), "{strict}");
            held += 1;
        }
    }
    assert!(held > 30, "{held}");
    // A guard band of nothing is agreed upon (ILAC-G8:09/2019, simple acceptance) and no slip of the pen.
    assert!(!told("guard-band most=0 reason=\"agreed\""));
}
