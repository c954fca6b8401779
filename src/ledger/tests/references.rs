//! Every part of the language that cites something by its name, as the schema says with `ref=`: an unknown name written
//! there is found, and a slip of the finger is told what was probably meant.

use std::collections::{BTreeMap, BTreeSet};

use crate::finding::Finding;
use crate::language::schema::{Refers, language};
use crate::text::Span;

use crate::testing::cited::{Cited, LEDGER, cited_in, of_language};
use crate::testing::lint_text;

/// What is found at a node, or in it, once a name is written instead of another.
fn with(cited: &Cited, name: &str) -> Vec<Finding> {
    let mut text = LEDGER.to_owned();
    text.replace_range(cited.written.range(), name);
    let grown = name.len() as i64 - cited.written.len() as i64;
    let node = Span { start: cited.node.start, end: (i64::from(cited.node.end) + grown) as u32 };
    let at_node = |finding: &Finding| {
        let at = finding.at.place.span;
        node.start <= at.start && at.end <= node.end
    };
    lint_text(&text).into_iter().filter(at_node).collect()
}

/// How the finding of an unknown name begins, by the rule that finds it. A rule's name is none of the description, and
/// what is withdrawn or lifted need not be described any more.
fn expected(refers: Refers, path: &str) -> (&'static str, &'static str) {
    match refers {
        Refers::Rule if path.starts_with("void") => ("unknown-reference", "there is no record `concession slide.port"),
        Refers::Rule if path.contains("not-applicable") => ("not-applicable-unfit", "there is no rule `"),
        Refers::Address if path.contains("not-applicable") => ("not-applicable-unfit", "there is nothing at `"),
        Refers::Rule => ("concession-idle", "there is no rule `"),
        Refers::Record => ("unknown-reference", "there is no record `"),
        Refers::Hold => ("lift-idle", ""),
        _ => ("unknown-reference", "there is no "),
    }
}

#[test]
fn the_ledger_cites_every_sort_of_name_in_every_place() {
    let mut known = BTreeMap::new();
    language().top.iter().for_each(|shape| of_language(shape, "", &mut known));
    let here: BTreeMap<String, Refers> = cited_in(LEDGER).iter().map(|it| (it.path.clone(), it.refers)).collect();
    // A design has the rows of a machine, in a file of its own; that of which a machine is built is in `tests/it/designs.rs`.
    let elsewhere = |path: &str| path.starts_with("design / ") || path.starts_with("machine / built-to");
    let asked: BTreeMap<String, Refers> = known.clone().into_iter().filter(|(path, _)| !elsewhere(path)).collect();
    assert_eq!(here, asked, "each part with `ref=` stands in the ledger of this test");
    let sorts: BTreeSet<&str> = known.values().map(|refers| refers.word()).collect();
    assert_eq!(sorts, Refers::ALL.map(Refers::word).into_iter().collect(), "each sort is cited somewhere");
    for refers in Refers::ALL {
        assert_eq!(Refers::named(refers.word()), Some(refers));
    }
}

#[test]
fn names_as_they_are_described_are_found_nowhere() {
    for cited in cited_in(LEDGER) {
        let (rule, _) = expected(cited.refers, &cited.path);
        let found: Vec<Finding> = with(&cited, &cited.name).into_iter().filter(|it| it.rule.as_str() == rule).collect();
        assert!(found.is_empty(), "{} at {}: {found:#?}", cited.name, cited.path);
    }
}

#[test]
fn an_unknown_name_is_found_wherever_a_name_is_cited() {
    for cited in cited_in(LEDGER) {
        let (rule, begins) = expected(cited.refers, &cited.path);
        // Of an address each part in turn.
        let parts: Vec<&str> = cited.name.split('.').collect();
        let is_address = matches!(
            cited.refers,
            Refers::Axis
                | Refers::Rail
                | Refers::Joint
                | Refers::Part
                | Refers::Address
                | Refers::Record
                | Refers::Hold
        );
        for at in 0..if is_address { parts.len() } else { 1 } {
            let unknown = match is_address {
                true => [&parts[..at], &["Zz9"], &parts[at + 1..]].concat().join("."),
                false => "Zz9".into(),
            };
            let found = with(&cited, &unknown);
            let is_it = |finding: &Finding| finding.rule.as_str() == rule && finding.message.starts_with(begins);
            assert!(found.iter().any(is_it), "{unknown} at {}: {found:#?}", cited.path);
        }
    }
}

/// Of those whose known names are listed: a row of supports tells its two ends alone.
#[test]
fn a_slip_is_told_what_was_meant() {
    let mut told = 0;
    for cited in cited_in(LEDGER) {
        if matches!(cited.refers, Refers::Record | Refers::Hold | Refers::RowPlace) || cited.path.starts_with("void") {
            continue;
        }
        let slip = match cited.name.split_once("..") {
            Some((first, last)) => format!("{first}x..{last}"),
            None => format!("{}x", cited.name),
        };
        let found = with(&cited, &slip);
        let (rule, begins) = expected(cited.refers, &cited.path);
        let it = found.iter().find(|finding| finding.rule.as_str() == rule && finding.message.starts_with(begins));
        let next = it.map_or("", |finding| finding.next.as_str());
        assert!(next.starts_with("did you mean `"), "{slip} at {}: {found:#?}", cited.path);
        told += 1;
    }
    assert!(told > 30, "{told}");
}

/// A part has one spelling: what else reads as its number names nothing.
#[test]
fn a_part_is_named_by_its_number_as_it_is_written() {
    let text = "machine m { axis X { rail a { segment 1200; segment 1200; supports S first=200 pitch=200 count=4 } } }";
    let ledger = crate::testing::judge(&[("machine.kdl", text)], &[]).ledger;
    let names = |part: &str| crate::ledger::Target::find(&ledger.machine, &format!("X.a.{part}")).is_ok();
    for part in ["seg1", "seg2", "J1", "S1", "S4"] {
        assert!(names(part), "{part}");
    }
    for part in ["seg02", "seg+2", "seg0", "seg3", "seg", "J01", "J+1", "J0", "J2", "S01", "S+1", "S5"] {
        assert!(!names(part), "{part}");
    }
}
