//! Mistakes people make when they edit ledgers by hand: each is one fault, at the right characters, and hides nothing.
//! The places are drawn into the texts with `‹` and `›`. Expectations are our own judgement of what was meant; that
//! the texts are wrong at all is checked against the `kdl` crate in `kdl_differential`.

use crate::testing::fixes;
use crate::text::{Document, FaultKind as K, ParsedText, ReadLimits, Value, canonical, read, read_bytes};

/// Takes the marks out of a text.
fn unmark(marked: &str) -> (String, Vec<(usize, usize)>) {
    let mut text = String::new();
    let (mut spans, mut start) = (Vec::new(), 0);
    for c in marked.chars() {
        match c {
            '‹' => start = text.len(),
            '›' => spans.push((start, text.len())),
            c => text.push(c),
        }
    }
    (text, spans)
}

fn seen(read: &ParsedText) -> Vec<(K, (usize, usize))> {
    read.faults.iter().map(|fault| (fault.kind.clone(), (fault.span.range().start, fault.span.range().end))).collect()
}

/// Reads a marked text, compares its faults, and gives the document in canonical form.
fn check(marked: &str, kinds: &[K]) -> String {
    let (text, spans) = unmark(marked);
    fixes::hold(&vec![("m/machine.kdl".into(), text.clone())]);
    let read = read(text, &ReadLimits::default());
    let expected: Vec<_> = kinds.iter().cloned().zip(spans.iter().copied()).collect();
    assert_eq!(spans.len(), kinds.len(), "marks and kinds differ in {marked}");
    assert_eq!(seen(&read), expected, "in\n{marked}");
    for fault in &read.faults {
        assert!(!fault.message().is_empty() && !fault.help().is_empty());
        assert!(!fault.message().ends_with('.') && !fault.help().ends_with('.'), "{fault:?}");
    }
    canonical(&read.document)
}

fn number(raw: &str) -> K {
    K::BadNumber(raw.into())
}

#[test]
fn seven_mistakes_are_seven_faults_and_everything_else_is_read() {
    let read_as = check(
        "machine \"quarry saw\" {\n\
         \x20   axis X {\n\
         \x20       gap=‹0,02› stage=a\n\
         \x20       rail port length=(mm)3600 ‹]› {\n\
         \x20           segment 1 length=‹1200mm› end=left\n\
         \x20           segment 2 made=‹2026-04-14› light=‹true›\n\
         \x20       }\n\
         \x20       note ‹\"›the saw stood still\n\
         \x20       survey torque=‹10.5Nm› done=#true\n\
         \x20   }\n\
         }\n"
        .replace("gap=‹0,02›", "station gap=‹0,02›")
        .as_str(),
        &[
            number("0,02"),
            K::Stray("]".into()),
            number("1200mm"),
            number("2026-04-14"),
            K::BareKeyword("true".into()),
            K::UnclosedString,
            number("10.5Nm"),
        ],
    );
    let expected = "machine \"quarry saw\" {\n    axis X {\n        station gap=\"0,02\" stage=a\n        \
                    rail port \"]\" length=(mm)3600 {\n            segment 1 end=left length=\"1200mm\"\n            \
                    segment 2 light=#true made=\"2026-04-14\"\n        }\n        note \"the saw stood still\"\n        \
                    survey done=#true torque=\"10.5Nm\"\n    }\n}\n";
    assert_eq!(read_as, expected);
}

#[test]
fn a_spoilt_value_is_one_fault_and_the_line_goes_on() {
    for raw in [
        "0,02",
        "-0,04",
        "10.5Nm",
        "1/16",
        "2026-04-14",
        ".5",
        "-.5",
        "1.",
        "1..2",
        "0x",
        "0xG1",
        "0b12",
        "5\"",
        "10(mm)",
        "1e",
        "7%",
        "1200mm",
        "3_600_mm",
        "20°C",
        "10±0.5",
        "1.2.3",
        "14.04.2026",
        "M8/10",
        "a[1]",
        "port\\left",
    ] {
        let kind = if raw.starts_with(|c: char| c.is_alphabetic()) { K::BadWord(raw.into()) } else { number(raw) };
        for (before, after) in
            [("a x=", " y=2\n"), ("a 1 ", " 2;b\n"), ("a {b ", "}\n"), ("a x = ", " { c }\n"), ("a ", "\n")]
        {
            let written = check(&format!("{before}‹{raw}›{after}last\n"), std::slice::from_ref(&kind));
            assert!(written.ends_with("last\n"), "{written}");
            let shown = crate::text::quoted(raw);
            assert!(written.contains(&shown), "{written} lacks {shown}");
        }
    }
    // Exponents beyond a double and long digits are numbers all the same: nothing is lost in reading.
    let plain = read("a 1e400 0.10000000000000000000000000000000000001 1_0.50".into(), &ReadLimits::default());
    assert!(plain.faults.is_empty());
    let values: Vec<_> = plain.document.nodes().next().expect("a node").args().map(|arg| arg.value()).collect();
    let expected = ["1e400", "0.10000000000000000000000000000000000001", "1_0.50"].map(Value::Number);
    assert_eq!(values, expected);
    // By the KDL 2 grammar a sign that is not followed by a digit begins a word.
    assert_eq!(check("a +-3 -- +. .", &[]), "a +-3 -- +. .\n");
}

#[test]
fn spoilt_entries_are_marked_in_the_document() {
    let text = "a gap=0,02 ok=1 light=true 2026-04-14 (mm)5 r\"x\" r#\"y\"# \"z\"\n5x { b }";
    let read = read(text.into(), &ReadLimits::default());
    let mut nodes = read.document.nodes();
    let a = nodes.next().expect("a node");
    let broken: Vec<_> = a.entries().map(|entry| (entry.raw(), entry.broken())).collect();
    assert_eq!(
        broken,
        [
            ("0,02", true),
            ("1", false),
            ("true", true),
            ("2026-04-14", true),
            ("5", false),
            ("\"x\"", true),
            ("#\"y\"#", true),
            ("\"z\"", false)
        ]
    );
    assert!(!a.broken());
    let spoilt = nodes.next().expect("the node with the bad name");
    assert!(spoilt.broken());
    assert_eq!(spoilt.name(), "5x");
    assert_eq!(spoilt.children().map(|node| node.name()).collect::<Vec<_>>(), ["b"]);
}

#[test]
fn names_that_cannot_be_names_keep_their_blocks() {
    for (marked, kind) in [
        ("‹5› {\n b\n}\nlast", K::ValueAsName("5".into())),
        ("‹2026-04-14› {\n b\n}\nlast", number("2026-04-14")),
        ("‹true› {\n b\n}\nlast", K::BareKeyword("true".into())),
        ("‹#true› {\n b\n}\nlast", K::ValueAsName("#true".into())),
        ("‹[axis]› {\n b\n}\nlast", K::Stray("[axis]".into())),
        ("‹rail(1)› {\n b\n}\nlast", K::BadWord("rail(1)".into())),
        ("‹{›\n b\n}\nlast", K::BlockWithoutName),
        ("‹(mm)›{\n b\n}\nlast", K::TypeWithoutValue),
        ("‹gap=›5 {\n b\n}\nlast", K::PropertyAsNode("gap".into())),
    ] {
        let (text, spans) = unmark(marked);
        let read = read(text, &ReadLimits::default());
        assert_eq!(seen(&read), [(kind, spans[0])], "{marked}");
        let first = read.document.nodes().next().expect("a stand-in node");
        assert!(first.broken(), "{marked}");
        assert_eq!(first.children().map(|node| node.name()).collect::<Vec<_>>(), ["b"], "{marked}");
        assert_eq!(read.document.nodes().map(|node| node.name()).last(), Some("last"), "{marked}");
    }
}

#[test]
fn spaces_and_equals_signs() {
    assert_eq!(check("a key= 1 other =2 third = 3", &[]), "a key=1 other=2 third=3\n");
    assert_eq!(check("a key=\\\n  1 other\\\n=2", &[]), "a key=1 other=2\n");
    check("a ‹key=›\nb", &[K::MissingValue("key".into())]);
    check("a ‹key=›; b", &[K::MissingValue("key".into())]);
    check("a {b ‹key=›}", &[K::MissingValue("key".into())]);
    check("a ‹key=› // why\nb", &[K::MissingValue("key".into())]);
    check("a b=1 ‹=›5 x=1", &[K::Stray("=".into())]);
    check("‹a =›5 x=1", &[K::PropertyAsNode("a".into())]);
    check("a x=1‹=›2 y=1", &[K::Stray("=".into())]);
    check("a ‹5›=1 y=1", &[K::ValueAsName("5".into())]);
    check("a ‹true›=1 y=1", &[K::BareKeyword("true".into())]);
    assert_eq!(check("a \"x\"‹\"›y\" z=1", &[K::MissingSpace]), "a x y z=1\n");
    assert_eq!(check("a x=\"1\"‹y›=2", &[K::MissingSpace]), "a x=\"1\" y=2\n");
    assert_eq!(check("a‹\"›x\"", &[K::MissingSpace]), "a x\n");
    assert_eq!(check("a b‹(›mm)5", &[K::MissingSpace]), "a b (mm)5\n");
    assert_eq!(
        check("a ‹(mm)›gap=5 x=1", &[K::TypeBeforeName { ty: "mm".into(), name: "gap".into() }]),
        "a gap=(mm)5 x=1\n"
    );
    assert_eq!(check("a ‹(›mm 5 x=1", &[K::UnclosedType]), "a (mm)5 x=1\n");
    assert_eq!(check("a ‹()›5 x=1", &[K::EmptyType]), "a 5 x=1\n");
    assert_eq!(check("a ‹(mm)›\nb", &[K::TypeWithoutValue]), "a (mm)#null\nb\n");
    assert_eq!(check("a ‹\\› b\nc", &[K::StrayBackslash]), "a b\nc\n");
    assert_eq!(check("a;‹;›b", &[K::StraySemicolon]), "a\nb\n");
    assert_eq!(check("a ‹r›\"x\\\\y\" 1", &[K::OldRawString]), "a \"x\\\\y\" 1\n");
    assert_eq!(check("a ‹#yes› 1", &[K::UnknownKeyword("#yes".into())]), "a \"#yes\" 1\n");
}

#[test]
fn what_follows_a_block() {
    assert_eq!(check("a { b } ‹c› 1\nd", &[K::AfterBlock]), "a {\n    b\n}\nc 1\nd\n");
    assert_eq!(check("a { b } ‹{› c }\nd", &[K::SecondBlock]), "a {\n    b\n    c\n}\nd\n");
    check("a { b } ‹5›\nd", &[K::AfterBlock]);
    assert_eq!(check("a { b }; c {d;e}\n", &[]), "a {\n    b\n}\nc {\n    d\n    e\n}\n");
    assert_eq!(check("a{b}", &[]), "a {\n    b\n}\n");
}

#[test]
fn a_missing_brace_is_marked_where_it_was_opened() {
    let unclosed = |name: &str| K::UnclosedBlock(name.into());
    // The next sibling shows it, and everything keeps its place in the tree.
    let rest = "    rail {\n        segment 2\n    }\n}\nlast\n";
    let read_as = check(&format!("axis X {{\n    rail ‹{{›\n        segment 1\n{rest}"), &[unclosed("rail")]);
    assert_eq!(read_as, format!("axis X {{\n    rail {{\n        segment 1\n    }}\n{rest}"));
    // A brace further out shows it.
    let read_as = check("axis X {\n    rail ‹{›\n        segment 1\n}\nlast\n", &[unclosed("rail")]);
    assert_eq!(read_as, "axis X {\n    rail {\n        segment 1\n    }\n}\nlast\n");
    // An empty block, in a file that is indented.
    check("a {\n  b\n}\nc ‹{›\nd {\n  e\n}\n", &[unclosed("c")]);
    // Two of them, and tabs.
    check("a ‹{›\n\tb ‹{›\n\t\tc\nd {\n\te\n}\n", &[unclosed("a"), unclosed("b")]);
    // A tab reaches to the next multiple of four, from wherever it starts.
    let read_as = check(
        "axis X {\n    rail ‹{›\n\t\tsegment 1\n  \trail {\n\t  \tsegment 2\n \t}\n}\nlast\n",
        &[unclosed("rail")],
    );
    assert_eq!(read_as, format!("axis X {{\n    rail {{\n        segment 1\n    }}\n{rest}"));
    // Indented here and there says nothing: the blocks that are open at the end.
    check("a ‹{›\n  b {\nc\n}\nd {\ne\n}\n", &[unclosed("a")]);
    // Nothing below it: open to the end.
    check("a {\n  b\n}\nc ‹{›\n  d\n", &[unclosed("c")]);
    // Not indented at all: the blocks that are open at the end.
    check("a ‹{›\nb {\nc\n}\nd\n", &[unclosed("a")]);
    // Left out by `/-`.
    assert_eq!(check("a {\n  /- b ‹{›\n    c\n  d\n}\n", &[unclosed("b")]), "a {\n    d\n}\n");
    assert_eq!(check("a {\n  b /- ‹{›\n    c\n  d\n}\n", &[unclosed("b")]), "a {\n    b\n    d\n}\n");
}

#[test]
fn a_surplus_brace_is_marked() {
    check("a {\n  b\n}\n‹}›\nc\n", &[K::SurplusBrace]);
    // Indented deeper than the header it would close.
    let read_as = check("a {\n    b {\n        c\n    }\n    ‹}›\n    d\n}\ne\n", &[K::SurplusBrace]);
    assert_eq!(read_as, "a {\n    b {\n        c\n    }\n    d\n}\ne\n");
    check("‹}›", &[K::SurplusBrace]);
    // One too many is one: a brace that is indented badly still closes its block.
    let read_as =
        check("a {\n    b {\n        c\n    }\n    ‹}›\n    d {\n        e\n        }\n}\nf\n", &[K::SurplusBrace]);
    assert_eq!(read_as, "a {\n    b {\n        c\n    }\n    d {\n        e\n    }\n}\nf\n");
}

#[test]
fn an_unclosed_string_ends_at_its_line() {
    assert_eq!(check("a ‹\"›x y\nb 1\n", &[K::UnclosedString]), "a \"x y\"\nb 1\n");
    assert_eq!(check("a n=‹\"›x \\\"y\nb 1\n", &[K::UnclosedString]).lines().last(), Some("b 1"));
    assert_eq!(check("a ‹#›\"x y\"\nb 1\n", &[K::UnclosedString]), "a \"\\\"x y\\\"\"\nb 1\n");
    // A brace at the end of the line belongs to the block, not to the text.
    assert_eq!(check("axis ‹\"›X {\n  b\n}\nc\n", &[K::UnclosedString]), "axis X {\n    b\n}\nc\n");
    assert_eq!(check("a { b ‹\"›x }\nc\n", &[K::UnclosedString]), "a {\n    b x\n}\nc\n");
    assert_eq!(check("a {\n b ‹\"›x}\n}\nc\n", &[K::UnclosedString]), "a {\n    b \"x}\"\n}\nc\n");
    // Three quotes: up to the line that is indented no deeper.
    assert_eq!(
        check("a {\n  b ‹\"\"\"›\n    x\n\n    y\n  c\n}\n", &[K::UnclosedLongString]).lines().nth(2),
        Some("    c")
    );
    check("a ‹##\"\"\"›\n  x\n  \"\"\"#\nb\n", &[K::UnclosedLongString]);
}

#[test]
fn unclosed_comments() {
    assert_eq!(check("a\n‹/*› b\nc\n", &[K::UnclosedComment]), "a\nc\n");
    assert_eq!(check("a\n‹/*› b\nc /* d */ 1\n", &[K::UnclosedComment]), "a\nc 1\n");
    assert_eq!(check("a\n‹/*› b /* c */\nd\n", &[K::UnclosedComment]), "a\nd\n");
}

#[test]
fn long_strings() {
    let text = "    one\n\n      two \\\"\"\"\n    ";
    assert_eq!(check(&format!("a \"\"\"\n{text}\"\"\" 1"), &[]), "a \"one\\n\\n  two \\\"\\\"\\\"\" 1\n");
    check("a ‹\"\"\"›one\n  two\n  \"\"\"\nb", &[K::LongStringStart]);
    check("a ‹\"\"\"›one\"\"\" 1\nb", &[K::LongStringStart]);
    check("a \"\"\"\n  one\n‹  two\"\"\"› 1\nb", &[K::LongStringEnd]);
    check("a \"\"\"\n  one\n‹ ›two\n  \"\"\"\nb", &[K::LongStringIndent]);
    check("a \"\"\"\n  one ‹\\q›\n  \"\"\"\nb", &[K::BadEscape("\\q".into())]);
    check(
        "a \"one ‹\\q› two ‹\\u{110000}› ‹\\u{D800}› ‹\\u›12 \\u{b5}\"",
        &["\\q", "\\u{110000}", "\\u{D800}", "\\u"].map(|e| K::BadEscape(e.into())),
    );
}

#[test]
fn slashdash() {
    assert_eq!(check("/-a {b}\nc /-1 2 /-x=3 y=4 /-{ d } { e }", &[]), "c 2 y=4 {\n    e\n}\n");
    assert_eq!(check("a ‹/-›\n", &[K::SlashdashNothing]), "a\n");
    assert_eq!(check("a {b ‹/-›}", &[K::SlashdashNothing]), "a {\n    b\n}\n");
    assert_eq!(check("a x=‹/-›1 y=2", &[K::SlashdashMisplaced]), "a x=1 y=2\n");
    assert_eq!(check("a (mm)‹/-›1 y=2", &[K::SlashdashMisplaced]), "a (mm)1 y=2\n");
    // What is left out is checked all the same.
    assert_eq!(check("/-a ‹0,5› {\n  b ‹1,5›\n}\nc", &[number("0,5"), number("1,5")]), "c\n");
    assert_eq!(check("/- ‹/-› a\nb", &[K::SlashdashMisplaced]), "b\n");
}

#[test]
fn whole_numbers_of_other_bases_keep_all_their_digits() {
    // Powers of two, ten and the largest of their kind, as any table of them has.
    for (raw, decimal) in [
        ("0x0", "0"),
        ("0b1001", "9"),
        ("0x3B9AC9FF", "999999999"),
        ("0x3B9ACA00", "1000000000"),
        ("0o7_346_545_000", "1000000000"),
        ("0xDE0B6B3A763FFFF", "999999999999999999"),
        ("0xDE0B6B3A7640000", "1000000000000000000"),
        ("0xFFFF_FFFF_FFFF_FFFF", "18446744073709551615"),
        ("0o2000000000000000000000", "18446744073709551616"),
        ("-0x1_0000_0000_0000_0000", "-18446744073709551616"),
        ("0xFFFFFFFFFFFFFFFFFFFFFFFFFFFFFFFF", "340282366920938463463374607431768211455"),
    ] {
        assert_eq!(check(&format!("a {raw}"), &[]), format!("a {decimal}\n"), "{raw}");
    }
}

#[test]
fn line_breaks_spaces_and_marks() {
    for newline in ["\n", "\r\n", "\r", "\u{85}", "\u{b}", "\u{c}", "\u{2028}", "\u{2029}"] {
        let text = format!("\u{FEFF}a 1 // c{newline}b {{{newline}\tc\u{a0}\\{newline}2\u{3000}3{newline}}}{newline}");
        assert_eq!(check(&text, &[]), "a 1\nb {\n    c 2 3\n}\n", "{newline:?}");
    }
    assert_eq!(check("/- kdl-version 2\na", &[]), "a\n");
    assert_eq!(check("‹/- kdl-version 1›\na", &[K::VersionOne]), "a\n");
}

#[test]
fn banned_characters_are_found_everywhere() {
    for banned in ['\0', '\u{7}', '\u{1b}', '\u{7f}', '\u{200e}', '\u{202e}', '\u{2066}', '\u{feff}'] {
        for text in [
            "a // x‹#›y\nb",
            "/* ‹#› */ a\nb",
            "a \"x‹#›\"\nb",
            "a x‹#›y\nb",
            "a \"\"\"\n  ‹#›\n  \"\"\"\nb",
            "a 1‹#›\nb",
        ] {
            check(&text.replace('#', &banned.to_string()), &[K::Banned(banned)]);
        }
    }
}

#[test]
fn bytes_that_are_no_text() {
    let limits = ReadLimits::default();
    let cut = read_bytes(b"a 1\nb {\n  c \"20 \xB0C\"\n}\n".to_vec(), &limits);
    assert_eq!(seen(&cut), [(K::NotUtf8 { byte: 0xB0 }, (16, 16))]);
    assert!(cut.faults[0].help().contains("`°`"), "{}", cut.faults[0].help());
    assert_eq!(canonical(&cut.document), "a 1\nb {\n    c \"20 \"\n}\n");
    // Windows code page 1252, as its table has them; curly quotes are named by the straight ones that KDL knows.
    for (byte, letter) in [
        (0x80, Some('€')),
        (0x91, Some('\'')),
        (0x92, Some('\'')),
        (0x93, Some('"')),
        (0x94, Some('"')),
        (0x96, Some('–')),
        (0xA0, Some('\u{a0}')),
        (0xE4, Some('ä')),
        (0xFF, Some('ÿ')),
        (0x81, None),
    ] {
        let cut = read_bytes(vec![b'a', b' ', b'x', byte], &limits);
        assert_eq!(seen(&cut), [(K::NotUtf8 { byte }, (3, 3))]);
        let help = cut.faults[0].help();
        assert_eq!(letter.is_some_and(|letter| help.contains(&format!("`{letter}`"))), letter.is_some(), "{help}");
    }
    let wide: Vec<u8> = "\u{FEFF}a 1".encode_utf16().flat_map(u16::to_le_bytes).collect();
    assert_eq!(seen(&read_bytes(wide, &limits)), [(K::Utf16, (0, 0))]);
    let small = ReadLimits { bytes: 3, ..limits };
    assert_eq!(seen(&read_bytes(b"a 12".to_vec(), &small)), [(K::TooLarge { size: 4, most: 3 }, (0, 0))]);
    assert_eq!(seen(&read("a 12".into(), &small)), [(K::TooLarge { size: 4, most: 3 }, (0, 0))]);
}

#[test]
fn help_shows_the_right_spelling() {
    for (raw, expected) in [
        ("0,02", "write the decimals behind a point: 0.02"),
        ("2026-04-14", "a date needs quotes: \"2026-04-14\""),
        ("10.5Nm", "(N.m)10.5"),
        ("1200mm", "(mm)1200"),
        ("-5um", "(um)-5"),
        ("20°C", "(degC)20"),
        ("5\"", "(in)5"),
        ("1/16", "0.0625"),
        (".5", "write a 0 before the point: 0.5"),
    ] {
        let read = read(format!("a x={raw}"), &ReadLimits::default());
        assert_eq!(read.faults.len(), 1, "{raw}");
        let help = read.faults[0].help();
        assert!(help.contains(expected), "{raw}: {help}");
    }
    // What only begins like them gets none of their help.
    for (raw, wrong) in [
        ("1,2,3", "decimals"),
        ("1,x", "decimals"),
        ("x1,2", "decimals"),
        ("1/2/3", "fraction"),
        ("1/x", "fraction"),
        (".5.6", "0 before the point"),
        (".5x", "0 before the point"),
    ] {
        let read = read(format!("a x={raw}"), &ReadLimits::default());
        assert!(read.faults.iter().all(|fault| !fault.help().contains(wrong)), "{raw}: {:?}", read.faults);
    }
    let read = read("a x=true".into(), &ReadLimits::default());
    assert!(read.faults[0].help().contains("`#true`"));
}

#[test]
fn spans_point_at_what_was_written() {
    let text = "(t)axis \"X\" (mm)5 k=(N.m)10.50 {\n  b /*c*/ \\\n 1\n}\n";
    let read = read(text.into(), &ReadLimits::default());
    let document: &Document = &read.document;
    let at = |span: crate::text::Span| &text[span.range()];
    let axis = document.nodes().next().expect("a node");
    assert_eq!(at(axis.span()), text.trim_end());
    assert_eq!(at(axis.name_span()), "axis");
    assert_eq!(axis.ty().map(|(ty, span)| (ty, at(span))), Some(("t", "t")));
    assert_eq!(at(axis.head()), "axis \"X\" (mm)5 k=(N.m)10.50");
    assert_eq!(at(axis.block().expect("a block")), "{\n  b /*c*/ \\\n 1\n}");
    let entries: Vec<_> = axis.entries().map(|entry| (at(entry.span()), entry.raw(), at(entry.value_span()))).collect();
    assert_eq!(entries, [("\"X\"", "\"X\"", "\"X\""), ("(mm)5", "5", "5"), ("k=(N.m)10.50", "10.50", "10.50")]);
    assert_eq!(axis.prop("k").and_then(|k| k.name_span()).map(at), Some("k"));
    assert_eq!(axis.prop("k").and_then(|k| k.ty()).map(|(ty, span)| (ty, at(span))), Some(("N.m", "N.m")));
    let b = axis.children().next().expect("a child");
    assert_eq!(at(b.span()), "b /*c*/ \\\n 1");
    assert_eq!((b.depth(), b.index()), (1, 1));
    let place = document.place(b.span().start);
    assert_eq!((place.line, place.column), (2, 3));
}
