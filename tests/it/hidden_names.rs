//! Names that would hide a ledger or a part of one: each is told, exit code 1, from the work tree, the index and a commit.

use std::fs;
use std::os::unix::ffi::OsStrExt as _;

use crate::common::program::run;
use crate::common::yard::{GOOD, Ran, SAW, SHOP, Yard};

/// Lints the work tree, what is staged and what is committed; all three must say the same.
#[track_caller]
fn lint(yard: &Yard) -> Ran {
    let tree = yard.wayledger(&["lint", "--today", "2026-11-01"]);
    yard.git(&["add", "-A"]);
    let staged = yard.wayledger(&["lint", "--staged", "--today", "2026-11-01"]);
    yard.commit("all of it");
    let at = yard.wayledger(&["lint", "--at", "HEAD", "--today", "2026-11-01"]);
    for other in [&staged, &at] {
        assert_eq!((tree.code, &tree.out, &tree.err), (other.code, &other.out, &other.err));
    }
    tree
}

fn write_bytes(yard: &Yard, name: &[u8], text: &str) {
    let file = yard.root.join(std::ffi::OsStr::from_bytes(name));
    fs::create_dir_all(file.parent().unwrap()).unwrap();
    fs::write(file, text).unwrap();
}

#[test]
fn a_name_that_hides_is_told() {
    let ways: [(&[u8], &str, &str); 17] = [
        // Parts of a ledger.
        (b"saw/2021-04-16.KDL", GOOD, "saw/2021-04-16.KDL"),
        (b"saw/2021-04-16.Kdl", GOOD, "saw/2021-04-16.Kdl"),
        (b"saw/2021-04-16.kdl\r", GOOD, "saw/2021-04-16.kdl\\u{d}"),
        (b"saw/2021-04-16.kdl ", GOOD, "saw/2021-04-16.kdl "),
        (b"saw/april\xff/r.kdl", GOOD, "saw/april\\xFF"),
        (b"saw/april\xff.kdl", GOOD, "saw/april\\xFF.kdl"),
        // Ledgers, shop files and records that belong to none.
        (b"mill/MACHINE.kdl", SAW, "mill/MACHINE.kdl"),
        (b"mill/machine.KDL", SAW, "mill/machine.KDL"),
        (b"mill/machine.kdl\r", SAW, "mill/machine.kdl\\u{d}"),
        (b"mill\xff/machine.kdl", SAW, "mill\\xFF"),
        (b"store/Shop.kdl", SHOP, "store/Shop.kdl"),
        (b"store/april.kdl", GOOD, "store/april.kdl"),
        (b"mill\r/machine.kdl", SAW, "mill\\u{d}"),
        // Those that a dot hides.
        (b"saw/.2021-04-16.kdl", GOOD, "saw/.2021-04-16.kdl"),
        (b"saw/.draft.KDL", SAW, "saw/.draft.KDL"),
        (b"saw/.april/r.kdl", GOOD, "saw/.april/r.kdl"),
        (b".mill/machine.kdl", SAW, ".mill/machine.kdl"),
    ];
    for (name, text, shown) in ways {
        let yard = Yard::with_saw();
        assert_eq!(lint(&yard).code, 0);
        write_bytes(&yard, name, text);
        let ran = lint(&yard);
        assert_eq!(ran.code, 1, "{shown}: {ran:?}");
        let said = format!("{}{}", ran.out, ran.err);
        assert!(said.contains(shown), "{shown}: {said}");
        // Other commands, whose numbers would lack what is hidden, say so too.
        let report = yard.wayledger(&["report", "--today", "2026-11-01"]);
        assert!(report.code == 2 || shown == "mill\\u{d}", "{shown}: {report:?}");
    }
}

/// What is no part of a ledger by what it holds may have any name and lie anywhere.
#[test]
fn other_files_are_nobodys_business() {
    let yard = Yard::with_saw();
    for (name, text) in [
        (&b"settings.KDL"[..], "window width=80\n"),
        (b"editor/theme.kdl", "theme { dark #true }\n"),
        (b"editor/broken.kdl", "{{{\n"),
        (b"editor/empty.kdl", ""),
        (b"editor/MACHINE.kdl", "window width=80\n"),
        (b"photos\xff/saw.jpg", "x"),
        (b"photo\xff.jpg", "x"),
        (b"saw/photo\xff.jpg", "x"),
        (b"saw/machine.kdl~", "machine x\n"),
        (b"saw/.settings.kdl", "window width=80\n"),
        (b".git/r.kdl", GOOD),
    ] {
        write_bytes(&yard, name, text);
    }
    let ran = lint(&yard);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{ran:?}");
}

/// There is nothing else, yet the hidden ledger is told, and not only that there is none.
#[test]
fn a_hidden_ledger_alone_is_told() {
    let yard = Yard::empty();
    yard.write("mill/MACHINE.kdl", SAW);
    let ran = yard.wayledger(&["lint"]);
    assert_eq!(ran.code, 1, "{ran:?}");
    assert!(ran.err.contains("mill/MACHINE.kdl: it is not read: a ledger is known by its `machine.kdl`"), "{ran:?}");
    let yard = Yard::empty();
    yard.write("mill/note.txt", "x");
    assert_eq!(yard.wayledger(&["lint"]).code, 2);
}

/// A repository of its own inside another one: from above, from beside and from within the lint says the same, and it takes
/// nothing from the folders around it.
#[test]
fn a_repository_inside_another_one_is_judged_by_itself() {
    let findings = |yard: &Yard, folder: &str, path: &str| {
        let mut lint = yard.command("wayledger", folder);
        let ran = Ran::of(lint.args(["lint", path, "--format", "json", "--today", "2026-11-01"]).output().unwrap());
        let all: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
        let ledgers = all["ledgers"].as_array().unwrap().iter();
        let mill =
            ledgers.filter(|ledger| ledger["path"].as_str().is_some_and(|path| path.ends_with("mill") || path == "."));
        let texts = mill.flat_map(|ledger| ledger["findings"].as_array().unwrap().iter());
        texts
            .map(|finding| format!("{} {} {}", finding["rule"], finding["address"], finding["grade"]))
            .collect::<Vec<_>>()
    };
    // The profile stands in the shop file above, which is not the inner repository's.
    let yard = Yard::with_saw();
    yard.write("mill/machine.kdl", SAW.replace("saw", "mill")).write("mill/r.kdl", GOOD.replace("04-15", "04-19"));
    let together = findings(&yard, ".", ".");
    assert_eq!(together, findings(&yard, ".", "mill"));
    fs::create_dir(yard.root.join("mill/.git")).unwrap();
    assert_eq!(together, findings(&yard, ".", "."), "git takes an empty folder for nothing");
    fs::remove_dir(yard.root.join("mill/.git")).unwrap();
    yard.git(&["init", "-q", "mill"]);
    let alone = findings(&yard, ".", "mill");
    assert_ne!(alone, together);
    assert_eq!(alone, findings(&yard, ".", "."));
    assert_eq!(alone, findings(&yard, "mill", "."));
    // As a submodule, whose `.git` is a file.
    yard.git(&["-C", "mill", "add", "-A"]);
    yard.git(&["-C", "mill", "commit", "-q", "-m", "a mill"]);
    yard.git(&["-c", "advice.addEmbeddedRepo=false", "submodule", "--quiet", "add", "./mill", "mill"]);
    yard.git(&["submodule", "--quiet", "absorbgitdirs"]);
    assert!(yard.root.join("mill/.git").is_file());
    assert_eq!(alone, findings(&yard, ".", "."));
    assert_eq!(alone, findings(&yard, "mill", "."));
    // Records in it are none of the ledger that it lies in.
    let yard = Yard::with_saw();
    yard.write("saw/april/r.kdl", GOOD.replace("04-15", "04-19"));
    assert_eq!(yard.wayledger(&["lint"]).code, 0);
    yard.git(&["init", "-q", "saw/april"]);
    let ran = yard.wayledger(&["lint"]);
    assert!(ran.code == 1 && ran.err.contains("saw/april/r.kdl: it holds what belongs into a ledger"), "{ran:?}");
}

/// The folder that defines the language has a `machine.kdl` and is no ledger.
#[test]
fn the_definition_of_the_language_is_no_ledger() {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    let (out, err, _) = run(root, &["lint", "--quiet", "--today", "2026-11-01"]);
    assert!(!out.contains("schema/") && !err.contains("schema/"), "{out}{err}");
    let (_, err, code) = run(&root.join("schema"), &["lint"]);
    assert_eq!(code, Some(2), "{err}");
    assert!(err.contains("there is no ledger here"), "{err}");
    // Copied into a yard as well; but a machine in a folder of that name is one.
    let yard = Yard::with_saw();
    yard.write("schema/machine.kdl", fs::read(root.join("schema/machine.kdl")).unwrap());
    assert_eq!(lint(&yard).code, 0);
    yard.write("schema/machine.kdl", "machine m\n");
    assert_eq!(lint(&yard).code, 1);
}

/// A shop file says which folders beside or below it are no ledgers, and why: then what they hold is nobody's business.
#[test]
fn a_folder_may_be_declared_as_none() {
    let declared = |words: &str| SHOP.replacen('{', &format!("{{\n    {words}\n"), 1);
    let yard = Yard::with_saw();
    write_bytes(&yard, b"forms/deep/april.kdl", GOOD);
    write_bytes(&yard, b"forms/.april.kdl", GOOD);
    write_bytes(&yard, b"forms/old/MACHINE.kdl", SAW);
    for (words, code) in [
        ("passed-over \"forms\" reason=\"to copy from\"", 0),
        ("passed-over \"./forms/\" reason=\"to copy from\"", 0),
        ("passed-over \"forms/deep\" reason=\"to copy from\"", 1),
        ("passed-over \"form\" reason=\"to copy from\"", 1),
        // Without a word of why, and for all there is.
        ("passed-over \"forms\" reason=\"-\"", 1),
        ("passed-over \".\" reason=\"to copy from\"", 1),
        ("passed-over \"../forms\" reason=\"to copy from\"", 1),
    ] {
        yard.write("shop.kdl", declared(words));
        let ran = lint(&yard);
        assert_eq!(ran.code, code, "{words}: {ran:?}");
    }
    // A ledger in it is read all the same.
    yard.write("shop.kdl", declared("passed-over \"forms\" reason=\"to copy from\""));
    yard.write("forms/mill/machine.kdl", "machine m\nnonsense\n");
    assert_eq!(lint(&yard).code, 1);
}

/// Notes that lie beside a machine and are no text of its ledger are named in one line, once, and stop nothing.
#[test]
fn notes_beside_a_machine_are_named_once() {
    let said = |yard: &Yard, typed: &[&str]| {
        let ran = yard.wayledger(&[&["lint", "--today", "2026-11-01"], typed].concat());
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{ran:?}");
        ran.out.lines().filter(|line| line.contains("not read")).map(str::to_owned).collect::<Vec<_>>()
    };
    let yard = Yard::with_saw();
    // What lies elsewhere, is hidden, or is git's or the shop's own is nobody's business.
    yard.write("notes.txt", "x").write("saw/old/notes.txt", "x").write("saw/.notes.txt", "x");
    assert_eq!(said(&yard, &[]), [""; 0]);
    yard.write("saw/notes.txt", "J1 UL 0.02");
    let one =
        "saw: beside the machine is not read: notes.txt; what is to count stands in a record, or is attached by one";
    assert_eq!(said(&yard, &[]), [one]);
    for typed in [&["saw"][..], &["--all"], &["saw", "."]] {
        assert_eq!(said(&yard, typed), [one], "{typed:?}");
    }
    yard.git(&["add", "-A"]);
    assert_eq!(said(&yard, &["--staged"]), [one]);
    // Programs are told findings, and who wants only those is told no more.
    assert_eq!(said(&yard, &["--format", "json"]), [""; 0]);
    assert_eq!(said(&yard, &["--quiet"]), [""; 0]);
    for number in 1..=6 {
        yard.write(&format!("saw/t{number}.csv"), "x");
    }
    let many = "saw: beside the machine are not read: notes.txt, t1.csv, t2.csv, t3.csv, t4.csv and 2 more; what is to count stands in a record, or is attached by one";
    assert_eq!(said(&yard, &[]), [many]);
    // What a record attaches is read, and what a shop file passes over is nobody's business.
    let digest = "2d711642b726b04401627ca9fbac32f5c8530fb1903cc4db02258717921a4881";
    let attach = format!("attach X date=\"2021-04-19\" by=inspector-1 file=\"t1.csv\" sha256=\"{digest}\"\n");
    yard.write("saw/attached.kdl", &attach);
    let less = "saw: beside the machine are not read: notes.txt, t2.csv, t3.csv, t4.csv, t5.csv and 1 more; what is to count stands in a record, or is attached by one";
    assert_eq!(said(&yard, &[]), [less]);
    for way in ["./t1.csv", "././t1.csv", ".//t1.csv"] {
        yard.write("saw/attached.kdl", attach.replace("t1.csv", way));
        assert_eq!(said(&yard, &[]), [less], "{way}");
    }
    yard.write("saw/attached.kdl", &attach);
    // Papers of this tool, in every format that it writes to a file, and one that only looks so.
    for (paper, typed) in [
        ("report.html", &["report", "saw", "--format", "html"][..]),
        ("report.md", &["report", "saw", "--format", "markdown"]),
        ("report.json", &["report", "saw", "--format", "json"]),
    ] {
        let written = yard.wayledger(&[typed, &["--output", &format!("saw/{paper}")]].concat());
        assert_eq!(written.code, 0, "{paper}: {written:?}");
        assert!(yard.root.join("saw").join(paper).exists(), "{paper}");
    }
    yard.write("saw/layout.dxf", "999\nwayledger layout, mm\n0\n");
    assert_eq!(said(&yard, &[]), [less]);
    yard.git(&["add", "-A"]);
    assert_eq!(said(&yard, &["--staged"]), [less]);
    yard.write("saw/a.html", "<!DOCTYPE html><!-- by hand -->");
    let own = less
        .replace("notes.txt, t2.csv, t3.csv, t4.csv, t5.csv and 1", "a.html, notes.txt, t2.csv, t3.csv, t4.csv and 2");
    assert_eq!(said(&yard, &[]), [own]);
    yard.write("shop.kdl", SHOP.replacen('{', "{\n    passed-over \"saw\" reason=\"with its papers\"\n", 1));
    assert_eq!(said(&yard, &[]), [""; 0]);
}
