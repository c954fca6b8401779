//! Git as it is started by us runs no program that a repository names, fetches nothing, and reads what the commits hold.

use std::fs;
use std::os::unix::fs::PermissionsExt as _;
use std::path::PathBuf;

use crate::common::yard::{GOOD, Ran, Yard, bad};

/// A program that leaves a mark beside the repository, and the mark.
fn leaves_a_mark(yard: &Yard) -> (String, PathBuf) {
    let (program, mark) = (yard.root.join("../program"), yard.root.join("../mark"));
    fs::write(&program, format!("#!/bin/sh\necho \"$0 $*\" >>'{}'\nexit 1\n", mark.display())).unwrap();
    fs::set_permissions(&program, fs::Permissions::from_mode(0o755)).unwrap();
    (program.to_str().unwrap().to_owned(), mark)
}

/// A saw with two commits, a branch, and a reading that is staged.
fn yard() -> Yard {
    let yard = Yard::with_saw();
    yard.git(&["branch", "first"]);
    yard.write("saw/2021-04-16.kdl", GOOD.replace("04-15", "04-16")).commit("another day");
    yard.write("saw/2021-04-17.kdl", GOOD.replace("04-15", "04-17")).git(&["add", "-A"]);
    yard
}

/// Every command of ours that starts git.
const COMMANDS: [&[&str]; 14] = [
    &["lint", "--staged"],
    &["lint", "--staged", "--touched", "--quiet"],
    &["lint", "--at", "HEAD", "--format", "sarif"],
    &["lint", "saw", "--format", "gitlab"],
    &["compare", "first", "HEAD"],
    &["compare", "first", "--staged"],
    &["compare", "first"],
    &["report", "--at", "HEAD"],
    &["report", "--staged", "saw"],
    &["export", "--at", "first"],
    &["how", "X.left.J1", "--ledger", "saw", "--staged"],
    &["traveler", "X", "--ledger", "saw", "--at", "HEAD"],
    &["hook"],
    &["hook", "--remove"],
];

/// All settings that git knows, each with a name where one is left open. Those that say how the repository itself is
/// kept are left out: with a program's name in them git finds no repository.
fn settings(yard: &Yard) -> Vec<String> {
    let listed = yard.git(&["help", "--config"]);
    let mut keys: Vec<String> = listed
        .lines()
        .filter(|line| line.contains('.') && !line.contains([' ', '\'', '_']))
        .map(|line| {
            let remote = if line.starts_with("remote.") { "origin" } else { "x" };
            let mut key = line.replace('*', "x");
            while let (Some(from), Some(to)) = (key.find('<'), key.find('>')) {
                key.replace_range(from..=to, remote);
            }
            key
        })
        .filter(|key| {
            ![
                "core.bare",
                "core.worktree",
                "core.repositoryFormatVersion",
                "core.createObject",
                "fetch.negotiationAlgorithm",
            ]
            .contains(&key.as_str())
        })
        .filter(|key| !key.starts_with("extensions.") && !key.starts_with("include"))
        .collect();
    keys.sort();
    keys.dedup();
    keys
}

/// The text of a configuration file that gives each of these settings one value.
fn config(keys: &[String], value: &str) -> String {
    let line = |key: &String| {
        let (section, rest) = key.split_once('.').unwrap();
        match rest.rsplit_once('.') {
            Some((name, key)) => format!("[{section} \"{name}\"]\n\t{key} = {value}\n"),
            None => format!("[{section}]\n\t{rest} = {value}\n"),
        }
    };
    keys.iter().map(line).collect()
}

#[test]
fn no_setting_of_a_repository_makes_us_run_a_program() {
    let yard = yard();
    let (program, mark) = leaves_a_mark(&yard);
    let own = yard.read(".git/config");
    let mut keys = settings(&yard);
    let all = keys.len();
    // Git does not start while a setting that must be a number or yes or no is none: those name no program.
    let plumbing: [&[&str]; 6] = [
        &["rev-parse", "HEAD"],
        &["ls-files", "-s"],
        &["ls-tree", "-r", "HEAD"],
        &["diff-index", "--cached", "-M", "HEAD"],
        &["diff-tree", "-r", "-M", "first", "HEAD"],
        &["merge-base", "first", "HEAD"],
    ];
    let mut asked = 0;
    while asked < plumbing.len() {
        yard.write(".git/config", format!("{own}{}", config(&keys, &program)));
        let ran = yard.run("git", plumbing[asked]);
        if ran.code == 0 {
            asked += 1;
            continue;
        }
        let said = ran.err.to_lowercase();
        let before = keys.len();
        let named = |key: &String| said.contains(&format!("'{}'", key.to_lowercase()));
        keys.retain(|key| !named(key));
        assert!(keys.len() < before, "git does not start and names no setting: {said}");
        asked = 0;
    }
    assert!(all > 500 && keys.len() > 200, "{} of {all} settings", keys.len());
    // The program is run by git as it is started by a person: the test would see it.
    yard.git(&["ls-files", "-s"]);
    let seen = fs::read_to_string(&mark).expect("git itself runs the program");
    fs::remove_file(&mark).unwrap();
    for command in COMMANDS {
        let ran = yard.wayledger(command);
        let hook = command[0] == "hook";
        assert!(ran.code == 0 || ran.code == 1 || hook, "{command:?}: {ran:?}");
        assert!(!mark.exists(), "{command:?} ran {}; git itself: {seen}", fs::read_to_string(&mark).unwrap());
    }
}

/// The same through the variables of the environment that name a program.
#[test]
fn no_variable_makes_us_run_a_program() {
    let yard = yard();
    let (program, mark) = leaves_a_mark(&yard);
    for command in COMMANDS {
        let mut ours = yard.command("wayledger", ".");
        for name in
            ["GIT_EXTERNAL_DIFF", "GIT_SSH", "GIT_SSH_COMMAND", "GIT_ASKPASS", "SSH_ASKPASS", "GIT_PROXY_COMMAND"]
        {
            ours.env(name, &program);
        }
        for name in ["GIT_PAGER", "PAGER", "GIT_EDITOR", "EDITOR", "VISUAL"] {
            ours.env(name, &program);
        }
        ours.env("GIT_CONFIG_COUNT", "1").env("GIT_CONFIG_KEY_0", "core.fsmonitor").env("GIT_CONFIG_VALUE_0", &program);
        let ran = Ran::of(ours.args(command).output().unwrap());
        assert!(ran.code < 2, "{command:?}: {ran:?}");
        assert!(!mark.exists(), "{command:?}");
    }
}

/// In a partial clone git fetches what is missing, through programs that the repository names.
#[test]
fn what_is_not_here_is_not_fetched() {
    let yard = yard();
    let (program, mark) = leaves_a_mark(&yard);
    let blob = yard.git(&["rev-parse", "HEAD:saw/2021-04-16.kdl"]);
    yard.git(&["clone", "-q", "--bare", ".", "../store.git"]);
    for (key, value) in [
        ("core.repositoryFormatVersion", "1"),
        ("extensions.partialClone", "origin"),
        ("remote.origin.url", "../store.git"),
        ("remote.origin.promisor", "true"),
        ("remote.origin.partialCloneFilter", "blob:none"),
        ("remote.origin.uploadPack", program.as_str()),
        ("protocol.file.allow", "always"),
    ] {
        yard.git(&["config", key, value]);
    }
    fs::remove_file(yard.root.join(format!(".git/objects/{}/{}", &blob[..2], &blob[2..]))).unwrap();
    for command in [&["lint", "--at", "HEAD"][..], &["lint", "--staged"], &["report", "--at", "HEAD", "saw"]] {
        let ran = yard.wayledger(command);
        assert_eq!(ran.code, 2, "{command:?}: {ran:?}");
        assert!(format!("{}{}", ran.out, ran.err).contains("does not have its contents here"), "{command:?}: {ran:?}");
        assert!(!mark.exists(), "{command:?}");
    }
    yard.run("git", &["cat-file", "blob", &blob]);
    assert!(mark.exists(), "git itself fetches");
}

/// `git replace` shows another text in the place of what a commit holds, and a graft another history.
#[test]
fn a_commit_is_what_it_holds() {
    let yard = Yard::with_saw();
    yard.write("saw/2021-04-15.kdl", bad()).commit("a bad joint");
    let (theirs, good) =
        (yard.git(&["rev-parse", "HEAD:saw/2021-04-15.kdl"]), yard.git(&["rev-parse", "HEAD~1:saw/2021-04-15.kdl"]));
    yard.git(&["replace", &theirs, &good]);
    assert!(yard.git(&["cat-file", "blob", &theirs]).contains("0.01"), "git itself shows the other text");
    for command in [&["lint", "--at", "HEAD"][..], &["lint", "--staged"]] {
        let ran = yard.wayledger(command);
        assert_eq!(ran.code, 1, "{command:?}: {ran:?}");
        assert!(ran.out.contains("joint-step"), "{ran:?}");
    }
    let ran = Ran::of(
        yard.command("wayledger", ".").env("GIT_NO_REPLACE_OBJECTS", "0").args(["lint", "--staged"]).output().unwrap(),
    );
    assert_eq!(ran.code, 1, "{ran:?}");
}
