//! Where writing meets the file system: links, rights, owners, files that go away, and twenty writers at once.
#![cfg(unix)]

use std::fs;
use std::os::unix::fs::{MetadataExt as _, PermissionsExt as _, symlink};
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use crate::common::one_record::{DAY, ONE, ledger, names};
use crate::common::program::copy_to;

const PROGRAM: &str = env!("CARGO_BIN_EXE_wayledger");

/// Records one service in the day's file.
fn service(folder: &Path, program: &mut Command, by: &str, note: &str) -> Output {
    start(folder, program, by, note).wait_with_output().expect("it ends")
}

fn start(folder: &Path, program: &mut Command, by: &str, note: &str) -> std::process::Child {
    let arguments =
        ["record", "service", "X", "--by", by, "--task", "re-torque", "--travelled", "(km)1", "--note", note];
    program.args(arguments).args(["--today", "2026-04-14", "--date", "2026-04-14T10:30"]).current_dir(folder);
    program.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("it starts")
}

fn told(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

fn mode(file: &Path, rights: u32) {
    fs::set_permissions(file, fs::Permissions::from_mode(rights)).expect("set");
}

fn rights(file: &Path) -> u32 {
    file.metadata().expect("there").permissions().mode() & 0o777
}

#[test]
fn rights_stay_whatever_new_files_get() {
    let folder = ledger();
    let day = folder.path().join(DAY);
    for kept in [0o664, 0o600, 0o777, 0o620] {
        mode(&day, kept);
        // A person whose new files are for nobody else.
        let mut shell = Command::new("sh");
        shell.args(["-c", "umask 077; exec \"$@\"", "sh", PROGRAM]);
        let output = service(folder.path(), &mut shell, "fitter-2", &format!("{kept:o}"));
        assert!(output.status.success(), "{}", told(&output));
        assert_eq!(rights(&day), kept, "{kept:o}");
    }
}

#[test]
fn a_link_that_leads_to_no_file_is_left_alone() {
    let folder = ledger();
    let day = folder.path().join(DAY);
    let made = Command::new("mkfifo").arg(folder.path().join("pipe")).status().expect("it runs");
    assert!(made.success());
    for leads in ["not-there.kdl", "saw", DAY, "pipe", "/dev/null"] {
        fs::remove_file(&day).expect("it was there");
        symlink(leads, &day).expect("linked");
        let before = names(folder.path());
        let output = service(folder.path(), &mut Command::new(PROGRAM), "fitter-2", "n");
        assert_eq!(output.status.code(), Some(2), "{leads}: {}", told(&output));
        assert_eq!(names(folder.path()), before, "{leads}");
        assert_eq!(fs::read_link(&day).expect("still a link"), PathBuf::from(leads));
    }
}

#[test]
fn twenty_at_once_in_one_file_are_in_it_whole_or_told_that_they_are_not() {
    for there in [true, false] {
        let folder = ledger();
        let day = folder.path().join(DAY);
        if !there {
            fs::remove_file(&day).expect("it was there");
        }
        let mut open: Vec<usize> = (0..20).collect();
        let mut rounds = 0;
        while !open.is_empty() {
            let started: Vec<_> = open
                .iter()
                .map(|n| (*n, start(folder.path(), &mut Command::new(PROGRAM), "fitter-2", &format!("note {n:02}."))))
                .collect();
            let before = open.len();
            open = started
                .into_iter()
                .filter_map(|(n, child)| {
                    let output = child.wait_with_output().expect("it ends");
                    let done = output.status.success();
                    let refused =
                        told(&output).contains("was changed by somebody else meanwhile; it was left as it is now");
                    assert!(done || refused && output.status.code() == Some(2), "{}", told(&output));
                    (!done).then_some(n)
                })
                .collect();
            assert!(open.len() < before, "in every round somebody comes through");
            rounds += 1;
            let text = fs::read_to_string(&day).expect("there");
            for n in 0..20 {
                let times = usize::from(!open.contains(&n));
                assert_eq!(text.matches(&format!("note {n:02}.")).count(), times, "round {rounds}: {n}: {text}");
            }
        }
        let text = fs::read_to_string(&day).expect("there");
        assert_eq!(text.matches("service X").count(), 20 + usize::from(there), "{text}");
        assert_eq!(text.starts_with(ONE), there, "{text}");
        assert!(wayledger::kdl::read(text, &wayledger::kdl::ReadLimits::default()).faults.is_empty());
        assert_eq!(names(folder.path()).len(), 2);
    }
}

#[test]
fn twenty_at_once_in_files_of_their_own_all_come_through() {
    let folder = ledger();
    let people: Vec<String> = (0..20).map(|n| format!("fitter-{n}")).collect();
    let started: Vec<_> =
        people.iter().map(|by| start(folder.path(), &mut Command::new(PROGRAM), by, "whole")).collect();
    for child in started {
        let output = child.wait_with_output().expect("it ends");
        assert!(output.status.success(), "{}", told(&output));
    }
    for by in &people {
        let text = fs::read_to_string(folder.path().join(format!("2026-04-14-{by}.kdl"))).expect("there");
        assert_eq!(text.matches("whole").count(), 1, "{text}");
    }
}

#[test]
fn a_writer_that_never_ends_is_not_waited_for_for_ever() {
    let folder = ledger();
    let held = fs::File::open(folder.path()).expect("a folder");
    held.lock().expect("nobody else has it");
    let output = service(folder.path(), &mut Command::new(PROGRAM), "fitter-2", "n");
    assert_eq!(output.status.code(), Some(2));
    assert!(told(&output).contains("another program is writing to"), "{}", told(&output));
    assert_eq!(fs::read_to_string(folder.path().join(DAY)).expect("read"), ONE);
    drop(held);
    let output = service(folder.path(), &mut Command::new(PROGRAM), "fitter-2", "n");
    assert!(output.status.success(), "{}", told(&output));
}

/// The program as somebody who is no administrator runs it; 65534 is nobody by common practice.
fn nobody(folder: &Path, groups: &str) -> Command {
    let program = folder.join("program");
    if !program.exists() {
        copy_to(&program);
        mode(&program, 0o755);
    }
    let mut command = Command::new("setpriv");
    command.args(["--reuid=65534", "--regid=65534", groups]).arg(program);
    command
}

fn given_to(file: &Path, owner: u32, group: u32) {
    std::os::unix::fs::chown(file, Some(owner), Some(group)).expect("an administrator may");
}

fn owner(file: &Path) -> (u32, u32) {
    let about = file.metadata().expect("there");
    (about.uid(), about.gid())
}

#[test]
#[ignore = "needs an administrator and setpriv; `.ci/run` has both"]
fn owners_stay_where_the_system_lets_them() {
    let folder = ledger();
    let day = folder.path().join(DAY);
    mode(folder.path(), 0o777);
    let tools = tempfile::tempdir().expect("a folder");
    mode(tools.path(), 0o755);

    // An administrator mends a fitter's file, and it stays the fitter's.
    given_to(&day, 65534, 4321);
    mode(&day, 0o640);
    let output = service(folder.path(), &mut Command::new(PROGRAM), "fitter-2", "n");
    assert!(output.status.success(), "{}", told(&output));
    assert_eq!((owner(&day), rights(&day)), ((65534, 4321), 0o640));

    // A file that is another's and may not be written by all is not written, though its folder would let us.
    given_to(&day, 0, 0);
    mode(&day, 0o644);
    let before = fs::read(&day).expect("read");
    let output = service(folder.path(), &mut nobody(tools.path(), "--clear-groups"), "fitter-2", "n");
    assert_eq!(output.status.code(), Some(2));
    assert!(told(&output).contains("is write-protected; it was left as it was"), "{}", told(&output));
    assert_eq!((fs::read(&day).expect("read"), owner(&day)), (before, (0, 0)));

    // What a group shares stays the group's.
    given_to(&day, 0, 4321);
    mode(&day, 0o664);
    let output = service(folder.path(), &mut nobody(tools.path(), "--groups=4321"), "fitter-2", "n");
    assert!(output.status.success(), "{}", told(&output));
    assert_eq!((owner(&day), rights(&day)), ((65534, 4321), 0o664));

    // Where not even the group can stay, another group gets no right that it would not have had.
    given_to(&day, 0, 4321);
    mode(&day, 0o676);
    let output = service(folder.path(), &mut nobody(tools.path(), "--clear-groups"), "fitter-2", "n");
    assert!(output.status.success(), "{}", told(&output));
    assert_eq!((owner(&day), rights(&day)), ((65534, 65534), 0o666));
}

#[test]
#[ignore = "needs an administrator and setpriv; `.ci/run` has both"]
fn a_folder_that_may_not_be_written_is_told_of() {
    let folder = ledger();
    let day = folder.path().join(DAY);
    let tools = tempfile::tempdir().expect("a folder");
    mode(tools.path(), 0o755);
    mode(folder.path(), 0o755);
    mode(&day, 0o666);
    for by in ["fitter-2", "fitter-3"] {
        let output = service(folder.path(), &mut nobody(tools.path(), "--clear-groups"), by, "n");
        assert_eq!(output.status.code(), Some(2));
        let why = "was not written, since no file can be made beside it: permission denied";
        assert!(told(&output).contains(why), "{}", told(&output));
        assert_eq!(names(folder.path()), [DAY, "machine.kdl"]);
    }
    assert_eq!(fs::read_to_string(&day).expect("read"), ONE);
}
