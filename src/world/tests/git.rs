//! The index and revisions as worlds, against real repositories made by the git program. What git itself says
//! (`git show`, `git rev-parse`, the commit a hook's run ends in) is the reference.

use std::ffi::OsStr;
use std::fs;
use std::os::unix::ffi::OsStrExt;
use std::os::unix::fs::{PermissionsExt, symlink};
use std::path::{Path as RealPath, PathBuf};
use std::process::{Command, Output};
use std::sync::Arc;

use crate::world::git::{GitError, GitWorld, PathChange, PathChangeKind, Repository, Surroundings};
use crate::world::ledgers::find_ledgers;
use crate::world::{Disk, EntryKind, MOST_BYTES, Path, ReadError, World};

fn path(text: &str) -> Path {
    Path::from(text)
}

/// A git that sees no settings and no variables but ours.
fn git_in(folder: &RealPath) -> Command {
    let mut command = Command::new("git");
    for (name, _) in std::env::vars_os() {
        if name.as_bytes().starts_with(b"GIT_") {
            command.env_remove(name);
        }
    }
    command.env("GIT_CONFIG_GLOBAL", "/dev/null").env("GIT_CONFIG_NOSYSTEM", "1");
    for who in ["AUTHOR", "COMMITTER"] {
        command.env(format!("GIT_{who}_NAME"), "fitter-2").env(format!("GIT_{who}_EMAIL"), "fitter-2@example.org");
        command.env(format!("GIT_{who}_DATE"), "2026-03-02T10:00:00+0100");
    }
    command.current_dir(folder);
    command
}

fn ran(output: &Output) -> Vec<u8> {
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    output.stdout.clone()
}

/// A repository in a folder that goes away with it.
struct Yard {
    _folder: tempfile::TempDir,
    root: PathBuf,
}

impl Yard {
    fn new() -> Self {
        Self::with(&[])
    }

    fn with(options: &[&str]) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let root = fs::canonicalize(folder.path()).unwrap().join("yard");
        fs::create_dir(&root).unwrap();
        let yard = Self { _folder: folder, root };
        yard.git(&[&["init", "-q", "-b", "main"], options].concat());
        yard
    }

    fn git(&self, arguments: &[&str]) -> String {
        let stdout = ran(&git_in(&self.root).args(arguments).output().unwrap());
        String::from_utf8_lossy(&stdout).trim_end().to_owned()
    }

    fn write(&self, name: &str, text: impl AsRef<[u8]>) -> &Self {
        let file = self.root.join(name);
        fs::create_dir_all(file.parent().unwrap()).unwrap();
        fs::write(file, text).unwrap();
        self
    }

    fn commit(&self) -> String {
        self.git(&["add", "-A"]);
        self.git(&["commit", "-q", "--allow-empty", "-m", "a day's work"]);
        self.git(&["rev-parse", "HEAD"])
    }

    fn open(&self) -> Arc<Repository> {
        open(&self.root, &Surroundings::default())
    }

    fn index(&self) -> GitWorld {
        GitWorld::index(&self.open()).unwrap()
    }

    fn at(&self, revision: &str) -> GitWorld {
        GitWorld::revision(&self.open(), revision).unwrap()
    }

    fn hook(&self, name: &str, command: &str) {
        let hook = PathBuf::from(self.git(&["rev-parse", "--git-path", &format!("hooks/{name}")]));
        write_hook(&self.root.join(hook), command);
    }
}

fn write_hook(hook: &RealPath, command: &str) {
    fs::create_dir_all(hook.parent().unwrap()).unwrap();
    fs::write(hook, format!("#!/bin/sh\n{command}\n")).unwrap();
    fs::set_permissions(hook, fs::Permissions::from_mode(0o755)).unwrap();
}

fn open(stand: &RealPath, surroundings: &Surroundings) -> Arc<Repository> {
    Arc::new(Repository::at(stand, surroundings).unwrap())
}

fn surroundings(folder: &RealPath, variables: &[(&str, &OsStr)]) -> Surroundings {
    Surroundings {
        variables: variables.iter().map(|&(name, value)| (name.into(), value.into())).collect(),
        folder: folder.to_owned(),
    }
}

fn text(world: &dyn World, file: &str) -> String {
    String::from_utf8(world.read(&path(file)).unwrap()).unwrap()
}

fn names(world: &dyn World, folder: &str) -> Vec<String> {
    world.list(&path(folder)).unwrap().into_iter().map(|entry| entry.path.0).collect()
}

/// Every file below a folder with its bytes, one a line.
fn all_of(world: &dyn World, folder: &Path, into: &mut String) {
    for entry in world.list(folder).unwrap() {
        match entry.kind {
            EntryKind::Folder => all_of(world, &entry.path, into),
            EntryKind::File => into.push_str(&format!("{}={}\n", entry.path, text(world, &entry.path.0))),
            EntryKind::Other(reason) => into.push_str(&format!("{}: {reason}\n", entry.path)),
        }
    }
}

fn whole(world: &dyn World) -> String {
    let mut text = String::new();
    all_of(world, &Path::default(), &mut text);
    text
}

fn other(world: &dyn World, name: &str) -> String {
    match world.kind(&path(name)) {
        Ok(EntryKind::Other(reason)) => {
            assert_eq!(world.read(&path(name)), Err(ReadError::Other(reason.to_owned())), "{name}");
            reason.to_owned()
        }
        kind => panic!("{name}: {kind:?}"),
    }
}

#[test]
fn the_index_the_revisions_and_the_work_tree_are_three_worlds() {
    let yard = Yard::new();
    yard.write("hull/machine.kdl", "one").write("shop.kdl", "s").commit();
    yard.write("hull/machine.kdl", "two").commit();
    yard.write("hull/machine.kdl", "three").git(&["add", "-A"]);
    yard.write("hull/machine.kdl", "four").write("hull/untracked.kdl", "u");
    assert_eq!(text(&yard.at("HEAD~1"), "hull/machine.kdl"), "one");
    assert_eq!(text(&yard.at("HEAD"), "hull/machine.kdl"), "two");
    assert_eq!(text(&yard.index(), "hull/machine.kdl"), "three");
    assert_eq!(text(&Disk::at(&yard.root).unwrap(), "hull/machine.kdl"), "four");
    let index = yard.index();
    assert_eq!(names(&index, ""), ["hull", "shop.kdl"]);
    assert_eq!(names(&index, "hull"), ["hull/machine.kdl"]);
    assert_eq!(index.kind(&path("hull")), Ok(EntryKind::Folder));
    assert_eq!(index.kind(&path("hull/untracked.kdl")), Err(ReadError::Missing));
    assert_eq!(index.read(&path("hull/machine.kdl/x")), Err(ReadError::Missing));
    assert!(matches!(index.read(&path("hull")), Err(ReadError::Other(why)) if why.contains("folder")));
    assert!(matches!(index.list(&path("shop.kdl")), Err(ReadError::Other(why)) if why.contains("file")));
    assert!(index.is_commit().is_none());
    assert_eq!(yard.at("main").is_commit().unwrap().id, yard.git(&["rev-parse", "HEAD"]));
}

#[test]
fn a_listing_steps_over_folders_in_the_order_of_bytes() {
    let yard = Yard::new();
    for name in ["a/x.kdl", "a-b/x.kdl", "a.kdl", "a/y/z.kdl", "a0/x.kdl", "b.kdl"] {
        yard.write(name, name);
    }
    yard.commit();
    let disk = Disk::at(&yard.root).unwrap();
    for world in [&yard.index() as &dyn World, &yard.at("HEAD")] {
        assert_eq!(names(world, ""), ["a", "a-b", "a.kdl", "a0", "b.kdl"]);
        assert_eq!(names(world, "a"), ["a/x.kdl", "a/y"]);
        assert_eq!(world.list(&path("a")), disk.list(&path("a")));
        assert_eq!(world.kind(&path("a-")), Err(ReadError::Missing));
    }
}

#[test]
fn paths_are_seen_from_where_we_stand() {
    let yard = Yard::new();
    yard.write("shop.kdl", "s").write("dock/hull/machine.kdl", "m").write("dock/hull/records/r.kdl", "r").commit();
    let repository = open(&yard.root.join("dock/hull"), &Surroundings::default());
    let world = GitWorld::revision(&repository, "HEAD").unwrap();
    assert_eq!(names(&world, ""), ["machine.kdl", "records"]);
    assert_eq!(names(&world, ".."), [""]);
    assert_eq!(names(&world, "../.."), ["..", "../../shop.kdl"]);
    assert_eq!(text(&world, "../../shop.kdl"), "s");
    assert_eq!(world.parent(&path("")), Some(path("..")));
    assert_eq!(world.parent(&path("records/r.kdl")), Some(path("records")));
    assert_eq!(world.parent(&path("../..")), None);
    assert_eq!(world.kind(&path("../../..")), Err(ReadError::Missing));
    let typed = |text: &str| world.path(OsStr::new(text)).map(|path| path.0);
    assert_eq!(typed("../hull/records/"), Ok("records".to_owned()));
    assert_eq!(typed(yard.root.join("shop.kdl").to_str().unwrap()), Ok("../../shop.kdl".to_owned()));
    assert!(matches!(typed("../../../x"), Err(ReadError::Other(why)) if why.contains("outside")));
    assert!(typed("/elsewhere").is_err());
    let found = find_ledgers(&world, &path("records")).unwrap().found;
    assert_eq!((found[0].folder.0.as_str(), found[0].shops.as_slice()), ("", &[path("../../shop.kdl")][..]));
    // A folder the revision does not hold yet.
    fs::create_dir(yard.root.join("new")).unwrap();
    let repository = open(&yard.root.join("new"), &Surroundings::default());
    let world = GitWorld::revision(&repository, "HEAD").unwrap();
    assert_eq!(world.kind(&path("")), Err(ReadError::Missing));
    assert_eq!(text(&world, "../shop.kdl"), "s");
}

#[test]
fn odd_folder_names_do_not_confuse() {
    let yard = Yard::new();
    yard.write("a b/line\nend/'q'/machine.kdl", "m").write("*/machine.kdl", "star").commit();
    for folder in ["a b/line\nend/'q'", "*"] {
        let repository = open(&yard.root.join(folder), &Surroundings::default());
        assert_eq!(names(&GitWorld::index(&repository).unwrap(), ""), ["machine.kdl"]);
        assert_eq!(repository.top(), Some(yard.root.as_path()));
    }
    assert_eq!(text(&yard.at("HEAD"), "a b/line\nend/'q'/machine.kdl"), "m");
}

#[test]
fn a_bare_repository_has_revisions_and_no_index() {
    let yard = Yard::new();
    yard.write("hull/machine.kdl", "one").commit();
    let bare = yard.root.parent().unwrap().join("bare.git");
    yard.git(&["clone", "-q", "--bare", ".", bare.to_str().unwrap()]);
    let repository = open(&bare, &Surroundings::default());
    assert_eq!(repository.top(), None);
    let world = GitWorld::revision(&repository, "main").unwrap();
    assert_eq!(whole(&world), "hull/machine.kdl=one\n");
    assert_eq!(world.parent(&path("hull")), Some(path("")));
    assert_eq!(world.parent(&path("")), None);
    assert!(matches!(GitWorld::index(&repository), Err(GitError::NoIndex)));
    assert!(matches!(repository.staged_changes(), Err(GitError::NoIndex)));
    assert_eq!(find_ledgers(&world, &path("")).unwrap().found[0].files, [path("hull/machine.kdl")]);
}

#[test]
fn a_repository_of_the_longer_ids_works_the_same() {
    let yard = Yard::with(&["--object-format=sha256"]);
    yard.write("hull/machine.kdl", "one").write("hull/empty.kdl", "");
    yard.git(&["add", "-A"]);
    yard.write("hull/meant.kdl", "x").git(&["add", "-N", "hull/meant.kdl"]);
    assert_eq!(whole(&yard.index()), "hull/empty.kdl=\nhull/machine.kdl=one\n");
    assert_eq!(yard.open().staged_changes().unwrap().len(), 2);
    yard.commit();
    assert_eq!(whole(&yard.at("HEAD")), "hull/empty.kdl=\nhull/machine.kdl=one\nhull/meant.kdl=x\n");
    assert_eq!(yard.open().resolve("HEAD").unwrap().id.len(), 64);
}

#[test]
fn links_are_followed_inside_the_tree_and_never_out_of_it() {
    let yard = Yard::new();
    yard.write("hull/machine.kdl", "m").write("common/r.kdl", "r").write("common/deep/d.kdl", "d");
    let link = |target: &str, name: &str| symlink(target, yard.root.join(name)).unwrap();
    link("../common/r.kdl", "hull/to-file.kdl");
    link("../common/deep", "hull/to-folder");
    link("to-folder/../r.kdl", "hull/through.kdl");
    link("hull", "alias");
    link("nowhere", "hull/dangling.kdl");
    link("circle-2.kdl", "hull/circle-1.kdl");
    link("circle-1.kdl", "hull/circle-2.kdl");
    link("../../outside.kdl", "hull/out.kdl");
    link("/etc/hostname", "hull/absolute.kdl");
    link("machine.kdl/x", "hull/below-a-file.kdl");
    yard.commit();
    for world in [&yard.index() as &dyn World, &yard.at("HEAD")] {
        assert_eq!(text(world, "hull/to-file.kdl"), "r");
        assert_eq!(text(world, "hull/to-folder/d.kdl"), "d");
        assert_eq!(text(world, "hull/through.kdl"), "r");
        assert_eq!(text(world, "alias/to-folder/d.kdl"), "d");
        assert_eq!(names(world, "alias/to-folder"), ["alias/to-folder/d.kdl"]);
        assert!(other(world, "hull/dangling.kdl").contains("not there"));
        assert!(other(world, "hull/below-a-file.kdl").contains("not there"));
        assert!(other(world, "hull/circle-1.kdl").contains("back to itself"));
        assert!(other(world, "hull/out.kdl").contains("out of the repository"));
        assert!(other(world, "hull/absolute.kdl").contains("out of the repository"));
        assert_eq!(world.identity(&path("alias/to-folder")), world.identity(&path("common/deep")));
        let listed = world.list(&path("")).unwrap();
        let seen: Vec<_> = listed.iter().map(|l| (l.path.0.as_str(), l.kind, l.link)).collect();
        assert_eq!(
            seen,
            [
                ("alias", EntryKind::Folder, true),
                ("common", EntryKind::Folder, false),
                ("hull", EntryKind::Folder, false)
            ]
        );
        let found = find_ledgers(world, &path("")).unwrap().found;
        assert_eq!(found.len(), 1);
        assert_eq!(
            found,
            find_ledgers(&Disk::at(&yard.root).unwrap(), &path(""))
                .map(|disk| {
                    // On the disk the two links out of the repository lead somewhere or nowhere; the files are the same.
                    let mut disk = disk.found;
                    disk[0].oddities.clone_from(&found[0].oddities);
                    disk[0].files.retain(|file| file.name() != "absolute.kdl");
                    disk
                })
                .unwrap()
        );
        assert_eq!(found[0].oddities.len(), 6);
    }
}

#[test]
fn submodules_and_names_that_are_not_text_are_told() {
    let yard = Yard::new();
    yard.write("hull/machine.kdl", "m").write("hull/ü.kdl", "u");
    fs::write(yard.root.join(OsStr::from_bytes(b"hull/bad\xff.kdl")), "x").unwrap();
    let folder = yard.root.join(OsStr::from_bytes(b"hull/fold\xfe"));
    fs::create_dir(&folder).unwrap();
    fs::write(folder.join("x.kdl"), "x").unwrap();
    let inner = Yard::new();
    inner.write("machine.kdl", "inner").commit();
    yard.git(&["-c", "protocol.file.allow=always", "submodule", "add", "-q", inner.root.to_str().unwrap(), "sub.kdl"]);
    yard.commit();
    for world in [&yard.index() as &dyn World, &yard.at("HEAD")] {
        assert!(other(world, "sub.kdl").contains("submodule"));
        assert!(
            matches!(world.kind(&path("sub.kdl/machine.kdl")), Ok(EntryKind::Other(why)) if why.contains("submodule"))
        );
        let listed = world.list(&path("hull")).unwrap();
        let seen: Vec<_> = listed.iter().map(|l| (l.path.0.as_str(), matches!(l.kind, EntryKind::Other(_)))).collect();
        assert_eq!(
            seen,
            [("hull/bad\\xFF.kdl", true), ("hull/fold\\xFE", true), ("hull/machine.kdl", false), ("hull/ü.kdl", false)]
        );
        let found = find_ledgers(world, &path("")).unwrap().found;
        assert_eq!(found[0].misnamed.len(), 2, "{:?}", found[0]);
    }
    // A hook of the enclosing repository must not make us read it from inside the submodule.
    let enclosing = yard.root.join(".git");
    let stand = yard.root.join("sub.kdl");
    let misled = surroundings(&stand, &[("GIT_DIR", enclosing.as_os_str())]);
    assert_eq!(whole(&GitWorld::index(&open(&stand, &misled)).unwrap()), "machine.kdl=inner\n");
}

#[test]
fn a_conflict_is_told_until_it_is_settled() {
    let yard = Yard::new();
    yard.write("hull/machine.kdl", "base").write("hull/b.kdl", "b").commit();
    yard.git(&["checkout", "-q", "-b", "other"]);
    yard.write("hull/machine.kdl", "theirs").commit();
    yard.git(&["checkout", "-q", "main"]);
    yard.write("hull/machine.kdl", "ours").commit();
    assert!(!git_in(&yard.root).args(["merge", "-q", "other"]).output().unwrap().status.success());
    let index = yard.index();
    assert!(other(&index, "hull/machine.kdl").contains("conflict"));
    assert_eq!(names(&index, "hull"), ["hull/b.kdl", "hull/machine.kdl"]);
    assert_eq!(text(&index, "hull/b.kdl"), "b");
    let changes = yard.open().staged_changes().unwrap();
    assert_eq!(changes, [PathChange { path: path("hull/machine.kdl"), from: None, how: PathChangeKind::InConflict }]);
    // The ledger does not vanish because its machine file is in conflict.
    let found = find_ledgers(&index, &path("")).unwrap().found;
    assert_eq!(found[0].oddities[0].0, path("hull/machine.kdl"));
    yard.write("hull/machine.kdl", "settled").git(&["add", "-A"]);
    assert_eq!(text(&yard.index(), "hull/machine.kdl"), "settled");
}

#[test]
fn only_what_a_commit_would_hold_is_staged() {
    let yard = Yard::new();
    yard.write("old-empty.kdl", "").write("a.kdl", "a").commit();
    yard.write("new-empty.kdl", "").git(&["add", "-A"]);
    yard.write("meant.kdl", "text").git(&["add", "--intent-to-add", "meant.kdl"]);
    assert!(yard.git(&["ls-files"]).contains("meant.kdl"));
    assert_eq!(whole(&yard.index()), "a.kdl=a\nnew-empty.kdl=\nold-empty.kdl=\n");
    let changes = yard.open().staged_changes().unwrap();
    assert_eq!(changes, [PathChange { path: path("new-empty.kdl"), from: None, how: PathChangeKind::Added }]);
    // The reference is the commit git makes of it.
    let index = whole(&yard.index());
    yard.git(&["commit", "-q", "-m", "x"]);
    assert_eq!(whole(&yard.at("HEAD")), index);
}

#[test]
fn looking_changes_nothing() {
    let yard = Yard::new();
    yard.write("hull/machine.kdl", "one").commit();
    // Touched but equal: a git that may write would refresh the index here.
    yard.write("hull/machine.kdl", "one");
    let before = fs::read(yard.root.join(".git/index")).unwrap();
    let _ = (whole(&yard.index()), whole(&yard.at("HEAD")), yard.open().staged_changes().unwrap());
    assert_eq!(fs::read(yard.root.join(".git/index")).unwrap(), before);
    // Another git at work holds the lock; we need none.
    fs::write(yard.root.join(".git/index.lock"), "").unwrap();
    assert_eq!(whole(&yard.index()), "hull/machine.kdl=one\n");
}

#[test]
fn a_file_too_large_is_refused_and_the_next_one_read() {
    let yard = Yard::new();
    yard.write("a.kdl", "a").write("z.kdl", "z").write("shop.kdl", "s");
    fs::File::create(yard.root.join("large.kdl")).unwrap().set_len(MOST_BYTES + 1).unwrap();
    yard.commit();
    let world = yard.at("HEAD");
    let large = Err(ReadError::TooLarge { size: MOST_BYTES + 1, most: MOST_BYTES });
    assert_eq!(world.read(&path("large.kdl")), large);
    assert_eq!(text(&world, "z.kdl"), "z");
    world.prefetch(&["a.kdl", "large.kdl", "z.kdl", "shop.kdl"].map(path));
    assert_eq!(world.read(&path("large.kdl")), large);
    assert_eq!(
        (text(&world, "a.kdl"), text(&world, "z.kdl"), text(&world, "shop.kdl")),
        ("a".into(), "z".into(), "s".into())
    );
}

#[test]
fn many_files_stream_without_a_standstill() {
    let yard = Yard::new();
    // Far more than a pipe holds (64 KiB) in either direction, in sizes around its edges.
    let sizes = [0usize, 1, 100, 4096, 65_535, 65_536, 65_537, 200_000];
    let bytes = |n: usize| -> Vec<u8> { (0..sizes[n % 8]).map(|at| ((at * 31 + n) % 251) as u8).collect() };
    for n in 0..400 {
        yard.write(&format!("m{n:04}.kdl"), bytes(n));
    }
    yard.commit();
    let world = yard.index();
    let mut files: Vec<Path> = (0..400).map(|n| Path(format!("m{n:04}.kdl"))).collect();
    files.push(path("none.kdl"));
    world.prefetch(&files);
    for round in 0..2 {
        for (n, file) in files[..400].iter().enumerate() {
            assert!(world.read(file).unwrap() == bytes(n), "{file} in round {round}");
        }
    }
    assert_eq!(world.read(&files[400]), Err(ReadError::Missing));
}

#[test]
fn a_lost_object_is_told() {
    let yard = Yard::new();
    yard.write("a.kdl", "a").write("b.kdl", "b").commit();
    let id = yard.git(&["rev-parse", "HEAD:a.kdl"]);
    fs::remove_file(yard.root.join(format!(".git/objects/{}/{}", &id[..2], &id[2..]))).unwrap();
    let world = yard.at("HEAD");
    world.prefetch(&[path("a.kdl"), path("b.kdl")]);
    assert!(matches!(world.read(&path("a.kdl")), Err(ReadError::Other(why)) if why.contains("fetch")));
    assert_eq!(text(&world, "b.kdl"), "b");
}

#[test]
fn a_revision_is_resolved_as_git_resolves_it() {
    let yard = Yard::new();
    let first = yard.write("a.kdl", "a").commit();
    let second = yard.write("a.kdl", "b").commit();
    yard.git(&["tag", "-a", "-m", "m", "released", "HEAD~1"]);
    yard.git(&["tag", "-a", "-m", "m", "twice", "released"]);
    yard.git(&["branch", "topic/x", "HEAD~1"]);
    yard.git(&["update-ref", "refs/heads/--all", "HEAD~1"]);
    let repository = yard.open();
    for name in ["HEAD", "main", "HEAD~1", "HEAD^", "released", "twice", "topic/x", &first[..8], "@", "main@{0}"] {
        let reference = yard.git(&["rev-parse", &format!("{name}^{{commit}}")]);
        assert_eq!(repository.resolve(name).unwrap().id, reference, "{name}");
    }
    // A branch may be named like an option, and is a branch all the same.
    assert_eq!(repository.resolve("--all").unwrap().id, first);
    assert_eq!(repository.resolve("refs/heads/--all").unwrap().id, first);
    for name in ["nope", "", "-x", "--batch-check", "--output=/tmp/x", "HEAD\nHEAD", "HEAD~9", "HEAD:none", "\0"] {
        assert!(matches!(repository.resolve(name), Err(GitError::UnknownRevision { .. })), "{name:?}");
    }
    for (name, kind) in [("HEAD:a.kdl", "file"), ("HEAD^{tree}", "folder"), ("main:", "folder")] {
        let error = repository.resolve(name).unwrap_err();
        assert!(matches!(&error, GitError::NotACommit { kind: found, .. } if found == kind), "{error}");
    }
    assert_eq!(repository.resolve("HEAD").unwrap().short(), &second[..12]);
    assert!(matches!(GitWorld::revision(&repository, "nope"), Err(GitError::UnknownRevision { .. })));
}

#[test]
fn a_revision_is_on_its_committers_day() {
    let yard = Yard::new();
    yard.write("a.kdl", "a").git(&["add", "-A"]);
    for (date, day) in [
        ("2024-02-29T23:30:00-0500", jiff::civil::date(2024, 2, 29)),
        ("2025-01-01T00:30:00+0900", jiff::civil::date(2025, 1, 1)),
    ] {
        let mut commit = git_in(&yard.root);
        commit.env("GIT_COMMITTER_DATE", date).args(["commit", "-q", "--allow-empty", "-m", "x"]);
        ran(&commit.output().unwrap());
        // Git's own rendering of the committer's date is the reference.
        assert_eq!(yard.git(&["log", "-1", "--format=%cd", "--date=short"]), day.to_string());
        assert_eq!(yard.at("HEAD").today(), day);
    }
    assert_eq!(yard.at("HEAD").on(jiff::civil::date(2030, 1, 2)).today(), jiff::civil::date(2030, 1, 2));
    assert_eq!(yard.index().on(jiff::civil::date(2030, 1, 2)).today(), jiff::civil::date(2030, 1, 2));
}

#[test]
fn changes_give_both_names_of_a_rename() {
    let yard = Yard::new();
    // Before the first commit everything staged is new.
    yard.write("hull/machine.kdl", "a long enough text to be known again\n".repeat(20)).write("hull/gone.kdl", "g");
    yard.git(&["add", "-A"]);
    let how = |changes: Vec<PathChange>| -> Vec<String> {
        let from = |change: &PathChange| change.from.as_ref().map(|from| format!(" from {from}")).unwrap_or_default();
        changes.iter().map(|change| format!("{:?} {}{}", change.how, change.path, from(change))).collect()
    };
    assert_eq!(how(yard.open().staged_changes().unwrap()), ["Added hull/gone.kdl", "Added hull/machine.kdl"]);
    assert!(matches!(yard.open().resolve("HEAD"), Err(GitError::UnknownRevision { .. })));
    let before = yard.commit();
    assert_eq!(yard.open().staged_changes().unwrap(), []);

    yard.git(&["config", "diff.renames", "false"]);
    yard.git(&["config", "diff.noprefix", "true"]);
    yard.git(&["mv", "hull", "barge"]);
    yard.git(&["rm", "-q", "-f", "barge/gone.kdl"]);
    yard.write("shop.kdl", "s").write(".gitattributes", "x");
    symlink("shop.kdl", yard.root.join("link.kdl")).unwrap();
    yard.git(&["add", "-A"]);
    let expected = [
        "Added .gitattributes",
        "Renamed barge/machine.kdl from hull/machine.kdl",
        "Removed hull/gone.kdl",
        "Added link.kdl",
        "Added shop.kdl",
    ];
    let changes = yard.open().staged_changes().unwrap();
    assert_eq!(changes[1].paths().collect::<Vec<_>>(), [&path("barge/machine.kdl"), &path("hull/machine.kdl")]);
    assert_eq!(how(changes), expected);
    let after = yard.commit();
    let repository = open(&yard.root.join("barge"), &Surroundings::default());
    let (before, after) = (repository.resolve(&before).unwrap(), repository.resolve(&after).unwrap());
    assert_eq!(
        how(repository.changes_between(&before, &after).unwrap()),
        [
            "Added ../.gitattributes",
            "Removed ../hull/gone.kdl",
            "Added ../link.kdl",
            "Added ../shop.kdl",
            "Renamed machine.kdl from ../hull/machine.kdl"
        ]
    );
    fs::remove_file(yard.root.join("link.kdl")).unwrap();
    yard.write("link.kdl", "now a file").git(&["add", "-A"]);
    assert_eq!(how(yard.open().staged_changes().unwrap()), ["Replaced link.kdl"]);
}

#[test]
fn the_common_ancestor_is_gits() {
    let yard = Yard::new();
    let base = yard.write("a.kdl", "a").commit();
    yard.git(&["checkout", "-q", "-b", "topic"]);
    yard.write("b.kdl", "b").commit();
    yard.git(&["checkout", "-q", "main"]);
    yard.write("c.kdl", "c").commit();
    yard.git(&["checkout", "-q", "--orphan", "stranger"]);
    yard.commit();
    let repository = yard.open();
    let commit = |name: &str| repository.resolve(name).unwrap();
    let common = repository.merge_base(&commit("main"), &commit("topic")).unwrap();
    assert_eq!(common.unwrap().id, base);
    assert_eq!(repository.merge_base(&commit("main"), &commit("stranger")).unwrap(), None);
}

#[test]
fn outside_of_a_repository_the_error_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let error = Repository::at(folder.path(), &Surroundings::default()).unwrap_err();
    assert!(matches!(error, GitError::NoRepository { .. }), "{error}");
    assert!(error.to_string().contains("not in a git repository"), "{error}");
    let none = Repository::at(folder.path().join("none"), &Surroundings::default()).unwrap_err();
    assert!(matches!(none, GitError::NoRepository { .. }), "{none}");
    // Nor does a left-over GIT_DIR make it one.
    let yard = Yard::new();
    let misled = surroundings(folder.path(), &[("GIT_DIR", yard.root.join(".git").as_os_str())]);
    assert!(matches!(Repository::at(folder.path(), &misled), Err(GitError::NoRepository { .. })));
}

#[test]
fn variables_of_another_repository_do_not_mislead() {
    let (ours, theirs) = (Yard::new(), Yard::new());
    ours.write("ours.kdl", "o").commit();
    theirs.write("theirs.kdl", "t").commit();
    let dir = theirs.root.join(".git");
    let (index, objects) = (dir.join("index"), dir.join("objects"));
    let both = [
        ("GIT_DIR", dir.as_os_str()),
        ("GIT_WORK_TREE", theirs.root.as_os_str()),
        ("GIT_INDEX_FILE", index.as_os_str()),
        ("GIT_OBJECT_DIRECTORY", objects.as_os_str()),
        ("GIT_PREFIX", OsStr::new("sub/")),
    ];
    for misled in [&both[..], &both[..1], &both[2..3], &both[3..]] {
        let repository = open(&ours.root, &surroundings(&theirs.root, misled));
        assert_eq!(whole(&GitWorld::index(&repository).unwrap()), "ours.kdl=o\n", "{misled:?}");
        assert_eq!(whole(&GitWorld::revision(&repository, "HEAD").unwrap()), "ours.kdl=o\n", "{misled:?}");
        assert_eq!(repository.top(), Some(ours.root.as_path()));
        assert_eq!(repository.hooks_folder().unwrap().folder, ours.root.join(".git/hooks"));
    }
}

#[test]
fn variables_that_name_our_repository_are_obeyed() {
    let yard = Yard::new();
    yard.write("a.kdl", "a").commit();
    // A second index beside the first, as `git commit <path>` makes one.
    let second = yard.root.join(".git/second-index");
    fs::copy(yard.root.join(".git/index"), &second).unwrap();
    yard.write("sub/b.kdl", "b");
    ran(&git_in(&yard.root).env("GIT_INDEX_FILE", &second).args(["add", "-A"]).output().unwrap());
    let git_dir = ("GIT_DIR", OsStr::new(".git"));
    let relative = ("GIT_INDEX_FILE", OsStr::new(".git/second-index"));
    for (stand, expected) in [("", "a.kdl=a\nsub/b.kdl=b\n"), ("sub", "b.kdl=b\n")] {
        let stand = yard.root.join(stand);
        for variables in [&[git_dir, relative][..], &[relative], &[("GIT_INDEX_FILE", second.as_os_str())]] {
            let world = GitWorld::index(&open(&stand, &surroundings(&yard.root, variables))).unwrap();
            assert_eq!(whole(&world), expected, "{variables:?}");
        }
    }
    // An index that lies in no repository is somebody's deliberate choice.
    let apart = yard.root.parent().unwrap().join("apart");
    fs::copy(&second, &apart).unwrap();
    let chosen = surroundings(&yard.root, &[("GIT_INDEX_FILE", apart.as_os_str())]);
    assert_eq!(whole(&GitWorld::index(&open(&yard.root, &chosen)).unwrap()), "a.kdl=a\nsub/b.kdl=b\n");
}

#[test]
fn a_git_folder_kept_elsewhere_is_found_through_its_variables() {
    let folder = tempfile::tempdir().unwrap();
    let root = fs::canonicalize(folder.path()).unwrap();
    let (dir, tree) = (root.join("kept.git"), root.join("tree"));
    fs::create_dir_all(tree.join("sub")).unwrap();
    fs::write(tree.join("sub/a.kdl"), "a").unwrap();
    let variables = [("GIT_DIR", dir.as_os_str()), ("GIT_WORK_TREE", tree.as_os_str())];
    for arguments in [&["init", "-q"][..], &["add", "-A"]] {
        ran(&git_in(&tree).envs(variables).args(arguments).output().unwrap());
    }
    let repository = open(&tree.join("sub"), &surroundings(&tree, &variables));
    assert_eq!(repository.top(), Some(tree.as_path()));
    assert_eq!(whole(&GitWorld::index(&repository).unwrap()), "a.kdl=a\n");
    assert!(Repository::at(&tree, &surroundings(&tree, &variables[..1])).is_err());
    assert!(Repository::at(&root, &surroundings(&tree, &variables)).is_err());
}

const SEEN: &str = "WAYLEDGER_TEST_SEEN";
const STAND: &str = "WAYLEDGER_TEST_STAND";

/// The command by which a hook runs [`seen_from_a_hook`].
fn probe(seen: &RealPath) -> String {
    let me = std::env::current_exe().unwrap();
    format!(
        "{SEEN}='{}' '{}' --exact --ignored world::tests::git::seen_from_a_hook >/dev/null",
        seen.display(),
        me.display()
    )
}

/// Writes down what the index holds (or, where a push is judged, what each pushed commit holds), with the variables
/// that git gave to the hook.
#[test]
#[ignore = "run by the hooks that other tests install"]
fn seen_from_a_hook() {
    let Some(seen) = std::env::var_os(SEEN) else {
        // Run by hand there is no hook, and then none of its variables may be needed.
        let yard = Yard::new();
        yard.write("a.kdl", "a").git(&["add", "-A"]);
        assert_eq!(whole(&GitWorld::index(&open(&yard.root, &Surroundings::of_process())).unwrap()), "a.kdl=a\n");
        return;
    };
    let stand = std::env::var_os(STAND).unwrap_or_else(|| ".".into());
    let repository = Arc::new(Repository::at(PathBuf::from(stand), &Surroundings::of_process()).unwrap());
    let mut text = String::new();
    if repository.top().is_some() {
        text = whole(&GitWorld::index(&repository).unwrap());
        for change in repository.staged_changes().unwrap() {
            text.push_str(&format!("{:?} {}\n", change.how, change.path));
        }
    } else {
        for line in std::io::stdin().lines() {
            let line = line.unwrap();
            let pushed = line.split(' ').nth(1).unwrap();
            text.push_str(&whole(&GitWorld::revision(&repository, pushed).unwrap()));
        }
    }
    fs::write(seen, text).unwrap();
}

#[test]
fn a_hook_sees_exactly_what_is_being_committed() {
    let yard = Yard::new();
    yard.write("sub/a.kdl", "a1").write("b.kdl", "b1").commit();
    let seen = yard.root.parent().unwrap().join("seen");
    yard.hook("pre-commit", &probe(&seen));
    let hooked = || fs::read_to_string(&seen).unwrap();
    let run = |folder: &RealPath, arguments: &[&str]| ran(&git_in(folder).args(arguments).output().unwrap());

    // What was staged, not what was saved since.
    yard.write("b.kdl", "b2").git(&["add", "-A"]);
    yard.write("b.kdl", "b3");
    run(&yard.root, &["commit", "-q", "-m", "staged"]);
    assert_eq!(hooked(), "b.kdl=b2\nsub/a.kdl=a1\nChanged b.kdl\n");

    // All that is saved, from a folder below: git uses an index of its own.
    run(&yard.root.join("sub"), &["commit", "-q", "-a", "-m", "all"]);
    assert_eq!(hooked(), "b.kdl=b3\nsub/a.kdl=a1\nChanged b.kdl\n");

    // One path only, with something else staged: again another index.
    yard.write("b.kdl", "b4").write("new.kdl", "n").git(&["add", "-A"]);
    yard.write("sub/a.kdl", "a2");
    run(&yard.root, &["commit", "-q", "-m", "one path", "sub/a.kdl"]);
    assert_eq!(hooked(), "b.kdl=b3\nsub/a.kdl=a2\nChanged sub/a.kdl\n");
    assert!(hooked().starts_with(&whole(&yard.at("HEAD"))));

    // In a second work tree of the same repository, whose git folder is elsewhere.
    let second = yard.root.parent().unwrap().join("second");
    yard.git(&["worktree", "add", "-q", "-b", "second", second.to_str().unwrap()]);
    fs::write(second.join("sub/a.kdl"), "a3").unwrap();
    run(&second.join("sub"), &["commit", "-q", "-a", "-m", "second"]);
    assert_eq!(hooked(), "b.kdl=b3\nsub/a.kdl=a3\nChanged sub/a.kdl\n");

    // A hook that goes to another repository looks at that one.
    let other = Yard::new();
    other.write("other.kdl", "o").git(&["add", "-A"]);
    let elsewhere = format!("cd '{}'\n{}", other.root.display(), probe(&seen));
    yard.hook("pre-commit", &elsewhere);
    for folder in [&yard.root, &second] {
        fs::remove_file(&seen).unwrap();
        run(folder, &["commit", "-q", "--allow-empty", "-m", "x"]);
        assert_eq!(hooked(), "other.kdl=o\nAdded other.kdl\n");
    }

    // And one that stays but asks about another folder, too.
    yard.hook("pre-commit", &format!("export {STAND}='{}'\n{}", other.root.display(), probe(&seen)));
    fs::write(second.join("sub/a.kdl"), "a4").unwrap();
    run(&second, &["commit", "-q", "-a", "-m", "x"]);
    assert_eq!(hooked(), "other.kdl=o\nAdded other.kdl\n");
}

#[test]
fn a_push_is_seen_before_it_is_accepted() {
    let yard = Yard::new();
    yard.write("a.kdl", "a").commit();
    let bare = yard.root.parent().unwrap().join("bare.git");
    yard.git(&["init", "-q", "--bare", bare.to_str().unwrap()]);
    let seen = yard.root.parent().unwrap().join("seen");
    // The objects wait in a quarantine that only the hook's variables name; the hook then refuses them.
    write_hook(&bare.join("hooks/pre-receive"), &format!("{}\nexit 1", probe(&seen)));
    let push = git_in(&yard.root).args(["push", "-q", bare.to_str().unwrap(), "main"]).output().unwrap();
    assert!(!push.status.success());
    assert_eq!(fs::read_to_string(&seen).unwrap(), "a.kdl=a\n");
    assert!(matches!(open(&bare, &Surroundings::default()).resolve("main"), Err(GitError::UnknownRevision { .. })));
}

#[test]
fn git_and_disk_find_the_same_ledgers() {
    let yard = Yard::new();
    for name in
        ["shop.kdl", "dock/shop.kdl", "dock/hull/machine.kdl", "dock/hull/records/r.kdl", "dock/saw/machine.kdl"]
    {
        yard.write(name, name);
    }
    yard.commit();
    let disk = Disk::at(&yard.root).unwrap();
    let expected = find_ledgers(&disk, &path("")).unwrap();
    assert_eq!(expected.found.len(), 2);
    for start in ["", "dock", "dock/hull/records", "shop.kdl", "dock/saw/machine.kdl"] {
        let expected = find_ledgers(&disk, &path(start)).unwrap();
        assert_eq!(find_ledgers(&yard.index(), &path(start)).unwrap(), expected, "{start}");
        assert_eq!(find_ledgers(&yard.at("HEAD"), &path(start)).unwrap(), expected, "{start}");
    }
}

#[test]
fn more_than_memory_is_set_aside_for_is_read_all_the_same() {
    let yard = Yard::new();
    let names = ["a.kdl", "b.kdl", "c.kdl", "d.kdl"];
    for (n, name) in (0_u8..).zip(names) {
        yard.write(name, vec![b'a' + n; 30 << 20]);
    }
    yard.commit();
    let world = yard.at("HEAD");
    world.prefetch(&names.map(path));
    world.prefetch(&names.map(path));
    for (n, name) in (0_u8..).zip(names) {
        assert!(world.read(&path(name)).unwrap() == vec![b'a' + n; 30 << 20], "{name}");
    }
}

/// Every typed path of up to five parts through a maze of links, with the operating system's own reading of it as the
/// reference.
#[test]
fn a_typed_path_leads_where_the_system_says() {
    let yard = Yard::new();
    yard.write("a/b/x", "abx").write("a/x", "ax").write("c/d/x", "cdx").write("x", "x");
    for (target, name) in [("../c/d", "a/l"), ("../a/b", "c/m"), ("a/l", "n"), ("..", "c/d/up"), ("../x", "c/f")] {
        symlink(target, yard.root.join(name)).unwrap();
    }
    yard.commit();
    let mut checked = 0;
    for stand in ["", "a", "c/d"] {
        let stand = yard.root.join(stand);
        let disk = Disk::at(&stand).unwrap();
        let git = GitWorld::revision(&open(&stand, &Surroundings::default()), "HEAD").unwrap();
        let mut ahead: Vec<String> = vec![".".to_owned()];
        while let Some(typed) = ahead.pop() {
            let Ok(real) = fs::canonicalize(stand.join(&typed)) else { continue };
            if !real.starts_with(&yard.root) {
                let refused = git.path(OsStr::new(&typed));
                assert!(
                    matches!(&refused, Err(ReadError::Other(why)) if why.contains("outside")),
                    "{typed}: {refused:?}"
                );
                continue;
            }
            leads_to(&real, &stand, &typed, &disk, &git);
            leads_to(&real, &stand, stand.join(&typed).to_str().unwrap(), &disk, &git);
            checked += 1;
            if real.is_dir() && typed.matches('/').count() < 5 {
                let parts = ["..", ".", "a", "b", "c", "d", "l", "m", "n", "up", "x", "f"];
                ahead.extend(parts.map(|part| format!("{typed}/{part}")));
            }
        }
    }
    assert!(checked > 1000, "{checked}");
}

fn leads_to(real: &RealPath, stand: &RealPath, typed: &str, disk: &Disk, git: &GitWorld) {
    let shown = disk.path(OsStr::new(typed)).unwrap();
    assert_eq!(fs::canonicalize(disk.real(&shown)).unwrap(), real, "{typed} as {shown}");
    assert!(!shown.0.split('/').skip_while(|&part| part == "..").any(|part| part == ".."), "{typed} as {shown}");
    assert_eq!(shown.0.starts_with('/'), typed.starts_with('/'));
    let seen = git.path(OsStr::new(typed)).unwrap();
    assert_eq!(fs::canonicalize(stand.join(&seen.0)).unwrap(), real, "{typed} as {seen}");
    assert_eq!(git.kind(&seen), disk.kind(&shown), "{typed}");
    if real.is_file() {
        assert_eq!(git.read(&seen), disk.read(&shown));
        assert_eq!(git.read(&seen).unwrap(), fs::read(real).unwrap());
    } else {
        let names = |world: &dyn World, path: &Path| -> Vec<String> {
            let listed = world.list(path).unwrap().into_iter().map(|entry| entry.name);
            let mut names: Vec<String> = listed.filter(|name| name != ".git").collect();
            names.sort();
            names
        };
        assert_eq!(names(git, &seen), names(disk, &shown), "{typed}");
    }
}
