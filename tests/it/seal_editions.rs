//! Seals of every edition are read for ever: the ledgers of `tests/seals`, which nobody writes anew, are as they were released,
//! and one digit changed in any of their files is named.

use std::path::{Path as FilePath, PathBuf};

use sha2::{Digest as _, Sha256};
use wayledger::lint::Grade;

use crate::common::judge;

/// Each ledger with the SHA-256 of its files, name and text one after the other in the order of names, from `sha256sum`.
const LEDGERS: [(&str, &str); 4] = [
    ("edition-1/order", "c00a900e0946e233ed58bdd15cec821a4f7f3becd75c3dbf35df97a57496f92a"),
    ("edition-1/plain", "eace56c0b78e327e95ed29be8115c7c754f67118a551234f46f546698669473a"),
    ("edition-1/replaced", "371a0cac29a26ef378b1491f01a2561d6556127fdf656565cb89ec6b7158104b"),
    ("edition-1/withdrawn", "ec2dcc7faaadce80f6d3f160b224398c5b057d1d163f26d451b7a0819ee3fdaf"),
];

fn files(name: &str) -> Vec<(String, String)> {
    let folder: PathBuf = FilePath::new(env!("CARGO_MANIFEST_DIR")).join("tests/seals").join(name);
    let listed = std::fs::read_dir(&folder).expect("the ledger is there");
    let mut names: Vec<String> =
        listed.map(|entry| entry.expect("an entry").file_name().into_string().expect("a plain name")).collect();
    names.sort();
    let text = |name: &String| std::fs::read_to_string(folder.join(name)).expect("readable");
    names.iter().map(|name| (name.clone(), text(name))).collect()
}

/// What is said of the releases of a ledger.
fn altered(files: &[(String, String)]) -> Vec<String> {
    let all: Vec<(&str, &str)> = files.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    let (shops, own): (Vec<_>, Vec<_>) = all.into_iter().partition(|(name, _)| *name == "shop.kdl");
    let shops: Vec<&str> = shops.into_iter().map(|(_, text)| text).collect();
    let judged = judge(&own, &shops);
    let of_seal = judged.findings.iter().filter(|it| it.rule.as_str() == "release-altered");
    of_seal.filter(|it| it.grade == Grade::Nonconformity).map(|it| it.message.clone()).collect()
}

#[test]
fn a_seal_holds_for_ever_and_is_never_written_anew() {
    for (name, digest) in LEDGERS {
        let files = files(name);
        let mut hash = Sha256::new();
        for (name, text) in &files {
            hash.update(name);
            hash.update(text);
        }
        let now: String = hash.finalize().iter().map(|byte| format!("{byte:02x}")).collect();
        assert_eq!(now, digest, "{name} was written anew");
        assert_eq!(altered(&files), Vec::<String>::new(), "{name}");
    }
}

#[test]
fn one_digit_changed_under_a_kept_seal_is_named() {
    for (name, sealed, from, to) in [
        ("edition-1/plain", "records.kdl", "at S2 -0.02", "at S2 -0.03"),
        ("edition-1/plain", "machine.kdl", "K-201", "K-202"),
        ("edition-1/replaced", "later.kdl", "travelled=3", "travelled=4"),
        ("edition-1/replaced", "records.kdl", "at S2 -0.02", "at S2 -0.03"),
        ("edition-1/withdrawn", "records.kdl", "at S2 -0.02", "at S2 -0.03"),
        ("edition-1/withdrawn", "2026-05-12-engineer-2.kdl", "a wrong segment", "a wrong rail"),
        ("edition-1/order", "shop.kdl", "graduation=0.1", "graduation=0.2"),
    ] {
        let mut files = files(name);
        let (_, text) = files.iter_mut().find(|(file, _)| file == sealed).expect("the file is there");
        assert!(text.contains(from), "{name} {from}");
        *text = text.replacen(from, to, 1);
        assert!(!altered(&files).is_empty(), "{name}: {from} -> {to}");
    }
    // The two shims of one day, one above the other.
    let mut files = files("edition-1/order");
    let (_, text) = files.iter_mut().find(|(file, _)| file == "work.kdl").expect("there");
    *text = text
        .replace("{ at S3 0.05 }", "{ at S3 x }")
        .replace("{ at S3 0.02 }", "{ at S3 0.05 }")
        .replace("{ at S3 x }", "{ at S3 0.02 }");
    assert!(altered(&files).iter().any(|it| it.contains("no longer certainly does")));
}
