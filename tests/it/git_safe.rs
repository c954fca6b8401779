//! Git as it is started by us runs no program that a repository names, fetches nothing, and reads what the commits hold.

use std::fs;
use std::path::PathBuf;

use crate::common::yard::{GOOD, Ran, Yard, bad};

/// A program that leaves a mark beside the repository, and the mark.
fn leaves_a_mark(yard: &Yard) -> (String, PathBuf) {
    let (program, mark) = (yard.root.join("../program"), yard.root.join("../mark"));
    let text = format!("#!/bin/sh\necho \"$0 $*\" >>'{}'\nexit 1\n", mark.display());
    yard.write("../program.text", text);
    install(yard, &program);
    (program.to_str().unwrap().to_owned(), mark)
}

/// Puts that program somewhere, by a process of its own: a file that is still open for writing in a test beside this one,
/// which starts a program at this moment, cannot be started.
fn install(yard: &Yard, place: &std::path::Path) {
    fs::create_dir_all(place.parent().unwrap()).unwrap();
    let from = yard.root.join("../program.text");
    let done = std::process::Command::new("install").args(["-m", "755"]).args([&from, place]).status().unwrap();
    assert!(done.success());
}

/// A saw with two commits, a branch, and a reading that is staged.
fn yard() -> Yard {
    let yard = Yard::with_saw();
    yard.git(&["branch", "first"]);
    yard.write("saw/2021-04-16.kdl", GOOD.replace("04-15", "04-16")).commit("another day");
    yard.write("saw/2021-04-17.kdl", GOOD.replace("04-15", "04-17")).git(&["add", "-A"]);
    let ids = ["HEAD", "first"].map(|name| yard.git(&["rev-parse", name]));
    yard.write("../pushed", format!("refs/heads/main {} refs/heads/main {}\n", ids[0], ids[1]));
    yard
}

/// Every command of ours that starts git.
const COMMANDS: [&[&str]; 20] = [
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
    &["lint", "--at", "HEAD", "--since", "first"],
    &["lint", "--staged", "--standing", "first"],
    &["compare", "--merge-base", "first", "HEAD"],
    &["record", "inspect", "X.left.J1", "--ledger", "saw"],
    &["hook", "--pushing", "origin"],
    &["hook"],
    &["hook", "--pre-push"],
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

/// Where git reads settings.
#[derive(Clone, Copy, Debug)]
enum Place {
    System,
    Person,
    Repository,
    WorkTree,
    /// Numbered variables of the environment.
    Numbered,
    /// The variable by which `git -c` hands settings on.
    HandedOn,
}

const PLACES: [Place; 6] =
    [Place::System, Place::Person, Place::Repository, Place::WorkTree, Place::Numbered, Place::HandedOn];

/// A command that meets these settings there.
fn meeting(yard: &Yard, place: Place, settings: &[(&[String], &str)], program: &str) -> std::process::Command {
    let text: String = settings.iter().map(|(keys, value)| config(keys, value)).collect();
    let mut command = yard.command(program, ".");
    match place {
        Place::System => {
            command.env_remove("GIT_CONFIG_NOSYSTEM");
            command.env("GIT_CONFIG_SYSTEM", yard.write("../settings", text).root.join("../settings"));
        }
        Place::Person => {
            command.env("GIT_CONFIG_GLOBAL", yard.write("../settings", text).root.join("../settings"));
        }
        Place::Repository => {
            yard.write(".git/config", format!("{PLAIN}{text}"));
        }
        Place::WorkTree => {
            let plain = format!("{PLAIN}[extensions]\n\tworktreeConfig = true\n");
            yard.write(".git/config", plain).write(".git/config.worktree", text);
        }
        Place::Numbered => {
            let all = settings.iter().flat_map(|(keys, value)| keys.iter().map(move |key| (key, value)));
            let mut count = 0;
            for (key, value) in all {
                command.env(format!("GIT_CONFIG_KEY_{count}"), key).env(format!("GIT_CONFIG_VALUE_{count}"), value);
                count += 1;
            }
            command.env("GIT_CONFIG_COUNT", count.to_string());
        }
        Place::HandedOn => {
            let all =
                settings.iter().flat_map(|(keys, value)| keys.iter().map(move |key| format!("'{key}'='{value}'")));
            command.env("GIT_CONFIG_PARAMETERS", all.collect::<Vec<String>>().join(" "));
        }
    }
    command
}

/// The settings of a repository that says nothing.
const PLAIN: &str = "[core]\n\trepositoryFormatVersion = 1\n\tbare = false\n";

/// Git's own commands that ours start.
const PLUMBING: [&[&str]; 7] = [
    &["rev-parse", "HEAD"],
    &["ls-files", "-s"],
    &["ls-tree", "-r", "HEAD"],
    &["diff-index", "--cached", "-M", "HEAD"],
    &["diff-tree", "-r", "-M", "first", "HEAD"],
    &["merge-base", "first", "HEAD"],
    &["for-each-ref"],
];

/// The settings with which git starts though they have this value, and those with which it does not.
fn narrowed(
    yard: &Yard,
    before: &[(&[String], &str)],
    mut keys: Vec<String>,
    value: &str,
) -> (Vec<String>, Vec<String>) {
    let mut without = Vec::new();
    let mut asked = 0;
    while asked < PLUMBING.len() {
        let settings: Vec<(&[String], &str)> = before.iter().copied().chain([(&keys[..], value)]).collect();
        let mut git = meeting(yard, Place::Repository, &settings, "git");
        let ran = Ran::of(git.args(PLUMBING[asked]).output().unwrap());
        if ran.code == 0 {
            asked += 1;
            continue;
        }
        let said = ran.err.to_lowercase();
        let (wrong, fine): (Vec<String>, Vec<String>) =
            keys.into_iter().partition(|key| said.contains(&format!("'{}'", key.to_lowercase())));
        assert!(!wrong.is_empty(), "git does not start and names no setting: {said}");
        without.extend(wrong);
        keys = fine;
        asked = 0;
    }
    (keys, without)
}

/// Runs one of our commands, with what git tells before a push.
fn run(mut ours: std::process::Command, command: &[&str], yard: &Yard) -> Ran {
    let pushed = fs::File::open(yard.root.join("../pushed")).unwrap();
    let input = if command.contains(&"--pushing") { pushed.into() } else { std::process::Stdio::null() };
    Ran::of(ours.stdin(input).args(command).output().unwrap())
}

#[test]
fn no_setting_makes_us_run_a_program() {
    let yard = yard();
    let (program, mark) = leaves_a_mark(&yard);
    // Attributes that send every file through programs, and every hook there is.
    yard.write(".git/info/attributes", "* filter=x diff=x merge=x text working-tree-encoding=UTF-8 ident\n");
    for hook in ["post-index-change", "reference-transaction", "fsmonitor-watchman", "pre-auto-gc", "post-checkout"] {
        install(&yard, &yard.root.join(".git/hooks").join(hook));
    }
    let all = settings(&yard);
    let count = all.len();
    // Git does not start while a setting that must be a number or yes or no is none: those name no program, and are set to
    // what they may be, since they may open a way to one.
    let (programs, others) = narrowed(&yard, &[], all, &program);
    let (switches, others) = narrowed(&yard, &[(&programs, &program)], others, "true");
    let (numbers, others) = narrowed(&yard, &[(&programs, &program), (&switches, "true")], others, "1");
    assert!(count > 500 && programs.len() > 200 && switches.len() > 50, "{} {}", programs.len(), switches.len());
    assert!(others.len() < 30 && !numbers.is_empty(), "{others:?}");
    let settings = [(&programs[..], program.as_str()), (&switches[..], "true"), (&numbers[..], "1")];
    for place in PLACES {
        yard.write(".git/config", PLAIN).write(".git/config.worktree", "");
        let _ = fs::remove_file(&mark);
        // The program is run by git as it is started by a person: the test would see it.
        let mut git = meeting(&yard, place, &settings, "git");
        // Else it would write its traces into the program, and could not run it.
        git.envs(["GIT_TRACE2", "GIT_TRACE2_EVENT", "GIT_TRACE2_PERF"].map(|name| (name, "0")));
        let ran = Ran::of(git.args(["ls-files", "-s"]).output().unwrap());
        let seen = fs::read_to_string(&mark).unwrap_or_else(|_| panic!("{place:?}: git runs nothing: {ran:?}"));
        fs::remove_file(&mark).unwrap();
        for command in COMMANDS {
            let ran = run(meeting(&yard, place, &settings, "wayledger"), command, &yard);
            let marked = fs::read_to_string(&mark).unwrap_or_default();
            assert_eq!(marked, "", "{place:?} {command:?}; git itself: {seen}");
            let may_fail = matches!(command[0], "hook" | "record");
            assert!(ran.code == 0 || ran.code == 1 || may_fail, "{place:?} {command:?}: {ran:?}");
        }
    }
}

/// A repository of somebody else's is none that git trusts, and then it is none to us either.
#[test]
fn what_git_does_not_trust_is_not_read() {
    let yard = yard();
    for command in [&["lint", "--staged"][..], &["lint", "--at", "HEAD"], &["hook"]] {
        let mut ours = yard.command("wayledger", ".");
        // The switch of git's own tests.
        let ran = Ran::of(ours.env("GIT_TEST_ASSUME_DIFFERENT_OWNER", "1").args(command).output().unwrap());
        assert!(ran.code == 2 && ran.err.contains("safe.directory"), "{command:?}: {ran:?}");
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
        for name in
            ["", "2", "2_EVENT", "2_PERF", "_SETUP", "_PERFORMANCE", "_PACKET", "_PACK_ACCESS", "_REFS", "_SHALLOW"]
        {
            ours.env(format!("GIT_TRACE{name}"), &mark);
        }
        for name in ["GIT_PAGER", "PAGER", "GIT_EDITOR", "EDITOR", "VISUAL"] {
            ours.env(name, &program);
        }
        ours.env("GIT_CONFIG_COUNT", "1").env("GIT_CONFIG_KEY_0", "core.fsmonitor").env("GIT_CONFIG_VALUE_0", &program);
        // A folder of git's own programs in which each leaves the mark.
        for name in ["git", "git-rev-parse", "git-ls-files", "git-upload-pack", "git-remote-https", "git-fetch"] {
            install(&yard, &yard.root.join("../programs").join(name));
        }
        ours.env("GIT_EXEC_PATH", yard.root.join("../programs")).env("GIT_SEQUENCE_EDITOR", &program);
        let ran = run(ours, command, &yard);
        assert!(ran.code < 2 || command[0] == "record", "{command:?}: {ran:?}");
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
