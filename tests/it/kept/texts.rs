//! What the reader makes of texts that went wrong at random: faults with their words, labels and help, and what is
//! understood of the rest.

use wayledger::kdl::{Document, ReadLimits, canonical, read_bytes};

use super::Kept;
use crate::common::machines::Dice;
use crate::common::pieces::PIECES;

const TEXTS: [&str; 6] = [
    "machine m {\n    axis X {\n        rail a beam=left { segment 600; segment 900 serial=\"A 1\" }\n    }\n}\n",
    "a 1 2.50 -3 (mm)4 (\"in\")5 x=1 \"y z\"=#true z=#null { b; c \"d\" }\n/- e 1\nf /-g h /-i=1 {}\n",
    "r #\"raw \"x\" text\"# ##\"more\"##\nl \"\"\"\n    one\n      two \\\n    three\n    \"\"\" k=#\"\"\"\n  raw\n  \"\"\"#\n",
    "n 0x1f 0b101 0o17 1_000 1e3 -1.5E-2 #inf #-inf #nan\ns \"\\u{b5}\\n\\t\\\\ \\s\" µm \"ü\"\n",
    "/* one /* two */ three */ a // rest\nb \\ // on\n  c; d; e {\n    f { g { h } }\n}\n",
    "fasten X.a date=\"2026-04-14\" by=fitter-2 {\n    at S1 10.5 10.5\n    at J1 10.4 10.6 10.5 10.5\n    clicked S2..S5\n}\n",
];

/// One to three changes by characters.
fn broken(text: &str, dice: &mut Dice) -> String {
    let mut chars: Vec<char> = text.chars().collect();
    for _ in 0..dice.roll(1..=3) {
        let at = dice.roll(0..=chars.len() as i64) as usize;
        let end = (at + dice.roll(0..=4) as usize).min(chars.len());
        match dice.roll(0..=4) {
            0 => drop(chars.drain(at..end)),
            1 => chars.truncate(end),
            _ => drop(chars.splice(at..end.min(at + 1), dice.pick(&PIECES).chars())),
        }
    }
    chars.into_iter().collect()
}

/// Every node with all its places.
fn understood(document: &Document) -> String {
    let mut out = String::new();
    for index in 0..document.len() {
        let Some(node) = document.node(index) else { continue };
        let places = (node.name_span(), node.head(), node.ty(), node.block(), node.depth());
        out += &format!("{node:?} {places:?}\n");
        for entry in node.entries() {
            let places = (entry.span(), entry.name_span(), entry.ty(), entry.value_span());
            out +=
                &format!("  {:?} {:?} {:?} {places:?} {}\n", entry.name(), entry.raw(), entry.value(), entry.broken());
        }
    }
    out
}

#[test]
fn broken_texts_are_read_as_before() {
    let mut kept = Kept::default();
    let mut dice = Dice::new(0x7465_7874);
    for text in TEXTS {
        for _ in 0..700 {
            let text = broken(text, &mut dice);
            let small = ReadLimits { items: 3, depth: 2, ..ReadLimits::default() };
            let read = read_bytes(text.clone().into_bytes(), &small);
            kept.add("(small limits)", &format!("{:?} {}", read.faults, understood(&read.document)));
            let read = read_bytes(text.clone().into_bytes(), &ReadLimits::default());
            for fault in &read.faults {
                let kind = format!("{:?}", fault.kind);
                let kind = kind.split([' ', '(', '{']).next().unwrap_or_default();
                let at = read.document.place(fault.span.start);
                kept.add(
                    kind,
                    &format!("{at:?} {:?} {} {} {:?}", fault.span, fault.message(), fault.help(), fault.also),
                );
            }
            kept.add("(canonical)", &canonical(&read.document));
            kept.add("(understood)", &understood(&read.document));
        }
    }
    for text in TEXTS {
        for at in 0..text.len() {
            let bytes = [&text.as_bytes()[..at], &[0xff], &text.as_bytes()[at..]].concat();
            kept.add("(not UTF-8)", &format!("{:?}", read_bytes(bytes, &ReadLimits::default()).faults));
        }
    }
    kept.check("texts");
}
