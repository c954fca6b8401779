//! What staged changes take away from released ledgers is seen, whichever way it is done.
#![cfg(unix)]

use std::fs;
use std::os::unix::fs::symlink;
use std::sync::Arc;

use crate::world::Path;
use crate::world::git::{GitWorld, PathChange, Repository, Surroundings};
use crate::writing::hook::withdrawn::{Withdrawn, withdrawn};

use crate::testing::yard::{GOOD, SAW, Yard};

const RELEASE: &str = "release X date=\"2021-05-01\" by=engineer-1 seal=\"00\"\n";

/// What somebody does in a yard before they commit.
type Deed = fn(&Yard);

/// What the staged changes take away.
fn taken(yard: &Yard) -> Vec<Withdrawn> {
    yard.git(&["add", "-A"]);
    let repository = Arc::new(Repository::at(&yard.root, &Surroundings::default()).unwrap());
    let (world, last, changes) = GitWorld::touched_and_before(&repository).unwrap();
    let paths: Vec<Path> = changes.iter().flat_map(PathChange::paths).chain(world.reached()).cloned().collect();
    withdrawn(&repository, (&last, &world), &changes, &paths).unwrap()
}

fn release(folder: &str) -> Withdrawn {
    Withdrawn::Release { folder: Path::from(folder), of: "X".into(), date: "2021-05-01".into() }
}

/// A saw that was released in a file of its own. (Its seal is none; whether it holds is another rule's matter.)
fn released() -> Yard {
    let yard = Yard::with_saw();
    yard.write("saw/release.kdl", RELEASE).write("saw/april/2021-04-16.kdl", GOOD.replace("04-15", "04-16"));
    yard.commit("released");
    yard
}

#[test]
fn a_release_does_not_go_unseen() {
    let ways: [(&str, Deed); 8] = [
        ("its file is removed", |yard| drop(yard.git(&["rm", "-q", "saw/release.kdl"]))),
        ("it is edited out", |yard| {
            yard.write("saw/release.kdl", "// nothing\n");
        }),
        ("its file is hidden by a dot", |yard| drop(yard.git(&["mv", "saw/release.kdl", "saw/.release.kdl"]))),
        ("by capitals", |yard| drop(yard.git(&["mv", "saw/release.kdl", "saw/release.KDL"]))),
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
    for (name, change) in ways {
        let yard = released();
        change(&yard);
        assert_eq!(taken(&yard), [release("saw")], "{name}");
    }
    // It says what to do.
    let words = release("saw").to_string();
    assert!(words.contains("void release X of=\"2021-05-01\""), "{words}");
    // Growth beside it, another order, another file and a void are no loss.
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
    for (index, change) in fine.into_iter().enumerate() {
        let yard = released();
        change(&yard);
        assert_eq!(taken(&yard), [], "{index}");
    }
}

#[test]
fn a_ledger_inside_takes_no_records_of_a_released_one() {
    let yard = released();
    yard.write("saw/april/machine.kdl", SAW);
    let by = Path::from("saw/april");
    assert_eq!(taken(&yard), [Withdrawn::Taken { folder: Path::from("saw"), by, files: 1 }]);
    let yard = Yard::with_saw();
    yard.write("saw/release.kdl", RELEASE).commit("released");
    yard.write("saw/april/machine.kdl", SAW);
    assert_eq!(taken(&yard), [], "it takes nothing");
}

#[test]
fn links_are_followed_on_both_sides() {
    // A file of the ledger is a link, and what it leads to loses the release.
    let yard = Yard::with_saw();
    yard.write("store/release.txt", RELEASE);
    symlink("../store/release.txt", yard.root.join("saw/release.kdl")).unwrap();
    yard.commit("released");
    yard.write("store/release.txt", "// nothing\n");
    assert_eq!(taken(&yard), [release("saw")]);
    // The folder is a link that leads elsewhere now.
    let yard = Yard::with_saw();
    yard.write("store/.one/machine.kdl", SAW).write("store/.one/r.kdl", format!("{GOOD}{RELEASE}"));
    yard.write("store/.two/machine.kdl", SAW).write("store/.two/r.kdl", GOOD);
    symlink("store/.one", yard.root.join("mill")).unwrap();
    yard.commit("released");
    fs::remove_file(yard.root.join("mill")).unwrap();
    symlink("store/.two", yard.root.join("mill")).unwrap();
    assert_eq!(taken(&yard), [release("mill")]);
}
