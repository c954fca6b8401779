//! Texts made to exhaust time, memory or the stack. There is no clock here: a reader that fails one of these does not
//! come back. The largest would take hours with a search that is repeated for each mistake.

use crate::text::{FaultKind as K, ParsedText, ReadLimits, read};

fn kinds(text: String) -> Vec<K> {
    let ParsedText { document, faults } = read(text, &ReadLimits::default());
    assert_eq!(document.nodes().count().min(1), usize::from(!document.is_empty()));
    faults.into_iter().map(|fault| fault.kind).collect()
}

#[test]
fn depth() {
    let too_deep = [K::TooDeep { most: 128 }];
    assert_eq!(kinds("a{".repeat(100_000)), too_deep);
    assert_eq!(kinds("a{".repeat(100_000) + &"}".repeat(100_000)), too_deep);
    assert_eq!(kinds("a {\n".repeat(100_000) + &"}\n".repeat(100_000) + "b"), too_deep);
    assert_eq!(kinds("a{".repeat(128) + &"}".repeat(128)), []);
    assert_eq!(kinds("a{".repeat(129) + &"}".repeat(129)), too_deep);
    // One after the other on a node that lies as deep as may be, none calls for a stack of its own.
    let blocks = kinds("a{".repeat(128) + "b" + &"{}".repeat(1_000_000));
    assert!(blocks.contains(&K::TooDeep { most: 128 }) && blocks.contains(&K::SecondBlock));
    // Behind the block that lies too deep everything is read.
    let text = "a{".repeat(129) + "b \"}\" /* } */ #\"}\"# 0,5" + &"}".repeat(129) + "\nlast 0,5";
    assert_eq!(kinds(text.clone()), [K::TooDeep { most: 128 }, K::BadNumber("0,5".into())]);
    let names: Vec<_> =
        read(text, &ReadLimits::default()).document.nodes().map(|node| node.name().to_owned()).collect();
    assert_eq!(names, ["a", "last"]);
}

#[test]
fn left_out_inside_left_out() {
    assert_eq!(kinds("/-a{".repeat(100_000)), [K::TooDeep { most: 128 }]);
    assert_eq!(kinds("/-a{".repeat(128) + &"}".repeat(128)), []);
    assert_eq!(kinds("a /-{".repeat(128) + &"}".repeat(128)), []);
    assert_eq!(kinds("a /-{\n".repeat(50) + "b 0,5\n" + &"}\n".repeat(50)), [K::BadNumber("0,5".into())]);
    assert!(kinds("/-".repeat(1_000_000)).len() > 2_000, "each is marked, up to the limit");
}

#[test]
fn comments() {
    assert_eq!(kinds("/* ".repeat(500_000) + &"*/".repeat(500_000) + " a"), []);
    assert_eq!(kinds("/* ".repeat(500_000)), [K::UnclosedComment]);
    let many = kinds("/*\n".repeat(500_000));
    assert!(many.len() > 1 && many.iter().all(|kind| *kind == K::UnclosedComment));
    assert_eq!(kinds("\\/*".repeat(100_000)).last(), Some(&K::UnclosedComment));
}

#[test]
fn strings() {
    assert_eq!(kinds("a \"x\n".repeat(1_000)), vec![K::UnclosedString; 1_000]);
    let many = kinds("a \"\"\"\n".repeat(100_001));
    assert!(!many.is_empty());
    assert!(!kinds("a #\"\"\"\n".repeat(300_000)).is_empty());
    assert!(!kinds((1..1_000).map(|n| format!("{}\"\"\"\n", "#".repeat(n))).collect()).is_empty());
    assert!(!kinds("#".repeat(5_000_000)).is_empty());
    assert!(!kinds("\"\\".repeat(2_000_000)).is_empty());
}

#[test]
fn size() {
    let million = read("node 1 key=(mm)10.5\n".repeat(1_000_000), &ReadLimits::default());
    assert_eq!((million.faults.len(), million.document.len()), (0, 1_000_000));
    let line = "word ".repeat(1_000_000);
    let read_line = read(line, &ReadLimits::default());
    assert_eq!(read_line.faults, []);
    assert_eq!(read_line.document.nodes().next().map(|node| node.entries().len()), Some(999_999));
    assert_eq!(kinds(format!("a {}", "9".repeat(5_000_000))), []);
    assert_eq!(kinds("a;".repeat(4_100_000)), [K::TooMany { most: 4_000_000 }]);
    assert_eq!(kinds("a ".repeat(4_100_000)), [K::TooMany { most: 4_000_000 }]);
}

#[test]
fn faults() {
    let many = kinds("0,5\n".repeat(1_000_000));
    assert_eq!((many.len(), many.last()), (2_001, Some(&K::TooManyFaults { most: 2_000 })));
    assert_eq!(kinds("}".repeat(1_000_000)).len(), 2_001);
    assert_eq!(kinds("\u{1b}".repeat(1_000_000)), [K::Banned('\u{1b}')]);
    assert_eq!(kinds("\u{1b} ".repeat(1_000_000)).len(), 2_001);
    // Braces to repair all over the place.
    assert!(kinds("a {\n b {\n".repeat(50_000)).len() < 2_002);
    assert_eq!(kinds("a {\n  b {\n    c\n}\n".repeat(100)).len(), 100);
    assert_eq!(kinds("a {\n  b {\n    c\n}\n".repeat(100_000)), [K::TooDeep { most: 128 }]);
}
