//! No two files of the source need each other, be it through a third one: each can be read with what stands below it alone.
//!
//! A file needs another one where it names something that is defined there, however many `pub use` lie between. A method
//! is named by nobody, and a `pub use` of what the file itself does not name is a signpost for others.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use regex::{Captures, Regex};

use super::SRC;

/// A file by its path of modules: `["rules", "case"]`.
type Module = Vec<String>;

/// What the analysis knows of a file.
#[derive(Default)]
struct File {
    /// What each name that is brought in stands for, and whether it is passed on.
    uses: BTreeMap<String, (String, bool)>,
    /// Its text without those, without comments, strings and tests.
    rest: String,
}

struct Source(BTreeMap<Module, File>);

impl Source {
    fn of<'t>(texts: impl IntoIterator<Item = (&'t str, String)>) -> Source {
        let nothing = Regex::new(r##"(?s)r#".*?"#|r"[^"]*"|"(?:\\.|[^"\\])*"|'"'|'\\"'|//[^\n]*|\bmod \w+;"##)
            .expect("a pattern");
        let tests = Regex::new(r"#\[cfg\((all\()?test\b[^\n]*\nmod ").expect("a pattern");
        let brought = Regex::new(r"(pub(?:\([^)]*\))?\s+)?\buse\s+([^;]+);").expect("a pattern");
        let file = |text: &str| {
            let text = tests.split(text).next().unwrap_or(text);
            let text = nothing.replace_all(text, " ");
            let mut uses = BTreeMap::new();
            let rest = brought.replace_all(&text, |found: &Captures| {
                for (name, path) in names(&found[2]) {
                    uses.insert(name, (path, found.get(1).is_some()));
                }
                String::new()
            });
            File { rest: rest.into_owned(), uses }
        };
        let module = |path: &str| -> Module {
            let path = path.trim_end_matches(".rs").trim_end_matches("mod").trim_end_matches('/');
            path.split('/').filter(|part| *part != "lib").map(str::to_string).collect()
        };
        Source(texts.into_iter().map(|(path, text)| (module(path), file(&text))).collect())
    }

    /// The file that defines what a path names; nothing outside of the source, or where it names a module alone.
    fn defines(&self, from: &Module, path: &str, seen: &mut BTreeSet<(Module, String)>) -> Option<Module> {
        let mut parts = path.split("::").map(str::trim).peekable();
        let mut at = from.clone();
        if parts.next_if_eq(&"crate").is_some() {
            at.clear();
        } else if matches!(parts.peek(), Some(&("self" | "super"))) {
            while let Some(part) = parts.next_if(|part| matches!(*part, "self" | "super")) {
                if part == "super" {
                    at.pop();
                }
            }
        } else {
            let first = *parts.peek()?;
            if !self.0.contains_key(&child(&at, first)) && !self.0.get(&at)?.uses.contains_key(first) {
                return None;
            }
        }
        while let Some(part) = parts.next() {
            let below = child(&at, part);
            if self.0.contains_key(&below) {
                at = below;
                continue;
            }
            let known = self.0.get(&at).and_then(|file| file.uses.get(part));
            return match known {
                Some((path, _)) if seen.insert((at.clone(), part.to_string())) => {
                    let whole: Vec<&str> = std::iter::once(path.as_str()).chain(parts).collect();
                    self.defines(&at, &whole.join("::"), seen)
                }
                _ => Some(at),
            };
        }
        None
    }

    /// The other files that a file needs.
    fn needs(&self, module: &Module) -> BTreeSet<Module> {
        let file = &self.0[module];
        let words: BTreeSet<&str> =
            file.rest.split(|letter: char| !letter.is_alphanumeric() && letter != '_').collect();
        let brought = file.uses.iter().filter(|(name, (_, passed_on))| !passed_on || words.contains(name.as_str()));
        let paths = file.rest.split(|letter: char| !letter.is_alphanumeric() && !"_:".contains(letter));
        let mut paths: BTreeSet<String> = paths.filter(|path| path.contains("::")).map(str::to_string).collect();
        paths.extend(brought.map(|(_, (path, _))| path.clone()));
        let defined = paths.iter().filter_map(|path| self.defines(module, path, &mut BTreeSet::new()));
        defined.filter(|other| other != module).collect()
    }

    /// The files that need themselves by way of others, each with those of them that it names.
    fn circles(&self) -> Vec<String> {
        let needs: BTreeMap<&Module, BTreeSet<Module>> = self.0.keys().map(|of| (of, self.needs(of))).collect();
        let all: BTreeMap<&Module, BTreeSet<&Module>> = needs.keys().map(|of| (*of, below(&needs, of))).collect();
        let round = |a: &Module, b: &Module| all[a].contains(b) && all.get(b).is_some_and(|below| below.contains(a));
        needs
            .iter()
            .filter(|(of, _)| all[**of].contains(**of))
            .map(|(of, needs)| {
                let named: Vec<String> = needs.iter().filter(|other| round(of, other)).map(|it| it.join("/")).collect();
                format!("{} names {}", of.join("/"), named.join(", "))
            })
            .collect()
    }
}

/// All files that a file needs, be it through others.
fn below<'n>(needs: &'n BTreeMap<&Module, BTreeSet<Module>>, from: &'n Module) -> BTreeSet<&'n Module> {
    let mut found = BTreeSet::new();
    let mut open = vec![from];
    while let Some(next) = open.pop() {
        open.extend(needs.get(next).into_iter().flatten().filter(|other| found.insert(*other)));
    }
    found
}

fn child(module: &Module, name: &str) -> Module {
    module.iter().cloned().chain([name.to_string()]).collect()
}

/// What a `use` brings in: each name with its path. `a::{b, c as d}` brings in `b` for `a::b` and `d` for `a::c`.
fn names(tree: &str) -> Vec<(String, String)> {
    let tree = tree.trim();
    let Some((head, body)) = tree.strip_suffix('}').and_then(|tree| tree.split_once('{')) else {
        let (path, name) = tree.split_once(" as ").unwrap_or((tree, tree.rsplit("::").next().unwrap_or(tree)));
        return vec![(name.trim().to_string(), path.trim().to_string())];
    };
    let mut parts = vec![String::new()];
    let mut depth = 0;
    for letter in body.chars() {
        depth += i32::from(letter == '{') - i32::from(letter == '}');
        match letter {
            ',' if depth == 0 => parts.push(String::new()),
            _ => parts.last_mut().expect("it begins with one").push(letter),
        }
    }
    let of_part = |part: &String| match part.trim() {
        "" => Vec::new(),
        "self" => names(head.trim_end_matches("::")),
        part => names(&format!("{head}{part}")),
    };
    parts.iter().flat_map(of_part).collect()
}

#[test]
fn no_file_needs_itself() {
    let mut texts = Vec::new();
    let mut folders = vec![Path::new(SRC).to_path_buf()];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).expect("a folder of the source") {
            let path = entry.expect("a file of the source").path();
            if path.is_dir() {
                // What only tests use is no part of the house.
                folders.extend((!path.ends_with("tests") && !path.ends_with("testing")).then_some(path));
                continue;
            }
            let short = path.strip_prefix(SRC).expect("below the source").to_str().expect("in UTF-8").to_string();
            // The program stands on the library.
            if short != "main.rs" {
                texts.push((short, std::fs::read_to_string(&path).expect("a file of the source")));
            }
        }
    }
    let source = Source::of(texts.iter().map(|(path, text)| (path.as_str(), text.clone())));
    assert!(source.0.len() > 400, "only {} files were read", source.0.len());
    let needs: usize = source.0.keys().map(|file| source.needs(file).len()).sum();
    assert!(needs > 1500, "only {needs} imports were understood");
    assert_eq!(source.circles(), Vec::<String>::new());
}

/// The circles among files of these texts, beside a root that has them all.
fn circles(texts: &[(&str, &str)]) -> Vec<String> {
    Source::of(texts.iter().map(|(path, text)| (*path, text.to_string())).chain([("lib.rs", String::new())])).circles()
}

#[test]
fn a_circle_is_seen() {
    let direct = [("a.rs", "use crate::b::B; pub struct A;"), ("b.rs", "pub struct B(crate::a::A);")];
    assert_eq!(circles(&direct), ["a names b", "b names a"]);
    let through_a_third = [
        ("a.rs", "use crate::b::B; use crate::free::Free;"),
        ("b.rs", "use crate::c::{C as Other, D};"),
        ("c.rs", "use super::a::*;"),
        ("free.rs", "pub struct Free;"),
    ];
    assert_eq!(circles(&through_a_third), ["a names b", "b names c", "c names a"]);
    let through_a_signpost = [
        ("room/mod.rs", "mod one; mod two; pub use one::One; pub use two::{two, Two};"),
        ("room/one.rs", "use crate::room::Two; pub struct One;"),
        ("room/two.rs", "use crate::room; pub struct Two(room::One); pub fn two() {}"),
    ];
    assert_eq!(circles(&through_a_signpost), ["room/one names room/two", "room/two names room/one"]);
    let with_the_parent = [
        ("room/mod.rs", "mod one; pub static ALL: &[&One] = &[&one::ONE];"),
        ("room/one.rs", "pub static ONE: One = super::help();"),
    ];
    assert_eq!(circles(&with_the_parent), ["room names room/one", "room/one names room"]);
    let passed_on_and_named = [
        ("room/mod.rs", "mod one; pub use one::One; pub fn help() -> One { One }"),
        ("room/one.rs", "use super::help; pub struct One;"),
    ];
    assert_eq!(circles(&passed_on_and_named), ["room names room/one", "room/one names room"]);
    let inside_a_function = [("a.rs", "fn f() { use crate::b::{self, B}; b::g() }"), ("b.rs", "use crate::a::f;")];
    assert_eq!(circles(&inside_a_function), ["a names b", "b names a"]);
}

#[test]
fn what_is_none_is_not_taken_for_one() {
    for texts in [
        [("a.rs", "use crate::b::B;"), ("b.rs", "// use crate::a::A;\nconst TEXT: &str = \"crate::a::A //\";")],
        [("a.rs", "use crate::b::B;"), ("b.rs", "pub struct B;\n#[cfg(test)]\nmod tests { use crate::a::A; }")],
        [("a.rs", "use crate::b::B; impl B { pub fn a(&self) {} }"), ("b.rs", "fn f(b: &B) { b.a(); std::a::A }")],
        [("room/mod.rs", "mod one; pub use one::One;"), ("room/one.rs", "use crate::room; pub struct One;")],
    ] {
        assert_eq!(circles(&texts), Vec::<String>::new(), "{texts:?}");
    }
}
