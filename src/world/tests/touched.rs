//! The part of the index that staged changes touch, beside the whole index: on random repositories both must give the same
//! ledgers with the same bytes. What the whole index holds is checked against git itself in `world_git`.

use std::fs;
use std::os::unix::fs::symlink;
use std::sync::Arc;

use crate::world::git::{GitWorld, PathChange, Repository, Surroundings};
use crate::world::ledgers::{FoundLedgers, touched_by};
use crate::world::{Path, World};

use crate::testing::machines::Dice;
use crate::testing::yard::Yard;

const FOLDERS: [&str; 5] = ["hall", "bed 2", "mole-ö", "x\ny", ":(top)z"];
const FILES: [&str; 6] = ["machine.kdl", "machine.kdl", "shop.kdl", "day.kdl", "night.kdl", "photo.jpg"];

/// Some path, up to three folders deep and seldom at the top, since a ledger there is the whole repository.
fn path(dice: &mut Dice) -> String {
    let depth = if dice.chance(4) { 0 } else { dice.roll(1..=3) };
    let folders: Vec<&str> = (0..depth).map(|_| *dice.pick(&FOLDERS)).collect();
    folders.into_iter().chain([*dice.pick(&FILES)]).collect::<Vec<_>>().join("/")
}

/// Writes some files; where a folder is in the way of a file, or a file of a folder, there is none.
fn fill(yard: &Yard, dice: &mut Dice, files: i64) {
    for number in 0..files {
        let file = yard.root.join(path(dice));
        let _ = fs::create_dir_all(file.parent().unwrap());
        let _ = fs::write(file, format!("// {number} {}\n", dice.roll(0..=9)));
    }
}

/// Changes the work tree and stages some of it in one of the ways people do.
fn change(yard: &Yard, dice: &mut Dice) {
    for _ in 0..dice.roll(1..=4) {
        let at = yard.root.join(path(dice));
        match dice.roll(0..=9) {
            0..=2 => fill(yard, dice, 1),
            3 => drop(fs::remove_file(at)),
            4 => drop(fs::remove_dir_all(at.parent().filter(|folder| *folder != yard.root).unwrap_or(&at))),
            5 => drop(fs::rename(&at, yard.root.join(path(dice)))),
            6 => drop(fs::rename(at.parent().unwrap(), yard.root.join("moved"))),
            _ => {
                let text = fs::read_to_string(&at).unwrap_or_default();
                let _ = fs::write(at, text + "// looked through again\n");
            }
        }
    }
    match dice.roll(0..=5) {
        0 => yard.git(&["add", "-u"]),
        1 => yard.git(&["add", "--intent-to-add", "."]),
        _ => yard.git(&["add", "-A"]),
    };
}

fn open(yard: &Yard, folder: &str) -> Arc<Repository> {
    Arc::new(Repository::at(yard.root.join(folder), &Surroundings::default()).unwrap())
}

/// The ledgers that changes touch, and every byte of them.
fn seen(world: &GitWorld, changed: &[Path]) -> (FoundLedgers, Vec<(Path, Vec<u8>)>) {
    let ledgers = touched_by(world, changed);
    let files = ledgers.found.iter().flat_map(|found| found.files.iter().chain(&found.shops));
    let bytes = files.map(|file| (file.clone(), world.read(file).unwrap())).collect();
    (ledgers, bytes)
}

/// Compares both; tells how many ledgers are touched, and whether less than the whole index was looked at.
fn compare(yard: &Yard, folder: &str) -> (usize, bool) {
    let repository = open(yard, folder);
    let (touched, changes) = GitWorld::touched(&repository).unwrap();
    let whole = GitWorld::index(&repository).unwrap();
    assert_eq!(changes, repository.staged_changes().unwrap());
    let paths: Vec<Path> = changes.iter().flat_map(PathChange::paths).cloned().collect();
    let (mine, its) = (seen(&touched, &paths), seen(&whole, &paths));
    assert_eq!(mine, its, "of {paths:?}");
    let all = yard.git(&["-c", "core.quotePath=false", "ls-files", "-z", "--full-name", ":/"]);
    let here = |file: &&str| !file.is_empty() && folder == "." && touched.kind(&Path::from(*file)).is_err();
    (its.0.found.len(), all.split('\0').filter(here).count() > 0)
}

#[test]
fn what_is_touched_is_the_same_in_a_part_of_the_index() {
    let (mut ledgers, mut parts) = (0, 0);
    for seed in 0..60 {
        let dice = &mut Dice::new(seed);
        let yard = Yard::empty();
        fill(&yard, dice, 25);
        if dice.chance(90) {
            yard.commit("the yard");
        }
        change(&yard, dice);
        let (found, part) = compare(&yard, ".");
        ledgers += found;
        parts += usize::from(part);
        if yard.root.join("hall").is_dir() {
            compare(&yard, "hall");
        }
    }
    assert!(ledgers > 60 && parts > 20, "{ledgers} ledgers touched; {parts} times less than the whole was looked at");
}

#[test]
fn where_nothing_is_staged_nothing_is_listed() {
    let yard = Yard::with_saw();
    assert_eq!(compare(&yard, "."), (0, true));
    yard.write("saw/day.kdl", "// not staged\n");
    assert_eq!(compare(&yard, "."), (0, true));
}

#[test]
fn links_show_the_whole_index() {
    let yard = Yard::empty();
    yard.write("far/notes.kdl", "// far\n")
        .write("saw/machine.kdl", "machine saw\n")
        .write("bed/machine.kdl", "machine bed\n");
    symlink("../far", yard.root.join("saw/linked")).unwrap();
    yard.commit("a saw");
    yard.write("saw/day.kdl", "// new\n");
    yard.git(&["add", "-A"]);
    assert_eq!(compare(&yard, "."), (1, false));
    let (touched, _) = GitWorld::touched(&open(&yard, ".")).unwrap();
    assert_eq!(touched.read(&Path::from("saw/linked/notes.kdl")).unwrap(), b"// far\n");
    // A change elsewhere may be what a link leads to: only the whole index tells.
    yard.commit("a day");
    yard.write("far/notes.kdl", "// new\n");
    yard.git(&["add", "-A"]);
    let (touched, changes) = GitWorld::touched(&open(&yard, ".")).unwrap();
    assert_eq!(changes.len(), 1);
    assert_eq!(touched.reached(), [Path::from("saw/linked/notes.kdl")]);
    assert_eq!(touched_by(&touched, touched.reached()).found.len(), 1);
}

#[test]
fn a_conflict_is_in_both() {
    let yard = Yard::empty();
    yard.write("saw/machine.kdl", "machine saw\n")
        .write("saw/day.kdl", "// one\n")
        .write("bed/machine.kdl", "machine b\n");
    yard.commit("a saw");
    yard.git(&["switch", "-q", "-c", "other"]);
    yard.write("saw/day.kdl", "// two\n").commit("two");
    yard.git(&["switch", "-q", "main"]);
    yard.write("saw/day.kdl", "// three\n").commit("three");
    assert_ne!(yard.run("git", &["merge", "other"]).code, 0);
    let repository = open(&yard, ".");
    let (touched, changes) = GitWorld::touched(&repository).unwrap();
    let paths: Vec<Path> = changes.iter().flat_map(PathChange::paths).cloned().collect();
    let found = touched_by(&touched, &paths);
    assert_eq!(found, touched_by(&GitWorld::index(&repository).unwrap(), &paths));
    let [(file, why)] = &found.found[0].oddities[..] else { panic!("{found:?}") };
    assert_eq!(file.0, "saw/day.kdl");
    assert!(why.contains("conflict"), "{why}");
}

#[test]
fn changes_in_many_folders_show_the_whole_index() {
    let yard = Yard::empty();
    for number in 0..120 {
        yard.write(&format!("unit-{number}/machine.kdl"), format!("machine m-{number}\n"));
    }
    yard.write("apart/notes.txt", "kept").commit("a fleet");
    for number in 0..120 {
        yard.write(&format!("unit-{number}/day.kdl"), "// new\n");
    }
    yard.git(&["add", "-A"]);
    assert_eq!(compare(&yard, "."), (120, false));
}

/// What is read in the open conversation is what `git ls-tree` lists: of many folders, deep ones, odd ones, and what is not there.
#[test]
fn a_few_folders_are_listed_as_git_lists_them() {
    let yard = Yard::empty();
    let deep = "a/".repeat(70);
    for name in
        ["hall/saw/r.kdl", "hall/saw/x y/\u{f6}.kdl", "hall/shop.kdl", "shop.kdl", "hall/s", &format!("{deep}r.kdl")]
    {
        yard.write(name, name);
    }
    symlink("r.kdl", yard.root.join("hall/saw/link.kdl")).unwrap();
    yard.commit("a hall");
    let head = yard.head();
    for format in [None, Some("sha256")] {
        let (yard, head) = match format {
            None => (&yard, head.clone()),
            Some(format) => {
                yard.git(&["init", "-q", &format!("--object-format={format}"), "../long"]);
                yard.write("../long/hall/saw/r.kdl", "r").git(&["-C", "../long", "add", "-A"]);
                yard.git(&["-C", "../long", "commit", "-q", "-m", "x"]);
                (&yard, yard.git(&["-C", "../long", "rev-parse", "HEAD"]))
            }
        };
        let folder = if format.is_some() { "../long" } else { "." };
        let repository = open(yard, folder);
        for paths in [
            &["hall/saw/"][..],
            &["hall/saw/", "hall/saw/x y/", "hall/saw/r.kdl", "hall/shop.kdl", "shop.kdl"],
            &["hall/s/", "nowhere/", "nowhere/shop.kdl", "hall/r.kdl", "hall/saw"],
            &["hall/"],
            &["a/"],
            &["x\ny/", "hall/saw/"],
            &[],
        ] {
            let asked = paths.iter().map(|path| path.as_bytes().to_vec());
            let mut listed = crate::world::git::listed_below(&repository, &head, asked);
            let words = ["-C", folder, "--literal-pathspecs", "ls-tree", "-r", "-z", "--full-tree", &head, "--"];
            let told = match paths {
                [] => String::new(),
                // A folder's own line is none of a file.
                paths => yard.git(&[&words[..], paths].concat()),
            };
            let mut told: Vec<String> = told.split('\0').map(|line| line.replace(" commit ", " blob ")).collect();
            told.retain(|line| !line.is_empty());
            for lines in [&mut listed, &mut told] {
                lines.sort();
            }
            assert_eq!(listed, told, "{paths:?}");
        }
    }
}
