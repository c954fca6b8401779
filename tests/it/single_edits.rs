//! One line or one value of a ledger is changed at a time, and the lint must say so. What it does not say is listed with its
//! reason: nothing else may be silent.
//!
//! The edits are made here from the text alone. What the lint says is its grade, rule, address, message, number and next
//! step of every finding, *not judged* included, and whether it is conceded.

#[path = "single_edits/absence.rs"]
mod absence;
#[path = "single_edits/classes.rs"]
mod classes;
#[path = "single_edits/edits.rs"]
mod edits;
#[path = "single_edits/judged.rs"]
mod judged;

use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;

use classes::{CLASSES, ORDER_FREE, class_of};
use judged::Shop;

use crate::common::machines::Size;
use crate::common::{share, whole};

/// At least so many of a thousand edits that are no order-free swaps are told.
const TOLD_PER_THOUSAND: usize = 920;

/// The three machines of the boatyard with their shop file, and three small ones made at random.
fn shops() -> Vec<Shop> {
    let small = Size { rails: 1..=2, segments: 2..=3, supports: 5..=9 };
    std::iter::once(Shop::boatyard()).chain((0..3).map(|seed| Shop::random(seed, &small))).collect()
}

#[test]
#[expect(clippy::print_stderr, reason = "a test has nowhere else to tell its figures")]
fn every_edit_is_told_or_silent_for_a_listed_reason() {
    let (mut made, mut silent) = (0, BTreeMap::new());
    let (mut unlisted, mut met) = (Vec::new(), BTreeSet::new());
    for shop in shops() {
        let all: Vec<_> = share(shop.edits(), 4).collect();
        made += all.len();
        let is_silent: Vec<bool> = all.par_iter().map(|tried| shop.is_silent(tried)).collect();
        for (tried, _) in all.iter().zip(is_silent).filter(|(_, is_silent)| *is_silent) {
            let edit = &tried.edit;
            match class_of(edit.kind, &edit.word) {
                Some(class) => {
                    *silent.entry(class.name).or_insert(0) += 1;
                    met.insert((edit.kind, edit.word.clone()));
                }
                None => unlisted.push(format!(
                    "{:?} {}: {}:{} `{}` to `{}`",
                    edit.kind,
                    edit.word,
                    shop.file(tried),
                    edit.line,
                    edit.was.lines().next().unwrap_or_default(),
                    edit.now.lines().next().unwrap_or_default(),
                )),
            }
        }
    }
    assert!(unlisted.is_empty(), "{} silent edits of no class:\n{}", unlisted.len(), unlisted.join("\n"));

    let listed =
        CLASSES.iter().flat_map(|class| class.edits).flat_map(|(kind, words)| words.iter().map(|it| (*kind, *it)));
    let needless: Vec<_> = listed.filter(|(kind, word)| whole() && !met.contains(&(*kind, word.to_string()))).collect();
    assert!(needless.is_empty(), "listed as silent, and nothing silent is of it: {needless:?}");

    let order_free = silent[ORDER_FREE];
    let of = made - order_free;
    let told = made - silent.values().sum::<usize>();
    let mut counts: Vec<(&str, usize)> = silent.into_iter().collect();
    counts.sort_by_key(|(name, count)| (std::cmp::Reverse(*count), *name));
    for (name, count) in &counts {
        eprintln!("{count:5} {name}");
    }
    eprintln!("{made} edits, {order_free} of them order-free swaps; of the other {of} are told {told}");
    assert!(told * 1000 >= TOLD_PER_THOUSAND * of, "only {told} of {of} edits are told");
    assert!(made > if whole() { 5000 } else { 1250 }, "only {made} edits were made");
}

#[test]
fn each_class_says_why_and_no_edit_is_of_two() {
    let mut seen = BTreeSet::new();
    for class in CLASSES {
        assert!(class.reason.split(' ').count() > 4, "{} says no reason", class.name);
        for (kind, words) in class.edits {
            for word in *words {
                assert!(seen.insert((*kind, *word)), "{kind:?} {word} is of two classes");
            }
        }
    }
}

/// What an edit makes of a text, written out by hand.
#[test]
fn the_edits_of_a_text() {
    let text = "m {\n    a S1 0.05 x=(um)12\n    a S2 -3; b\n}\n";
    let read = wayledger::kdl::read(text.into(), &wayledger::kdl::ReadLimits::default());
    let all = edits::all(&read.document);
    let made: Vec<String> =
        all.iter().map(|it| format!("{:?} {}: {}", it.kind, it.word, it.text.replace('\n', "|"))).collect();
    assert_eq!(
        made,
        [
            "TakenAway m: ||||",
            "TakenAway m a: m {|    |    a S2 -3; b|}|",
            "Tenfold m a: m {|    a S1 0.5 x=(um)12|    a S2 -3; b|}|",
            "Tenth m a: m {|    a S1 0.005 x=(um)12|    a S2 -3; b|}|",
            "Negated m a: m {|    a S1 -0.05 x=(um)12|    a S2 -3; b|}|",
            "TakenAway m a x=: m {|    a S1 0.05 |    a S2 -3; b|}|",
            "Tenfold m a x=: m {|    a S1 0.05 x=(um)120|    a S2 -3; b|}|",
            "Tenth m a x=: m {|    a S1 0.05 x=(um)1.2|    a S2 -3; b|}|",
            "Negated m a x=: m {|    a S1 0.05 x=(um)-12|    a S2 -3; b|}|",
            "Doubled m a: m {|    a S1 0.05 x=(um)12; a S1 0.05 x=(um)13|    a S2 -3; b|}|",
            "Swapped m a: m {|    a S2 -3|    a S1 0.05 x=(um)12; b|}|",
            "TakenAway m a: m {|    a S1 0.05 x=(um)12|     b|}|",
            "Tenfold m a: m {|    a S1 0.05 x=(um)12|    a S2 -30; b|}|",
            "Tenth m a: m {|    a S1 0.05 x=(um)12|    a S2 -0.3; b|}|",
            "Negated m a: m {|    a S1 0.05 x=(um)12|    a S2 3; b|}|",
            "Doubled m a: m {|    a S1 0.05 x=(um)12|    a S2 -3; a S2 -4; b|}|",
            "TakenAway m b: m {|    a S1 0.05 x=(um)12|    a S2 -3; |}|",
        ]
    );
}
