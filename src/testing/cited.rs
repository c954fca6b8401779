//! A ledger that cites something by its name in every place in which the schema says so with `ref=`.

use std::collections::BTreeMap;

use wayledger::kdl::{EntryRef, NodeRef, ReadLimits, Span, read};
use wayledger::schema::{EntryShape, FurtherArguments, NodeShape, Refers, language};

/// Each of those parts at least once.
pub(crate) const LEDGER: &str = r#"
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
survey straightness slide.port date="2026-04-13" by=i gauge=DI-14 stage=as-fitted { angles from=S1 base=200; at S2 (um.m-1)1 }
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

/// A machine that is built to a design, and the design; what the ledger above does not cite stands here.
pub(crate) const BUILT_TO: &str = "machine m { built-to slide-bridge revision=1 }
shop {
    profile R20 hole-pitch=60
    block B20 length=78
    fastener cap-screw thread=M6
}
";
pub(crate) const DESIGN: &str = "design slide-bridge revision=1 {
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
";

/// A part that cites something, where it stands in the ledger.
pub(crate) struct Cited {
    /// As `fasten / at: support`.
    pub(crate) path: String,
    pub(crate) refers: Refers,
    pub(crate) written: Span,
    /// The name itself.
    pub(crate) name: String,
    /// The node that it stands in, all of it.
    pub(crate) node: Span,
}

fn path(above: &str, shape: &NodeShape) -> String {
    if above.is_empty() { shape.name.clone() } else { format!("{above} / {}", shape.name) }
}

/// The parts of the language that cite something.
pub(crate) fn of_language(shape: &NodeShape, above: &str, all: &mut BTreeMap<String, Refers>) {
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

/// All that a text cites, in its order.
pub(crate) fn cited_in(text: &str) -> Vec<Cited> {
    let read = read(text.to_owned(), &ReadLimits::default());
    assert_eq!(read.faults, []);
    let mut all = Vec::new();
    for node in read.document.nodes() {
        of_ledger(language().node(node.name()).expect("a known node"), node, "", &mut all);
    }
    all
}
