//! The official KDL 2 test suite, as the package of the `kdl` crate ships it. A case without `_fail` in its name must
//! be read without a fault and, written back, be what the suite expects; a case with it must give a fault.

use std::collections::BTreeMap;
use std::path::PathBuf;

use crate::testing::locked::package;
use crate::text::{ReadLimits, canonical, read as read_text, read_bytes};

/// The suite's folder in the package of the `kdl` crate this build was locked to.
fn suite() -> PathBuf {
    let folder = package("kdl").join("tests").join("test_cases");
    assert!(folder.join("input").is_dir(), "the kdl package has no suite at {}", folder.display());
    folder
}

pub(crate) fn folder(name: &str) -> BTreeMap<String, Vec<u8>> {
    std::fs::read_dir(suite().join(name))
        .expect("the suite's folder can be listed")
        .map(|entry| {
            let entry = entry.expect("the suite's folder can be listed");
            let bytes = std::fs::read(entry.path()).expect("a case can be read");
            (entry.file_name().to_string_lossy().into_owned(), bytes)
        })
        .collect()
}

/// The suite's files that hold numbers a double cannot: this copy expects what became of them in doubles (`#inf` and
/// `0.0`), while the suite's rule is "simplest decimal representation", and that is what an exact reader must give.
const EXACT: [(&str, &str); 3] = [
    ("sci_notation_large.kdl", "node prop=1.23e1000\n"),
    ("sci_notation_small.kdl", "node prop=1.23e-1000\n"),
    // 0xabcdef1234567890, for which this copy has no expectation.
    ("hex.kdl", "node 12379813812177893520\n"),
];

#[test]
fn valid_cases_are_read_and_written_as_the_suite_expects() {
    let expected = folder("expected_kdl");
    let mut wrong = Vec::new();
    let mut count = 0;
    for (name, bytes) in folder("input") {
        if name.ends_with("_fail.kdl") {
            continue;
        }
        count += 1;
        let read = read_bytes(bytes, &ReadLimits::default());
        let exact = EXACT.iter().find(|(exact, _)| *exact == name).map(|(_, expected)| expected.to_string());
        let expected = exact.unwrap_or_else(|| {
            let bytes = expected.get(&name).unwrap_or_else(|| panic!("no expectation for {name}"));
            String::from_utf8(bytes.clone()).expect("an expectation is UTF-8")
        });
        let expected = expected.trim_end();
        let written = canonical(&read.document);
        if !read.faults.is_empty() || written.trim_end() != expected {
            wrong.push(format!("{name}\n--- expected\n{expected}\n--- written\n{written}--- {:?}\n", read.faults));
            continue;
        }
        // And back: what was written says the same.
        let again = read_text(written.clone(), &ReadLimits::default());
        if !again.faults.is_empty() || canonical(&again.document) != written {
            wrong.push(format!("{name}: what was written is not read back: {written}"));
        }
    }
    assert!(wrong.is_empty(), "{} of {count} wrong\n{}", wrong.len(), wrong.join("\n"));
    assert!(count >= 233, "the suite shrank to {count} valid cases");
}

#[test]
fn invalid_cases_give_a_fault() {
    let mut wrong = Vec::new();
    let mut count = 0;
    for (name, bytes) in folder("input") {
        if !name.ends_with("_fail.kdl") {
            continue;
        }
        count += 1;
        let read = read_bytes(bytes, &ReadLimits::default());
        if read.faults.is_empty() {
            wrong.push(format!("{name}: {:?}", canonical(&read.document)));
        }
        for fault in &read.faults {
            let end = fault.span.range().end;
            assert!(end <= read.document.text().len(), "{name}: {fault:?} lies outside the text");
        }
    }
    assert!(wrong.is_empty(), "{} of {count} accepted\n{}", wrong.len(), wrong.join("\n"));
    assert!(count >= 87, "the suite shrank to {count} invalid cases");
}

/// Cases of the suite that hold more than one mistake, with how many a person would count.
const SEVERAL: [(&str, usize); 4] = [
    // inf, -inf and nan
    ("floating_point_keyword_identifier_strings_fail.kdl", 3),
    // an empty annotation, and `false` without its `#`
    ("just_space_in_arg_type_fail.kdl", 2),
    // one quote that opens and one that closes a text of several lines: neither closes on its line
    ("multiline_raw_string_single_quote_err_fail.kdl", 2),
    ("multiline_string_single_quote_err_fail.kdl", 2),
];

#[test]
fn one_mistake_is_one_fault() {
    for (name, bytes) in folder("input") {
        let read = read_bytes(bytes, &ReadLimits::default());
        let several = SEVERAL.iter().find(|(several, _)| *several == name).map(|(_, count)| *count);
        let expected = several.unwrap_or(usize::from(name.ends_with("_fail.kdl")));
        assert_eq!(read.faults.len(), expected, "{name}: {:?}", read.faults);
    }
}

/// The layout of a ledger file must cope with all KDL.
#[test]
fn valid_cases_keep_their_meaning_when_tidied() {
    for (name, bytes) in folder("input") {
        let read = read_bytes(bytes, &ReadLimits::default());
        if name.ends_with("_fail.kdl") || !read.faults.is_empty() {
            continue;
        }
        let tidied = crate::writing::tidy::text(read.document.text()).unwrap_or_else(|why| panic!("{name}: {why}"));
        let again = crate::writing::tidy::text(&tidied).unwrap_or_else(|why| panic!("{name}: {why}"));
        assert_eq!(again, tidied, "{name}: tidying again changes it");
        let after = read_text(tidied, &ReadLimits::default());
        assert_eq!(canonical(&after.document), canonical(&read.document), "{name}");
    }
}
