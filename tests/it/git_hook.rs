//! The git hook from end to end, in real repositories: git itself runs it and makes the commit or does not.

use std::fs;
use std::os::unix::fs::{PermissionsExt as _, symlink};

use crate::common::yard::{GOOD, Ran, SAW, SHOP, Yard, bad};

/// A saw with the hook in place.
fn hooked() -> Yard {
    let yard = Yard::with_saw();
    let ran = yard.wayledger(&["hook"]);
    assert_eq!(ran.code, 0, "{ran:?}");
    assert!(ran.out.contains("pre-commit: in place"), "{ran:?}");
    yard
}

fn try_to_commit(yard: &Yard, arguments: &[&str]) -> Ran {
    yard.run("git", &[&["commit", "-q", "-m", "a day's work"], arguments].concat())
}

#[track_caller]
fn commits(yard: &Yard, arguments: &[&str]) {
    let before = yard.head();
    let ran = try_to_commit(yard, arguments);
    assert_eq!(ran.code, 0, "{ran:?}");
    assert_ne!(yard.head(), before);
}

/// The commit is stopped, and says why as `lint` does.
#[track_caller]
fn is_stopped(yard: &Yard, arguments: &[&str]) -> Ran {
    let before = yard.head();
    let ran = try_to_commit(yard, arguments);
    assert_ne!(ran.code, 0, "{ran:?}");
    assert_eq!(yard.head(), before);
    ran
}

#[test]
fn a_good_reading_is_committed_and_a_bad_one_is_not() {
    let yard = hooked();
    yard.write("saw/2021-04-16.kdl", GOOD.replace("04-15", "04-16")).git(&["add", "-A"]);
    commits(&yard, &[]);
    yard.write("saw/2021-04-17.kdl", bad().replace("04-15", "04-17")).git(&["add", "-A"]);
    let stopped = is_stopped(&yard, &[]);
    let shown = format!("{}{}", stopped.out, stopped.err);
    assert!(shown.contains("nonconformity: joint-step X.left.J1"), "{shown}");
    // The same diagnostics, to the byte, as the lint gives when it is asked; what does not stop is left out.
    let lint = yard.wayledger(&["lint", "--staged", "--quiet", "--all", "saw"]);
    let (diagnostics, _) = shown.split_once("saw: 1 nonconformity (at the machine)").expect("a summary");
    assert!(lint.code == 1 && lint.out.contains(diagnostics), "{shown}{}", lint.out);
    assert_eq!(shown.matches("nonconformity: ").count(), 1, "{shown}");
    // A person may go past it on purpose; that is git's own switch.
    commits(&yard, &["--no-verify"]);
}

#[test]
fn only_what_is_staged_counts() {
    let yard = hooked();
    yard.write("saw/earlier.kdl", GOOD.replace("04-15", "04-14")).git(&["add", "-A"]);
    yard.write("saw/2021-04-15.kdl", bad());
    commits(&yard, &[]);
    // Staged, then put right on the disk alone.
    yard.git(&["add", "-A"]);
    yard.write("saw/2021-04-15.kdl", GOOD);
    is_stopped(&yard, &[]);
    yard.git(&["add", "-A"]);
    yard.write("elsewhere.txt", "x").git(&["add", "-A"]);
    commits(&yard, &[]);
}

#[test]
fn commits_of_all_or_of_named_files_are_judged_by_what_they_would_hold() {
    // For `-a` and for named files git makes an index of its own, which only the hook sees.
    let yard = hooked();
    yard.write("saw/2021-04-15.kdl", bad());
    is_stopped(&yard, &["-a"]);
    is_stopped(&yard, &["saw/2021-04-15.kdl"]);
    yard.write("readme.txt", "x").git(&["add", "readme.txt"]);
    yard.git(&["add", "saw/2021-04-15.kdl"]);
    commits(&yard, &["readme.txt"]);
    is_stopped(&yard, &[]);
}

#[test]
fn only_ledgers_that_the_commit_touches_are_checked() {
    let yard = Yard::with_saw();
    yard.write("old/saw-2/machine.kdl", SAW).write("old/saw-2/r.kdl", bad()).write("old/shop.kdl", SHOP);
    yard.commit("an old saw with a bad joint");
    assert_eq!(yard.wayledger(&["lint", "--quiet"]).code, 1);
    yard.wayledger(&["hook"]);
    yard.write("saw/more.kdl", GOOD.replace("04-15", "04-16")).git(&["add", "-A"]);
    commits(&yard, &[]);
    // The shop file above touches every ledger below its folder, and no others.
    yard.write("old/shop.kdl", format!("{SHOP}// edited\n")).git(&["add", "-A"]);
    let says = |ran: &Ran| format!("{}{}", ran.out, ran.err);
    let told = try_to_commit(&yard, &[]);
    assert_eq!(told.code, 0, "what stood before stops nobody: {told:?}");
    assert!(says(&told).starts_with("old/saw-2: let in: 1 that stood before"), "{told:?}");
    // A file that is removed or moved away touches the ledger it was in.
    yard.git(&["mv", "old/saw-2/r.kdl", "old/saw-2/s.kdl"]);
    let told = try_to_commit(&yard, &[]);
    assert!(told.code == 0 && says(&told).contains("old/saw-2: let in: 1 that stood before"), "{told:?}");
    yard.git(&["rm", "-q", "-f", "old/saw-2/s.kdl"]);
    let stopped = is_stopped(&yard, &[]);
    assert!(says(&stopped).contains("was removed"), "{stopped:?}");
}

#[test]
fn a_changed_limit_in_a_shop_file_is_judged_with_every_ledger_below() {
    let yard = hooked();
    let tight = SHOP.replace("shim-stock", "rulebook { joint-step most=0.004 reason=\"a fine saw\" }\n    shim-stock");
    yard.write("shop.kdl", tight).git(&["add", "-A"]);
    let told = try_to_commit(&yard, &[]);
    assert_eq!(told.code, 0, "no reading changed: {told:?}");
    assert!(format!("{}{}", told.out, told.err).contains("saw: let in: 2 by a changed limit"), "{told:?}");
    assert_eq!(yard.wayledger(&["lint", "-q"]).code, 1);
}

#[test]
fn a_merge_of_a_limit_and_a_reading_is_told_though_no_line_conflicts() {
    let yard = hooked();
    yard.git(&["checkout", "-q", "-b", "tight"]);
    yard.write(
        "shop.kdl",
        SHOP.replace("shim-stock", "rulebook { joint-step most=0.012 reason=\"a fine saw\" }\n    shim-stock"),
    );
    yard.git(&["add", "-A"]);
    commits(&yard, &[]);
    yard.git(&["checkout", "-q", "main"]);
    yard.write("saw/2021-04-16.kdl", GOOD.replace("04-15", "04-16").replace("0.01\n", "0.015\n")).git(&["add", "-A"]);
    commits(&yard, &[]);
    let merge = yard.run("git", &["merge", "-q", "--no-edit", "tight"]);
    assert_eq!(merge.code, 0, "the reading was committed as it is: {merge:?}");
    assert!(format!("{}{}", merge.out, merge.err).contains("1 by a changed limit or description"), "{merge:?}");
    assert_eq!(yard.wayledger(&["lint", "-q"]).code, 1);
}

#[test]
fn a_hook_of_somebody_else_is_never_touched() {
    for theirs in ["#!/bin/sh\nexit 0\n", "", "#!/bin/sh\n# Put here by another program\n"] {
        let yard = Yard::with_saw();
        // Whichever of the two places is taken, nothing is written to either.
        for hook in ["pre-commit", "pre-merge-commit"] {
            let file = format!(".git/hooks/{hook}");
            yard.write(&file, theirs);
            let ran = yard.wayledger(&["hook"]);
            assert_eq!(ran.code, 2);
            assert!(ran.err.contains("is not ours") && ran.err.contains("lint --staged --touched"), "{ran:?}");
            let ran = yard.wayledger(&["hook", "--remove"]);
            assert_eq!(ran.code, 0);
            assert_eq!(yard.read(&file), theirs);
            let hooks = fs::read_dir(yard.root.join(".git/hooks")).unwrap();
            let names: Vec<_> = hooks.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
            assert!(names.iter().all(|name| name == hook || name.ends_with(".sample")), "{names:?}");
            fs::remove_file(yard.root.join(file)).unwrap();
        }
    }
    // A link that leads nowhere is somebody's too.
    let yard = Yard::with_saw();
    symlink("/nowhere/hook", yard.root.join(".git/hooks/pre-commit")).unwrap();
    assert_eq!(yard.wayledger(&["hook"]).code, 2);
    assert!(yard.root.join(".git/hooks/pre-commit").symlink_metadata().unwrap().is_symlink());
}

#[test]
fn the_hook_comes_and_goes_and_stays_when_somebody_changed_it() {
    let yard = hooked();
    let file = yard.root.join(".git/hooks/pre-commit");
    assert_eq!(fs::metadata(&file).unwrap().permissions().mode() & 0o100, 0o100, "git runs only what may be executed");
    let again = yard.wayledger(&["hook"]);
    assert_eq!(again.code, 0);
    assert!(again.out.contains("was in place already"), "{again:?}");
    let script = fs::read_to_string(&file).unwrap();
    let changed = format!("{script}echo more\n");
    fs::write(&file, &changed).unwrap();
    for arguments in [&["hook"][..], &["hook", "--remove"]] {
        let ran = yard.wayledger(arguments);
        assert_eq!(ran.code, 2);
        assert!(ran.err.contains("changed since"), "{ran:?}");
        assert_eq!(fs::read_to_string(&file).unwrap(), changed);
    }
    fs::write(&file, &script).unwrap();
    assert_eq!(yard.wayledger(&["hook", "--remove"]).code, 0);
    assert!(!file.exists() && !file.with_file_name("pre-merge-commit").exists());
    yard.write("saw/2021-04-15.kdl", bad()).git(&["add", "-A"]);
    commits(&yard, &[]);
    assert!(yard.wayledger(&["hook", "--remove"]).out.contains("no hook of ours"));
}

#[test]
fn the_setting_for_the_hooks_folder_is_obeyed() {
    let yard = Yard::with_saw();
    yard.git(&["config", "core.hooksPath", "tools/hooks"]);
    // From a folder below the top, as a person may stand there.
    let ran = Ran::of(yard.command("wayledger", "saw").arg("hook").output().unwrap());
    assert_eq!(ran.code, 0, "{ran:?}");
    assert!(yard.root.join("tools/hooks/pre-commit").is_file());
    assert!(!yard.root.join(".git/hooks/pre-commit").exists());
    yard.write("saw/2021-04-15.kdl", bad()).git(&["add", "saw"]);
    is_stopped(&yard, &[]);
}

/// A setting of the person or the machine that sends all repositories to one folder, and a folder that is a link to one.
#[test]
fn a_folder_of_hooks_that_others_use_too_gets_none() {
    let refused = |yard: &Yard, config: Option<(&str, &str)>, folder: &str| {
        let mut hook = yard.command("wayledger", ".");
        if let Some((variable, file)) = config {
            hook.env(variable, yard.root.join(file)).env_remove("GIT_CONFIG_NOSYSTEM");
        }
        let ran = Ran::of(hook.arg("hook").output().unwrap());
        assert_eq!(ran.code, 2, "{ran:?}");
        assert!(ran.err.contains(folder) && ran.err.contains("would run in other repositories too"), "{ran:?}");
        assert!(ran.err.contains(&format!("core.hooksPath \"{}\"", yard.root.join(".git/hooks").display())), "{ran:?}");
        let hooks = yard.root.join("../shared");
        assert!(fs::read_dir(hooks).map_or(0, Iterator::count) == 0, "something was put there");
    };
    let shared = |yard: &Yard| {
        let folder = yard.root.parent().unwrap().join("shared");
        fs::create_dir(&folder).unwrap();
        folder.to_str().unwrap().to_owned()
    };
    for variable in ["GIT_CONFIG_GLOBAL", "GIT_CONFIG_SYSTEM"] {
        let yard = Yard::with_saw();
        let folder = shared(&yard);
        yard.write("../settings", format!("[core]\n\thooksPath = {folder}\n"));
        refused(&yard, Some((variable, "../settings")), &folder);
        // It would be that of every repository, even if it lies in this one.
        yard.write("../settings", format!("[core]\n\thooksPath = {}\n", yard.root.join("tools").display()));
        refused(&yard, Some((variable, "../settings")), "/yard/tools");
        assert!(!yard.root.join("tools").exists());
        // A relative one is another folder in each repository.
        yard.write("../settings", "[core]\n\thooksPath = tools/hooks\n");
        let mut hook = yard.command("wayledger", ".");
        hook.env(variable, yard.root.join("../settings")).env_remove("GIT_CONFIG_NOSYSTEM");
        assert_eq!(Ran::of(hook.arg("hook").output().unwrap()).code, 0);
        assert!(yard.root.join("tools/hooks/pre-commit").is_file());
    }
    for place in ["../shared", "saw/../../shared"] {
        let yard = Yard::with_saw();
        shared(&yard);
        yard.git(&["config", "core.hooksPath", place]);
        refused(&yard, None, "shared");
    }
    let yard = Yard::with_saw();
    let folder = shared(&yard);
    fs::remove_dir_all(yard.root.join(".git/hooks")).unwrap();
    symlink(&folder, yard.root.join(".git/hooks")).unwrap();
    let ran = yard.wayledger(&["hook"]);
    assert!(ran.code == 2 && ran.err.contains("through a link"), "{ran:?}");
    assert!(fs::read_dir(&folder).unwrap().next().is_none());
    // What stands there from before can be taken away.
    let own = Yard::with_saw();
    own.wayledger(&["hook"]);
    fs::copy(own.root.join(".git/hooks/pre-commit"), format!("{folder}/pre-commit")).unwrap();
    let ran = yard.wayledger(&["hook", "--remove"]);
    assert!(ran.code == 0 && ran.out.contains("pre-commit: removed"), "{ran:?}");
}

/// The folder that git uses without any setting is ours, wherever the repository keeps it.
#[test]
fn the_usual_folder_is_our_own_wherever_it_lies() {
    let yard = Yard::with_saw();
    yard.git(&["clone", "-q", "--separate-git-dir", "../kept", ".", "../apart"]);
    yard.git(&["clone", "-q", "--bare", ".", "../store.git"]);
    yard.git(&["--git-dir=../store.git", "worktree", "add", "-q", "../tree", "main"]);
    yard.git(&["-c", "protocol.file.allow=always", "submodule", "--quiet", "add", "../store.git", "module"]);
    for (folder, place) in
        [("../apart", "../kept/hooks"), ("../tree", "../store.git/hooks"), ("module", ".git/modules/module/hooks")]
    {
        let ran = Ran::of(yard.command("wayledger", folder).arg("hook").output().unwrap());
        assert_eq!(ran.code, 0, "{folder}: {ran:?}");
        assert!(yard.root.join(place).join("pre-commit").is_file(), "{folder}");
    }
}

#[test]
fn the_hook_of_a_push_comes_only_when_it_is_wanted_and_goes_with_the_others() {
    let yard = Yard::with_saw();
    let place = yard.root.join(".git/hooks/pre-push");
    yard.wayledger(&["hook"]);
    assert!(!place.exists());
    let ran = yard.wayledger(&["hook", "--pre-push"]);
    assert!(ran.code == 0 && ran.out.contains("pre-commit: was in place already"), "{ran:?}");
    assert!(ran.out.contains("pre-push: in place") && place.is_file(), "{ran:?}");
    let ran = yard.wayledger(&["hook", "--remove"]);
    assert!(ran.code == 0 && ran.out.contains("pre-push: removed") && !place.exists(), "{ran:?}");
    assert!(!yard.wayledger(&["hook", "--remove"]).out.contains("pre-push"));
    // Somebody else's is not touched, and then none is put.
    yard.write(".git/hooks/pre-push", "#!/bin/sh\nexit 0\n");
    let ran = yard.wayledger(&["hook", "--pre-push"]);
    assert!(ran.code == 2 && ran.err.contains("wayledger hook --pushing \"$1\" || exit 1"), "{ran:?}");
    assert!(!yard.root.join(".git/hooks/pre-commit").exists());
    assert_eq!(yard.read(".git/hooks/pre-push"), "#!/bin/sh\nexit 0\n");
}

#[test]
fn a_linked_work_tree_has_the_hook_too_and_judges_its_own_index() {
    let yard = Yard::with_saw();
    yard.git(&["worktree", "add", "-q", "../second", "-b", "second"]);
    let ran = Ran::of(yard.command("wayledger", "../second").arg("hook").output().unwrap());
    assert_eq!(ran.code, 0, "{ran:?}");
    assert!(yard.root.join(".git/hooks/pre-commit").is_file());
    yard.write("../second/saw/2021-04-15.kdl", bad());
    let ran = Ran::of(yard.command("git", "../second").args(["commit", "-qam", "x"]).output().unwrap());
    assert_ne!(ran.code, 0, "{ran:?}");
    yard.write("saw/2021-04-16.kdl", GOOD.replace("04-15", "04-16")).git(&["add", "-A"]);
    commits(&yard, &[]);
}

#[test]
fn without_the_program_the_commit_is_stopped_and_says_so() {
    let yard = hooked();
    yard.write("saw/2021-04-15.kdl", GOOD.replace("0.005", "0.006")).git(&["add", "-A"]);
    let before = yard.head();
    let mut commit = yard.command("git", ".");
    commit.env("PATH", "/usr/bin:/bin").args(["commit", "-qm", "x"]);
    let ran = Ran::of(commit.output().unwrap());
    assert_ne!(ran.code, 0);
    assert!(ran.err.contains("not on the PATH"), "{ran:?}");
    assert_eq!(yard.head(), before);
}

#[test]
fn where_nothing_is_committed_no_hook_is_put() {
    let yard = Yard::empty();
    yard.git(&["init", "-q", "--bare", "../store.git"]);
    let ran = Ran::of(yard.command("wayledger", "../store.git").arg("hook").output().unwrap());
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("no work tree"), "{ran:?}");
    let outside = tempfile::tempdir().unwrap();
    let mut hook = yard.command("wayledger", ".");
    let ran = Ran::of(hook.arg("hook").current_dir(outside.path()).output().unwrap());
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("not in a git repository"), "{ran:?}");
}

/// What the hook costs is mostly git: one program that says where we are, one that is asked for contents, one that compares.
#[test]
fn before_a_plain_commit_three_programs_of_git_are_started() {
    let yard = Yard::with_saw();
    yard.write("mill/machine.kdl", SAW.replace("saw", "mill")).commit("a mill");
    yard.write("saw/2021-04-16.kdl", GOOD.replace("04-15", "04-16")).git(&["add", "-A"]);
    let git = yard.run("sh", &["-c", "command -v git"]).out;
    yard.write("../git.text", format!("#!/bin/sh\necho \"$@\" >>../calls\nexec '{}' \"$@\"\n", git.trim_end()));
    assert_eq!(yard.run("install", &["-D", "-m", "755", "../git.text", "../bin/git"]).code, 0);
    let mut hook = yard.command("wayledger", ".");
    let path = hook.get_envs().find_map(|(name, value)| value.filter(|_| name == "PATH")).unwrap().to_owned();
    let bin = yard.root.parent().unwrap().join("bin");
    let paths = std::iter::once(bin).chain(std::env::split_paths(&path));
    hook.env("PATH", std::env::join_paths(paths).unwrap());
    let ran = Ran::of(hook.args(["lint", "--staged", "--touched", "--quiet"]).output().unwrap());
    assert_eq!(ran.code, 0, "{ran:?}");
    let calls = yard.read("../calls");
    assert_eq!(calls.lines().count(), 3, "{calls}");
}

/// The first commit of all has nothing to be compared with.
#[test]
fn the_first_commit_is_judged_whole() {
    let yard = Yard::empty();
    yard.write("shop.kdl", SHOP).write("saw/machine.kdl", SAW).write("saw/r.kdl", bad()).git(&["add", "-A"]);
    yard.wayledger(&["hook"]);
    assert_ne!(try_to_commit(&yard, &[]).code, 0);
    yard.write("saw/r.kdl", GOOD).git(&["add", "-A"]);
    assert_eq!(try_to_commit(&yard, &[]).code, 0);
}

/// The pre-commit framework itself, from its package index: it accepts our list of hooks, and a configuration with the
/// same entry stops a bad reading. (Building the program from the list's `language: rust` would compile all of it
/// again; the entry is the same.)
#[test]
#[ignore = "needs Python and PyPI; .ci/run runs it"]
fn the_pre_commit_framework_runs_the_same_check() {
    let yard = Yard::with_saw();
    let done = |ran: Ran| {
        assert_eq!(ran.code, 0, "{ran:?}");
        ran
    };
    done(yard.run("python3", &["-m", "venv", "../tools"]));
    done(yard.run("../tools/bin/pip", &["install", "--quiet", "--disable-pip-version-check", "pre-commit"]));
    let framework = yard.root.join("../tools/bin/pre-commit");
    let framework = framework.to_str().unwrap();
    let list = concat!(env!("CARGO_MANIFEST_DIR"), "/.pre-commit-hooks.yaml");
    done(yard.run(framework, &["validate-manifest", list]));
    yard.write("broken.yaml", "- id: wayledger\n");
    assert_ne!(yard.run(framework, &["validate-manifest", "broken.yaml"]).code, 0, "it accepts anything");
    fs::remove_file(yard.root.join("broken.yaml")).unwrap();
    // Our list's first hook, as a hook of this repository that runs the program just built.
    let hooks = fs::read_to_string(list).unwrap();
    let first: String = hooks
        .lines()
        .skip_while(|line| !line.starts_with("- id: wayledger"))
        .take_while(|line| !line.starts_with("- id: wayledger-all"))
        .map(|line| format!("  {}\n", line.replace("language: rust", "language: system")))
        .collect();
    yard.write(".pre-commit-config.yaml", format!("repos:\n- repo: local\n  hooks:\n{first}"));
    done(yard.run(framework, &["install"]));
    yard.git(&["add", "-A"]);
    commits(&yard, &[]);
    yard.write("saw/2021-04-15.kdl", bad()).git(&["add", "-A"]);
    // Put right on the disk alone: the framework sets that aside while it checks.
    yard.write("saw/2021-04-15.kdl", GOOD);
    let stopped = is_stopped(&yard, &[]);
    assert!(format!("{}{}", stopped.out, stopped.err).contains("joint-step X.left.J1"), "{stopped:?}");
    assert_eq!(yard.read("saw/2021-04-15.kdl"), GOOD);
    let ran = yard.wayledger(&["hook"]);
    assert_eq!(ran.code, 2, "the framework's hook is not ours: {ran:?}");
}
