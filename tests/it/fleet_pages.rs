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
    let machines = ["machine-a-b-c8687a08.html", "machine-a-b.html", "machine-deep-i-q-7574f6b9.html"];
    assert_eq!(names, [&["index.html"][..], &machines].concat());
    for (name, page) in &written {
        let page = String::from_utf8_lossy(page);
        let expected = if name == "index.html" { BTreeSet::from(machines) } else { BTreeSet::from(["index.html"]) };
        assert_eq!(links(&page), expected, "{name}");
    }
    // Each link leads to the ledger that its row names, and that page says so.
    let fleet = String::from_utf8_lossy(&written[0].1).into_owned();
    assert!(fleet.contains("<a href=\"machine-a-b.html\">a-b</a>"), "{fleet}");
    assert!(fleet.contains("<a href=\"machine-a-b-c8687a08.html\">a b</a>"), "{fleet}");
    let of = |name: &str| String::from_utf8_lossy(&fs::read(yard.root.join("pages").join(name)).unwrap()).into_owned();
    assert!(of("machine-a-b-c8687a08.html").contains(">a b<") && of("machine-a-b.html").contains(">a-b<"));
    // The same again, byte for byte; nothing else is left beside them.
    assert_eq!(pages(&yard, "pages").code, 0);
    assert_eq!(files(&yard.root.join("pages")), written);
    // On paper alone there are no links.
    let alone = yard.wayledger(&["report", ".", "--today", "2026-11-01", "--format", "html"]).out;
    assert_eq!(links(&alone), BTreeSet::new());
}

#[test]
fn what_is_not_ours_is_left_and_then_nothing_is_written() {
    for taken in ["machine-deep-i-q-7574f6b9.html", "index.html"] {
        let yard = yard();
        yard.write(&format!("pages/{taken}"), "somebody's own\n").write("pages/notes.txt", "mine");
        let before = files(&yard.root.join("pages"));
        let done = pages(&yard, "pages");
        assert_eq!(done.code, 2, "{done:?}");
        assert!(done.err.contains(taken) && done.err.contains("no page was written"), "{done:?}");
        assert_eq!(files(&yard.root.join("pages")), before, "{taken}");
    }
}

/// All is asked before anything is written: a page that may not be written, a link, and a folder that is none.
#[test]
fn what_hinders_one_page_hinders_all() {
    let yard = yard();
    assert_eq!(pages(&yard, "pages").code, 0);
    let folder = yard.root.join("pages");
    let before = files(&folder);
    yard.write("a b/later.kdl", "// a ledger that says more\n").write("a0/machine.kdl", SAW);
    for protected in ["machine-deep-i-q-7574f6b9.html", "index.html"] {
        let file = folder.join(protected);
        let rights = fs::metadata(&file).unwrap().permissions();
        let mut readonly = rights.clone();
        readonly.set_readonly(true);
        fs::set_permissions(&file, readonly).unwrap();
        let done = pages(&yard, "pages");
        fs::set_permissions(&file, rights).unwrap();
        assert_eq!(done.code, 2, "{done:?}");
        assert!(done.err.contains(&format!("{protected}` is write-protected")), "{done:?}");
        assert!(done.err.contains("no page was written"), "{done:?}");
        assert_eq!(files(&folder), before, "{protected}");
    }
    for place in ["file", "file/below"] {
        yard.write("file", "x");
        let done = pages(&yard, place);
        assert_eq!(done.code, 2, "{done:?}");
        assert!(done.err.contains(&format!("`{place}` cannot be the folder of the pages")), "{done:?}");
        assert!(done.err.contains("with `--pages`") && done.err.contains("no page was written"), "{done:?}");
    }
}

/// What shows only while the pages are written is told with what was written before: here a page larger than any file may be.
#[cfg(unix)]
#[test]
fn a_set_that_stops_halfway_is_not_called_unwritten() {
    let yard = yard();
    let title = "long ".repeat(120_000);
    yard.write("z/machine.kdl", SAW.replacen('{', &format!("{{\n    title \"{title}\"\n"), 1));
    let line = format!(
        "trap '' XFSZ; ulimit -f 400; exec '{}' report . --today 2026-11-01 --pages pages",
        env!("CARGO_BIN_EXE_wayledger")
    );
    let done = std::process::Command::new("sh").args(["-c", &line]).current_dir(&yard.root).output().unwrap();
    let err = String::from_utf8_lossy(&done.stderr);
    assert_eq!(done.status.code(), Some(2), "{err}");
    assert!(err.contains("machine-z.html` was not written"), "{err}");
    assert!(err.contains("3 pages were written before, and `index.html` was not"), "{err}");
    assert!(!err.contains("nothing was written"), "{err}");
    assert_eq!(files(&yard.root.join("pages")).len(), 3);
}

/// Two machines would have one page, or a page would lie where nobody looks for it.
#[cfg(unix)]
#[test]
fn no_page_goes_where_a_link_leads() {
    use std::os::unix::fs::symlink;
    let links =
        [("index.html", "../arch.html"), ("machine-a-b-c8687a08.html", "machine-a-b.html"), ("index.html", "x")];
    for (link, leads_to) in links {
        let yard = yard();
        assert_eq!(pages(&yard, "pages").code, 0);
        let folder = yard.root.join("pages");
        fs::copy(folder.join("index.html"), yard.root.join("arch.html")).unwrap();
        fs::remove_file(folder.join(link)).unwrap();
        symlink(leads_to, folder.join(link)).unwrap();
        yard.write("a-b/more.kdl", "// more\n").write("a0/machine.kdl", SAW);
        let state = || {
            let mut all: Vec<_> = fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().path()).collect();
            all.sort();
            let read = |file: &std::path::PathBuf| (fs::read_link(file).ok(), fs::read(file).ok());
            (all.iter().map(read).collect::<Vec<_>>(), fs::read(yard.root.join("arch.html")).unwrap())
        };
        let before = state();
        let done = pages(&yard, "pages");
        assert_eq!(done.code, 2, "{done:?}");
        assert!(
            done.err.contains(&format!("{link}` is a link")) && done.err.contains("no page was written"),
            "{done:?}"
        );
        assert!(state() == before, "{link}");
    }
    // The folder itself: a link that leads nowhere is none, one that leads to a folder is that folder.
    let yard = yard();
    symlink("nowhere", yard.root.join("pages")).unwrap();
    let done = pages(&yard, "pages");
    assert_eq!(done.code, 2, "{done:?}");
    assert!(done.err.contains("`pages` cannot be the folder of the pages"), "{done:?}");
    fs::create_dir(yard.root.join("nowhere")).unwrap();
    assert_eq!(pages(&yard, "pages").code, 0);
    assert_eq!(files(&yard.root.join("nowhere")).len(), 4);
}

/// A page keeps its name when other ledgers come, so that no link, old or new, leads to another machine.
#[test]
fn a_page_stays_that_of_its_ledger() {
    let yard = Yard::empty();
    yard.write("shop.kdl", SHOP).write("q2/a-b/machine.kdl", SAW).write("q2/zz/machine.kdl", SAW);
    assert_eq!(pages(&yard, "pages").code, 0);
    let before = files(&yard.root.join("pages"));
    yard.write("q2/a b/machine.kdl", SAW).write("q2-a-b/machine.kdl", SAW);
    assert_eq!(pages(&yard, "pages").code, 0);
    let after = files(&yard.root.join("pages"));
    assert_eq!((before.len(), after.len()), (3, 5));
    // Of ledgers that have the same records a page may say more than before, but it stays the page of its ledger.
    for (name, folder) in [("machine-q2-a-b-8656a1ed.html", "q2/a-b"), ("machine-q2-zz-e65be58a.html", "q2/zz")] {
        for set in [&before, &after] {
            let page = set.iter().find(|page| page.0 == name).map(|page| String::from_utf8_lossy(&page.1).into_owned());
            assert!(page.is_some_and(|page| page.contains(&format!(">{folder}<"))), "{name}");
        }
    }
}

/// A page of a ledger that is gone is told, and stays. What somebody else called so is nobody's page.
#[test]
fn a_page_of_an_earlier_report_is_told() {
    let yard = yard();
    assert_eq!(pages(&yard, "pages").code, 0);
    yard.write("pages/machine-notes.html", "<p>somebody's own\n").write("pages/machine-raw.html", [0xff, 0xfe]);
    fs::remove_dir_all(yard.root.join("a b")).unwrap();
    let done = pages(&yard, "pages");
    assert_eq!(done.code, 0);
    assert!(done.err.contains("machine-a-b-c8687a08.html: a page of an earlier report"), "{done:?}");
    assert_eq!(done.err.lines().count(), 1, "{done:?}");
    assert!(yard.root.join("pages/machine-a-b-c8687a08.html").exists());
    assert_eq!(links(&String::from_utf8_lossy(&fs::read(yard.root.join("pages/index.html")).unwrap())).len(), 2);
}
