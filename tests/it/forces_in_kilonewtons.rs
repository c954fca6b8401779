//! A plain force is in newtons. One that makes sense in kilonewtons alone is told, for every word of the language that takes a
//! force: the words come from the schema.
//!
//! The figures are a usual block of a rail 20 mm wide and a gauge for running forces, from memory of makers' tables.

use std::collections::BTreeSet;

use wayledger::amounts::Dimension;
use wayledger::lint::Finding;
use wayledger::schema::{EntryShape, FurtherArguments, NodeShape, Type, language};

use crate::common::lint_text;

const TEXT: &str = r#"
shop {
    block B20 length=78 C=18100 C0=29500 preload=900
    gauge FG-1 kind=force-gauge graduation=0.1 range=50 permissible-error=0.3 repeatability=0.1 {
        calibrated "2026-01-12" due="2027-01-12" certificate="C-1"
        calibrated "2026-09-12" certificate="C-2" result=failed error=0.5
    }
}
machine m {
    axis X {
        rail a { segment 2400 }
        carriage length=400 most-block-load=2000 {
            block a at=-100 type=B20
            block a at=100 type=B20
            load 1400
        }
    }
}
running-force X date="2026-05-04" by=inspector-1 gauge=FG-1 { at 600 14; at 900 15 }
"#;

/// Each word with the text that holds it, the same in kilonewtons without their unit, and the rule that tells it.
const TOLD: &[(&str, &str, &str, &str)] = &[
    ("shop block C=", " C=18100", " C=18.1", "block-implausible"),
    ("shop block C0=", " C0=29500", " C0=29.5", "block-implausible"),
    ("shop block preload=", "preload=900", "preload=0.9", "block-implausible"),
    ("machine axis carriage most-block-load=", "most-block-load=2000", "most-block-load=2", "block-implausible"),
    ("machine axis carriage load <force>", "load 1400", "load 1.4", "block-implausible"),
    ("shop gauge graduation=", "graduation=0.1", "graduation=0.0001", "instrument-implausible"),
    ("shop gauge range=", "range=50", "range=0.05", "instrument-implausible"),
    ("shop gauge permissible-error=", "permissible-error=0.3", "permissible-error=0.0003", "instrument-implausible"),
    ("running-force at <forces>", "at 600 14; at 900 15", "at 600 0.014; at 900 0.015", "gauge-graduation"),
];

/// The words of which no number says that it is too small, each with the reason.
const NOT_TOLD: &[(&str, &str)] = &[
    ("shop gauge repeatability=", "a smaller one narrows nothing: the graduation is the floor of what is uncertain"),
    (
        "shop block seal-drag=",
        "nothing is judged by it: the force that was read stands beside it, and one too small shows there",
    ),
    ("shop gauge calibrated error=", "what a calibration found is bounded by nothing else that is stated"),
];

/// The words that take a force, by their place in the language.
fn of_force(shape: &NodeShape, above: &str, all: &mut BTreeSet<String>) {
    let path = format!("{above}{}", shape.name);
    let is_force = |part: &&EntryShape| match part.ty {
        Type::Quantity(dimension) => dimension == Dimension::Force,
        Type::OneOf(dimensions) => dimensions.contains(&Dimension::Force),
        _ => false,
    };
    let rest = match &shape.rest {
        FurtherArguments::Many { part, .. } => Some(part),
        _ => None,
    };
    all.extend(shape.args.iter().chain(rest).filter(is_force).map(|part| format!("{path} <{}>", part.name)));
    all.extend(shape.props.iter().filter(is_force).map(|part| format!("{path} {}=", part.name)));
    // A limit has no default that it could be held against, and an axis of a design is read as one of a machine.
    for child in
        shape.children.iter().filter(|child| child.name != "rulebook" && (path != "design" || child.name != "axis"))
    {
        of_force(child, &format!("{path} "), all);
    }
}

/// What is found, without places: `rule: message`.
fn said(text: &str) -> Vec<String> {
    let line = |it: &Finding| format!("{}: {}", it.rule, it.message);
    lint_text(text).iter().map(line).collect()
}

#[test]
fn every_force_that_makes_sense_in_kilonewtons_alone_is_told() {
    let mut words = BTreeSet::new();
    language().top.iter().for_each(|shape| of_force(shape, "", &mut words));
    let listed = TOLD.iter().map(|(word, ..)| *word).chain(NOT_TOLD.iter().map(|(word, _)| *word));
    assert_eq!(words, listed.map(String::from).collect(), "each word that takes a force is tried here");

    let usual = said(TEXT);
    for rule in TOLD.iter().map(|(.., rule)| *rule) {
        assert!(!usual.iter().any(|it| it.starts_with(rule)), "{rule}: {usual:?}");
    }
    for (word, newtons, kilonewtons, rule) in TOLD {
        let text = TEXT.replace(newtons, kilonewtons);
        assert_ne!(text, TEXT, "{word}");
        assert!(said(&text).iter().any(|it| it.starts_with(rule)), "{word}: {:?}", said(&text));
    }
}

#[test]
fn a_rating_is_told_with_what_it_would_be_in_kilonewtons() {
    let of = |from: &str, to: &str| -> Vec<(String, String)> {
        let all = lint_text(&TEXT.replace(from, to)).into_iter().filter(|it| it.rule.as_str() == "block-implausible");
        all.map(|it| (it.message, it.next)).collect()
    };
    // Both in kilonewtons fit each other, and are told all the same.
    let both = of(" C=18100 C0=29500 preload=900", " C=18.1 C0=29.5");
    let message =
        |called: &str, newtons: &str| format!("{called} of {newtons} N is less than any block bears, at block `B20`");
    let next = |called: &str, number: &str| {
        format!("read the maker's table again; if it is in kilonewtons, write {called}=(kN){number}")
    };
    assert_eq!(both, [(message("C", "18.1"), next("C", "18.1")), (message("C0", "29.5"), next("C0", "29.5"))]);
    // 100 N is the least that is taken for a rating; 0.0003 of 18,100 N are 5.43 N.
    assert_eq!(
        (
            of(" C=18100 C0=29500 preload=900", " C=100 C0=100").len(),
            of(" C=18100 C0=29500 preload=900", " C=99.9 C0=100").len()
        ),
        (0, 1)
    );
    assert_eq!(
        (of("load 1400", "load 5.43").len(), of("load 1400", "load 5.42").len(), of("load 1400", "load 0").len()),
        (0, 1, 0)
    );
}
