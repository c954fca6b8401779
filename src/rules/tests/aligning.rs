//! What is read while a rail is set is judged by one rule alone: every record of readings in the examples of the rules is
//! called aligning, and nothing else may be found than without it.
//!
//! Nothing here is from outside: the same ledgers are judged with those records and without them.

use crate::finding::{Finding, Grade};
use crate::rules::{self, RuleGroup};
use crate::testing::judge;
use crate::text::{ReadLimits, read};

/// The text with its inspections and surveys called aligning, and without them; nothing where it has none.
fn called_aligning(text: &str) -> Option<(String, String)> {
    let document = read(text.to_owned(), &ReadLimits::default()).document;
    let (mut aligning, mut without) = (text.to_owned(), text.to_owned());
    let nodes: Vec<_> = document.nodes().filter(|node| node.is("inspect") || node.is("survey")).collect();
    for node in nodes.iter().rev() {
        let whole = node.span().range();
        without.replace_range(whole.clone(), "");
        match node.prop("stage") {
            Some(stage) => aligning.replace_range(stage.span().range(), "stage=aligning"),
            None => aligning.insert_str(node.head().range().end, " stage=aligning"),
        }
    }
    (!nodes.is_empty()).then_some((aligning, without))
}

/// What is found by rules about work, readings and the description.
fn found(text: &str) -> Vec<String> {
    let judged = judge(&[("machine.kdl", text)], &[]);
    let of_work = |finding: &&Finding| {
        let group = rules::rule(finding.rule).map(|rule| rule.group);
        let work =
            matches!(group, Some(RuleGroup::Layout | RuleGroup::Fitting | RuleGroup::Inspection | RuleGroup::Gap));
        work && finding.rule.as_str() != "survey-out-of-place" && finding.grade != Grade::NotJudged
    };
    let said = |it: &Finding| format!("{} {}: {}", it.rule, it.address, it.message);
    let mut all: Vec<String> = judged.findings.iter().filter(of_work).map(said).collect();
    all.sort();
    all
}

#[test]
fn what_is_read_while_a_rail_is_set_is_judged_by_nothing() {
    let (mut wrong, mut readings) = (Vec::new(), 0);
    for rule in rules::all() {
        for text in [rule.wrong, rule.right] {
            let Some((aligning, without)) = called_aligning(text) else { continue };
            readings += 1;
            let (with, without) = (found(&aligning), found(&without));
            if with != without {
                let new: Vec<&String> = with.iter().filter(|it| !without.contains(it)).collect();
                let gone: Vec<&String> = without.iter().filter(|it| !with.contains(it)).collect();
                wrong.push(format!("{}: found with it {new:?}, without it {gone:?}", rule.name));
            }
        }
    }
    assert!(readings > 60, "{readings} examples with readings");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
