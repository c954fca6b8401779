//! What a commit takes away or hides: each way is stopped by the hook with its reason, and the honest ways pass.

use std::fs;
use std::os::unix::ffi::OsStrExt as _;
use std::os::unix::fs::symlink;

use crate::common::yard::{GOOD, Ran, SAW, SHOP, Yard, bad};

const VOID: &str = "void inspect X.left.J1 of=\"2021-04-15\" date=\"2021-04-20\" by=inspector-1 reason=\"scrapped\"\n";

fn hooked() -> Yard {
    let yard = Yard::with_saw();
    assert_eq!(yard.wayledger(&["hook"]).code, 0);
    yard
}

fn commit(yard: &Yard) -> Ran {
    yard.git(&["add", "-A"]);
    yard.run("git", &["commit", "-q", "-m", "a day's work"])
}

#[track_caller]
fn is_stopped(yard: &Yard, because: &str) {
    let before = yard.head();
    let ran = commit(yard);
    assert_ne!(ran.code, 0, "not stopped; should say {because}");
    let said = format!("{}{}", ran.out, ran.err).replace('│', "").split_whitespace().collect::<Vec<&str>>().join(" ");
    assert!(said.contains(because), "{because}: {said}");
    assert_eq!(yard.head(), before);
}

#[track_caller]
fn passes(yard: &Yard) {
    let before = yard.head();
    let ran = commit(yard);
    assert_eq!(ran.code, 0, "{ran:?}");
    assert_ne!(yard.head(), before);
}

/// What somebody does in a yard before they commit.
type Deed = fn(&Yard);

#[test]
fn a_ledger_does_not_go_unseen() {
    let ways: [(&str, Deed, &str); 7] = [
        (
            "its machine.kdl is removed",
            |yard| drop(yard.git(&["rm", "-q", "saw/machine.kdl"])),
            "and with it 1 record that nobody withdrew",
        ),
        (
            "in capitals",
            |yard| drop(yard.git(&["mv", "saw/machine.kdl", "saw/MACHINE.kdl"])),
            "becomes `saw/MACHINE.kdl`, which makes none",
        ),
        ("behind a dot", |yard| drop(yard.git(&["mv", "saw", ".saw"])), "becomes `.saw/machine.kdl`, which makes none"),
        ("all of it", |yard| drop(yard.git(&["rm", "-q", "-r", "saw"])), "`saw` would be no ledger any more"),
        (
            "moved, but for a record",
            |yard| {
                yard.git(&["mv", "saw", "old-saw"]);
                yard.git(&["rm", "-q", "-f", "old-saw/2021-04-15.kdl"]);
            },
            "`saw` would be no ledger any more",
        ),
        (
            "a link in its place",
            |yard| {
                yard.git(&["mv", "saw/machine.kdl", "machine.txt"]);
                symlink("nowhere.kdl", yard.root.join("saw/note.txt")).unwrap();
            },
            "`saw` would be no ledger any more",
        ),
        (
            "taken into another ledger",
            |yard| {
                yard.write("mill/machine.kdl", SAW.replace("saw", "mill")).commit("a mill");
                yard.git(&["mv", "saw", "mill/saw"]);
                yard.git(&["rm", "-q", "-f", "mill/saw/machine.kdl"]);
            },
            "`saw` would be no ledger any more",
        ),
    ];
    for (_, change, because) in ways {
        let yard = hooked();
        change(&yard);
        is_stopped(&yard, because);
    }
}

#[test]
fn the_honest_ways_pass() {
    let ways: [(&str, Deed); 5] = [
        ("moved as a whole", |yard| {
            fs::create_dir(yard.root.join("old")).unwrap();
            yard.git(&["mv", "saw", "old/saw"]);
        }),
        ("moved, and its records laid into another file", |yard| {
            yard.git(&["mv", "saw", "old-saw"]);
            yard.git(&["mv", "old-saw/2021-04-15.kdl", "old-saw/2021.kdl"]);
        }),
        ("withdrawn first", |yard| {
            yard.write("saw/2021-04-15.kdl", format!("{GOOD}{VOID}"));
            passes(yard);
            yard.git(&["rm", "-q", "-r", "saw"]);
        }),
        ("a ledger without records", |yard| {
            yard.write("mill/machine.kdl", SAW.replace("saw", "mill"));
            passes(yard);
            yard.git(&["rm", "-q", "-r", "mill"]);
        }),
        ("a record file under another name", |yard| drop(yard.git(&["mv", "saw/2021-04-15.kdl", "saw/april.kdl"]))),
    ];
    for (name, change) in ways {
        let yard = hooked();
        change(&yard);
        let ran = commit(&yard);
        assert_eq!(ran.code, 0, "{name}: {ran:?}");
    }
}

/// What another branch took away was judged there: the merge is not stopped by it. What only the merge takes away is.
#[test]
fn a_merge_takes_over_what_the_other_branch_took_away() {
    let yard = hooked();
    yard.write("mill/machine.kdl", SAW.replace("saw", "mill")).write("mill/r.kdl", GOOD).commit("a mill");
    yard.git(&["checkout", "-q", "-b", "scrapped"]);
    yard.write("saw/2021-04-15.kdl", format!("{GOOD}{VOID}"));
    passes(&yard);
    yard.git(&["rm", "-q", "-r", "saw"]);
    passes(&yard);
    yard.git(&["checkout", "-q", "main"]);
    yard.write("other.txt", "x");
    passes(&yard);
    let merge = yard.run("git", &["merge", "-q", "--no-edit", "scrapped"]);
    assert_eq!(merge.code, 0, "{merge:?}");
    assert!(!yard.root.join("saw").exists());
    // A merge that a person ends by hand, and lets another ledger go with it.
    yard.git(&["checkout", "-q", "-b", "side", "HEAD~1"]);
    yard.write("side.txt", "x");
    passes(&yard);
    yard.git(&["checkout", "-q", "main"]);
    yard.git(&["merge", "-q", "--no-commit", "--no-ff", "side"]);
    yard.git(&["rm", "-q", "-r", "mill"]);
    is_stopped(&yard, "`mill` would be no ledger any more");
}

/// A bad reading that comes through a link inside the repository: git names only what the link leads to as changed.
#[test]
fn a_bad_reading_behind_a_link_is_stopped() {
    // A limit that changes is no reading and stops nobody; a word that nobody knows is put right by writing.
    let misspelt = SHOP.replace("shim-stock", "shim-stok");
    let readings = |yard: &Yard| {
        yard.write("store/day.txt", GOOD);
        symlink("../store/day.txt", yard.root.join("saw/2021-04-15.kdl")).unwrap();
    };
    let folder = |yard: &Yard| {
        yard.write("store/days/day.kdl", GOOD);
        symlink("../store/days", yard.root.join("saw/days")).unwrap();
    };
    let shop = |yard: &Yard| {
        fs::remove_file(yard.root.join("shop.kdl")).unwrap();
        yard.write("store/shop.txt", SHOP);
        symlink("store/shop.txt", yard.root.join("shop.kdl")).unwrap();
    };
    let ways: [(Deed, &str, String, &str); 3] = [
        (readings, "store/day.txt", bad(), "joint-step"),
        (folder, "store/days/day.kdl", bad(), "joint-step"),
        (shop, "store/shop.txt", misspelt, "unknown-node"),
    ];
    for (lay, target, text, rule) in ways {
        let yard = hooked();
        fs::remove_file(yard.root.join("saw/2021-04-15.kdl")).unwrap();
        if target.starts_with("store/shop") {
            yard.write("saw/2021-04-15.kdl", GOOD);
        }
        lay(&yard);
        yard.commit("with a link");
        yard.write(target, text);
        is_stopped(&yard, rule);
    }
    // The link itself leads to another reading.
    let yard = hooked();
    yard.write("store/good.txt", GOOD).write("store/bad.txt", bad());
    let file = yard.root.join("saw/2021-04-15.kdl");
    fs::remove_file(&file).unwrap();
    symlink("../store/good.txt", &file).unwrap();
    yard.commit("with a link");
    fs::remove_file(&file).unwrap();
    symlink("../store/bad.txt", &file).unwrap();
    is_stopped(&yard, "joint-step");
}

#[test]
fn odd_names_hide_no_ledger_from_the_hook() {
    // A carriage return at the end of a folder's name: git takes it for a line end where it is asked for that folder.
    let yard = hooked();
    yard.write("mill\r/machine.kdl", SAW).write("mill\r/r.kdl", GOOD).commit("a mill");
    yard.write("mill\r/r.kdl", bad());
    is_stopped(&yard, "joint-step");
    // Bytes that are no text.
    let yard = hooked();
    let folder = yard.root.join(std::ffi::OsStr::from_bytes(b"mill\xff"));
    fs::create_dir(&folder).unwrap();
    fs::write(folder.join("machine.kdl"), SAW).unwrap();
    fs::write(folder.join("r.kdl"), bad()).unwrap();
    is_stopped(&yard, "mill\\xFF: its name is not UTF-8 text; rename it");
    let yard = hooked();
    yard.write("mill/MACHINE.kdl", SAW);
    is_stopped(&yard, "mill/MACHINE.kdl: it is not read");
}

/// Somebody who names git's folder and a work tree commits that work tree, whatever repository lies in it.
#[test]
fn a_work_tree_of_another_folder_is_judged_as_it_is_committed() {
    let yard = hooked();
    let other = yard.root.join("../other");
    fs::create_dir_all(other.join("saw")).unwrap();
    for name in ["shop.kdl", "saw/machine.kdl"] {
        fs::copy(yard.root.join(name), other.join(name)).unwrap();
    }
    yard.write("../other/saw/2021-04-15.kdl", bad());
    assert_eq!(Ran::of(yard.command("git", "../other").args(["init", "-q"]).output().unwrap()).code, 0);
    let both = ["--git-dir=../yard/.git", "--work-tree=."];
    let git =
        |arguments: &[&str]| Ran::of(yard.command("git", "../other").args(both).args(arguments).output().unwrap());
    assert_eq!(git(&["add", "saw"]).code, 0);
    let before = yard.head();
    let ran = git(&["commit", "-q", "-m", "x"]);
    assert_ne!(ran.code, 0, "{ran:?}");
    assert!(format!("{}{}", ran.out, ran.err).contains("joint-step"), "{ran:?}");
    assert_eq!(yard.head(), before);
}

const RELEASE: &str = "release X date=\"2021-05-01\" by=engineer-1 seal=\"00\"\n";

/// A saw that was released in a file of its own. (Its seal is none; whether it holds is another rule's matter.)
fn released() -> Yard {
    let yard = hooked();
    yard.write("saw/release.kdl", RELEASE).write("saw/april/2021-04-16.kdl", GOOD.replace("04-15", "04-16"));
    yard.commit("released");
    yard
}

#[test]
fn a_release_does_not_go_unseen() {
    let ways: [(&str, Deed); 7] = [
        ("its file is removed", |yard| drop(yard.git(&["rm", "-q", "saw/release.kdl"]))),
        ("it is edited out", |yard| {
            yard.write("saw/release.kdl", "// nothing\n");
        }),
        ("its file is hidden by a dot", |yard| drop(yard.git(&["mv", "saw/release.kdl", "saw/.release.kdl"]))),
        ("it is made another one", |yard| {
            yard.write("saw/release.kdl", RELEASE.replace("\"00\"", "\"01\""));
        }),
        ("it bears another date", |yard| {
            yard.write("saw/release.kdl", RELEASE.replace("05-01", "05-02"));
        }),
        ("it is a remark", |yard| {
            yard.write("saw/release.kdl", format!("/- {RELEASE}"));
        }),
        ("its file is a link to nothing", |yard| {
            fs::remove_file(yard.root.join("saw/release.kdl")).unwrap();
            symlink("nowhere", yard.root.join("saw/release.kdl")).unwrap();
        }),
    ];
    for (_, change) in ways {
        let yard = released();
        change(&yard);
        is_stopped(&yard, "nonconformity: release-gone X");
    }
    let yard = released();
    yard.git(&["rm", "-q", "saw/release.kdl"]);
    is_stopped(&yard, "void release X of=\"2021-05-01\"");
    // Growth beside it, another file and a void are no loss.
    let fine: [Deed; 4] = [
        |yard| {
            yard.write("saw/release.kdl", format!("// looked through\n{RELEASE}"));
        },
        |yard| drop(yard.git(&["mv", "saw/release.kdl", "saw/april/release.kdl"])),
        |yard| {
            yard.write(
                "saw/void.kdl",
                "void release X of=\"2021-05-01\" date=\"2021-05-03\" by=engineer-2 reason=\"a bolt broke\"\n",
            );
        },
        |yard| drop(yard.git(&["mv", "saw", "old-saw"])),
    ];
    for change in fine {
        let yard = released();
        change(&yard);
        passes(&yard);
    }
}

/// A file of the ledger, or its folder, is a link, and what it leads to loses the release.
#[test]
fn a_release_behind_a_link_does_not_go_unseen() {
    let yard = hooked();
    yard.write("store/release.txt", RELEASE);
    symlink("../store/release.txt", yard.root.join("saw/release.kdl")).unwrap();
    yard.commit("released");
    yard.write("store/release.txt", "// nothing\n");
    is_stopped(&yard, "nonconformity: release-gone X");
    let yard = hooked();
    yard.write("store/.one/machine.kdl", SAW).write("store/.one/r.kdl", format!("{GOOD}{RELEASE}"));
    yard.write("store/.two/machine.kdl", SAW).write("store/.two/r.kdl", GOOD);
    symlink("store/.one", yard.root.join("mill")).unwrap();
    yard.commit("released");
    fs::remove_file(yard.root.join("mill")).unwrap();
    symlink("store/.two", yard.root.join("mill")).unwrap();
    is_stopped(&yard, "nonconformity: release-gone X");
}
