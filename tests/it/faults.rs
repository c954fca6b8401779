//! The fault ledgers: each holds exactly the findings that comments in it announce.
//!
//! A comment `// finds: joint-step` stands at the end of the line where the finding points. `// finds in all: none`
//! need not be said: what is not announced must not be found.

use std::collections::BTreeMap;
use std::path::Path;

use wayledger::files::{self, Disk, find_all};
use wayledger::lint::{Finding, Grade, Judged, Locator, RuleGroup, lint, rules};

use crate::common::today;

const MARK: &str = "// finds:";

/// The ledgers and shop files of a folder of examples, judged.
fn judged(folder: &str) -> Vec<Judged> {
    let top = Path::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers");
    let disk = Disk::at(&top).expect("the examples are there");
    let found = find_all(&disk, &[files::Path(folder.into())]).expect("the examples can be listed").found;
    let mut all = Vec::new();
    lint(&disk, &found, today(), |one| all.push(one));
    all.retain(|one| !one.is_shop || !one.findings.is_empty());
    all
}

/// For each ledger: what its comments announce and what was found, as `file:line rule`.
fn compare(folder: &str) -> BTreeMap<String, (Vec<String>, Vec<String>)> {
    let mut all = BTreeMap::new();
    for judged in judged(folder) {
        let mut announced = Vec::new();
        for (_, source) in judged.ledger.sources.iter() {
            for (number, line) in source.document.text().lines().enumerate() {
                for rule in line.split(MARK).skip(1) {
                    announced.push(format!("{}:{} {}", source.path, number + 1, rule.trim()));
                }
            }
        }
        let locator = Locator::new(&judged.ledger.sources);
        let mut findings: Vec<String> = judged
            .findings
            .iter()
            // A small ledger describes little, and nothing says all that it leaves out.
            .filter(|finding| finding.grade != Grade::NotJudged)
            .map(|finding| {
                let at = locator.locate(finding.at.place);
                format!("{}:{} {}", at.file, at.line, finding.rule)
            })
            .collect();
        announced.sort();
        findings.sort();
        all.insert(judged.path.0.clone(), (announced, findings));
    }
    all
}

#[test]
fn each_fault_ledger_has_exactly_its_finding() {
    let all = compare("faults");
    let mut wrong = Vec::new();
    for (ledger, (announced, findings)) in &all {
        if announced != findings {
            wrong.push(format!("{ledger}\n  announced {announced:#?}\n  found {findings:#?}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_rule_has_a_fault_ledger() {
    let all = compare("faults");
    let mut missing = Vec::new();
    // One state has no history.
    for rule in rules().filter(|rule| rule.group != RuleGroup::History) {
        let shown = all.iter().any(|(ledger, (announced, _))| {
            ledger.ends_with(&format!("/{}", rule.name))
                && announced.iter().any(|line| line.ends_with(rule.name.as_str()))
        });
        if !shown {
            missing.push(rule.name);
        }
    }
    assert!(missing.is_empty(), "without a fault ledger: {missing:?}");
}

#[test]
fn the_boatyard_is_clean() {
    for (ledger, (_, findings)) in compare("boatyard") {
        match ledger.rsplit('/').next() {
            Some("mast-router") => {}
            // Its one finding is accepted by a concession.
            Some("plank-planer") => assert_eq!(findings.len(), 1, "{findings:#?}"),
            _ => assert!(findings.is_empty(), "{ledger}: {findings:#?}"),
        }
    }
}

#[test]
fn the_plank_planer_is_released_under_a_concession() {
    let planer = judged("boatyard/plank-planer").remove(0);
    assert!(planer.findings.iter().all(|finding| finding.conceded.is_some()), "{:#?}", planer.findings);
    assert!(planer.ledger.records.iter().any(|record| record.kind == "release"));
    assert!(planer.ledger.records.iter().any(|record| record.kind == "service"));
}

#[test]
fn the_mast_router_has_only_outstanding_items() {
    let findings = judged("boatyard/mast-router").remove(0).findings;
    assert!(!findings.is_empty());
    let declared = |finding: &&Finding| finding.grade == Grade::NotJudged && finding.conceded.is_some();
    assert!(findings.iter().all(|finding| finding.grade == Grade::Outstanding || declared(&finding)), "{findings:#?}");
}
