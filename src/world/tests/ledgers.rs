//! Which ledgers a path means: in memory where text suffices, on a real disk where links and oddities matter.

use std::fs;
use std::os::unix::ffi::OsStrExt;
use std::os::unix::fs::symlink;
use std::sync::Mutex;

use crate::world::ledgers::{FoundLedger, NoLedgerError, find_all, find_ledgers, owner_of, touched_by};
use crate::world::{Disk, EntryKind, Listed, Memory, Path, ReadError, World};

fn path(text: &str) -> Path {
    Path::from(text)
}

fn memory(files: &[&str]) -> Memory {
    files.iter().fold(Memory::new(jiff::civil::date(2026, 1, 1)), |world, file| world.with(file, "x"))
}

fn folders(world: &dyn World, start: &str) -> Vec<String> {
    find_ledgers(world, &path(start)).unwrap().found.into_iter().map(|found| found.folder.0).collect()
}

fn texts(paths: &[Path]) -> Vec<&str> {
    paths.iter().map(|path| path.0.as_str()).collect()
}

fn one(world: &dyn World, start: &str) -> FoundLedger {
    let mut found = find_ledgers(world, &path(start)).unwrap().found;
    assert_eq!(found.len(), 1, "{found:?}");
    found.remove(0)
}

fn yard() -> Memory {
    memory(&[
        "shop.kdl",
        "readme.txt",
        "yard/shop.kdl",
        "yard/hull/machine.kdl",
        "yard/hull/survey.kdl",
        "yard/hull/notes.txt",
        "yard/hull/records/2026-01.kdl",
        "yard/hull/records/.draft.kdl",
        "yard/hull/.old/machine.kdl",
        "yard/hull/tender/machine.kdl",
        "yard/hull/tender/shop.kdl",
        "yard/hull/tender/records/x.kdl",
        "yard/saw/machine.kdl",
        "yard/saw-2/machine.kdl",
        "loose/orphan.kdl",
        ".hidden/m/machine.kdl",
    ])
}

#[test]
fn a_ledger_owns_the_files_below_it_up_to_the_next_ledger() {
    let world = yard();
    let found = find_ledgers(&world, &path("")).unwrap();
    assert_eq!(found.oddities, []);
    assert_eq!(folders(&world, ""), ["yard/hull", "yard/hull/tender", "yard/saw", "yard/saw-2"]);
    let hull = &found.found[0];
    assert_eq!(texts(&hull.files), ["yard/hull/machine.kdl", "yard/hull/records/2026-01.kdl", "yard/hull/survey.kdl"]);
    assert_eq!(texts(&hull.shops), ["yard/shop.kdl", "shop.kdl"]);
    assert_eq!(hull.oddities, []);
    let tender = &found.found[1];
    assert_eq!(texts(&tender.files), ["yard/hull/tender/machine.kdl", "yard/hull/tender/records/x.kdl"]);
    assert_eq!(texts(&tender.shops), ["yard/hull/tender/shop.kdl", "yard/shop.kdl", "shop.kdl"]);
}

#[test]
fn every_kind_of_path_gives_its_ledgers() {
    let world = yard();
    for (start, ledgers) in [
        ("yard/saw", vec!["yard/saw"]),
        ("yard/hull", vec!["yard/hull", "yard/hull/tender"]),
        ("yard/hull/machine.kdl", vec!["yard/hull"]),
        ("yard/hull/records/2026-01.kdl", vec!["yard/hull"]),
        ("yard/hull/records", vec!["yard/hull"]),
        ("yard/hull/notes.txt", vec!["yard/hull"]),
        ("yard/hull/tender/records", vec!["yard/hull/tender"]),
        ("yard/hull/tender/shop.kdl", vec!["yard/hull/tender"]),
        ("yard/shop.kdl", vec!["yard/hull", "yard/hull/tender", "yard/saw", "yard/saw-2"]),
        (".hidden", vec![".hidden/m"]),
        ("loose", vec![]),
    ] {
        assert_eq!(folders(&world, start), ledgers, "{start}");
    }
    // Where the search starts changes nothing about what a ledger is.
    let whole = find_ledgers(&world, &path("")).unwrap().found;
    for found in whole {
        let alone = find_ledgers(&world, &found.files[0]).unwrap().found;
        assert_eq!(alone, [found]);
    }
}

#[test]
fn a_path_without_a_ledger_is_a_clear_error() {
    let world = yard();
    let error = find_ledgers(&world, &path("loose/orphan.kdl")).unwrap_err();
    assert_eq!(error, NoLedgerError::NoOwner { path: path("loose/orphan.kdl") });
    assert!(error.to_string().contains("machine.kdl"), "{error}");
    let error = find_ledgers(&world, &path("yard/hul")).unwrap_err();
    assert_eq!(error, NoLedgerError::Unreadable { path: path("yard/hul"), why: ReadError::Missing });
}

#[test]
fn several_paths_give_each_ledger_once() {
    let world = yard();
    let ask = |paths: &[&str]| -> Vec<String> {
        let paths: Vec<Path> = paths.iter().map(|&text| path(text)).collect();
        find_all(&world, &paths).unwrap().found.into_iter().map(|found| found.folder.0).collect()
    };
    assert_eq!(ask(&["yard/saw", "yard/saw/machine.kdl", "yard/saw"]), ["yard/saw"]);
    assert_eq!(ask(&["yard/hull/survey.kdl", "yard/hull"]), ["yard/hull", "yard/hull/tender"]);
    assert_eq!(ask(&["yard/hull/tender", "yard/hull/survey.kdl"]), ["yard/hull", "yard/hull/tender"]);
    let together = find_all(&world, &[path("yard/hull/survey.kdl"), path("yard"), path("")]).unwrap();
    assert_eq!(together, find_ledgers(&world, &path("")).unwrap());
}

#[test]
fn a_change_touches_its_owner_and_a_shop_all_below_it() {
    let world = yard();
    let touched = |paths: &[&str]| -> Vec<String> {
        let paths: Vec<Path> = paths.iter().map(|&text| path(text)).collect();
        touched_by(&world, &paths).found.into_iter().map(|found| found.folder.0).collect()
    };
    assert_eq!(touched(&["yard/hull/survey.kdl"]), ["yard/hull"]);
    assert_eq!(touched(&["yard/hull/records/deleted.kdl"]), ["yard/hull"]);
    assert_eq!(touched(&["yard/hull/gone/with/folder.kdl"]), ["yard/hull"]);
    assert_eq!(touched(&["yard/hull/tender/shop.kdl"]), ["yard/hull/tender"]);
    assert_eq!(touched(&["yard/hull/shop.kdl"]), ["yard/hull", "yard/hull/tender"]);
    assert_eq!(touched(&["shop.kdl"]).len(), 4);
    assert_eq!(touched(&["gone/shop.kdl", "loose/orphan.kdl", "readme.txt"]), [""; 0]);
    assert_eq!(touched(&["yard/saw/machine.kdl", "yard/saw-2/x.kdl"]), ["yard/saw", "yard/saw-2"]);
    assert_eq!(owner_of(&world, &path("yard/hull/tender/records")), Some(path("yard/hull/tender")));
    assert_eq!(owner_of(&world, &path("yard")), None);
}

#[test]
fn a_shop_file_that_applies_to_nothing_is_told() {
    let world = memory(&["m/machine.kdl", "m/sub/shop.kdl", "m/used/shop.kdl", "m/used/n/machine.kdl"]);
    for start in ["m", "m/machine.kdl"] {
        let found = find_ledgers(&world, &path(start)).unwrap().found;
        assert_eq!(found[0].folder, path("m"));
        assert_eq!(found[0].oddities.len(), 1, "{:?}", found[0].oddities);
        assert_eq!(found[0].oddities[0].0, path("m/sub/shop.kdl"));
        assert_eq!(texts(&found[0].files), ["m/machine.kdl"]);
        assert_eq!(found[0].shops, []);
    }
    let nested = find_ledgers(&world, &path("m/used/n")).unwrap().found;
    assert_eq!(texts(&nested[0].shops), ["m/used/shop.kdl"]);
}

#[test]
fn on_disk_the_ledger_above_where_we_stand_is_found() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    fs::create_dir_all(at("repo/.git")).unwrap();
    fs::write(at("repo/.git/HEAD"), "x").unwrap();
    fs::create_dir_all(at("repo/yard/hull/records")).unwrap();
    for file in ["shop.kdl", "repo/yard/shop.kdl", "repo/yard/hull/machine.kdl", "repo/yard/hull/records/a.kdl"] {
        fs::write(at(file), "x").unwrap();
    }
    let disk = Disk::at(at("repo/yard/hull/records")).unwrap();
    let hull = one(&disk, "");
    assert_eq!(hull.folder, path(".."));
    assert_eq!(texts(&hull.files), ["../machine.kdl", "a.kdl"]);
    // The shop file outside the repository does not apply.
    assert_eq!(texts(&hull.shops), ["../../shop.kdl"]);
    assert_eq!(one(&disk, "a.kdl"), hull);
    assert_eq!(one(&disk, "../../.."), hull);
}

#[test]
fn links_are_followed_and_circles_end() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    for name in [".git", "z-hull", "saw", "common/deep"] {
        fs::create_dir_all(at(name)).unwrap();
    }
    for file in ["z-hull/machine.kdl", "saw/machine.kdl", "common/c.kdl", "common/deep/d.kdl"] {
        fs::write(at(file), "x").unwrap();
    }
    symlink("z-hull", at("a-alias")).unwrap();
    symlink("../common", at("z-hull/shared")).unwrap();
    symlink("../common", at("saw/shared")).unwrap();
    symlink("..", at("saw/up")).unwrap();
    symlink(".", at("saw/self")).unwrap();
    symlink("../../common", at("common/deep/round")).unwrap();
    let disk = Disk::at(folder.path()).unwrap();
    let all = find_ledgers(&disk, &path("")).unwrap();
    assert_eq!(all.found.len(), 2, "{all:?}");
    // A folder shared by two ledgers belongs to both; a ledger under two names is found once, under its own.
    let (saw, hull) = (&all.found[0], &all.found[1]);
    assert_eq!(hull.folder, path("z-hull"));
    assert_eq!(texts(&hull.files), ["z-hull/machine.kdl", "z-hull/shared/c.kdl", "z-hull/shared/deep/d.kdl"]);
    assert_eq!(texts(&saw.files), ["saw/machine.kdl", "saw/shared/c.kdl", "saw/shared/deep/d.kdl"]);
    let odd: Vec<&str> = saw.oddities.iter().map(|(path, _)| path.0.as_str()).collect();
    assert_eq!(odd, ["saw/self", "saw/shared/deep/round", "saw/up"]);
    assert_eq!(folders(&disk, "a-alias"), ["a-alias"]);
}

#[test]
fn links_that_multiply_stay_linear() {
    // Two links from each folder to the next: 2^30 paths, 31 folders.
    let folder = tempfile::tempdir().unwrap();
    for level in 0..=30 {
        let here = folder.path().join(format!("l{level:02}"));
        fs::create_dir(&here).unwrap();
        fs::write(here.join("r.kdl"), "x").unwrap();
        if level < 30 {
            symlink(format!("../l{:02}", level + 1), here.join("one")).unwrap();
            symlink(format!("../l{:02}", level + 1), here.join("two")).unwrap();
        }
    }
    fs::write(folder.path().join("l00/machine.kdl"), "x").unwrap();
    fs::create_dir(folder.path().join(".git")).unwrap();
    let disk = Disk::at(folder.path()).unwrap();
    assert_eq!(one(&disk, "l00").files.len(), 32);
    assert_eq!(one(&disk, "").files.len(), 32);
}

#[test]
fn what_cannot_be_a_ledger_file_is_told_and_hurts_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    for name in [".git", "m/folder.kdl", "n/machine.kdl", "o", "p"] {
        fs::create_dir_all(at(name)).unwrap();
    }
    fs::write(at("m/machine.kdl"), "x").unwrap();
    fs::write(at("m/folder.kdl/inner.kdl"), "x").unwrap();
    fs::write(at("m").join(std::ffi::OsStr::from_bytes(b"bad\xfe.kdl")), "x").unwrap();
    symlink("nowhere", at("m/gone.kdl")).unwrap();
    symlink("nowhere", at("m/.#machine.kdl")).unwrap();
    symlink("nowhere", at("m/gone.txt")).unwrap();
    symlink("nowhere", at("m/shop.kdl")).unwrap();
    symlink("machine.kdl", at("o/machine.kdl")).unwrap();
    let disk = Disk::at(folder.path()).unwrap();
    let all = find_ledgers(&disk, &path("")).unwrap();
    let odd = |found: &FoundLedger| -> Vec<String> { found.oddities.iter().map(|(path, _)| path.0.clone()).collect() };
    assert_eq!(all.found.len(), 2);
    assert_eq!(texts(&all.found[0].files), ["m/folder.kdl/inner.kdl", "m/machine.kdl"]);
    assert_eq!(odd(&all.found[0]), ["m/folder.kdl", "m/gone.kdl", "m/shop.kdl"]);
    let misnamed: Vec<&str> = all.found[0].misnamed.iter().map(|(path, _)| path.0.as_str()).collect();
    assert_eq!(misnamed, ["m/bad\\xFE.kdl"]);
    // A machine file that cannot be read still makes a ledger, so that somebody hears of it.
    assert_eq!(all.found[1].folder, path("o"));
    assert_eq!(all.found[1].files, []);
    assert_eq!(odd(&all.found[1]), ["o/machine.kdl"]);
    let outside: Vec<&str> = all.oddities.iter().map(|(path, _)| path.0.as_str()).collect();
    assert_eq!(outside, ["n/machine.kdl"]);
}

/// Counts what is asked of a world.
struct Counting {
    world: Memory,
    lists: Mutex<usize>,
    kinds: Mutex<usize>,
}

impl World for Counting {
    fn list(&self, folder: &Path) -> Result<Vec<Listed>, ReadError> {
        *self.lists.lock().unwrap() += 1;
        self.world.list(folder)
    }
    fn kind(&self, path: &Path) -> Result<EntryKind, ReadError> {
        *self.kinds.lock().unwrap() += 1;
        self.world.kind(path)
    }
    fn read(&self, file: &Path) -> Result<Vec<u8>, ReadError> {
        self.world.read(file)
    }
    fn parent(&self, path: &Path) -> Option<Path> {
        self.world.parent(path)
    }
    fn today(&self) -> jiff::civil::Date {
        self.world.today()
    }
}

#[test]
fn the_work_grows_with_the_folders_only() {
    let mut world = memory(&["a/shop.kdl"]);
    for group in 0..20 {
        for machine in 0..50 {
            world = world.with(&format!("a/b/c/g{group}/m{machine}/machine.kdl"), "x");
        }
    }
    let counting = Counting { world, lists: Mutex::new(0), kinds: Mutex::new(0) };
    let all = find_ledgers(&counting, &path("a/b/c")).unwrap();
    assert_eq!(all.found.len(), 1000);
    assert!(all.found.iter().all(|found| texts(&found.shops) == ["a/shop.kdl"]));
    // 1 + 20 + 1000 folders, and the one asked for once more to see whether it can be listed.
    assert_eq!(*counting.lists.lock().unwrap(), 1022);
    // Shop and designs are looked for once in each folder above.
    let kinds = *counting.kinds.lock().unwrap();
    assert!(kinds < 20, "{kinds}");

    // A thousand files, one from each ledger: one listing each, and no folder above looked at twice.
    (*counting.lists.lock().unwrap(), *counting.kinds.lock().unwrap()) = (0, 0);
    let files: Vec<Path> = all.found.iter().map(|found| found.files[0].clone()).collect();
    assert_eq!(find_all(&counting, &files).unwrap(), all);
    assert_eq!(*counting.lists.lock().unwrap(), 1000);
    assert!(*counting.kinds.lock().unwrap() < 2100);
}
