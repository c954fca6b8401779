//! The one layout: what it looks like, and that it never changes what a file says. The witnesses are the KDL 2 suite's
//! files, the `kdl` crate, and markers put into random documents: each comment is numbered and must be found again.

use std::path::{Path, PathBuf};

use proptest::prelude::*;
use wayledger::kdl::{ReadLimits, read, same_meaning};
use wayledger::records::{TidyError, tidy as text};

use super::common::program::run;

fn tidy(source: &str) -> String {
    text(source).unwrap_or_else(|why| panic!("{why}\n{source}"))
}

fn becomes(source: &str, expected: &str) {
    assert_eq!(tidy(source), expected);
    assert_eq!(tidy(expected), expected, "tidying again changes nothing");
}

#[test]
fn indentation_spaces_and_semicolons() {
    becomes(
        "machine  slide{\n\ttitle   \"A slide\" ;axis X {\n\n  run from = 0   to=600\n\n\n  stroke from=1 to=2\n\n}}",
        "machine slide {\n    title \"A slide\"\n    axis X {\n        run from=0 to=600\n\n        stroke from=1 to=2\n    }\n}\n",
    );
}

#[test]
fn a_block_on_one_line_stays_there_while_it_fits() {
    becomes(
        "shim-stock { leaf 0.02;leaf 0.05 ; leaf 0.10 count=4; }",
        "shim-stock { leaf 0.02; leaf 0.05; leaf 0.10 count=4 }\n",
    );
    let long = format!("shim-stock {{ {} }}\n", ["leaf 0.02"; 11].join("; "));
    assert_eq!(long.trim_end().len(), 134);
    let rows = "    leaf 0.02\n".repeat(11);
    becomes(&long, &format!("shim-stock {{\n{rows}}}\n"));
    becomes("a { }", "a {}\n");
}

/// Trying whether a block fits on a line must not cost twice as much with every block inside it.
#[test]
fn blocks_deep_inside_one_another_cost_little() {
    let deep = format!("{}b{}\n", "a { ".repeat(120), " }".repeat(120));
    let tidied = tidy(&deep);
    assert!(tidied.contains("\n    a {\n        a {\n"), "{tidied}");
    assert_eq!(tidy(&tidied), tidied);
}

#[test]
fn readings_stand_in_columns_by_their_decimal_points() {
    becomes(
        "survey gap X.right {\n at S1 0\nat S10 -0.02 0.5\n at J1 (um)-12.5 #null\n closure S1 0\n}",
        "survey gap X.right {\n    at S1        0\n    at S10      -0.02 0.5\n    at J1  (um)-12.5  #null\n    closure S1 0\n}\n",
    );
    becomes(
        "inspect X.port.J1 {\nUL -0.04 -> -0.028\nUR 0.012 -> 0.02\nLL 10 -> 1\n}",
        "inspect X.port.J1 {\n    UL -0.04  -> -0.028\n    UR  0.012 ->  0.02\n    LL 10     ->  1\n}\n",
    );
    // Properties follow with one space; words alone make no table.
    becomes(
        "x {\nsegment 960 serial=a\nsegment 2400 serial=b\n}\ny {\nclicked S1 S2..S9\nclicked S10..S12 S13\n}",
        "x {\n    segment  960 serial=a\n    segment 2400 serial=b\n}\n\ny {\n    clicked S1 S2..S9\n    clicked S10..S12 S13\n}\n",
    );
    // Only rows on one line are in a table: found by the random documents below.
    becomes("fasten 0 {\nA\n}\nfasten 00", "fasten 0 {\n    A\n}\n\nfasten 00\n");
    becomes("at 0; /* c */ // d\nat 10", "at 0 /* c */ // d\nat 10\n");
    // A blank line parts two tables.
    becomes("x {\nat S1 1\n\nat S10 10\n}", "x {\n    at S1 1\n\n    at S10 10\n}\n");
}

#[test]
fn properties_stand_in_the_order_of_the_language() {
    becomes(
        "fasten by=fitter-2 stage=full colour=red date=\"2026-05-04\" X.left wrench=TW-2",
        "fasten X.left date=\"2026-05-04\" by=fitter-2 wrench=TW-2 stage=full colour=red\n",
    );
    // One name twice: the last one counts, so their order stays.
    becomes("service X task=lubricate by=b task=re-torque", "service X by=b task=lubricate task=re-torque\n");
    // A comment inside belongs to what follows it, so nothing is moved.
    becomes("service X task=lubricate /* who */ by=b", "service X task=lubricate /* who */ by=b\n");
}

#[test]
fn comments_stay_with_their_nodes() {
    becomes(
        "// top\n\n\n  // two\nmachine m { // the slide\n axis X {} // its axis  \n   // last\n/* a\n b */ }\n// end",
        "// top\n\n// two\nmachine m { // the slide\n    axis X {} // its axis\n    // last\n    /* a\n b */\n}\n// end\n",
    );
    becomes("a; /* of a */ // too\nb; c // of c", "a /* of a */ // too\nb\nc // of c\n");
    becomes("/* b */ a /* c */ 1 /* d */ {}", "/* b */ a /* c */ 1 /* d */ {}\n");
    becomes("{}".replace("{}", "a { /* only */ }").as_str(), "a { /* only */ }\n");
}

#[test]
fn what_is_left_out_is_laid_out_too() {
    becomes(
        "/- rail   port{segment 1;/-segment 2}\nrail a /- b  /- c=1 /- { x }  { y }",
        "/-rail port { segment 1; /-segment 2 }\nrail a /-b /-c=1 /-{ x } { y }\n",
    );
    becomes("/- // why\n\n a 1", "/- // why\n    a 1\n");
    becomes("/- kdl-version 2\na", "/- kdl-version 2\na\n");
}

#[test]
fn a_line_that_goes_on_goes_on() {
    becomes("a 1 \\\n 2 \\  // why\n      3\nb", "a 1 \\\n    2 \\ // why\n    3\n\nb\n");
    becomes("a 1 \\\n\nb", "a 1\nb\n");
    becomes("a 1 \\ // why\n\nb", "a 1 // why\nb\n");
    becomes("a ( /* t */ mm ) 1 b /* n */ = \\\n 2", "a ( /* t */ mm ) 1 b /* n */ = \\\n 2\n");
}

#[test]
fn numbers_and_strings_stay_as_spelt() {
    let source =
        "a 10.50 0x1F 1_000 +1 \"10.5\" \"q\\u{41}\" #\"raw \" \\\"# r \"\" #inf #true \"\"\"\n   x\n   \"\"\"\n";
    becomes(source, source);
}

#[test]
fn records_of_several_lines_stand_apart() {
    becomes(
        "fasten X\nfasten Y\n// the gap\nsurvey gap {\nat S1 0\n}\nservice X",
        "fasten X\nfasten Y\n\n// the gap\nsurvey gap {\n    at S1 0\n}\n\nservice X\n",
    );
}

#[test]
fn line_breaks_and_byte_order_mark_stay_the_files_own() {
    becomes("a {\r\nb\n}\n", "a {\r\n    b\r\n}\r\n");
    becomes("a {\nb\r\n}", "a {\n    b\n}\n");
    becomes("\u{FEFF}a  1", "\u{FEFF}a 1\n");
    becomes("a\rb\u{85}c\u{2028}d", "a\nb\nc\nd\n");
    becomes("", "");
    becomes("\n\n", "");
}

#[test]
fn a_text_with_mistakes_is_left_alone() {
    assert!(matches!(text("a {\n b"), Err(TidyError::Faults(_))));
    assert!(matches!(text("a 10.5Nm"), Err(TidyError::Faults(_))));
}

/// All `.kdl` files below a folder of this project.
fn files(folder: &str) -> Vec<PathBuf> {
    let mut files: Vec<PathBuf> = walkdir::WalkDir::new(Path::new(env!("CARGO_MANIFEST_DIR")).join(folder))
        .into_iter()
        .map(|entry| entry.expect("the folder can be listed").into_path())
        .filter(|path| path.extension().is_some_and(|extension| extension == "kdl"))
        .collect();
    files.sort();
    assert!(!files.is_empty());
    files
}

/// Comments of a text, found without our reader: from `//` on, in texts that have no `//` inside strings.
fn comments(text: &str) -> Vec<&str> {
    text.lines().filter_map(|line| line.find("//").map(|at| line[at..].trim_end())).collect()
}

#[test]
fn the_example_ledgers_are_tidy() {
    let wrong: Vec<String> = files("example-ledgers")
        .iter()
        .filter_map(|path| {
            let source = std::fs::read_to_string(path).expect("an example can be read");
            // What shows unreadable text cannot be laid out.
            let tidy = text(&source).ok()?;
            (tidy != source).then(|| path.display().to_string())
        })
        .collect();
    assert!(wrong.is_empty(), "run `wayledger tidy example-ledgers` for {wrong:#?}");
}

#[test]
fn spoilt_layout_of_the_examples_is_mended() {
    for path in files("example-ledgers") {
        let source = std::fs::read_to_string(&path).expect("an example can be read");
        if source.contains("\"\"\"") || text(&source).is_err() {
            continue;
        }
        // All indentation gone, and all tables pushed together.
        let flat: String = source
            .lines()
            .map(|line| {
                let (code, comment) = line.split_at(line.find("//").unwrap_or(line.len()));
                let mut code = code.trim().to_owned();
                while !code.contains('"') && code.contains("  ") {
                    code = code.replace("  ", " ");
                }
                format!("{code} {comment}\n")
            })
            .collect();
        let tidied = tidy(&flat);
        assert_eq!(tidied, source, "{}", path.display());
        assert_eq!(comments(&tidied), comments(&source), "{}", path.display());
    }
}

/// Says whether two texts say the same to the `kdl` crate.
fn kdl_says(text: &str) -> Option<String> {
    let mut document = kdl::KdlDocument::parse_v2(text).ok()?;
    document.clear_format_recursive();
    // Properties change places: sort what stands in each line.
    let mut lines: Vec<String> = Vec::new();
    for node in document.nodes() {
        flatten(node, 0, &mut lines);
    }
    Some(lines.join("\n"))
}

fn flatten(node: &kdl::KdlNode, depth: usize, lines: &mut Vec<String>) {
    let mut args = Vec::new();
    let mut props = std::collections::BTreeMap::new();
    for entry in node.entries() {
        let value = format!("{:?}{:?}", entry.ty().map(|ty| ty.value()), entry.value());
        match entry.name() {
            Some(name) => drop(props.insert(name.value().to_owned(), value)),
            None => args.push(value),
        }
    }
    lines.push(format!("{depth} {:?} {} {args:?} {props:?}", node.ty().map(|ty| ty.value()), node.name().value()));
    for child in node.children().into_iter().flat_map(|children| children.nodes()) {
        flatten(child, depth + 1, lines);
    }
}

/// Random documents with comments everywhere KDL allows one. `@` stands for a comment's number.
fn space() -> impl Strategy<Value = String> {
    prop_oneof![
        8 => Just(" ".to_owned()),
        1 => Just("  \t".to_owned()),
        1 => Just(" /* @ */ ".to_owned()),
        1 => Just(" /* /* @ */ \n */ ".to_owned()),
        1 => Just(" \\\n".to_owned()),
        1 => Just(" \\ // @\n  ".to_owned()),
    ]
}

fn word() -> impl Strategy<Value = String> {
    prop_oneof![
        4 => "[a-zA-Z][a-z0-9.-]{0,6}".prop_filter("reserved", |word| {
            !matches!(word.as_str(), "true" | "false" | "null" | "inf" | "nan" | "r")
        }),
        1 => Just("at".to_owned()),
        1 => Just("UL".to_owned()),
        1 => Just("\"two words\"".to_owned()),
        1 => Just("\"// no comment\"".to_owned()),
        1 => Just("#\"raw \\ \"#".to_owned()),
    ]
}

fn value() -> impl Strategy<Value = String> {
    let number = prop_oneof![
        "-?[0-9]{1,4}",
        "-?[0-9]{1,3}\\.[0-9]{1,3}",
        Just("0x1F".to_owned()),
        Just("1_000.50e1".to_owned()),
        Just("+.5".to_owned()),
    ];
    // `.5` alone is no KDL number, and `+.5` neither: keep to what is.
    let number = number.prop_map(|number| number.replace("+.5", "+0.5"));
    prop_oneof![
        4 => number,
        3 => word(),
        1 => Just("#null".to_owned()),
        1 => Just("#true".to_owned()),
        1 => Just("\"\"\"\n  long\n    text\n  \"\"\"".to_owned()),
    ]
}

fn entry() -> impl Strategy<Value = String> {
    let typed = (prop::option::weighted(0.1, (word(), space())), value()).prop_map(|(ty, value)| match ty {
        Some((ty, space)) => format!("({ty}{space}){value}"),
        None => value,
    });
    let name = prop_oneof![
        2 => word(),
        1 => prop::sample::select(vec!["date", "by", "stage", "wrench", "gauge", "from", "to"]).prop_map(str::to_owned),
    ];
    (prop::option::weighted(0.4, (name, prop::option::weighted(0.1, space()))), typed, 0..10u8).prop_map(
        |(prop, value, dash)| {
            let dash = match dash {
                0 => "/-",
                1 => "/- /* @ */\n ",
                _ => "",
            };
            match prop {
                Some((name, Some(space))) => format!("{dash}{name}{space}={space}{value}"),
                Some((name, None)) => format!("{dash}{name}={value}"),
                None => format!("{dash}{value}"),
            }
        },
    )
}

fn line_end() -> impl Strategy<Value = String> {
    prop_oneof![
        4 => Just("\n".to_owned()),
        2 => Just(";".to_owned()),
        1 => Just("; ".to_owned()),
        1 => Just(" // @\n".to_owned()),
        1 => Just("; // @\n".to_owned()),
        1 => Just("; /* @ */ // @\r\n".to_owned()),
        1 => Just("\n\n\n // @\n\n".to_owned()),
        1 => Just("\n // @\n /* @ */ /* @ */\n".to_owned()),
        1 => Just("\r\n /* @ */ ".to_owned()),
    ]
}

fn nodes() -> impl Strategy<Value = String> {
    let name = prop_oneof![
        2 => word(),
        2 => prop::sample::select(vec!["at", "UL", "LR", "rail", "fasten", "survey", "segment"]).prop_map(str::to_owned),
    ];
    let dash = prop_oneof![8 => Just(""), 1 => Just("/-"), 1 => Just("/- // @\n"), 1 => Just("/-\n /* @ */ ")];
    let head = (dash, name, prop::collection::vec((space(), entry()), 0..5)).prop_map(|(dash, name, entries)| {
        let entries: String = entries.into_iter().map(|(space, entry)| space + &entry).collect();
        format!("{dash}{name}{entries}")
    });
    let head = head.boxed();
    let leaf = prop::collection::vec((head.clone(), line_end()).prop_map(|(head, end)| head + &end), 0..4);
    let leaf = leaf.prop_map(|nodes| nodes.concat()).boxed();
    leaf.prop_recursive(4, 24, 4, move |inner| {
        let block = (prop::sample::select(vec!["", "/-"]), line_open(), inner, space())
            .prop_map(|(dash, open, inner, close)| format!(" {dash}{{{open}{inner}{close}}}"));
        let node = (head.clone(), prop::option::of(block), line_end())
            .prop_map(|(head, block, end)| head + &block.unwrap_or_default() + &end);
        prop::collection::vec(node, 0..5).prop_map(|nodes| nodes.concat()).boxed()
    })
}

fn line_open() -> impl Strategy<Value = String> {
    prop_oneof![
        2 => Just(String::new()),
        2 => Just("\n".to_owned()),
        1 => Just(" // @\n".to_owned()),
        1 => Just(" /* @ */\n\n".to_owned()),
        1 => Just(" /* @ */ ".to_owned()),
    ]
}

/// Numbers the comments.
fn numbered(text: &str) -> (String, usize) {
    let mut count = 0;
    let mut out = String::new();
    for part in text.split('@') {
        if count > 0 {
            out.push_str(&format!("comment-{count}."));
        }
        out.push_str(part);
        count += 1;
    }
    (out, count - 1)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 512, ..ProptestConfig::default() })]

    #[test]
    fn meaning_and_comments_stay(source in nodes()) {
        let (source, count) = numbered(&source);
        let before = read(source.clone(), &ReadLimits::default());
        // A few of the random texts say nothing a reader accepts.
        prop_assume!(before.faults.is_empty());
        let tidied = tidy(&source);
        let after = read(tidied.clone(), &ReadLimits::default());
        prop_assert!(after.faults.is_empty());
        prop_assert_eq!(same_meaning(&before.document, &after.document), None);
        // That crate refuses a few valid texts; see `kdl_differential`.
        if let Some(said) = kdl_says(&source) {
            prop_assert_eq!(kdl_says(&tidied), Some(said));
        }
        for number in 1..=count {
            prop_assert_eq!(tidied.matches(&format!("comment-{number}.")).count(), 1, "{}", tidied);
        }
        prop_assert_eq!(tidy(&tidied), tidied.clone(), "tidying again changes nothing");
        for line in tidied.lines() {
            let inside = line.contains("long") || line.contains("*/") || line.contains("\"\"\"");
            prop_assert!(inside || line.trim_end_matches([' ', '\t']) == line, "spaces at the end of {line:?}");
        }
    }
}

#[test]
fn most_random_documents_are_accepted() {
    use proptest::strategy::ValueTree as _;
    use proptest::test_runner::TestRunner;
    let mut runner = TestRunner::deterministic();
    let accepted = (0..200)
        .filter(|_| {
            let source = nodes().new_tree(&mut runner).expect("a document").current();
            read(numbered(&source).0, &ReadLimits::default()).faults.is_empty()
        })
        .count();
    assert!(accepted > 100, "{accepted} of 200");
}

#[test]
fn the_command_tidies_and_says_what_it_left_alone() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = |name: &str| folder.path().join(name);
    std::fs::create_dir(file("m")).expect("a folder");
    std::fs::write(file("shop.kdl"), "shop   \"a\"\n").expect("written");
    std::fs::write(file("m/machine.kdl"), "machine m{axis X}\n").expect("written");
    std::fs::write(file("m/day.kdl"), "service X   by=a date=\"2026-01-01\"\n").expect("written");
    std::fs::write(file("m/bad.kdl"), "service X {\n").expect("written");
    std::fs::write(file("m/notes.txt"), "a   b").expect("written");

    let (out, err, code) = run(folder.path(), &["tidy", "--check"]);
    assert_eq!(code, Some(2));
    assert_eq!(out, "not tidy: m/day.kdl\nnot tidy: m/machine.kdl\nnot tidy: shop.kdl\n");
    assert!(err.contains("m/bad.kdl is left as it is"), "{err}");
    assert_eq!(std::fs::read_to_string(file("m/day.kdl")).expect("text"), "service X   by=a date=\"2026-01-01\"\n");

    // One folder deep: the shop file above is not meant.
    let (out, _, code) = run(folder.path(), &["tidy", "m"]);
    assert_eq!((out.as_str(), code), ("tidied: m/day.kdl\ntidied: m/machine.kdl\n", Some(2)));
    assert_eq!(std::fs::read_to_string(file("m/day.kdl")).expect("text"), "service X date=\"2026-01-01\" by=a\n");
    assert_eq!(std::fs::read_to_string(file("m/bad.kdl")).expect("text"), "service X {\n");
    assert_eq!(std::fs::read_to_string(file("shop.kdl")).expect("text"), "shop   \"a\"\n");

    std::fs::remove_file(file("m/bad.kdl")).expect("removed");
    assert_eq!(run(folder.path(), &["tidy", "--check"]).2, Some(1));
    assert_eq!(run(folder.path(), &["tidy", "shop.kdl"]).2, Some(0));
    assert_eq!(run(folder.path(), &["tidy", "--check"]), (String::new(), String::new(), Some(0)));
    assert_eq!(run(folder.path(), &["tidy", "nowhere"]).2, Some(2));
}

/// What cannot be laid out within a gigabyte is refused, with how much it holds.
#[test]
fn a_text_of_very_many_parts_is_not_laid_out() {
    let refused = text(&"at S1\n".repeat(250_001)).expect_err("too much");
    assert!(refused.to_string().starts_with("it holds 500002 nodes and values, and at most 500000"), "{refused}");
}
