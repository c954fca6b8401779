//! Findings and papers of the example ledgers, of the rules' own examples, of random machines, and of all of them with
//! small mistakes at random.

use std::fs;
use std::path::{Path, PathBuf};

use wayledger::format::Style;
use wayledger::lint::{self, Judged};

use super::Kept;
use super::edits::{Texts, edited};
use crate::common::faults::{Case, Fault, library};
use crate::common::judge;
use crate::common::machines::{Dice, Size, machine};
use crate::fuzz::lint::{papers, pieces};
use crate::injection::fields;

fn judged(texts: &Texts) -> Judged {
    let files: Vec<(&str, &str)> = texts.files.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    judge(&files, &[&texts.shop])
}

fn rules() -> impl Iterator<Item = Texts> {
    lint::rules()
        .flat_map(|rule| [rule.wrong, rule.right])
        .map(|text| Texts { shop: String::new(), files: vec![("machine.kdl".into(), text.into())] })
}

/// The ledgers in a folder of the examples, in the order of their names.
fn examples(folder: &str) -> impl Iterator<Item = Texts> {
    let top = Path::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers").join(folder);
    let sorted = |folder: &Path| {
        let mut all: Vec<PathBuf> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
        all.sort();
        all
    };
    let shop = fs::read_to_string(top.join("shop.kdl")).unwrap_or_default();
    let folders = sorted(&top).into_iter().filter(|path| path.is_dir());
    folders.map(move |folder| {
        let files = sorted(&folder).into_iter().filter(|path| path.extension().is_some_and(|end| end == "kdl"));
        let name = |path: &Path| path.file_name().unwrap().to_str().unwrap().to_string();
        let (shops, mut files): (Vec<_>, Vec<_>) = files
            .map(|path| (name(&path), fs::read_to_string(&path).unwrap()))
            .partition(|(name, _)| name == "shop.kdl");
        files.sort_by_key(|(name, _)| name != "machine.kdl");
        Texts { shop: shops.into_iter().map(|(_, text)| text).next().unwrap_or(shop.clone()), files }
    })
}

fn random() -> impl Iterator<Item = Texts> {
    (1..=4)
        .map(|seed| machine(seed, &Size::default()))
        .map(|written| Texts { shop: written.shop, files: written.files })
}

/// Random machines with a fault of the library each.
fn faulty() -> impl Iterator<Item = Texts> {
    let broken = |seed: u64, fault: &Fault| {
        let written = machine(seed, &Size::default());
        let mut case = Case::new(&written.shop, &written.files, Dice::new(seed));
        case.apply(fault).then(|| {
            let mut files: Vec<(String, String)> =
                case.pages.texts().map(|(name, text)| (name.to_string(), text)).collect();
            let shop = files.remove(files.iter().position(|(name, _)| name == "shop.kdl").expect("there is one")).1;
            Texts { shop, files }
        })
    };
    library().into_iter().flat_map(move |fault| (10..13).filter_map(move |seed| broken(seed, fault)))
}

fn findings(texts: impl Iterator<Item = Texts>, mistakes: usize, page: &str) {
    let mut kept = Kept::default();
    for texts in texts {
        let mut dice = texts.dice();
        for number in 0..=mistakes {
            let judged = if number == 0 { judged(&texts) } else { judged(&edited(&texts, &mut dice)) };
            let told: serde_json::Value =
                serde_json::from_str(&pieces("json", &judged, Style::default()).concat()).unwrap();
            for finding in told["findings"].as_array().unwrap() {
                kept.add(finding["rule"].as_str().unwrap(), &finding.to_string());
            }
        }
    }
    kept.check(page);
}

#[test]
fn the_rules_examples_are_judged_as_before() {
    findings(rules(), 60, "rules");
}

#[test]
fn the_example_ledgers_are_judged_as_before() {
    findings(examples("faults"), 30, "faults");
    findings(examples("boatyard"), 60, "boatyard");
}

#[test]
fn random_machines_are_judged_as_before() {
    findings(random(), 25, "machines");
    findings(faulty(), 0, "faulty");
}

/// Each place of the language with each word that may stand there: what the model holds then.
#[test]
fn every_word_of_the_language_is_understood_as_before() {
    let mut kept = Kept::default();
    for field in fields::all() {
        for text in fields::stated(&field) {
            let Judged { ledger, .. } = judge(&[("machine.kdl", &text)], &[]);
            let understood =
                format!("{:?}\n{:?}\n{:?}\n{:?}", ledger.shop, ledger.machine, ledger.rulebook, ledger.records);
            let top = field.name();
            kept.add(top.split(['/', ' ']).next().unwrap_or_default(), &understood);
        }
    }
    kept.check("words");
}

#[test]
fn the_papers_are_as_before() {
    let mut kept = Kept::default();
    for texts in examples("boatyard").chain(examples("faults")).chain(rules().step_by(2)) {
        for texts in [texts.clone(), edited(&texts, &mut texts.dice())] {
            for (kind, said) in papers(&judged(&texts)) {
                kept.add(kind, &said);
            }
        }
    }
    for text in fields::all().iter().step_by(3).flat_map(|field| fields::stated(field).into_iter().take(1)) {
        for (kind, said) in papers(&judge(&[("machine.kdl", &text)], &[])) {
            kept.add(kind, &said);
        }
    }
    kept.check("papers");
}

/// A kept fingerprint holds nothing of what is not said: most rules must have been asked to speak.
#[test]
fn most_rules_speak_here() {
    let pages = ["rules", "faults", "boatyard", "machines"];
    let text: String = pages
        .map(|page| {
            let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("tests/it/kept/{page}.txt"));
            fs::read_to_string(path).unwrap()
        })
        .concat();
    let silent: Vec<&str> =
        lint::rules().map(|rule| rule.name.as_str()).filter(|name| !text.contains(&format!("{name}: "))).collect();
    assert_eq!(silent, [""; 0]);
}
