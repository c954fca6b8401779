//! The findings of a report stand in the order of the lint: the heaviest first, then the cause before what was done and read, then
//! by place.

use super::one_number::examples;
use crate::finding::Grade;
use crate::testing::{judge, today};
use crate::views::folded::folded;
use crate::views::report::{ReportedFinding, report};

fn heaviness(found: &ReportedFinding) -> (bool, bool, usize) {
    let grade = Grade::ALL.iter().position(|grade| grade.name() == found.grade).expect("a grade");
    (found.conceded_by.is_some(), found.is_held, grade)
}

/// In all examples, and in enough of them the place alone would say otherwise.
#[test]
fn no_nonconformity_stands_below_what_is_not_judged() {
    let mut otherwise = 0;
    for (name, judged) in &examples() {
        let shown = report(judged, today()).findings;
        assert_eq!(shown.len(), judged.findings.len(), "{name}");
        let heavy: Vec<_> = shown.iter().map(heaviness).collect();
        assert!(heavy.is_sorted(), "{name}: {heavy:?}");
        let is_open = |finding: &&crate::finding::Finding| finding.conceded.is_none() && finding.held.is_none();
        let grades: Vec<Grade> = judged.findings.iter().filter(is_open).map(|finding| finding.grade).collect();
        otherwise += usize::from(!grades.is_sorted());
        // What the terminal shows first is first on paper.
        if let Some(first) = folded(&judged.ledger, judged.findings.iter()).first() {
            let told = (first.first.rule.as_str(), &first.first.address, &first.first.message);
            assert_eq!((shown[0].rule, &shown[0].address, &shown[0].message), told, "{name}");
        }
    }
    assert!(otherwise > 10, "{otherwise}");
}

/// A rail that is shorter than its run stands below what was read of it, and is told first.
#[test]
fn of_equal_weight_the_description_comes_before_what_was_read() {
    let text = r#"
inspect X.a.J1 date="2026-04-15" by=inspector-1 { light none; UL 0 -> 0.05; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }
machine m {
    axis X { run to=2500; rail a { segment 1200; segment 1200 } }
}
"#;
    let shown = report(&judge(&[("machine.kdl", text)], &[]), today()).findings;
    let wrong: Vec<(&str, u32)> =
        shown.iter().filter(|it| it.grade == Grade::Nonconformity.name()).map(|it| (it.rule, it.line)).collect();
    let at =
        |rule: &str| wrong.iter().position(|(name, _)| *name == rule).unwrap_or_else(|| panic!("{rule}: {wrong:?}"));
    assert!(at("run-length") < at("joint-step"), "{wrong:?}");
    assert!(wrong[at("run-length")].1 > wrong[at("joint-step")].1, "by place alone it would be the other way");
}
