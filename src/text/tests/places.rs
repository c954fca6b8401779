//! Places in a text: which nodes stand around a byte, its column in three ways of counting, and the pieces that lie
//! between names and values. Each is held against counting or cutting by hand, at every byte of the example ledgers.

use std::path::Path;
use std::sync::Arc;

use crate::finding::{Locator, Source, SourceId, Sources};
use crate::text::{
    ColumnUnit, Document, LineColumn, LineIndex, NodeRef, Piece, ReadLimits, Trivia, WholeText, read, read_bytes,
};

use super::suite;

fn plain(text: &str) -> Document {
    read(text.to_owned(), &ReadLimits::default()).document
}

/// The texts of the example ledgers, those with mistakes too.
fn examples() -> Vec<String> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("example-ledgers");
    let mut paths: Vec<_> = walkdir::WalkDir::new(folder)
        .into_iter()
        .map(|entry| entry.expect("the folder can be listed").into_path())
        .filter(|path| path.extension().is_some_and(|extension| extension == "kdl"))
        .collect();
    paths.sort();
    assert!(paths.len() > 50, "{paths:?}");
    paths.iter().filter_map(|path| std::fs::read_to_string(path).ok()).collect()
}

/// The nodes around a byte, found by looking at every node: of two that meet there, what stands in the first is not.
fn around(document: &Document, offset: usize) -> Vec<NodeRef<'_>> {
    let holds = |node: &NodeRef| node.span().range().start <= offset && offset <= node.span().range().end;
    let mut path: Vec<NodeRef> = Vec::new();
    for node in (0..document.len()).filter_map(|index| document.node(index)).filter(holds) {
        path.truncate(node.depth());
        path.push(node);
    }
    path
}

fn names(path: &[NodeRef]) -> String {
    path.iter().map(|node| node.name()).collect::<Vec<_>>().join(" ")
}

#[test]
fn the_nodes_around_every_byte_of_the_examples() {
    let mut deepest = 0;
    for text in examples() {
        let document = plain(&text);
        for offset in 0..=text.len() + 1 {
            let (path, expected) = (document.path_to(offset), around(&document, offset));
            let indices = |path: &[NodeRef]| path.iter().map(|node| node.index()).collect::<Vec<_>>();
            assert_eq!(indices(&path), indices(&expected), "byte {offset} of {text}");
            let innermost = document.node_at(offset).map(|node| node.index());
            assert_eq!(innermost, indices(&expected).last().copied(), "byte {offset} of {text}");
            deepest = deepest.max(path.len());
        }
    }
    assert!(deepest > 3, "some nodes lie {deepest} deep");
}

#[test]
fn a_cursor_at_the_end_of_a_node_is_still_at_it() {
    let text = "a 1 { b; c {d} }\n/-e\n  f 2 \n";
    let document = plain(text);
    let at = |what: &str| text.find(what).expect("it stands there");
    for (offset, path) in [
        (0, "a"),
        (3, "a"),
        (at("b;"), "a b"),
        (at("b;") + 1, "a b"),
        (at("b;") + 2, "a"),
        (at("d}"), "a c d"),
        (at("d}") + 1, "a c d"),
        (at("d}") + 2, "a c"),
        (at("/-e") + 2, ""),
        (at("f 2") + 3, "f"),
        (at("f 2") + 4, ""),
        (text.len(), ""),
    ] {
        assert_eq!(names(&document.path_to(offset)), path, "byte {offset}");
    }
}

/// Columns by counting, and back from a column to its byte.
#[test]
fn columns_at_every_byte_in_three_ways_of_counting() {
    let odd = "a \"µ°\" // 𝄞 x\r\nb\r\n\r𝄞𝄞{}\n".to_owned();
    for text in examples().into_iter().chain([odd]) {
        let lines = LineIndex::new(&text);
        let (mut line, mut begins, mut last) = (1, 0, ' ');
        for (offset, next) in text.char_indices().chain([(text.len(), ' ')]) {
            // Between CR and LF there is no new line yet.
            let split = last == '\r' && next == '\n';
            if last == '\n' || last == '\r' && !split {
                (line, begins) = (line + 1, offset);
            }
            last = next;
            let before = &text[begins..offset];
            for (columns, count) in [
                (ColumnUnit::Bytes, before.len()),
                (ColumnUnit::Characters, before.chars().count()),
                (ColumnUnit::Utf16, before.encode_utf16().count()),
            ] {
                let place = lines.place_in(&text, offset, columns);
                assert_eq!((place.line, place.column as usize), (line, count + 1), "{columns:?} at byte {offset}");
                if !split {
                    assert_eq!(lines.offset(&text, place, columns), offset, "{columns:?}: {place:?}");
                }
            }
        }
    }
}

#[test]
fn a_place_that_is_not_there_is_the_nearest_one() {
    let text = "a𝄞b\r\nc";
    let lines = LineIndex::new(text);
    let at = |line, column, columns| lines.offset(text, LineColumn { line, column }, columns);
    assert_eq!(at(1, 3, ColumnUnit::Utf16), 1, "the second half of a character means that character");
    assert_eq!(at(1, 4, ColumnUnit::Utf16), 5);
    assert_eq!(at(1, 99, ColumnUnit::Characters), 6, "before the line break");
    assert_eq!(at(2, 99, ColumnUnit::Bytes), text.len());
    assert_eq!(at(9, 1, ColumnUnit::Bytes), text.len());
    assert_eq!(at(1, 0, ColumnUnit::Bytes), 0);
}

#[test]
fn findings_are_found_in_the_columns_that_are_asked_for() {
    let mut sources = Sources::default();
    let text = "a \"𝄞µ\" b=1";
    let id: SourceId = sources.add(Arc::new(Source { path: "m/machine.kdl".into(), document: plain(text) }));
    let locator = Locator::new(&sources);
    let span = plain(text).nodes().next().and_then(|node| node.prop("b")).expect("it is there").span();
    let place = crate::finding::Place { source: id, span };
    let columns = |columns| {
        let at = locator.locate_in(place, columns);
        (at.line, at.column, at.end_column)
    };
    assert_eq!(columns(ColumnUnit::Bytes), (1, 12, 15));
    assert_eq!(columns(ColumnUnit::Characters), (1, 8, 11));
    assert_eq!(columns(ColumnUnit::Utf16), (1, 9, 12));
    assert_eq!(locator.locate(place).column, 8);
}

/// What the pieces of a text are, one letter each, and that in a row they are the text.
fn pieces(text: &str) -> String {
    let document = plain(text);
    let whole = WholeText::from_document(&document);
    let mut at = text.len() - text.trim_start_matches('\u{FEFF}').len();
    let mut kinds = String::new();
    for piece in whole.pieces() {
        let (kind, span) = match piece {
            Piece::Node(node) => ('n', node.span().start as usize..node.name_span().end as usize),
            Piece::Entry(entry) => ('e', entry.span().range()),
            Piece::Between(between, span) => {
                let written = &text[span.range()];
                let (kind, right) = match between {
                    Trivia::Space => (' ', written.chars().all(|c| c.is_whitespace() && c != '\n')),
                    Trivia::Break => ('|', written.chars().all(char::is_whitespace)),
                    Trivia::LineComment => ('/', written.starts_with("//") && !written.contains(['\n', '\r'])),
                    Trivia::BlockComment => ('*', written.starts_with("/*") && written.ends_with("*/")),
                    Trivia::Continued => ('\\', written == "\\"),
                    Trivia::LeftOut => ('-', written == "/-"),
                    Trivia::Open => ('{', written == "{"),
                    Trivia::Close => ('}', written == "}"),
                    Trivia::Semicolon => (';', written == ";"),
                };
                assert!(right, "{between:?} is {written:?} in {text:?}");
                (kind, span.range())
            }
        };
        assert!(span.start == at && span.end > at, "{kind} at {span:?}, not at {at} of {text:?}");
        at = span.end;
        kinds.push(kind);
    }
    assert_eq!(at, text.len(), "{text:?}");
    kinds
}

#[test]
fn all_that_stands_between_names_and_entries() {
    for (text, expected) in [
        ("", ""),
        ("a", "n"),
        ("\u{FEFF}a", "n"),
        ("a 1 b=2 // c\r\n", "n e e /|"),
        ("a \\ // c\n 1;b", "n \\ /| e;n"),
        ("( t ) a ( u ) 1 b = /* c */ 2", "n e e"),
        ("/- // why\n a { b } /*/**/*/ /-{c;/-d 1} {}\n", "- /| n { n } * -{n;-n e} {}|"),
        ("a /-1 /- b=2 3 /-{ c }", "n -e - e e -{ n }"),
        ("a \"//\" #\"/-\"# \"\"\"\n /*\n \"\"\"", "n e e e"),
        ("/- kdl-version 2\na\u{85}b", "- n e|n|n"),
    ] {
        assert_eq!(pieces(text), expected, "{text:?}");
    }
}

#[test]
fn pieces_in_a_row_are_the_text() {
    let mut sound = 0;
    let suite = suite::folder("input").into_values().filter_map(|bytes| String::from_utf8(bytes).ok());
    for text in examples().into_iter().chain(suite) {
        let read = read_bytes(text.clone().into_bytes(), &ReadLimits::default());
        if read.faults.is_empty() {
            sound += 1;
            pieces(&text);
        }
    }
    assert!(sound > 250, "{sound}");
}
