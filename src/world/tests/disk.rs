//! The work tree against a real disk, with everything on it that is not an ordinary file.

use std::ffi::OsStr;
use std::fs;
use std::os::unix::ffi::OsStrExt;
use std::os::unix::fs::symlink;
use std::os::unix::net::UnixListener;
use std::process::Command;

use crate::world::{Disk, EntryKind, MOST_BYTES, Path, ReadError, World};

fn path(text: &str) -> Path {
    Path::from(text)
}

fn typed(disk: &Disk, text: &str) -> String {
    disk.path(OsStr::new(text)).unwrap().0
}

fn pipe(at: &std::path::Path) {
    assert!(Command::new("mkfifo").arg(at).status().unwrap().success());
}

#[test]
fn reads_plain_files_and_follows_links_to_them() {
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("hull")).unwrap();
    fs::write(folder.path().join("hull/machine.kdl"), "machine\r\n\u{feff}").unwrap();
    symlink("hull/machine.kdl", folder.path().join("alias.kdl")).unwrap();
    symlink("hull", folder.path().join("boat")).unwrap();
    let disk = Disk::at(folder.path()).unwrap();
    for name in ["hull/machine.kdl", "alias.kdl", "boat/machine.kdl"] {
        assert_eq!(disk.read(&path(name)).unwrap(), "machine\r\n\u{feff}".as_bytes(), "{name}");
        assert_eq!(disk.kind(&path(name)), Ok(EntryKind::File));
    }
    let listed = disk.list(&path("")).unwrap();
    let seen: Vec<(&str, EntryKind, bool)> = listed.iter().map(|l| (l.path.0.as_str(), l.kind, l.link)).collect();
    assert_eq!(
        seen,
        [("alias.kdl", EntryKind::File, true), ("boat", EntryKind::Folder, true), ("hull", EntryKind::Folder, false)]
    );
    assert_eq!(disk.identity(&path("boat")), disk.identity(&path("hull")));
    assert_ne!(disk.identity(&path("")), disk.identity(&path("hull")));
}

#[test]
fn what_is_no_file_is_refused_without_waiting() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    pipe(&at("pipe.kdl"));
    let _socket = UnixListener::bind(at("socket.kdl")).unwrap();
    fs::create_dir(at("folder.kdl")).unwrap();
    symlink("nowhere", at("dangling.kdl")).unwrap();
    symlink("circle-2.kdl", at("circle-1.kdl")).unwrap();
    symlink("circle-1.kdl", at("circle-2.kdl")).unwrap();
    symlink("/dev/zero", at("device.kdl")).unwrap();
    symlink("pipe.kdl", at("link-to-pipe.kdl")).unwrap();
    let disk = Disk::at(folder.path()).unwrap();
    for (name, word) in [
        ("pipe.kdl", "pipe"),
        ("socket.kdl", "socket"),
        ("dangling.kdl", "not there"),
        ("circle-1.kdl", "back to itself"),
        ("device.kdl", "device"),
        ("link-to-pipe.kdl", "pipe"),
    ] {
        let Ok(EntryKind::Other(reason)) = disk.kind(&path(name)) else {
            panic!("{name}: {:?}", disk.kind(&path(name)))
        };
        assert!(reason.contains(word), "{name}: {reason}");
        assert_eq!(disk.read(&path(name)), Err(ReadError::Other(reason.to_owned())), "{name}");
        let listed = disk.list(&path("")).unwrap();
        assert!(listed.iter().any(|l| l.path == path(name) && l.kind == EntryKind::Other(reason)), "{name} listed");
    }
    assert_eq!(disk.kind(&path("folder.kdl")), Ok(EntryKind::Folder));
    assert!(matches!(disk.read(&path("folder.kdl")), Err(ReadError::Other(why)) if why.contains("folder")));
    assert_eq!(disk.read(&path("none.kdl")), Err(ReadError::Missing));
    assert!(matches!(disk.read(&path("none\0.kdl")), Err(ReadError::Other(_))));
    assert!(matches!(disk.list(&path("pipe.kdl")), Err(ReadError::Other(why)) if why.contains("not a folder")));
    assert!(matches!(Disk::at(folder.path().join("none")), Err(ReadError::Missing)));
}

#[test]
fn a_file_too_large_is_refused_before_it_is_read() {
    let folder = tempfile::tempdir().unwrap();
    let sparse = fs::File::create(folder.path().join("sparse.kdl")).unwrap();
    sparse.set_len(2 << 30).unwrap();
    fs::File::create(folder.path().join("most.kdl")).unwrap().set_len(MOST_BYTES).unwrap();
    let disk = Disk::at(folder.path()).unwrap();
    let before = std::time::Instant::now();
    assert_eq!(disk.read(&path("sparse.kdl")), Err(ReadError::TooLarge { size: 2 << 30, most: MOST_BYTES }));
    assert!(before.elapsed().as_millis() < 500);
    assert_eq!(disk.read(&path("most.kdl")).unwrap().len() as u64, MOST_BYTES);
}

/// `/proc` says that its files are empty and gives bytes all the same: what is read must not rest on the size told.
#[test]
#[cfg(target_os = "linux")]
fn a_size_that_is_a_fiction_loses_no_byte() {
    let disk = Disk::at("/").unwrap();
    assert_eq!(fs::metadata("/proc/version").unwrap().len(), 0);
    assert_eq!(disk.read(&path("proc/version")).unwrap(), fs::read("/proc/version").unwrap());
    // A read that the system refuses midway is an error with its reason, even for the administrator.
    assert!(matches!(disk.read(&path("/proc/self/mem")), Err(ReadError::Other(_))));
}

#[test]
fn a_file_without_permission_says_so() {
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("secret.kdl");
    fs::write(&file, "x").unwrap();
    fs::set_permissions(&file, fs::Permissions::from_mode(0o000)).unwrap();
    let read = Disk::at(folder.path()).unwrap().read(&path("secret.kdl"));
    // The administrator may read everything.
    match fs::read(&file) {
        Ok(bytes) => assert_eq!(read, Ok(bytes)),
        Err(_) => assert!(matches!(read, Err(ReadError::Other(why)) if why.contains("permission"))),
    }
}

#[test]
fn names_that_are_not_text_are_shown_and_not_read() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join(OsStr::from_bytes(b"seam\xff.kdl")), "x").unwrap();
    fs::write(folder.path().join("Flußkran.kdl"), "x").unwrap();
    let disk = Disk::at(folder.path()).unwrap();
    let listed = disk.list(&path("")).unwrap();
    assert_eq!(listed[0].path.0, "Flußkran.kdl");
    assert_eq!(listed[0].kind, EntryKind::File);
    assert_eq!(listed[1].path.0, "seam\\xFF.kdl");
    assert!(matches!(listed[1].kind, EntryKind::Other(why) if why.contains("UTF-8")));
    assert!(
        matches!(disk.path(OsStr::from_bytes(b"seam\xff.kdl")), Err(ReadError::Other(why)) if why.contains("UTF-8"))
    );
}

#[test]
fn typed_paths_take_one_form() {
    let folder = tempfile::tempdir().unwrap();
    let real = fs::canonicalize(folder.path()).unwrap();
    fs::create_dir_all(real.join("yard/hull/old")).unwrap();
    fs::create_dir_all(real.join("far/away")).unwrap();
    symlink("../far/away", real.join("yard/link")).unwrap();
    let disk = Disk::at(real.join("yard")).unwrap();
    for (given, shown) in [
        (".", ""),
        ("./hull/", "hull"),
        ("hull//old/../", "hull"),
        ("..", ".."),
        ("../far", "../far"),
        ("../yard/hull", "hull"),
        ("../yard", ""),
        ("hull/../../far/away", "../far/away"),
        // Behind a link, `..` is the folder above where the link leads.
        ("link", "link"),
        ("link/..", "../far"),
        ("link/../away/x.kdl", "../far/away/x.kdl"),
    ] {
        assert_eq!(typed(&disk, given), shown, "{given}");
        // Whatever the form, the system finds the same place by both.
        let (given, shown) = (real.join("yard").join(given), real.join("yard").join(shown));
        assert_eq!(fs::canonicalize(given).ok(), fs::canonicalize(shown).ok());
    }
    let absolute = real.join("yard/link/../away").to_string_lossy().into_owned();
    assert_eq!(typed(&disk, &absolute), real.join("far/away").to_string_lossy());
    assert!(disk.path(OsStr::new("")).is_err());
    // Seen from a folder that was itself reached through a link.
    let through = Disk::at(real.join("yard/link")).unwrap();
    assert_eq!(typed(&through, "../../yard/hull"), "../../yard/hull");
    assert_eq!(through.list(&path("../../yard")).unwrap()[0].path.0, "../../yard/hull");
    assert_eq!(through.list(&path("..")).unwrap()[0].path.0, "");
}

#[test]
fn above_stops_at_the_repository_and_at_the_root() {
    let folder = tempfile::tempdir().unwrap();
    let real = fs::canonicalize(folder.path()).unwrap();
    fs::create_dir_all(real.join("repo/.git")).unwrap();
    fs::write(real.join("repo/.git/HEAD"), "x").unwrap();
    fs::create_dir_all(real.join("repo/yard/hull")).unwrap();
    let disk = Disk::at(real.join("repo/yard")).unwrap();
    assert_eq!(disk.parent(&path("hull")), Some(path("")));
    assert_eq!(disk.parent(&path("")), Some(path("..")));
    assert_eq!(disk.parent(&path("..")), None);
    let absolute = Path(real.join("repo").to_string_lossy().into_owned());
    assert_eq!(disk.parent(&absolute), None);
    // A folder `.git` with nothing in it makes no repository, a file of that name does.
    fs::create_dir(real.join("repo/yard/.git")).unwrap();
    assert_eq!(disk.parent(&path("")), Some(path("..")));
    fs::remove_dir(real.join("repo/yard/.git")).unwrap();
    fs::write(real.join("repo/yard/.git"), "gitdir: elsewhere").unwrap();
    assert_eq!(disk.parent(&path("")), None);
    fs::remove_file(real.join("repo/yard/.git")).unwrap();

    // Without a repository the way ends at the root, after as many steps as there are folders.
    let outside = Disk::at(&real).unwrap();
    let steps = std::iter::successors(Some(path("")), |at| outside.parent(at)).count();
    assert_eq!(steps, real.components().count());
    let top = Path(real.to_string_lossy().into_owned());
    let last = std::iter::successors(Some(top), |at| outside.parent(at)).last();
    assert_eq!(last, Some(path("/")));
}

#[test]
fn today_is_the_machines_date_unless_given() {
    let disk = Disk::here().unwrap();
    // The reference is the system's own `date`; asked before and after, in case midnight passes between.
    let date =
        || String::from_utf8(Command::new("date").arg("+%F").output().unwrap().stdout).unwrap().trim().to_owned();
    let (before, today, after) = (date(), disk.today().to_string(), date());
    assert!(today == before || today == after, "{before} {today} {after}");
    assert_eq!(disk.on(jiff::civil::date(2025, 2, 28)).today(), jiff::civil::date(2025, 2, 28));
}
