//! Every rule is documented, named by the convention, and does what its two examples say.

use std::collections::BTreeSet;

use crate::language::rulebook::ENTRIES;
use crate::rules::{self, RuleGroup, pages};

use crate::testing::lint_text;

/// The rules of the text; an example of another rule must not break any of them.
fn is_about_text(name: &str) -> bool {
    rules::all().any(|rule| rule.name.as_str() == name && rule.group == RuleGroup::Text)
}

#[test]
fn every_rule_is_documented_and_well_named() {
    let mut seen = BTreeSet::new();
    for rule in rules::all() {
        let name = rule.name.as_str();
        assert!(seen.insert(name), "{name} is listed twice");
        assert!(name.chars().all(|c| c.is_ascii_lowercase() || c == '-'), "{name}");
        for (part, text) in [("what", rule.what), ("why", rule.why), ("source", rule.source)] {
            assert!(text.len() > 5, "{name} has no {part}");
        }
        for limit in rule.limits {
            assert!(ENTRIES[*limit as usize].limit == *limit, "{name} cites {limit}, which the rulebook does not have");
        }
        assert!(rule.holds.iter().all(|limit| rule.limits.contains(limit)), "{name} holds what it does not name");
        let page = pages::page(rule);
        assert!(
            page.contains(rule.wrong.trim().lines().next().unwrap_or("?").trim()),
            "{name}: its page lacks its example"
        );
    }
}

#[test]
fn every_wrong_example_is_found_and_every_right_one_is_not() {
    let mut faults = Vec::new();
    // Those of history are held against a state before, in the tests of `judging`.
    for rule in rules::all().filter(|rule| rule.group != RuleGroup::History) {
        let wrong = lint_text(rule.wrong);
        if !wrong.iter().any(|finding| finding.rule == rule.name) {
            faults.push(format!("{}: its wrong example is not found; found {:?}", rule.name, rules(&wrong)));
        }
        let right = lint_text(rule.right);
        if right.iter().any(|finding| finding.rule == rule.name) {
            faults.push(format!("{}: its right example is found fault with: {right:?}", rule.name));
        }
        for (which, findings) in [("wrong", &wrong), ("right", &right)] {
            for finding in
                findings.iter().filter(|finding| finding.rule != rule.name && is_about_text(finding.rule.as_str()))
            {
                faults.push(format!("{}: the text of its {which} example is at fault: {}", rule.name, finding.message));
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn every_finding_says_what_to_do_next() {
    for rule in rules::all() {
        for finding in lint_text(rule.wrong) {
            assert!(!finding.message.is_empty() && !finding.next.is_empty(), "{finding:?}");
        }
    }
}

fn rules(findings: &[crate::finding::Finding]) -> Vec<&str> {
    findings.iter().map(|finding| finding.rule.as_str()).collect()
}
