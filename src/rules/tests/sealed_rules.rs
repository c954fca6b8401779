//! The table of rules in a seal: a rule that came later only observes, and what was judged for the seal stays judged.

use crate::finding::Grade;
use crate::ledger::seal::{self, Sealing};
use crate::ledger::{Ledger, TextFile};
use crate::quantity::Moment;
use crate::rules::{Case, coverage_anew, tallies};
use crate::testing::{judge, today};
use crate::world::Path;

const MACHINE: &str = include_str!("../../../example-ledgers/faults/concession-idle/machine.kdl");
const RECORDS: &str = include_str!("../../../example-ledgers/faults/concession-idle/records.kdl");
const LOOSEN: &str = "loosen X.right date=\"2026-06-01\" by=fitter-2 reason=\"a noise\" { at S2 }\n";

/// The release of the slide, as if some rules had come later.
fn released(later: &[&str]) -> String {
    let file = |name: &str, text: &str| TextFile::read(Path(format!("m/{name}")), text.as_bytes().to_vec());
    let files = vec![file("machine.kdl", MACHINE), file("records.kdl", RECORDS)];
    let ledger = Ledger::new(Path("m".into()), files, &[]);
    let (mut judged, mut idle) = tallies(&coverage_anew(&Case::new(&ledger, today())), 0);
    let known = judged.len() + idle.len();
    judged.retain(|tally| !later.contains(&tally.rule.as_str()));
    idle.retain(|rule| !later.contains(&rule.as_str()));
    assert_eq!(judged.len() + idle.len() + later.len(), known);
    let moment = Moment::read("2026-05-10").expect("a date");
    seal::release(&ledger, 0, &Sealing { judged, idle, ..Sealing::new(moment, "engineer-1") }).text()
}

/// Rule and grade of what is found in the released slide with other texts.
fn found(machine: &str, more: &str, release: &str) -> Vec<(String, Grade)> {
    let files = [("machine.kdl", machine), ("more.kdl", more), ("records.kdl", RECORDS), ("release.kdl", release)];
    let judged = judge(&files, &[]);
    let told = judged.findings.iter().filter(|finding| finding.conceded.is_none());
    told.map(|finding| (finding.rule.as_str().to_string(), finding.grade)).collect()
}

#[test]
fn a_rule_that_came_after_the_seal_only_observes() {
    let asked = found(MACHINE, LOOSEN, &released(&[]));
    let open: Vec<&str> =
        asked.iter().filter(|(_, grade)| *grade == Grade::Outstanding).map(|(rule, _)| rule.as_str()).collect();
    assert!(!open.is_empty() && asked.contains(&("release-incomplete".into(), Grade::Nonconformity)), "{asked:?}");
    let mut later = open.clone();
    later.sort_unstable();
    later.dedup();
    let observed = found(MACHINE, LOOSEN, &released(&later));
    assert!(observed.iter().all(|(_, grade)| *grade == Grade::Observation), "{observed:?}");
    for rule in later {
        assert!(observed.iter().any(|(of, _)| of == rule), "{rule}: {observed:?}");
    }
}

#[test]
fn what_was_judged_for_the_seal_and_no_longer_is_is_broken() {
    let at = MACHINE.find(" range=").expect("a gauge says its range");
    let end = MACHINE[at + 1..].find([' ', '\n', '{']).map_or(MACHINE.len(), |end| at + 1 + end);
    let machine = format!("{}{}", &MACHINE[..at], &MACHINE[end..]);
    let told = found(&machine, "", &released(&[]));
    assert!(told.contains(&("gauge-range".into(), Grade::NotJudged)), "{told:?}");
    assert!(told.contains(&("release-incomplete".into(), Grade::Nonconformity)), "{told:?}");
    let told = found(&machine, "", &released(&["gauge-range"]));
    assert!(told.contains(&("gauge-range".into(), Grade::Observation)), "{told:?}");
    assert!(!told.iter().any(|(rule, _)| rule == "release-incomplete"), "{told:?}");
}

/// Whoever forges a release leaves out of its table what would speak against it.
#[test]
fn what_is_wrong_with_the_release_itself_is_never_only_observed() {
    let stated = "shop \"Slip 2\" { person planner-1 { may release }; rulebook { signed-release is=required reason=\"for the customer\" }; ";
    let machine = MACHINE.replacen("shop \"Slip 2\" {", stated, 1);
    assert_ne!(machine, MACHINE);
    let own = ["person-unpermitted", "release-altered", "release-self", "release-unsigned"];
    let release = released(&own).replace("by=engineer-1", "by=fitter-2");
    let with = |release: &str| {
        found(&machine.replacen("person planner-1", "person fitter-2; person planner-1", 1), "", release)
    };
    for rule in own {
        assert!(with(&release).contains(&(rule.into(), Grade::Nonconformity)), "{rule}: {:?}", with(&release));
    }
}

#[test]
fn the_table_says_how_many_of_what() {
    let text = released(&[]);
    assert!(text.contains("judged gap-range conforms=1 not-required=1\n"), "{text}");
    // Declared not applicable by the office.
    assert!(text.contains("judged straightness-range not-required=1 not-applicable=1\n"), "{text}");
    // There is one axis, and nothing about the text is asked of a release.
    assert!(!text.contains("unknown-node") && text.contains("idle "), "{text}");
}
