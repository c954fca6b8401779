//! Every command meets what a disk can hold instead of a ledger file: pipes, devices, links to nowhere and in circles,
//! files far too large, names that are no text, bytes that are no text. It says which and why, with exit code 2, without
//! waiting and without writing.
//!
//! A program that waits for a pipe never comes back, so `timeout` of the GNU core utilities ends it, and then it fails.

use std::ffi::OsStr;
use std::fs::{self, File};
use std::os::unix::ffi::OsStrExt as _;
use std::os::unix::fs::PermissionsExt as _;
use std::os::unix::fs::symlink;
use std::os::unix::net::UnixListener;
use std::path::Path;
use std::process::{Command, Stdio};

use crate::common::program::copy_to;
use crate::common::yard::{Ran, Yard};

/// A hostile thing: what it is called, how it is made at a path, and a word of what must be said of it.
type Hostile = (&'static str, fn(&Path), &'static str);

const HOSTILE: [Hostile; 8] = [
    ("pipe", pipe, "it is a pipe"),
    ("device", |at| symlink("/dev/zero", at).unwrap(), "it is a device"),
    ("socket", |at| drop(UnixListener::bind(at).unwrap()), "it is a socket"),
    ("dangling link", |at| symlink("nowhere", at).unwrap(), "a link to something that is not there"),
    ("link to itself", |at| symlink(at.file_name().unwrap(), at).unwrap(), "leads back to itself"),
    ("sparse file of 2 GB", |at| File::create(at).unwrap().set_len(2 << 30).unwrap(), "2147483648 bytes"),
    ("line of 100 MB", long_line, "104857600 bytes"),
    ("no text", |at| fs::write(at, b"receive \xff\n").unwrap(), "UTF-8"),
];

fn pipe(at: &Path) {
    assert!(Command::new("mkfifo").arg(at).status().unwrap().success());
}

/// Real bytes this time, not a hole.
fn long_line(at: &Path) {
    fs::write(at, "x".repeat(100 << 20)).unwrap();
}

/// What runs on one ledger or on all below a folder, beginning with the command's name.
const COMMANDS: [&[&str]; 18] = [
    &["lint"],
    &["lint", "--format", "json"],
    &["lint", "--format", "sarif"],
    &["report"],
    &["report", "--format", "html"],
    &["report", "--try", "joint-step=0.001"],
    &["export"],
    &["trace", "R20"],
    &["compare", "HEAD"],
    &["tidy", "--check"],
    &["tidy"],
    &["how", "X.left"],
    &["layout", "X"],
    &["shims", "X.left"],
    &["traveler", "X"],
    &["record", "service", "X", "--by", "fitter-1", "--task", "lubricate", "--travelled", "1"],
    &["import", "gauge.csv", "--as", "bench", "--on", "X.left", "--date", "2021-04-14", "--by", "fitter-1"],
    &["release", "X", "--by", "engineer-1"],
];

/// The program in a ledger's folder, ended after two minutes.
fn run(yard: &Yard, folder: &str, arguments: &[&str]) -> Ran {
    let mut command = yard.command("timeout", folder);
    let ran = Ran::of(command.arg("120").arg("wayledger").args(arguments).stdin(Stdio::null()).output().unwrap());
    assert!((0..=2).contains(&ran.code), "{arguments:?} ended by itself: {ran:?}");
    ran
}

/// All files of the yard, and the links as links: to see that nothing was written.
fn standing(folder: &Path) -> Vec<(String, u64)> {
    let mut all: Vec<(String, u64)> = walkdir::WalkDir::new(folder)
        .into_iter()
        .map(|entry| entry.unwrap())
        .filter(|entry| {
            !entry.path().components().any(|part| part.as_os_str() == ".git") && !entry.file_type().is_dir()
        })
        .map(|entry| (entry.path().to_string_lossy().into_owned(), entry.metadata().unwrap().len()))
        .collect();
    all.sort();
    all
}

fn saw() -> Yard {
    let yard = Yard::with_saw();
    let mapping = "readings-file bench record=survey { column a holds=station; column b holds=reading }\n";
    yard.write(
        "shop.kdl",
        crate::common::yard::SHOP.replace("    shim-stock", &format!("    {mapping}    shim-stock")),
    );
    yard.write("saw/gauge.csv", "a,b\nS1,0.01\n");
    yard.commit("a mapping");
    yard
}

/// The sound ledger first: what the commands then refuse is refused for the hostile file alone.
#[test]
fn every_command_works_on_the_sound_ledger() {
    let yard = saw();
    for command in COMMANDS {
        let ran = run(&yard, "saw", command);
        let expected = match command[0] {
            // Nothing is surveyed yet, no other rail is followed, and bolts are outstanding.
            "shims" => 2,
            "release" => 1,
            "import" => {
                assert!(ran.err.contains("say --stage"), "{ran:?}");
                2
            }
            _ => 0,
        };
        assert_eq!(ran.code, expected, "{command:?}: {ran:?}");
    }
}

#[test]
fn a_hostile_record_is_told_by_every_command() {
    for (what, make, word) in HOSTILE {
        let yard = saw();
        make(&yard.root.join("saw/hostile.kdl"));
        let before = standing(&yard.root);
        for command in COMMANDS {
            let ran = run(&yard, "saw", command);
            assert_eq!(ran.code, 2, "{what}, {command:?}: {ran:?}");
            let told = format!("{}{}", ran.out, ran.err);
            assert!(told.contains("hostile.kdl"), "{what}, {command:?}: {ran:?}");
            assert!(told.contains(word), "{what}, {command:?}: {ran:?}");
            assert!(!told.contains("panicked"), "{what}, {command:?}: {ran:?}");
        }
        assert_eq!(standing(&yard.root), before, "{what}: nothing was written");
    }
}

/// What a shop file says holds for every number, so none is computed without it.
#[test]
fn a_hostile_shop_file_is_told_by_every_command() {
    for (what, make, word) in HOSTILE {
        let yard = saw();
        fs::remove_file(yard.root.join("shop.kdl")).unwrap();
        make(&yard.root.join("shop.kdl"));
        let before = standing(&yard.root);
        for command in COMMANDS {
            let ran = run(&yard, "saw", command);
            // A shop file above is laid out only where it is asked for.
            let expected = if command[0] == "tidy" { 0..=2 } else { 2..=2 };
            assert!(expected.contains(&ran.code), "{what}, {command:?}: {ran:?}");
            let told = format!("{}{}", ran.out, ran.err);
            assert!(
                command[0] == "tidy" || told.contains("shop.kdl") && told.contains(word),
                "{what}, {command:?}: {ran:?}"
            );
        }
        assert_eq!(standing(&yard.root), before, "{what}: nothing was written");
    }
}

#[test]
fn a_hostile_machine_file_is_told_by_every_command() {
    for (what, make, word) in HOSTILE {
        let yard = saw();
        fs::remove_file(yard.root.join("saw/machine.kdl")).unwrap();
        make(&yard.root.join("saw/machine.kdl"));
        let before = standing(&yard.root);
        for command in COMMANDS {
            let ran = run(&yard, "saw", command);
            assert_eq!(ran.code, 2, "{what}, {command:?}: {ran:?}");
            let told = format!("{}{}", ran.out, ran.err);
            assert!(told.contains("machine.kdl") && told.contains(word), "{what}, {command:?}: {ran:?}");
        }
        // Nor is a new ledger begun over it.
        let start = run(&yard, ".", &["start", "saw", "--length", "2400", "--rail", "left"]);
        assert_eq!(start.code, 2, "{what}: {start:?}");
        assert!(start.err.contains("machine.kdl") || start.err.contains("saw"), "{what}: {start:?}");
        assert_eq!(standing(&yard.root), before, "{what}: nothing was written");
    }
}

/// The file of a gauge, a day's file that is to be added to, and a paper that is to be written.
#[test]
fn hostile_files_that_are_named_are_refused() {
    let import = |file| {
        [
            "import",
            file,
            "--as",
            "bench",
            "--on",
            "X.left",
            "--date",
            "2021-04-14",
            "--by",
            "fitter-1",
            "--stage",
            "as-fitted",
            "--survey",
            "gap",
        ]
    };
    for (what, make, word) in HOSTILE {
        let yard = saw();
        let odd = OsStr::from_bytes(b"gauge\xff.csv");
        make(&yard.root.join("saw/odd.csv"));
        let ran = run(&yard, "saw", &import("odd.csv"));
        assert_eq!(ran.code, 2, "{what}: {ran:?}");
        assert!(ran.err.contains("odd.csv"), "{what}: {ran:?}");
        assert!(ran.err.contains(word), "{what}: {ran:?}");
        // A file whose name is no text is as good as any.
        fs::rename(yard.root.join("saw/gauge.csv"), yard.root.join("..").join(odd)).unwrap();
        let mut command = yard.command("wayledger", "saw");
        let ran =
            Ran::of(command.arg("import").arg(Path::new("../..").join(odd)).args(&import("")[2..]).output().unwrap());
        assert_eq!(ran.code, 0, "{what}: {ran:?}");

        make(&yard.root.join("paper.html"));
        let before = standing(&yard.root);
        let ran = run(&yard, ".", &["report", "saw", "--format", "html", "--output", "paper.html"]);
        assert_eq!(ran.code, 2, "{what}: {ran:?}");
        assert!(ran.err.contains("paper.html"), "{what}: {ran:?}");
        let ran = run(&yard, ".", &["tidy", "paper.html"]);
        assert_eq!(ran.code, 2, "{what}: {ran:?}");
        assert!(ran.err.contains("paper.html"), "{what}: {ran:?}");
        assert_eq!(standing(&yard.root), before, "{what}: nothing was written");
    }
}

#[test]
fn names_that_are_odd_are_told_and_harmless() {
    let yard = saw();
    let long = format!("saw/{}.kdl", "n".repeat(251));
    yard.write(&long, "// nothing\n");
    assert_eq!(run(&yard, "saw", &["lint"]).code, 0, "255 bytes are a name like any other");
    let typed = "n".repeat(300);
    for command in
        [&["lint", typed.as_str()][..], &["report", &typed], &["tidy", &typed], &["shims", "X", "--ledger", &typed]]
    {
        let ran = run(&yard, "saw", command);
        assert_eq!(ran.code, 2, "{ran:?}");
        assert!(ran.err.contains("too long"), "{ran:?}");
    }
    fs::write(yard.root.join("saw").join(OsStr::from_bytes(b"seam\xff\x1b[31m.kdl")), "x").unwrap();
    for command in COMMANDS {
        let ran = run(&yard, "saw", command);
        // The lint has it as a finding; other commands cannot do the whole job.
        let code = if command[0] == "lint" { 1 } else { 2 };
        assert_eq!(ran.code, code, "{command:?}: {ran:?}");
        assert!(ran.err.contains("not UTF-8") && ran.err.contains("seam\\xFF"), "{command:?}: {ran:?}");
        assert!(!ran.err.contains('\u{1b}'), "{command:?}: {ran:?}");
    }
    let mut command = yard.command("wayledger", "saw");
    let ran = Ran::of(command.arg("lint").arg(OsStr::from_bytes(b"seam\xff\x1b[31m.kdl")).output().unwrap());
    assert_eq!(ran.code, 2, "{ran:?}");
    assert!(ran.err.contains("not UTF-8"), "{ran:?}");
}

/// Folders that lie in themselves through links are walked once, and the ledger is judged all the same.
#[test]
fn circles_of_folders_end() {
    let yard = saw();
    symlink("..", yard.root.join("saw/up")).unwrap();
    fs::create_dir_all(yard.root.join("a/b")).unwrap();
    symlink("../../a", yard.root.join("a/b/a")).unwrap();
    symlink("../saw", yard.root.join("a/saw")).unwrap();
    for command in
        [&["lint"][..], &["report"], &["export"], &["tidy", "--check"], &["trace", "R20"], &["compare", "HEAD"]]
    {
        let ran = run(&yard, ".", command);
        assert!(!ran.err.contains("panicked"), "{ran:?}");
        assert!(ran.err.lines().count() <= 3, "{command:?}: each circle is told once: {ran:?}");
        assert!(ran.err.contains("saw/up") || ran.code == 0, "{command:?}: {ran:?}");
    }
}

/// The administrator may read everything, so a person without rights is asked to try (`setpriv` of util-linux).
#[test]
#[cfg(target_os = "linux")]
fn what_may_not_be_read_is_told_by_every_command() {
    let yard = saw();
    // Not from where it was built: that folder may be closed to others.
    let program = yard.root.parent().unwrap().join("wayledger");
    copy_to(&program);
    let mode = |path: &Path, mode| fs::set_permissions(path, fs::Permissions::from_mode(mode)).unwrap();
    mode(program.parent().unwrap(), 0o755);
    for closed in ["saw/closed.kdl", "shop.kdl", "saw/machine.kdl", "saw/below"] {
        let closed = yard.root.join(closed);
        match closed.extension() {
            Some(_) if !closed.exists() => fs::write(&closed, "// closed\n").unwrap(),
            Some(_) => {}
            None => fs::create_dir(&closed).unwrap(),
        }
        let was = fs::metadata(&closed).unwrap().permissions().mode();
        mode(&closed, 0o000);
        for arguments in COMMANDS.iter().filter(|command| !matches!(command[0], "compare" | "tidy")) {
            let root =
                fs::metadata("/proc/self").map(|own| std::os::unix::fs::MetadataExt::uid(&own) == 0).unwrap_or(false);
            let mut command = yard.command(if root { "setpriv" } else { "timeout" }, "saw");
            if root {
                command.args(["--reuid=65534", "--regid=65534", "--clear-groups", "timeout"]);
            }
            let ran = Ran::of(command.arg("120").arg(&program).args(*arguments).stdin(Stdio::null()).output().unwrap());
            assert_eq!(ran.code, 2, "{closed:?}, {arguments:?}: {ran:?}");
            let told = format!("{}{}", ran.out, ran.err);
            let name = closed.file_name().unwrap().to_string_lossy().into_owned();
            assert!(told.contains("no permission") && told.contains(&name), "{closed:?}, {arguments:?}: {ran:?}");
        }
        mode(&closed, was);
        if closed.ends_with("closed.kdl") {
            fs::remove_file(closed).unwrap();
        }
    }
}

/// A file is read while somebody writes it: whatever comes is judged as it came, and what stands there is never touched.
#[test]
fn files_that_change_while_they_are_read() {
    use std::sync::atomic::{AtomicBool, Ordering};
    let yard = saw();
    let file = yard.root.join("saw/2021-04-15.kdl");
    let done = AtomicBool::new(false);
    std::thread::scope(|scope| {
        scope.spawn(|| {
            let texts =
                [crate::common::yard::GOOD.repeat(200), "inspect X.left.J1 {".into(), String::new(), "x\u{0}".into()];
            let mut turn = 0;
            while !done.load(Ordering::Relaxed) {
                turn += 1;
                if turn % 7 == 0 {
                    let _ = fs::remove_file(&file);
                    let _ = Command::new("mkfifo").arg(&file).status();
                    let _ = fs::remove_file(&file);
                }
                fs::write(&file, &texts[turn % texts.len()]).unwrap();
            }
        });
        for _ in 0..40 {
            let ran = run(&yard, "saw", &["lint", "--format", "json"]);
            serde_json::from_str::<serde_json::Value>(&ran.out).expect("it is JSON");
            run(&yard, "saw", &["report"]);
        }
        done.store(true, Ordering::Relaxed);
    });
}
