//! Numbers far beyond any machine are judged or refused, and never bring the program down.
//!
//! Every number of whole ledgers is replaced, one at a time, by extreme ones. Tests are built with overflow checks, so
//! an addition that would run over is a failure here.

use rayon::prelude::*;

use crate::common::lint_text;

const EXTREMES: [&str; 8] = [
    "0",
    "-1",
    "0.000001",
    "1e-9",
    "2305843009213.693951",
    "-2305843009213.693951",
    "1000000000",
    "99999999999999999999999999",
];

/// The places of plain numbers in a text: not inside quotes, names or comments.
fn numbers(text: &str) -> Vec<std::ops::Range<usize>> {
    let bytes = text.as_bytes();
    let mut found = Vec::new();
    let (mut at, mut quoted, mut comment) = (0, false, false);
    while at < bytes.len() {
        let byte = bytes[at];
        quoted ^= byte == b'"' && !comment;
        comment = byte != b'\n' && (comment || !quoted && bytes[at..].starts_with(b"//"));
        let starts = at > 0 && matches!(bytes[at - 1], b' ' | b'=' | b')');
        let number = byte.is_ascii_digit() || byte == b'-' && bytes.get(at + 1).is_some_and(u8::is_ascii_digit);
        if quoted || comment || !starts || !number {
            at += 1;
            continue;
        }
        let end =
            bytes[at..].iter().position(|b| !matches!(b, b'0'..=b'9' | b'.' | b'-')).map_or(bytes.len(), |n| at + n);
        found.push(at..end);
        at = end;
    }
    found
}

#[test]
fn extreme_numbers_never_bring_it_down() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers/faults");
    let mut tried = 0;
    // With limits stated, so that every rule has something to judge.
    let stated = "machine block-saw {
        rulebook {
            expansion most=0.3 reason=\"as agreed\"; static-safety least=20 reason=\"as agreed\"; support-spacing most=480 reason=\"as agreed\"
            segment-length least=100 reason=\"as agreed\"; guard-band most=0.5 reason=\"as agreed\"; stagger least=60 reason=\"as agreed\"
        }";
    for name in ["rated-life", "shim-total", "toe-in"] {
        let read = |file| std::fs::read_to_string(folder.join(name).join(file)).expect("the fault ledger is there");
        let text = format!("{}\n{}", read("machine.kdl"), read("records.kdl"))
            .replace("machine block-saw {", stated)
            .replace("stroke from", "temperature least=10 most=30 fitted=20\n stroke from")
            .replace("C0=", "stiffness=180 C0=");
        let places = numbers(&text);
        assert!(places.len() > 20, "{name} has its numbers");
        tried += places
            .par_iter()
            .map(|place| {
                for extreme in EXTREMES {
                    let hostile = format!("{}{extreme}{}", &text[..place.start], &text[place.end..]);
                    for finding in lint_text(&hostile) {
                        assert!(!finding.message.contains("NaN"), "{}", finding.message);
                    }
                }
                EXTREMES.len()
            })
            .sum::<usize>();
    }
    assert!(tried > 1000, "{tried}");
}
