//! Every part of the language that cites something by its name, as the schema says with `ref=`: an unknown name written
//! there is found, and a slip of the finger is told what was probably meant.

use std::collections::{BTreeMap, BTreeSet};

use crate::finding::Finding;
use crate::language::schema::{EntryShape, FurtherArguments, NodeShape, Refers, language};
use crate::text::{Document, EntryRef, NodeRef, ReadLimits, Span, read};

use crate::testing::lint_text;

/// Each of those parts at least once.
const LEDGER: &str = r#"
machine m {
    not-applicable joint-end slide.port date="2026-04-02" by=e reason="no cut ends"
    corrected slide.port.S1 was=210 date="2026-04-02" by=e reason="measured again"
    axis slide {
        run from=0 to=2402
        beam front { piece 2402 }
        rail port beam=front profile=R20 rail-bolt=cap-screw base-bolt=cap-screw {
            segment 1200
            segment 1200
            supports S first=200 pitch=200 count=11 { omit S6 }
            joint-support J1 at=1201 length=200
        }
        rail starboard follows=port shims=widen { segment 1200; segment 1200; supports S first=200 pitch=400 count=6 }
        carriage length=400 { block port at=-100 type=B20; track port y=-300 }
    }
}
shop {
    not-applicable parts-mixed date="2026-04-02" by=e reason="one lot"
    gauge DI-14 kind=dial-indicator graduation=0.001 permissible-error=0.002 plus=outward
    gauge FG-12 kind=force-gauge
    wrench TW-22 kind=indicating least=4 most=20
    doubt DI-14 date="2026-04-20" by=e from="2026-04-19" reason="fell"
    profile R20 hole-pitch=60
    block B20 length=78
    fastener cap-screw thread=M6
}
fasten slide.port date="2026-04-10" by=f wrench=TW-22 stage=full { clicked S1 S3..S5; at S2 10.5 10.5 }
fasten slide.port date="2026-04-10T10:00" by=f stage=full setting=10.5 { missed S1 bolt=1; turned S2 bolt=1 }
inspect slide.port.J1 date="2026-04-11" by=i gauge=DI-14 { UL 0 -> 0.001 }
survey gap slide.starboard date="2026-04-12" by=i gauge=DI-14 stage=as-fitted { at S1 0; at S2 0; closure S1 0 }
loosen slide.port.S1 date="2026-04-13" by=f { at S1 }
shim slide.starboard date="2026-04-14" by=f { at S2 0.02 }
running-force slide date="2026-04-15" by=i gauge=FG-12 { at 600 14 }
attach slide.port.J1 date="2026-04-15" by=i file="a.jpg" sha256="0"
concession run-length slide.port date="2026-04-16" by=e accepts=3 reason="short"
concession run-length slide.port date="2026-04-16T09:00" by=e accepts=4 reason="short"
void concession slide.port of="2026-04-16T09:00" rule=run-length date="2026-04-17" by=e reason="typed"
hold slide.port.J1 date="2026-04-17" by=i reason="read twice"
lift slide.port.J1 date="2026-04-18" by=i disposition=rework reason="read again"
release slide date="2026-04-19" by=e
service slide date="2026-04-20" by=f task=lubricate
"#;

/// A part that cites something, where it stands in the ledger.
struct Cited {
    /// As `fasten / at: support`.
    path: String,
    refers: Refers,
    written: Span,
    /// The name itself.
    name: String,
    /// The node that it stands in, all of it.
    node: Span,
}

fn document() -> Document {
    let read = read(LEDGER.to_owned(), &ReadLimits::default());
    assert_eq!(read.faults, []);
    read.document
}

fn path(above: &str, shape: &NodeShape) -> String {
    if above.is_empty() { shape.name.clone() } else { format!("{above} / {}", shape.name) }
}

/// The parts of the language that cite something.
fn of_language(shape: &NodeShape, above: &str, all: &mut BTreeMap<String, Refers>) {
    let path = path(above, shape);
    let rest = match &shape.rest {
        FurtherArguments::Many { part, .. } => Some(part),
        _ => None,
    };
    for part in shape.args.iter().chain(rest).chain(&shape.props) {
        all.extend(part.refers.map(|refers| (format!("{path}: {}", part.name), refers)));
    }
    shape.children.iter().for_each(|child| of_language(child, &path, all));
}

/// The parts of the ledger that cite something.
fn of_ledger(shape: &NodeShape, node: NodeRef, above: &str, all: &mut Vec<Cited>) {
    let path = path(above, shape);
    let mut cite = |part: &EntryShape, entry: EntryRef| {
        if let Some(refers) = part.refers {
            let name = entry.raw().to_owned();
            let path = format!("{path}: {}", part.name);
            all.push(Cited { path, refers, written: entry.value_span(), name, node: node.span() });
        }
    };
    for (index, arg) in node.args().enumerate() {
        match (shape.args.get(index), &shape.rest) {
            (Some(part), _) | (None, FurtherArguments::Many { part, .. }) => cite(part, arg),
            _ => {}
        }
    }
    for entry in node.entries() {
        if let Some(part) = entry.name().and_then(|name| shape.prop(name)) {
            cite(part, entry);
        }
    }
    for child in node.children() {
        if let Some(below) = shape.child(child.name()) {
            of_ledger(below, child, &path, all);
        }
    }
}

fn all_cited() -> Vec<Cited> {
    let mut all = Vec::new();
    for node in document().nodes() {
        of_ledger(language().node(node.name()).expect("a known node"), node, "", &mut all);
    }
    all
}

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
    let here: BTreeMap<String, Refers> = all_cited().iter().map(|it| (it.path.clone(), it.refers)).collect();
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
    for cited in all_cited() {
        let (rule, _) = expected(cited.refers, &cited.path);
        let found: Vec<Finding> = with(&cited, &cited.name).into_iter().filter(|it| it.rule.as_str() == rule).collect();
        assert!(found.is_empty(), "{} at {}: {found:#?}", cited.name, cited.path);
    }
}

#[test]
fn an_unknown_name_is_found_wherever_a_name_is_cited() {
    for cited in all_cited() {
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
    for cited in all_cited() {
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
