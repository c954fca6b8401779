//! One type, one name: no two types of the program are called the same, so that a name found anywhere means one thing.
//! What a trait or an `impl` calls its own (`type Target`) and the types of unit tests are left out.

use std::collections::BTreeMap;
use std::path::Path;

use regex::Regex;

const SRC: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/src");

/// The names of the types that a text defines. A `type` that is indented belongs to an `impl` or to one function.
fn defined(text: &str) -> Vec<String> {
    let tests = text.find("#[cfg(test)]\nmod tests {").unwrap_or(text.len());
    let keyword = r"(?m)^(?:pub(?:\([^)]*\))? )?(?:unsafe )?(?:struct|enum|trait|type|union) (\w+)";
    // The macro that makes an enum of words: documentation, then the name.
    let words = r"(?m)^words!\(\n(?:[ \t]*(?://|#\[).*\n)*[ \t]*(\w+) \{";
    let inside = r"(?m)^[ \t]+(?:pub(?:\([^)]*\))? )?(?:struct|enum|trait) (\w+)";
    let all = Regex::new(&format!("{keyword}|{words}|{inside}")).expect("a pattern");
    let found = all.captures_iter(&text[..tests]);
    found.filter_map(|found| found.iter().skip(1).flatten().next().map(|name| name.as_str().to_owned())).collect()
}

/// Each name that more than one definition has, with the files that hold them.
fn shared<'t>(files: impl IntoIterator<Item = (&'t str, &'t str)>) -> Vec<String> {
    let mut places: BTreeMap<String, Vec<&str>> = BTreeMap::new();
    for (file, text) in files {
        for name in defined(text) {
            places.entry(name).or_default().push(file);
        }
    }
    let twice = places.into_iter().filter(|(_, files)| files.len() > 1);
    twice.map(|(name, files)| format!("{name}: {}", files.join(", "))).collect()
}

#[test]
fn no_two_types_have_one_name() {
    let mut files: Vec<(String, String)> = Vec::new();
    for entry in walkdir::WalkDir::new(SRC).sort_by_file_name() {
        let entry = entry.expect("an entry of src");
        let short = entry.path().strip_prefix(SRC).expect("below src").to_string_lossy().into_owned();
        // Unit tests in files of their own, and what they share.
        let is_test =
            Path::new(&short).iter().any(|part| ["tests", "tests.rs", "testing"].iter().any(|it| part == *it));
        if short.ends_with(".rs") && !is_test {
            files.push((short, std::fs::read_to_string(entry.path()).expect("a file of src")));
        }
    }
    assert!(files.iter().map(|(_, text)| defined(text).len()).sum::<usize>() > 500, "types are not seen any more");
    let shared = shared(files.iter().map(|(file, text)| (file.as_str(), text.as_str())));
    assert!(shared.is_empty(), "names of more than one type:\n{}", shared.join("\n"));
}

#[test]
fn a_name_used_twice_is_seen() {
    let one = "pub(crate) struct Bar<'a>(&'a str);\nimpl Deref for Bar<'_> {\n    type Target = str;\n}\n";
    for other in [
        "enum Bar {}",
        "pub trait Bar: Sized {}",
        "type Bar = u8;",
        "words!(\n    /// How it is cut.\n    Bar { Whole = \"whole\" }\n);",
        "fn f() {\n    struct Bar;\n}",
    ] {
        assert_eq!(shared([("a.rs", one), ("b.rs", other)]), ["Bar: a.rs, b.rs"], "{other}");
    }
    for other in [
        "struct Bars;",
        "impl X {\n    type Target = u8;\n}",
        "// struct Bar;",
        "#[cfg(test)]\nmod tests {\n    struct Bar;\n}",
    ] {
        assert_eq!(shared([("a.rs", one), ("b.rs", other)]), Vec::<String>::new(), "{other}");
    }
}
