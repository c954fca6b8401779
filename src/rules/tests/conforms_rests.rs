//! What conforms needs its facts: where the fact that a verdict rests on is taken away, the subject no longer conforms.
//!
//! The judge anew is the check from outside: nothing of what named the fact is asked.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use crate::finding::Place;
use crate::judging::{lint::lint, what_if};
use crate::ledger::Ledger;
use crate::rules::judge::verdicts;
use crate::rules::{Case, Subject, Verdict};
use crate::world::ledgers::find_all;
use crate::world::{self, Disk};

use crate::testing::today;

/// Rules whose subjects may go on conforming by another fact of the same record or description, each with the reason. An
/// earlier record of the same kind may show the same everywhere.
const SHOWN_BY_ANOTHER: &[(&str, &str)] = &[
    ("beam-unused", "a beam has more than one piece that lies under rails"),
    ("block-implausible", "of a block the length is held too, beside its ratings"),
    ("block-place", "the blocks that are left keep apart too"),
    ("bolt-off-hole", "a rail has more than one support whose bolts meet its holes"),
    ("calibration-untraced", "the calibration before it names its certificate too"),
    ("carrier-implausible", "of reach and travel the one that is left is such as there are"),
    ("described-after", "a record has more than one row that the description was there before"),
    ("end-unmarked", "without the lots the match marks stand on both ends"),
    ("fastener-implausible", "a fastener has more than one window"),
    ("instrument-implausible", "an instrument states more than two values that fit together"),
    ("joint-meeting", "the blocks that are left meet no two joints at once either"),
    ("joint-over-seam", "the pieces that are left have no seam under the joint either"),
    ("joint-stagger", "the joints that are left keep apart too"),
    ("leaf-implausible", "the stock has more than one leaf"),
    ("not-described", "an axis has more than one rail, and a rail more than one segment"),
    ("parts-mixed", "without the marks the lots of two ends show that they belong together"),
    ("place-off-axis", "a rail has more than one support that lies on it"),
    ("rated-life", "the blocks that are left last long enough"),
    ("readings-copied", "the record of the force that is left is no copy either"),
    ("reason-wordless", "more than one line gives its reason in words"),
    ("shim-at-widest", "the gap is widest at more than one station"),
    ("snug-window", "a rail has more than one snug torque"),
    ("static-safety", "the blocks that are left carry it safely too"),
    ("support-overlap", "a rail has more than one support"),
    ("torque-window", "a rail has more than one full torque"),
];

/// The three example machines, as they are read with their shop file.
fn boatyard() -> Vec<Ledger> {
    let top = Path::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers");
    let disk = Disk::at(&top).expect("the examples are there");
    let found = find_all(&disk, &[world::Path("boatyard".into())]).expect("the examples can be listed").found;
    let mut all = Vec::new();
    lint(&disk, &found, today(), |one| all.extend((!one.is_shop).then_some(one.ledger)));
    all
}

/// A subject by what is written of it: numbers change where one of several is taken away, and places do not.
fn written(ledger: &Ledger, subject: Subject) -> String {
    let machine = &ledger.machine;
    let rail = |id| machine.rail_address(id);
    match subject {
        Subject::Machine => String::new(),
        Subject::Axis(axis) => machine.axes[axis].name.to_string(),
        Subject::Pair(pair) => pair.map(rail).join(" "),
        Subject::Rail(id) => rail(id),
        Subject::Segment(id, index) => format!("{} {:?}", rail(id), machine.rail(id).segments[index].place),
        // The joint is where the later segment begins, with the earlier one before it.
        Subject::Joint(id, index) => {
            let rail = machine.rail(id);
            let before = rail.joints[index].before;
            format!("{:?} {:?}", rail.segments[before].place, rail.segments[before + 1].place)
        }
        Subject::Support(id, index) => format!("{} {}", rail(id), machine.rail(id).supports[index].name),
        Subject::Record(index) => format!("{:?}", ledger.records[index].place),
        Subject::Instrument(number) => {
            ledger.shop.instruments().nth(number).map_or(String::new(), |it| it.name().to_string())
        }
    }
}

/// The verdicts of a ledger by rule and subject.
fn said(ledger: &Ledger) -> BTreeMap<(&'static str, String), Verdict> {
    let all = verdicts(&Case::new(ledger, today())).into_iter();
    all.map(|(rule, subject, it)| ((rule.as_str(), written(ledger, subject)), it)).collect()
}

/// The property that a place stands in, else the node.
fn fact(ledger: &Ledger, place: Place) -> Place {
    let document = &ledger.sources.get(place.source).document;
    let node = document.node_at(place.span.start as usize).expect("a fact stands in a node");
    let within = |span: crate::text::Span| span.start <= place.span.start && place.span.end <= span.end;
    let property = node.entries().find(|entry| entry.name().is_some() && within(entry.span()));
    Place { source: place.source, span: property.map_or(node.span(), |entry| entry.span()) }
}

/// The record that a place stands in, or what else stands at the top of its file.
fn record(ledger: &Ledger, place: Place) -> (&str, Place) {
    let path = ledger.sources.get(place.source).document.path_to(place.span.start as usize);
    let node = path.first().expect("a fact stands in a node");
    (node.name(), Place { source: place.source, span: node.span() })
}

/// Whether two facts stand in two records of one kind.
fn in_two_records(ledger: &Ledger, one: Place, other: Place) -> bool {
    let ((name, one), (other_name, other)) = (record(ledger, one), record(ledger, other));
    name == other_name && one != other && !matches!(name, "machine" | "shop")
}

#[test]
fn what_conforms_no_longer_does_without_the_fact_that_it_rests_on() {
    let (mut changed, mut still) = (0, BTreeMap::<&str, Vec<String>>::new());
    for ledger in boatyard() {
        let before = said(&ledger);
        let mut facts: BTreeMap<Place, Vec<&(&str, String)>> = BTreeMap::new();
        for (key, verdict) in &before {
            if let Verdict::Conforms(place) = verdict {
                facts.entry(fact(&ledger, *place)).or_default().push(key);
            }
        }
        for (place, keys) in &facts {
            let after = said(&what_if::without(&ledger, [*place]));
            for key in keys {
                match after.get(*key) {
                    Some(Verdict::Conforms(other)) => {
                        assert_ne!(fact(&ledger, *other), *place, "{key:?} rests on what is not there");
                        if in_two_records(&ledger, *place, *other) {
                            continue;
                        }
                        let text = ledger.sources.text(*place).lines().next().unwrap_or_default();
                        still.entry(key.0).or_default().push(format!("{}: {} `{text}`", ledger.folder, key.1));
                    }
                    _ => changed += 1,
                }
            }
        }
    }
    let excepted: BTreeSet<&str> = SHOWN_BY_ANOTHER.iter().map(|(rule, _)| *rule).collect();
    let needless: Vec<_> = excepted.iter().filter(|rule| !still.contains_key(*rule)).collect();
    assert!(needless.is_empty(), "excepted for nothing: {needless:?}");
    still.retain(|rule, _| !excepted.contains(rule));
    assert!(still.is_empty(), "conform without what they rest on ({changed} do not): {still:#?}");
    assert!(changed > 300, "{changed}");
}
