//! The pages of a fleet: one for the fleet and one for each machine, that lead to each other and to nothing else.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use crate::common::yard::{Ran, SAW, SHOP, Yard};

/// Three ledgers, two of which would have one name if it were made of plain letters alone.
fn yard() -> Yard {
    let yard = Yard::empty();
    yard.write("shop.kdl", SHOP);
    for folder in ["a b", "a-b", "deep/<i>&\"q\""] {
        yard.write(&format!("{folder}/machine.kdl"), SAW);
    }
    yard
}

fn pages(yard: &Yard, folder: &str) -> Ran {
    yard.wayledger(&["report", ".", "--today", "2026-11-01", "--pages", folder])
}

/// The files of a folder with their bytes.
fn files(folder: &Path) -> Vec<(String, Vec<u8>)> {
    let names = fs::read_dir(folder).expect("a folder").map(|entry| entry.expect("an entry").path());
    let mut all: Vec<_> =
        names.map(|file| (file.file_name().unwrap().to_string_lossy().into_owned(), fs::read(file).unwrap())).collect();
    all.sort();
    all
}

/// The links of a page that lead elsewhere.
fn links(page: &str) -> BTreeSet<&str> {
    let all = page.split("href=\"").skip(1).filter_map(|rest| rest.split('"').next());
    all.filter(|link| !link.starts_with('#')).collect()
}

#[test]
fn the_pages_of_a_fleet_lead_to_each_other() {
    let yard = yard();
    let done = pages(&yard, "pages");
    assert_eq!((done.code, done.err.as_str()), (0, ""), "{done:?}");
    let written = files(&yard.root.join("pages"));
    let names: Vec<&str> = written.iter().map(|(name, _)| name.as_str()).collect();
    let machines = ["machine-a-b-2.html", "machine-a-b.html", "machine-deep-i-q.html"];
    assert_eq!(names, [&["index.html"][..], &machines].concat());
    for (name, page) in &written {
        let page = String::from_utf8_lossy(page);
        let expected = if name == "index.html" { BTreeSet::from(machines) } else { BTreeSet::from(["index.html"]) };
        assert_eq!(links(&page), expected, "{name}");
    }
    // Each link leads to the ledger that its row names, and that page says so.
    let fleet = String::from_utf8_lossy(&written[0].1).into_owned();
    assert!(fleet.contains("<a href=\"machine-a-b.html\">a-b</a>"), "{fleet}");
    assert!(fleet.contains("<a href=\"machine-a-b-2.html\">a b</a>"), "{fleet}");
    let of = |name: &str| String::from_utf8_lossy(&fs::read(yard.root.join("pages").join(name)).unwrap()).into_owned();
    assert!(of("machine-a-b-2.html").contains(">a b<") && of("machine-a-b.html").contains(">a-b<"));
    // The same again, byte for byte; nothing else is left beside them.
    assert_eq!(pages(&yard, "pages").code, 0);
    assert_eq!(files(&yard.root.join("pages")), written);
    // On paper alone there are no links.
    let alone = yard.wayledger(&["report", ".", "--today", "2026-11-01", "--format", "html"]).out;
    assert_eq!(links(&alone), BTreeSet::new());
}

#[test]
fn what_is_not_ours_is_left_and_then_nothing_is_written() {
    for taken in ["machine-deep-i-q.html", "index.html"] {
        let yard = yard();
        yard.write(&format!("pages/{taken}"), "somebody's own\n").write("pages/notes.txt", "mine");
        let before = files(&yard.root.join("pages"));
        let done = pages(&yard, "pages");
        assert_eq!(done.code, 2, "{done:?}");
        assert!(done.err.contains(taken) && done.err.contains("no page was written"), "{done:?}");
        assert_eq!(files(&yard.root.join("pages")), before, "{taken}");
    }
}

/// A page of a ledger that is gone is told, and stays.
#[test]
fn a_page_of_an_earlier_report_is_told() {
    let yard = yard();
    assert_eq!(pages(&yard, "pages").code, 0);
    fs::remove_dir_all(yard.root.join("a b")).unwrap();
    let done = pages(&yard, "pages");
    assert_eq!(done.code, 0);
    assert!(done.err.contains("machine-a-b-2.html: a page of an earlier report"), "{done:?}");
    assert_eq!(done.err.lines().count(), 1, "{done:?}");
    assert!(yard.root.join("pages/machine-a-b-2.html").exists());
    assert_eq!(links(&String::from_utf8_lossy(&fs::read(yard.root.join("pages/index.html")).unwrap())).len(), 2);
}
