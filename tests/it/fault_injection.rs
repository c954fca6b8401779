//! Breaks facts of conforming ledgers at random, and expects exactly the findings that follow, where they follow, and
//! nothing else. What must follow is worked out here, from the text and the described machine, never by the rules.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use wayledger::lint::{Grade, rules};

use crate::common::faults::{Case, library};
use crate::common::machines::{Dice, Size, machine};

/// The gantry of the example ledgers, but for what its carriage's motion is judged by: that changes with nearly every reading and
/// place, and nobody works it out by hand. `motion_command` and the tests of the model hold it.
fn gantry(dice: Dice) -> Case {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers/boatyard");
    let read = |path: &Path| std::fs::read_to_string(path).expect("the example can be read");
    let list = std::fs::read_dir(folder.join("hull-gantry")).expect("the example is there");
    let names = list.map(|entry| entry.expect("an entry").file_name().into_string().expect("a plain name"));
    let mut names: Vec<String> = names.filter(|name| name != "machine.kdl" && name.ends_with(".kdl")).collect();
    names.sort();
    names.insert(0, "machine.kdl".into());
    let files = names.into_iter().map(|name| {
        let text = read(&folder.join("hull-gantry").join(&name));
        (name, without_motion(&text))
    });
    Case::new(&read(&folder.join("shop.kdl")), &files.collect::<Vec<_>>(), dice)
}

/// A text without the surveys upright, the limit of the height and those of the tool.
fn without_motion(text: &str) -> String {
    let mut left = String::new();
    let mut upright = false;
    for line in text.lines() {
        upright |= line.starts_with("survey ") && line.contains("plus=up");
        if !upright && !line.trim_start().starts_with("height-range ") {
            left += &line.replace(" most-side=0.15 most-height=0.1", "");
            left.push('\n');
        }
        upright &= line != "}";
    }
    left
}

fn random(seed: u64) -> Case {
    let written = machine(seed, &Size::default());
    Case::new(&written.shop, &written.files, Dice::new(seed ^ 0xfa17))
}

/// Runs the lint over a case with its faults and says what differs.
fn check(case: &Case, which: &str) -> Result<(), String> {
    let (announced, found) = case.pages.compare();
    if announced == found {
        return Ok(());
    }
    let missing: Vec<&String> = announced.iter().filter(|line| !found.contains(line)).collect();
    let surplus: Vec<&String> = found.iter().filter(|line| !announced.contains(line)).collect();
    Err(format!("{which} with {:?}\n  not found: {missing:#?}\n  not announced: {surplus:#?}", case.applied))
}

fn assert_all(results: impl Iterator<Item = Result<(), String>>) {
    let wrong: Vec<String> = results.filter_map(Result::err).collect();
    assert!(wrong.is_empty(), "{} cases are wrong:\n{}", wrong.len(), wrong[..wrong.len().min(12)].join("\n"));
}

#[test]
fn one_fault_in_the_gantry() {
    let mut made = 0;
    let mut results = Vec::new();
    for fault in library() {
        for seed in 0..6 {
            let mut case = gantry(Dice::new(seed));
            if case.apply(fault) {
                made += 1;
                results.push(check(&case, "the gantry"));
            }
        }
    }
    assert_all(results.into_iter());
    assert!(made > 6 * library().len() / 2, "only {made} faults could be made");
}

#[test]
fn one_fault_in_random_machines() {
    let mut made: BTreeMap<&str, usize> = library().iter().map(|fault| (fault.name, 0)).collect();
    let mut results = Vec::new();
    for (number, fault) in library().into_iter().enumerate() {
        for seed in 0..60 {
            let seed = 1000 * number as u64 + seed;
            let mut case = random(seed);
            if made[fault.name] < 8 && case.apply(fault) {
                *made.entry(fault.name).or_default() += 1;
                results.push(check(&case, &format!("machine {seed}")));
            }
        }
    }
    assert_all(results.into_iter());
    let rare: Vec<_> = made.iter().filter(|(_, made)| **made < 5).collect();
    assert!(rare.is_empty(), "faults that could seldom be made: {rare:?}");
}

#[test]
fn several_faults_at_once() {
    let library = library();
    let mut counts = BTreeSet::new();
    let mut results = Vec::new();
    for seed in 0..120 {
        let mut case = if seed % 4 == 0 { gantry(Dice::new(seed)) } else { random(50_000 + seed) };
        for _ in 0..24 {
            let fault = *case.dice.pick(&library);
            case.apply(fault);
        }
        counts.insert(case.applied.len());
        results.push(check(&case, &format!("case {seed}")));
    }
    assert_all(results.into_iter());
    assert!(counts.contains(&3), "several faults were never made at once: {counts:?}");
}

#[test]
fn every_rule_of_the_main_job_can_be_broken() {
    let broken: BTreeSet<&str> = library().iter().flat_map(|fault| fault.finds).copied().collect();
    let needed = "unreadable unknown-node unknown-property wrong-value wrong-unit missing-part repeated-part \
                  joined-punctuation unknown-reference duplicate-name run-length joint-stagger joint-meeting \
                  joint-over-seam joint-support support-overlap hole-pitch-break bolt-off-hole overtravel \
                  torque-window torque-missing snug-window snug-before-full torque-order light-through-joint \
                  groove-missing light-missing joint-step inspection-stale station-missing survey-stale gap-zero \
                  shim-missing shim-total shim-stock shim-unverified torque-after-shim gap-range date-order \
                  described-after instrument-missing instrument-unsuited gauge-range reading-early survey-closure \
                  survey-temperature step-carrier gauge-calibration segment-stock";
    let missing: Vec<&str> = needed.split_whitespace().filter(|name| !broken.contains(name)).collect();
    assert!(missing.is_empty(), "no fault breaks {missing:?}");
    for name in broken {
        assert!(rules().any(|rule| rule.name.as_str() == name), "there is no rule {name}");
    }
}

/// Rules that ask for something and that nothing left out of a conforming ledger brings about, each with the reason.
const ASKED_OTHERWISE: &[(&str, &str)] = &[
    ("not-described", "a rail without segments has nothing that its records could be about: tests/it/seen.rs"),
    ("repeats-apart", "it asks for what is there to be read again: tests/it/force_repeats.rs"),
    ("hold-in-force", "somebody put a hold on: tests/it/hold.rs"),
    ("void-self", "somebody took a record back: tests/it/taken_back.rs"),
];

/// Whatever can be outstanding is brought about by leaving something out, and then nothing else is told.
#[test]
fn every_rule_that_asks_for_evidence_is_met_by_what_is_left_out() {
    let brought: BTreeSet<&str> = library().iter().flat_map(|fault| fault.finds).copied().collect();
    let asking = rules().filter(|rule| rule.grade == Grade::Outstanding).map(|rule| rule.name.as_str());
    let missing: Vec<&str> = asking.filter(|name| !brought.contains(name)).collect();
    let excepted: Vec<&str> = ASKED_OTHERWISE.iter().map(|(name, _)| *name).collect();
    let as_set = |names: &[&'static str]| names.iter().copied().collect::<BTreeSet<_>>();
    assert_eq!(missing.iter().copied().collect::<BTreeSet<_>>(), as_set(&excepted));
}
