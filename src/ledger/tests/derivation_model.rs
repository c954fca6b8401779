//! What nobody types is derived right: positions of segments, joints, seams, holes and the bolts of every support, held
//! against a plain derivation written here that tries every place one by one.
//!
//! The machines are random and odd: other end distances, supports anywhere, bolts stated or not, lengths in inches.

use std::fmt::Write as _;

use crate::ledger::{Ledger, TextFile};
use crate::quantity::Length;
use crate::world::Path;

use crate::testing::machines::{Dice, Kind, Size, machine};

/// A length as it is described: a number of tenths of a millimetre, or of sixteenths of an inch.
#[derive(Clone, Copy, Debug)]
enum Said {
    Tenths(i64),
    Sixteenths(i64),
}

impl Said {
    fn text(self) -> String {
        match self {
            Said::Tenths(n) => format!("{}{}.{}", if n < 0 { "-" } else { "" }, n.abs() / 10, n.abs() % 10),
            // 1/16 = 0.0625
            Said::Sixteenths(n) => format!("(in){}.{:04}", n / 16, n % 16 * 625),
        }
    }

    /// In nanometres; an inch is 25.4 mm by the international yard and pound agreement of 1959.
    fn nm(self) -> i64 {
        match self {
            Said::Tenths(n) => n * 100_000,
            Said::Sixteenths(n) => n * 25_400_000 / 16,
        }
    }
}

fn said(dice: &mut Dice, from: i64, to: i64) -> Said {
    if dice.chance(85) {
        Said::Tenths(dice.roll(from..=to))
    } else {
        Said::Sixteenths(dice.roll(from / 16..=to / 16) + 1)
    }
}

struct Segment {
    length: Said,
    near: Option<Said>,
    far: Option<Said>,
}

struct Support {
    name: String,
    at: i64,
    covers: Option<i64>,
    bolts: Option<Vec<i64>>,
}

/// One rail with all that is said about it.
struct Described {
    text: String,
    from: i64,
    pitch: i64,
    end: Option<i64>,
    edge: i64,
    pieces: Vec<i64>,
    beam_from: i64,
    segments: Vec<Segment>,
    supports: Vec<Support>,
}

fn describe(dice: &mut Dice) -> Described {
    let pitch = Said::Tenths(dice.roll(150..=1200));
    let end = dice.chance(70).then(|| Said::Tenths(dice.roll(50..=900)));
    let edge = dice.chance(70).then(|| Said::Tenths(dice.roll(20..=200)));
    let from = Said::Tenths(*dice.pick(&[0, 0, -3000, 12_345]));
    let segments: Vec<Segment> = (0..dice.roll(1..=6))
        .map(|_| Segment {
            length: said(dice, 2000, 20_000),
            near: dice.chance(30).then(|| said(dice, 10, 1500)),
            far: dice.chance(20).then(|| said(dice, 10, 1500)),
        })
        .collect();
    let total: i64 = segments.iter().map(|segment| segment.length.nm()).sum();
    let pieces: Vec<Said> = (0..dice.roll(1..=5)).map(|_| said(dice, 2000, 30_000)).collect();
    let beam_from = Said::Tenths(*dice.pick(&[0, 0, -500, 777]));

    let mut text = String::new();
    let property =
        |name: &str, said: Option<Said>| said.map_or(String::new(), |said| format!(" {name}={}", said.text()));
    let more = format!("{}{}", property("end-distance", end), property("bolt-edge", edge));
    let _ = writeln!(text, "shop {{ profile P hole-pitch={}{more} }}", pitch.text());
    let _ = writeln!(text, "machine m {{\n axis X {{\n  beam b from={} {{", beam_from.text());
    for piece in &pieces {
        let _ = writeln!(text, "   piece {}", piece.text());
    }
    let _ = writeln!(text, "  }}\n  rail r beam=b profile=P from={} {{", from.text());
    for segment in &segments {
        let (near, far) = (property("near-distance", segment.near), property("far-distance", segment.far));
        let _ = writeln!(text, "   segment {}{near}{far}", segment.length.text());
    }
    let mut supports = Vec::new();
    // A row with places left out.
    let first = said(dice, 500, 4000);
    let step = said(dice, 300, 4000);
    let count = dice.roll(1..=40);
    let covers = dice.chance(80).then(|| said(dice, 200, 4000));
    let gone: Vec<i64> = (1..=count).filter(|_| dice.chance(15)).collect();
    let shown = property("length", covers);
    let _ = write!(text, "   supports S first={} pitch={} count={count}{shown}", first.text(), step.text());
    if gone.is_empty() {
        text.push('\n');
    } else {
        let names: Vec<String> = gone.iter().map(|n| format!("S{n}")).collect();
        let _ = writeln!(text, " {{ omit {} }}", names.join(" "));
    }
    for number in (1..=count).filter(|number| !gone.contains(number)) {
        let at = first.nm() + (number - 1) * step.nm();
        supports.push(Support { name: format!("S{number}"), at, covers: covers.map(Said::nm), bolts: None });
    }
    // Single ones and joint supports, some with their bolts stated.
    let joints = segments.len() as i64 - 1;
    for (node, name) in
        (1..=4).map(|n| ("support", format!("E{n}"))).chain((1..=joints).map(|n| ("joint-support", format!("J{n}"))))
    {
        if dice.chance(30) {
            continue;
        }
        let at = Said::Tenths((from.nm() + dice.roll(0..=total / 100_000) * 100_000) / 100_000);
        let covers = if node == "support" {
            dice.chance(70).then(|| said(dice, 200, 4000))
        } else {
            Some(said(dice, 200, 4000))
        };
        let mut bolts: Vec<Said> = Vec::new();
        if dice.chance(40) {
            bolts = (0..dice.roll(1..=4)).map(|_| Said::Tenths(dice.roll(-900..=900))).collect();
        }
        let _ = write!(text, "   {node} {name} at={}{}", at.text(), property("length", covers));
        if !bolts.is_empty() {
            let offsets: Vec<String> = bolts.iter().map(|offset| offset.text()).collect();
            let _ = write!(text, " {{ bolts {} }}", offsets.join(" "));
        }
        text.push('\n');
        let bolts = (!bolts.is_empty()).then(|| bolts.iter().map(|offset| at.nm() + offset.nm()).collect());
        supports.push(Support { name, at: at.nm(), covers: covers.map(Said::nm), bolts });
    }
    text.push_str("  }\n }\n}\n");
    Described {
        text,
        from: from.nm(),
        pitch: pitch.nm(),
        end: end.map(Said::nm),
        edge: edge.map_or(0, Said::nm),
        pieces: pieces.into_iter().map(Said::nm).collect(),
        beam_from: beam_from.nm(),
        segments,
        supports,
    }
}

/// Holes of a segment that runs from one place to another: walked one pitch at a time.
fn walk(from: i64, to: i64, near: i64, far: Option<i64>, pitch: i64) -> Vec<i64> {
    let mut holes = Vec::new();
    let mut at = from + near;
    while far.map_or(at < to, |far| at <= to - far) {
        holes.push(at);
        at += pitch;
    }
    holes
}

fn ledger(text: &str) -> Ledger {
    let file = TextFile::read(Path("m/machine.kdl".into()), text.as_bytes().to_vec());
    Ledger::new(Path("m".into()), vec![file], &[])
}

#[test]
fn random_machines_are_derived_as_by_hand() {
    let mut odd_bolts = 0;
    for seed in 0..400 {
        let it = describe(&mut Dice::new(seed));
        let ledger = ledger(&it.text);
        assert!(ledger.text_findings.is_empty(), "seed {seed}: {:#?}\n{}", ledger.text_findings, it.text);
        let axis = &ledger.machine.axes[0];
        let rail = &axis.rails[0];

        // Seams: where each piece but the first begins.
        let mut at = it.beam_from;
        let mut seams = Vec::new();
        for piece in &it.pieces {
            seams.push(at);
            at += piece;
        }
        seams.remove(0);
        let derived: Vec<i64> = axis.beams[0].seams.iter().map(|seam| seam.position.nm()).collect();
        assert_eq!(derived, seams, "seed {seed}: seams");

        // Segments and joints.
        let mut at = it.from;
        let mut ends = Vec::new();
        let mut holes: Vec<(i64, usize)> = Vec::new();
        for (index, segment) in it.segments.iter().enumerate() {
            let to = at + segment.length.nm();
            let found = &rail.segments[index];
            assert_eq!((found.from.nm(), found.to.nm()), (at, to), "seed {seed}: segment {index}");
            // Where the first hole of one segment is not said, nothing is known of any.
            let said = it.end.is_some() || it.segments.iter().all(|segment| segment.near.is_some());
            let near = segment.near.map(Said::nm).or(it.end).filter(|_| said);
            let own = near.map_or_else(Vec::new, |near| walk(at, to, near, segment.far.map(Said::nm), it.pitch));
            let derived: Vec<i64> = found.holes.iter().map(|hole| hole.nm()).collect();
            assert_eq!(derived, own, "seed {seed}: holes of segment {index}\n{}", it.text);
            holes.extend(own.into_iter().map(|hole| (hole, index)));
            ends.push(to);
            at = to;
        }
        ends.pop();
        let joints: Vec<i64> = rail.joints.iter().map(|joint| joint.position.nm()).collect();
        assert_eq!(joints, ends, "seed {seed}: joints");
        holes.sort_unstable();

        // Supports with their bolts.
        assert_eq!(rail.supports.len(), it.supports.len(), "seed {seed}: supports");
        assert!(rail.supports.is_sorted_by_key(|support| support.at), "seed {seed}: order of supports");
        for support in &it.supports {
            let index = rail.support(&support.name).unwrap_or_else(|| panic!("seed {seed}: no {}", support.name));
            let found = &rail.supports[index];
            assert_eq!(found.at.nm(), support.at, "seed {seed}: {}", support.name);
            let bolts =
                found.bolts.as_ref().map(|bolts| bolts.iter().map(|bolt| bolt.position.nm()).collect::<Vec<_>>());
            let expected = match (&support.bolts, support.covers) {
                _ if holes.is_empty() => support.bolts.clone(),
                (Some(stated), _) => Some(stated.clone()),
                (None, None) => None,
                (None, Some(covers)) => Some(
                    holes
                        .iter()
                        .map(|(hole, _)| *hole)
                        // A bolt needs its edge distance on either side; twice, for odd lengths.
                        .filter(|hole| 2 * (hole - support.at).abs() <= covers - 2 * it.edge)
                        .collect(),
                ),
            };
            let mut expected = expected;
            if let Some(expected) = &mut expected {
                expected.sort_unstable();
            }
            assert_eq!(bolts, expected, "seed {seed}: bolts of {}\n{}", support.name, it.text);
            for bolt in found.bolts.iter().flatten().filter(|_| !holes.is_empty()) {
                let off = holes.iter().map(|(hole, _)| (hole - bolt.position.nm()).abs()).min().expect("holes");
                assert_eq!(bolt.off, Length(off), "seed {seed}: {}", support.name);
                let (segment, number) = bolt.hole.expect("the nearest hole");
                let hole = rail.segments[segment as usize].holes[number as usize];
                assert_eq!((hole - bolt.position).abs(), Length(off), "seed {seed}: {}", support.name);
                odd_bolts += usize::from(off > 0);
            }
            if let Some(number) = support.name.strip_prefix('J') {
                let joint = number.parse::<usize>().expect("a number") - 1;
                assert_eq!(rail.joints[joint].support, Some(index), "seed {seed}: {}", support.name);
            }
        }
    }
    assert!(odd_bolts > 200, "bolts off their holes were hardly ever seen: {odd_bolts}");
}

/// The planned machines: here each support must hold the bolts that its plan gives it.
#[test]
fn planned_machines_have_the_parts_they_were_planned_with() {
    for seed in 0..100 {
        let written = machine(seed, &Size::default());
        let plan = &written.plan;
        let read = |name: &str, text: &str| TextFile::read(Path(name.into()), text.as_bytes().to_vec());
        let files = written.files.iter().map(|(name, text)| read(&format!("m/{name}"), text)).collect();
        let ledger = Ledger::new(Path("m".into()), files, &[read("shop.kdl", &written.shop)]);
        for (rail, planned) in ledger.machine.axes[0].rails.iter().zip(&plan.rails) {
            let joints: Vec<i64> = rail.joints.iter().map(|joint| joint.position.nm() / 1_000_000).collect();
            assert_eq!(joints, planned.joints(plan.from), "seed {seed}");
            let names: Vec<&str> = rail.supports.iter().map(|support| support.name.as_str()).collect();
            let expected: Vec<&str> = planned.supports.iter().map(|support| support.name.as_str()).collect();
            assert_eq!(names, expected, "seed {seed}");
            for (support, planned) in rail.supports.iter().zip(&planned.supports) {
                assert_eq!(support.bolts.as_ref().map(|bolts| bolts.len()), Some(planned.bolts()), "seed {seed}");
                assert_eq!(support.joint.is_some(), matches!(planned.kind, Kind::Joint(_)), "seed {seed}");
            }
            // Every pitch of the run has its hole, over the joints too.
            let holes: Vec<i64> =
                rail.segments.iter().flat_map(|segment| &segment.holes).map(|hole| hole.nm() / 1_000_000).collect();
            let all: Vec<i64> =
                (0..(plan.to - plan.from) / plan.pitch).map(|n| plan.from + plan.pitch / 2 + n * plan.pitch).collect();
            assert_eq!(holes, all, "seed {seed}");
        }
    }
}
