//! What comes in from others: licences, origin, versions that stand twice, networks. The lists are those of `deny.toml`,
//! which cargo-deny reads too; here nothing but Cargo is needed. Licence expressions are read as SPDX 2.3, annex D, says.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::process::Command;

use serde_json::Value;

const ROOT: &str = env!("CARGO_MANIFEST_DIR");
const CRATES_IO: &str = "https://github.com/rust-lang/crates.io-index";

fn read(name: &str) -> String {
    std::fs::read_to_string(Path::new(ROOT).join(name)).expect("it stands in the repository")
}

/// A list of `deny.toml`: its plain texts, or of its tables what stands behind `crate =`.
fn listed(key: &str) -> BTreeSet<String> {
    let text = read("deny.toml");
    let (_, after) = text.split_once(&format!("\n{key} = [")).expect("deny.toml has the list");
    let (list, _) = after.split_once(']').expect("the list ends");
    let tables = list.contains('{');
    list.split(['\n', ',', '{'])
        .filter(|part| !tables || part.trim_start().starts_with("crate ="))
        .filter_map(|part| part.split('"').nth(1))
        .map(str::to_string)
        .collect()
}

/// A package of `Cargo.lock`: name, version and where it comes from.
fn locked() -> Vec<(String, String, Option<String>)> {
    let text = read("Cargo.lock");
    let value = |part: &str, key: &str| {
        part.lines().find_map(|line| line.strip_prefix(&format!("{key} = \""))?.strip_suffix('"').map(str::to_string))
    };
    text.split("[[package]]")
        .skip(1)
        .map(|part| (value(part, "name").unwrap(), value(part, "version").unwrap(), value(part, "source")))
        .collect()
}

/// Whether a licence expression lets us in by the licences allowed. `/` is the old way to write `OR`.
fn allows(expression: &str, allowed: &BTreeSet<String>) -> bool {
    let spaced = expression.replace('(', " ( ").replace(')', " ) ").replace('/', " OR ");
    let words: Vec<&str> = spaced.split_whitespace().collect();
    let (mut at, held) = (0, &mut |word: &str| allowed.contains(word));
    let result = either(&words, &mut at, held);
    assert_eq!(at, words.len(), "`{expression}` is no licence expression");
    result
}

fn either(words: &[&str], at: &mut usize, held: &mut impl FnMut(&str) -> bool) -> bool {
    let mut result = both(words, at, held);
    while words.get(*at) == Some(&"OR") {
        *at += 1;
        result |= both(words, at, held);
    }
    result
}

fn both(words: &[&str], at: &mut usize, held: &mut impl FnMut(&str) -> bool) -> bool {
    let mut result = one(words, at, held);
    while words.get(*at) == Some(&"AND") {
        *at += 1;
        result &= one(words, at, held);
    }
    result
}

fn one(words: &[&str], at: &mut usize, held: &mut impl FnMut(&str) -> bool) -> bool {
    let word = words[*at];
    *at += 1;
    if word == "(" {
        let result = either(words, at, held);
        assert_eq!(words[*at], ")");
        *at += 1;
        return result;
    }
    if words.get(*at) == Some(&"WITH") {
        *at += 2;
        // An exception is a licence of its own: only named whole could it be allowed, and none is.
        return false;
    }
    held(word)
}

#[test]
fn licence_expressions_are_read_as_written() {
    let allowed = BTreeSet::from(["MIT".to_string(), "Zlib".to_string()]);
    for (expression, expected) in [
        ("MIT", true),
        ("GPL-3.0-only", false),
        ("MIT/Apache-2.0", true),
        ("GPL-3.0-only OR MIT", true),
        ("GPL-3.0-only AND MIT", false),
        ("MIT AND (GPL-3.0-only OR Zlib)", true),
        ("(MIT OR Zlib) AND GPL-3.0-only", false),
        ("GPL-3.0-only AND MIT OR Zlib", true),
        ("Apache-2.0 WITH LLVM-exception OR MIT", true),
        ("MIT WITH Some-exception", false),
    ] {
        assert_eq!(allows(expression, &allowed), expected, "{expression}");
    }
}

#[test]
fn every_package_built_here_has_an_allowed_licence() {
    let rustc = Command::new("rustc").arg("-vV").output().expect("rustc runs");
    let rustc = String::from_utf8(rustc.stdout).unwrap();
    let host = rustc.lines().find_map(|line| line.strip_prefix("host: ")).expect("rustc names its host");
    let output = Command::new(env!("CARGO"))
        .args(["metadata", "--offline", "--locked", "--format-version=1", "--filter-platform", host])
        .current_dir(ROOT)
        .output()
        .expect("cargo runs");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let metadata: Value = serde_json::from_slice(&output.stdout).unwrap();
    // `packages` holds all that was resolved; those built here are the nodes of the graph of this platform.
    let nodes = metadata["resolve"]["nodes"].as_array().unwrap();
    let built: BTreeSet<&str> = nodes.iter().map(|node| node["id"].as_str().unwrap()).collect();
    let allowed = listed("allow");
    let mut read = 0;
    for package in metadata["packages"].as_array().unwrap() {
        if !built.contains(package["id"].as_str().unwrap()) {
            continue;
        }
        read += 1;
        let name = &package["name"];
        let licence = package["license"].as_str().unwrap_or_else(|| panic!("{name} names no licence"));
        assert!(allows(licence, &allowed), "{name} is under `{licence}`, which deny.toml does not allow");
    }
    assert!(read > 100, "only {read} packages were read");
}

#[test]
fn everything_comes_from_the_one_registry() {
    let packages = locked();
    assert!(packages.len() > 100, "only {} packages were read", packages.len());
    for (name, version, source) in packages {
        let ours = name == env!("CARGO_PKG_NAME");
        assert_eq!(source, (!ours).then(|| format!("registry+{CRATES_IO}")), "{name} {version}");
    }
    assert_eq!(listed("allow-registry"), BTreeSet::from([CRATES_IO.to_string()]));
}

#[test]
fn what_stands_twice_is_known() {
    let mut versions: BTreeMap<String, BTreeSet<(u64, u64, u64)>> = BTreeMap::new();
    for (name, version, _) in locked() {
        let plain = version.split(['+', '-']).next().unwrap();
        let numbers: Vec<u64> = plain.split('.').map(|number| number.parse().unwrap()).collect();
        versions.entry(name).or_default().insert((numbers[0], numbers[1], numbers[2]));
    }
    let older = |(name, versions): (String, BTreeSet<(u64, u64, u64)>)| {
        let newest = versions.last().copied();
        let older: Vec<_> = versions.into_iter().filter(|version| Some(*version) != newest).collect();
        older.into_iter().map(move |(major, minor, patch)| format!("{name}@{major}.{minor}.{patch}"))
    };
    let twice: BTreeSet<String> = versions.into_iter().flat_map(older).collect();
    assert_eq!(twice, listed("skip"), "older versions beside newer ones, against the list in deny.toml");
}

#[test]
fn nothing_speaks_to_a_network() {
    let banned = listed("deny");
    assert!(!banned.is_empty());
    let packages: BTreeSet<String> = locked().into_iter().map(|(name, _, _)| name).collect();
    assert_eq!(packages.intersection(&banned).collect::<Vec<_>>(), Vec::<&String>::new());
}

#[test]
fn the_oldest_rust_is_the_one_the_readme_names_and_unsafe_code_is_forbidden() {
    let manifest = read("Cargo.toml");
    let oldest = manifest.lines().find_map(|line| line.strip_prefix("rust-version = \"")?.strip_suffix('"'));
    let oldest = oldest.expect("Cargo.toml names the oldest Rust");
    assert!(
        read("README.md").contains(&format!("Rust ({oldest} or later)")),
        "the README names another Rust than {oldest}"
    );
    assert!(manifest.contains("\nunsafe_code = \"forbid\"\n"));
}
