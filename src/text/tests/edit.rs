//! Edits keep every other byte, and a change that would also alter something else is refused.

use crate::text::edit::second_opinion;
use crate::text::{
    Edit, EditError, ParsedText, ReadLimits, Span, append, apply, prove, quote, quoted, read, same_meaning,
};
use proptest::prelude::*;

const LEDGER: &str =
    "// the saw\nmachine saw {\n    station 1 gap=(mm)0.02 // as found\n    station 2 gap=(mm)0.03\n}\n";

fn plain(text: &str) -> ParsedText {
    read(text.to_owned(), &ReadLimits::default())
}

/// An edit of the first place where `old` stands.
fn replace(text: &str, old: &str, new: &str) -> Edit {
    let at = text.find(old).expect("it stands there");
    Edit { span: Span::new(at, at + old.len()), text: new.to_owned() }
}

#[test]
fn edits_are_applied_byte_by_byte() {
    let insert = |at, text: &str| Edit { span: Span::new(at, at), text: text.into() };
    assert_eq!(apply("abc", &[insert(3, "z"), insert(0, "x"), insert(0, "y")]).as_deref(), Ok("xyabcz"));
    assert_eq!(apply("abc", &[Edit { span: Span::new(0, 2), text: "é".into() }, insert(2, "-")]).as_deref(), Ok("é-c"));
    assert_eq!(apply("abc", &[]).as_deref(), Ok("abc"));
    assert_eq!(apply("abc", &[insert(4, "x")]), Err(EditError::OutOfBounds(Span::new(4, 4))));
    assert_eq!(apply("é", &[insert(1, "x")]), Err(EditError::InsideCharacter(Span::new(1, 1))));
    let (a, b) = (Span::new(0, 2), Span::new(1, 3));
    let edits = [Edit { span: b, text: String::new() }, Edit { span: a, text: String::new() }];
    assert_eq!(apply("abc", &edits), Err(EditError::Overlap(a, b)));
}

#[test]
fn a_meant_change_is_proved() {
    let limits = ReadLimits::default();
    let proved = prove(LEDGER, &[replace(LEDGER, "0.02", "0.01")], &limits).expect("a value was changed");
    assert_eq!(proved.document.text(), LEDGER.replace("0.02", "0.01"));
    let proved = prove(LEDGER, &[append(LEDGER, "record 1 by=fitter-2")], &limits).expect("a node was added");
    assert_eq!(proved.document.text(), format!("{LEDGER}record 1 by=fitter-2\n"));
    let edits = [replace(LEDGER, "    station 1 gap=(mm)0.02 // as found\n", ""), replace(LEDGER, "saw {", "mill {")];
    // The name is covered with what stands behind it; nothing else of the node is.
    prove(LEDGER, &edits, &limits).expect("a node was taken out, another one renamed");
    let after = Edit { span: Span::new(LEDGER.len() - 2, LEDGER.len() - 2), text: "    station 3\n".into() };
    prove(LEDGER, &[after], &limits).expect("a node was added inside");
}

#[test]
fn a_change_that_alters_something_else_is_refused() {
    let limits = ReadLimits::default();
    let refused = |edit: Edit| prove(LEDGER, &[edit], &limits).expect_err("it alters something else");
    // Left out a whole node, opened a comment, added a second property of that name, changed the depth.
    let before_station = LEDGER.find("station 2").expect("it stands there");
    let insert = |at: usize, text: &str| Edit { span: Span::new(at, at), text: text.into() };
    for (edit, what) in [
        (insert(before_station, "/-"), "node `station`"),
        (insert(before_station, "// "), "node `station`"),
        (insert(LEDGER.find(" // as").expect("it stands there"), " gap=9"), "property `gap` of `station`"),
        (insert(before_station, "extra {}; /- "), "node `station`"),
        (insert(before_station, "1 "), "node `station`"),
    ] {
        match refused(edit.clone()) {
            EditError::AlsoChanged(difference) => assert_eq!(difference.what, what, "{edit:?}"),
            EditError::AfterFaulty(_) if edit.text == "1 " => {}
            other => panic!("{edit:?}: {other}"),
        }
    }
    assert!(matches!(refused(replace(LEDGER, "0.02", "0,02")), EditError::AfterFaulty(_)));
    assert!(matches!(prove("a {", &[], &limits), Err(EditError::BeforeFaulty(_))));
}

/// What no program reads is a person's all the same: a comment, or a line left out for now.
#[test]
fn a_change_that_alters_a_comment_or_what_is_left_out_is_refused() {
    let limits = ReadLimits::default();
    let text = "a 1 // one\n/* two */\n/-b 2\nc {\n    /-d { e }\n}\n";
    let at = |what: &str| text.find(what).expect("it stands there");
    for (place, added, what) in [
        (at("\n/* two"), "!", "the comment `// one`"),
        (at("/-b"), "// ", "node `b`"),
        (at("-b"), "/", "node `b`"),
        (at("e }"), "f ", "node `e`"),
        (at("/* two"), "//", "the comment `/* two */`"),
    ] {
        let edit = Edit { span: Span::new(place, place), text: added.into() };
        match prove(text, std::slice::from_ref(&edit), &limits) {
            Err(EditError::AlsoChanged(difference)) => assert_eq!(difference.what, what, "{edit:?}"),
            other => panic!("{edit:?}: {other:?}"),
        }
    }
    for edit in [
        replace(text, "/* two */", "// two"),
        replace(text, "/-b 2\n", ""),
        replace(text, "1", "1 /* new */ 2 /-3"),
        replace(text, "/-d { e }", "d { e } // now"),
    ] {
        prove(text, std::slice::from_ref(&edit), &limits).unwrap_or_else(|why| panic!("{edit:?}: {why}"));
    }
}

/// The second reader refuses some texts that KDL allows. What it had against a text before does not keep anybody from adding
/// to it; anything else does, and the place is told.
#[test]
fn what_the_second_reader_had_against_the_text_before_does_not_stop_an_edit() {
    let limits = ReadLimits::default();
    let text = "// é\nloosen X { at S1; /- at S2; }\nshim Y\n";
    let refusal = second_opinion(&plain(text).document).expect_err("it refuses such a `/-`");
    assert!(refusal.to_string().contains("line 2, column "), "{refusal}");
    let added = prove(text, &[append(text, "shim Z { at S1 0.1 }")], &limits).expect("added");
    assert_eq!(added.document.text(), format!("{text}shim Z {{ at S1 0.1 }}\n"));
    prove(text, &[replace(text, "Y", "V")], &limits).expect("changed");
    // Another such place is not what it had against it before, nor is one that goes.
    for edit in [append(text, "shim Z { at S1; /- at S2; }"), replace(text, "shim Y", "shim Y { at S1; /- at S2; }")] {
        assert!(matches!(prove(text, &[edit], &limits), Err(EditError::SecondReader(_))));
    }
    let other = replace(text, "at S1;", "at S3;");
    assert!(matches!(prove(text, &[other], &limits), Err(EditError::SecondReader(_))), "its own line is another one");
    // Whatever else an edit must not do it still must not.
    let at = text.find("shim Y").expect("it stands there");
    let left_out = Edit { span: Span::new(at, at), text: "/-".into() };
    assert!(prove(text, &[left_out], &limits).is_err());
}

/// A text of very many nodes would fill the memory of the second reader.
#[test]
fn a_change_of_a_text_with_very_many_nodes_is_refused() {
    let text = "a 1\n".repeat(200_000);
    let refused = prove(&text, &[append(&text, "b 1")], &ReadLimits::default());
    assert!(matches!(refused, Err(EditError::TooMuch { parts: 400_002, most: 400_000 })));
}

#[test]
fn appending_keeps_the_line_breaks_of_the_file() {
    for (before, after) in [
        ("", "x 1\ny\n"),
        ("a\n", "a\nx 1\ny\n"),
        ("a", "a\nx 1\ny\n"),
        ("a\r\nb", "a\r\nb\r\nx 1\r\ny\r\n"),
        ("\u{FEFF}", "\u{FEFF}x 1\ny\n"),
    ] {
        assert_eq!(apply(before, &[append(before, "x 1\ny\n")]).as_deref(), Ok(after));
    }
}

#[test]
fn the_same_said_differently() {
    for (a, b) in [
        ("a 10.5 x=1 y=2", "a y=2 x=\"9\" 10.50 x=0x1 // c"),
        ("a 1e3 -0", "a 1_000.0 0"),
        ("a 1e400", "a 10e399"),
        ("a \"x\" #\"y\"#;b{}", "\"a\" x y\n/-c\nb"),
        ("a 0xFFFFFFFFFFFFFFFFFFFFFFFFFFFFFFFF", "a 340282366920938463463374607431768211455"),
    ] {
        assert_eq!(same_meaning(&plain(a).document, &plain(b).document), None, "{a} and {b}");
    }
    for (a, b, what) in [
        ("a 10.5", "a 10.51", "a value of `a`"),
        ("a 1", "a \"1\"", "a value of `a`"),
        ("a 1 2", "a 2 1", "a value of `a`"),
        ("a (mm)1", "a (um)1", "a value of `a`"),
        ("a x=1", "a x=2", "property `x` of `a`"),
        ("a x=1", "a", "property `x` of `a`"),
        ("a; b 1", "a 1; b", "a value of `a`"),
        ("a { b }", "a; b", "node `b`"),
        ("(t)a", "a", "node `a`"),
        ("a; b", "a", "node `b`"),
        ("a #true", "a #false", "a value of `a`"),
        ("a 0.1", "a 0.1000000000000000000000000000000000000001", "a value of `a`"),
    ] {
        let difference = same_meaning(&plain(a).document, &plain(b).document);
        assert_eq!(difference.map(|difference| difference.what).as_deref(), Some(what), "{a} and {b}");
    }
}

#[test]
fn a_second_reader_is_heard() {
    assert_eq!(second_opinion(&plain(LEDGER).document), Ok(()));
    // As deep as our own reader goes, on a stack of its own.
    assert_eq!(second_opinion(&plain(&("a{".repeat(128) + &"}".repeat(128))).document), Ok(()));
    let nested = "/-a{\n".repeat(30) + &"}\n".repeat(30);
    assert_eq!(second_opinion(&plain(&nested).document), Err(EditError::LeftOutTooDeep { most: 4 }));
    // `kdl` holds whole numbers in 128 bits only: a text it cannot hold is not written.
    let beyond = format!("a {}", "9".repeat(60));
    assert!(matches!(second_opinion(&plain(&beyond).document), Err(EditError::SecondReader(_))));
}

#[test]
fn shortest_spelling() {
    for (text, spelt) in [
        ("port", "port"),
        ("J1,", "J1,"),
        ("", "\"\""),
        ("a b", "\"a b\""),
        ("2026-04-14", "\"2026-04-14\""),
        ("-5", "\"-5\""),
        ("-x", "-x"),
        (".5", "\".5\""),
        (".", "."),
        ("true", "\"true\""),
        ("-inf", "\"-inf\""),
        ("infinity", "infinity"),
        ("M8/10", "\"M8/10\""),
        ("20 µm", "\"20 µm\""),
        ("µm", "µm"),
        ("a\"b\\c\n", "\"a\\\"b\\\\c\\n\""),
        ("\u{1b}[0m", "\"\\u{1b}[0m\""),
        ("a\u{3164}\u{9b}", "\"a\\u{3164}\\u{9b}\""),
        ("a=b", "\"a=b\""),
        ("\u{FEFF}", "\"\\u{feff}\""),
        ("#x", "\"#x\""),
        ("\u{2028}", "\"\\u{2028}\""),
        ("é\u{a0}", "\"é\u{a0}\""),
    ] {
        assert_eq!(quote(text), spelt);
    }
}

proptest! {
    #[test]
    fn what_is_quoted_is_read_back_by_three_readers(text in prop_oneof![any::<String>(), "[-+.0-9a-z\"\\\\#{};=\n\r\t\u{85}\u{200e}\u{feff}]{0,8}"]) {
        for spelt in [quote(&text), quoted(&text)] {
            let source = format!("a {spelt} k={spelt}");
            let read = plain(&source);
            prop_assert_eq!(&read.faults, &vec![], "{}", source);
            let node = read.document.nodes().next().expect("a node");
            for entry in node.entries() {
                prop_assert_eq!(entry.value(), crate::text::Value::Text(&text));
            }
            prop_assert_eq!(second_opinion(&read.document), Ok(()));
            let other = neco_kdl::parse(&source).expect("neco-kdl reads it");
            prop_assert_eq!(other.nodes()[0].first_string_arg(), Some(text.as_str()));
        }
    }
}
