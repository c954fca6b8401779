//! One type, one name: no two types of the program are called the same, so that a name found anywhere means one thing.
//! What a trait or an `impl` calls its own (`type Target`) and the types of unit tests are left out.
//!
//! And an error is called one: what implements `Error` or is the second word of a `Result` ends in `Error`, and says of
//! itself and of each variant when it happens.

use std::collections::{BTreeMap, BTreeSet};
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

/// The sources of the program, tests left out, by their names below `src`.
fn sources() -> Vec<(String, String)> {
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
    files
}

#[test]
fn no_two_types_have_one_name() {
    let files = sources();
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

/// What implements `Error`, by hand or by derivation. What the terminal is given to draw must implement it too, and is none.
fn implements_error(text: &str) -> Vec<String> {
    let derived = r"(?m)^#\[derive\([^)]*\bError\b[^)]*\)\]\n(?:[ \t]*(?:#|//|\)).*\n|[ \t]+.*\n)*(?:pub(?:\([^)]*\))? )?(?:enum|struct) (\w+)";
    let by_hand = r"(?m)^impl(?:<[^{]*>)? (?:std::error::|error::)?Error for (\w+)";
    let all = Regex::new(&format!("{derived}|{by_hand}")).expect("a pattern");
    let found = all.captures_iter(text);
    let names = found.filter_map(|found| found.iter().skip(1).flatten().next().map(|name| name.as_str().to_owned()));
    names.filter(|name| !text.contains(&format!("\nimpl Diagnostic for {name}"))).collect()
}

/// The second word of each `Result`: the type of its error.
fn in_results(text: &str) -> Vec<String> {
    let mut all = Vec::new();
    for (start, _) in text.match_indices("Result<") {
        let (mut depth, mut comma) = (0_usize, None);
        for (at, letter) in text[start..].char_indices() {
            match letter {
                '<' | '(' | '[' => depth += 1,
                '>' if text[start..start + at].ends_with('-') => {}
                '>' | ')' | ']' => depth = depth.saturating_sub(1),
                ',' if depth == 1 => comma = Some(at + 1),
                _ => {}
            }
            if let (0, '>', Some(comma)) = (depth, letter, comma) {
                let path = text[start + comma..start + at].trim().split('<').next().unwrap_or_default();
                all.push(path.rsplit("::").next().unwrap_or_default().to_owned());
            }
            if depth == 0 && letter == '>' {
                break;
            }
        }
    }
    all
}

/// What of an error has no documentation: the type itself, or a variant of it.
fn unexplained(text: &str, name: &str) -> Vec<String> {
    let head = Regex::new(&format!(r"(?m)^(?:pub(?:\([^)]*\))? )?(enum|struct) {name}\b")).expect("a pattern");
    let Some(head) = head.captures(text) else { return Vec::new() };
    let start = head.get(0).map_or(0, |head| head.start());
    let mut missing = Vec::new();
    if !text[..start].lines().rev().take_while(|line| !line.is_empty()).any(|line| line.starts_with("///")) {
        missing.push(name.to_owned());
    }
    if &head[1] == "enum" {
        let mut said = false;
        for line in text[start..].lines().skip(1).take_while(|line| *line != "}") {
            let variant = line.strip_prefix("    ").filter(|line| line.starts_with(|c: char| c.is_uppercase()));
            if let Some(variant) = variant
                && !std::mem::take(&mut said)
            {
                let end = variant.find(|c: char| !c.is_alphanumeric()).unwrap_or(variant.len());
                missing.push(format!("{name}::{}", &variant[..end]));
            }
            said |= line.starts_with("    ///");
        }
    }
    missing
}

#[test]
fn an_error_is_called_one_and_says_when_it_happens() {
    let files = sources();
    let own: BTreeSet<String> = files.iter().flat_map(|(_, text)| defined(text)).collect();
    let (mut seen, mut wrong) = (BTreeSet::new(), BTreeSet::new());
    for (file, text) in &files {
        let results = in_results(text).into_iter().filter(|name| own.contains(name));
        for name in implements_error(text).into_iter().chain(results) {
            if !name.ends_with("Error") {
                wrong.insert(format!("{file}: {name} is not called an error"));
            }
            seen.insert(name);
        }
    }
    for (file, text) in &files {
        let missing = seen.iter().flat_map(|name| unexplained(text, name));
        wrong.extend(missing.map(|name| format!("{file}: {name} does not say when it happens")));
    }
    assert!(seen.len() > 25, "errors are not seen any more: {seen:?}");
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn an_error_by_another_name_or_without_a_word_is_seen() {
    let derived = "#[derive(Debug, thiserror::Error)]\n#[error(\"no\")]\npub struct Bad;\n";
    assert_eq!(implements_error(derived), ["Bad"]);
    let long = "#[derive(Debug, thiserror::Error)]\n#[error(\n    \"no\"\n)]\npub(crate) enum Bad {}\n";
    assert_eq!(implements_error(long), ["Bad"]);
    assert_eq!(implements_error("impl std::error::Error for Bad<'_> {}\n"), ["Bad"]);
    assert_eq!(implements_error("impl Error for Bad {}\n\nimpl Diagnostic for Bad {}\n"), Vec::<String>::new());
    assert_eq!(implements_error("#[derive(Debug)]\npub struct Bad;\n\nstruct Error;\n"), Vec::<String>::new());
    let results =
        "fn f(of: fn(u8) -> Result<u8, Bad<'_>>) -> io::Result<Option<Result<(u8, [u8; 2]), other::Worse>>> {}";
    assert_eq!(in_results(results), ["Bad", "Worse"]);
    let enumeration = "/// Why.\npub enum BadError {\n    /// Once.\n    #[error(\"no\")]\n    One,\n    #[error(\"no\")]\n    Two {\n        /// It.\n        what: u8,\n    },\n}\n";
    assert_eq!(unexplained(enumeration, "BadError"), ["BadError::Two"]);
    assert_eq!(unexplained(&enumeration.replace("/// Why.\n", "\n"), "BadError"), ["BadError", "BadError::Two"]);
    assert_eq!(unexplained("#[derive(Debug)]\nstruct BadError;\n", "BadError"), ["BadError"]);
}
