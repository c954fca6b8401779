//! Every message that the examples, the faults and the mistakes bring about is plain English: a number agrees with its noun
//! and its verb, no name is empty, no number is a raw float, no word stands twice.

use std::collections::BTreeSet;
use std::path::Path;

use rayon::prelude::*;
use wayledger::files::{self, Disk, find_all};
use wayledger::lint::{Finding, Judged, lint, rules};

use crate::common::fixes::judge as judge_files;
use crate::common::{judge, today};
use crate::papers_in_english::faults;
use crate::{hand_mistakes, mistakes};

/// All that a finding says, each in a line.
fn said(finding: &Finding) -> Vec<String> {
    let mut said = vec![finding.message.clone(), finding.next.clone()];
    said.extend(std::iter::once(&finding.at).chain(&finding.also).map(|label| label.text.clone()));
    said.extend(finding.limit.iter().flat_map(|limit| [limit.text.clone(), limit.source.clone()]));
    said.extend(finding.found.map(|found| found.to_string()));
    said.extend(finding.to_hold.clone());
    said.extend(finding.fix.iter().map(|fix| fix.title.clone()));
    said
}

/// What is said of the examples, the faults, the examples of the rules, and all mistakes.
fn all_said() -> BTreeSet<String> {
    let disk = Disk::at(Path::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers")).expect("the examples");
    let found =
        find_all(&disk, &[files::Path("boatyard".into()), files::Path("faults".into())]).expect("ledgers").found;
    let mut all = BTreeSet::new();
    let mut take = |judged: Judged| all.extend(judged.findings.iter().flat_map(said));
    lint(&disk, &found, today(), &mut take);
    for rule in rules() {
        take(judge(&[("machine.kdl", rule.wrong)], &[]));
        take(judge(&[("machine.kdl", rule.right)], &[]));
    }
    let by_hand = hand_mistakes::mistaken().into_iter().chain(mistakes::mistaken().into_iter().map(|it| it.1));
    let by_hand: Vec<BTreeSet<String>> = by_hand
        .collect::<Vec<_>>()
        .par_iter()
        .map(|files| {
            let mut all = BTreeSet::new();
            judge_files(files, |judged| all.extend(judged.findings.iter().flat_map(said)));
            all
        })
        .collect();
    all.extend(by_hand.into_iter().flatten());
    all
}

#[test]
fn no_message_has_a_fault_of_grammar() {
    let all = all_said();
    assert!(all.len() > 1000, "{}", all.len());
    let wrong: Vec<String> = all.iter().flat_map(|said| faults(said)).collect();
    assert!(wrong.is_empty(), "{} are wrong:\n{}", wrong.len(), wrong.join("\n"));
}
