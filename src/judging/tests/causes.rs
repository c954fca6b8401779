//! The causes of a finding are causes: where the text of one is changed or taken away, the finding is another one or gone.
//!
//! The judge anew is the check from outside: nothing of what fills the causes is asked.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use crate::finding::{Finding, Place};
use crate::judging::lint::{Judged, lint};
use crate::judging::what_if;
use crate::rules::{self, Ground};
use crate::world::ledgers::find_all;
use crate::world::{self, Disk};

use crate::testing::{judge, today};

/// Rules some of whose causes neither another digit nor the want of their node puts right, each with the reason. The
/// causes of it that do are held to that all the same.
const PUT_RIGHT_BY_ADDING: &[(&str, &str, &str)] =
    &[("release-incomplete", "rail a", "a rail without a segment is outstanding until segments are added to it")];

/// What the fault ledgers do not show, since each has one finding alone.
const MORE: &[&str] = &[
    r#"
shop { fastener rb-1 thread=M8 class="12.9" head=socket-cap into=steel { friction 0.10 0.14 } }
machine m { axis X { rail a rail-bolt=rb-1 { segment 600; support S1 at=300 } } }
"#,
    r#"
machine m { axis X { rail a tighten=along { segment 600; supports S first=100 pitch=200 count=3 } } }
fasten X.a date="2026-04-14" by=fitter-2 stage=full setting=10.5 { clicked S1 S3 S2 }
"#,
];

/// The fault ledgers and those beside them, judged.
fn faults() -> Vec<Judged> {
    let top = Path::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers");
    let disk = Disk::at(&top).expect("the examples are there");
    let found = find_all(&disk, &[world::Path("faults".into())]).expect("the examples can be listed").found;
    let mut all = Vec::new();
    lint(&disk, &found, today(), |one| all.push(one));
    all.retain(|one| !one.is_shop);
    all.extend(MORE.iter().map(|text| judge(&[("machine.kdl", text)], &[])));
    all
}

/// Whether a finding is among others, as far as it says what is wrong, how much and by which limit.
fn is_among(finding: &Finding, others: &[Finding]) -> bool {
    others.iter().any(|other| {
        (other.rule, other.grade, &other.address, &other.message, other.found, &other.limit.as_ref().map(|it| &it.text))
            == (
                finding.rule,
                finding.grade,
                &finding.address,
                &finding.message,
                finding.found,
                &finding.limit.as_ref().map(|it| &it.text),
            )
    })
}

/// The text of a file with each digit at a place changed in turn.
fn changed(judged: &Judged, place: Place) -> impl Iterator<Item = String> + '_ {
    let text = judged.ledger.sources.get(place.source).document.text();
    let digits = place.span.range().filter(|at| text.as_bytes()[*at].is_ascii_digit());
    digits.flat_map(move |at| {
        [1, 5, 9].map(|more| {
            let digit = char::from(b'0' + (text.as_bytes()[at] - b'0' + more) % 10);
            format!("{}{digit}{}", &text[..at], &text[at + 1..])
        })
    })
}

/// Whether a finding is still there whatever is done to a place: each digit changed, or its node taken away.
fn stays(judged: &Judged, finding: &Finding, place: Place) -> bool {
    let source = judged.ledger.sources.get(place.source);
    let mut changed = changed(judged, place);
    if changed.any(|text| {
        let now = what_if::with_text(&judged.ledger, &source.path, text, today());
        now.ledger.not_judged.is_none() && !is_among(finding, &now.findings)
    }) {
        return false;
    }
    let node = source.document.node_at(place.span.start as usize).expect("a cause stands in a node");
    let without = what_if::without(&judged.ledger, [Place { source: place.source, span: node.span() }]);
    is_among(finding, &crate::judging::lint::judge_ledger(without, today()).findings)
}

#[test]
fn a_finding_goes_or_changes_with_each_of_its_causes() {
    let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
    let (mut wrong, mut excepted) = (Vec::new(), BTreeSet::new());
    let examples = rules::all().map(|rule| judge(&[("machine.kdl", rule.wrong)], &[]));
    for judged in faults().into_iter().chain(examples) {
        for finding in &judged.findings {
            for cause in &finding.causes {
                *seen.entry(finding.rule.as_str()).or_default() += 1;
                if stays(&judged, finding, *cause) {
                    let text = judged.ledger.sources.text(*cause);
                    let by_adding = |it: &&(&str, &str, &str)| it.0 == finding.rule.as_str() && it.1 == text;
                    if let Some(found) = PUT_RIGHT_BY_ADDING.iter().find(by_adding) {
                        excepted.insert(found.0);
                        continue;
                    }
                    wrong.push(format!("{} {}: `{text}`", judged.path.0, finding.rule));
                }
            }
        }
    }
    assert_eq!(wrong, Vec::<String>::new());
    assert_eq!(excepted.len(), PUT_RIGHT_BY_ADDING.len(), "excepted for nothing");
    assert!(seen.values().sum::<usize>() > 70, "{seen:?}");
}

#[test]
fn what_a_rule_follows_from_is_seen() {
    let all = faults();
    let seen: BTreeSet<&str> = all
        .iter()
        .flat_map(|judged| &judged.findings)
        .filter(|finding| {
            let limit = finding.limit.as_ref().and_then(|limit| limit.set_at);
            finding.causes.iter().any(|cause| Some(*cause) != limit)
        })
        .map(|finding| finding.rule.as_str())
        .collect();
    let said = rules::all().filter(|rule| !rule.follows_from.is_empty()).map(|rule| rule.name.as_str());
    let unseen: Vec<&str> = said.filter(|rule| !seen.contains(rule)).collect();
    assert_eq!(unseen, Vec::<&str>::new());
    assert!(rules::all().any(|rule| rule.follows_from.contains(&Ground::Instrument)));
}

#[test]
fn findings_of_one_mistake_share_its_place() {
    let judged = judge(
        &[(
            "machine.kdl",
            r#"
shop { gauge DI-6 graduation=0.02 { calibrated "2026-01-12" due="2027-01-12" } }
machine m { axis X { rail a { segment 1200; segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 gauge=DI-6 { light none; UL 0 -> 0.02; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }
inspect X.a.J2 date="2026-04-15" by=inspector-1 gauge=DI-6 { light none; UL 0 -> 0; UR 0 -> 0.02; LL 0 -> 0; LR 0 -> 0 }
"#,
        )],
        &[],
    );
    let coarse = judged.findings.iter().filter(|finding| finding.rule.as_str() == "gauge-graduation");
    let causes: Vec<Vec<&str>> =
        coarse.map(|it| it.causes.iter().map(|cause| judged.ledger.sources.text(*cause)).collect()).collect();
    assert_eq!(causes, vec![vec!["DI-6", "graduation=0.02"]; 2]);
    // What stands at its own place only follows from nothing else.
    let judged = judge(&[("machine.kdl", "machine m { axis X { rail a { segment } } }")], &[]);
    assert!(!judged.findings.is_empty() && judged.findings.iter().all(|it| it.causes.is_empty()));
}
