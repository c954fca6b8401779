//! Random machines that are planned to conform are clean: the lint finds nothing of any grade in them.

use wayledger::lint::{Grade, Locator};

use crate::common::judge;
use crate::common::machines::{Size, machine};

/// What was found, as `file:line rule address: message`.
fn findings(seed: u64, size: &Size) -> Vec<String> {
    let written = machine(seed, size);
    let files: Vec<(&str, &str)> = written.files.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    let judged = judge(&files, &[&written.shop]);
    let locator = Locator::new(&judged.ledger.sources);
    // What is declared not to apply is no fault.
    let found = judged.findings.iter().filter(|it| it.grade != Grade::NotJudged || it.conceded.is_none());
    let shown = found.map(|finding| {
        let at = locator.locate(finding.at.place);
        format!("{}:{} {} {}: {}", at.file, at.line, finding.rule, finding.address, finding.message)
    });
    shown.collect()
}

#[test]
fn machines_planned_to_conform_are_clean() {
    for seed in 0..300 {
        let found = findings(seed, &Size::default());
        assert!(found.is_empty(), "seed {seed}: {found:#?}");
    }
}

#[test]
fn the_machines_are_of_every_size() {
    let plans: Vec<_> = (0..300).map(|seed| machine(seed, &Size::default()).plan).collect();
    let rails = |n: usize| plans.iter().filter(|plan| plan.rails.len() == n).count();
    let segments = |n: usize| plans.iter().flat_map(|plan| &plan.rails).filter(|rail| rail.segments.len() == n).count();
    for n in 1..=4 {
        assert!(rails(n) > 20, "{} machines of {n} rails", rails(n));
    }
    for n in 1..=6 {
        assert!(segments(n) > 20, "{} rails of {n} segments", segments(n));
    }
    let supports: Vec<usize> = plans.iter().flat_map(|plan| &plan.rails).map(|rail| rail.supports.len()).collect();
    assert!(supports.iter().all(|n| (5..=60).contains(n)), "{supports:?}");
    assert!(supports.iter().any(|n| *n < 10) && supports.iter().any(|n| *n > 50), "{supports:?}");
}

#[test]
fn the_same_seed_gives_the_same_bytes() {
    let (first, second) = (machine(7, &Size::default()), machine(7, &Size::default()));
    assert_eq!((first.shop, first.files), (second.shop, second.files));
}
