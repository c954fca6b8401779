//! Every command that writes, ready to be run and cut short, and what may be seen on the disk afterwards.

use std::collections::BTreeMap;
use std::ffi::OsStr;
use std::fs;
use std::os::unix::fs::PermissionsExt as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

pub(crate) const PROGRAM: &str = env!("CARGO_BIN_EXE_wayledger");

/// What is at a path.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Thing {
    Folder,
    Link(PathBuf),
    File { bytes: Vec<u8>, mode: u32 },
}

/// All there is below a folder.
pub(crate) type Seen = BTreeMap<PathBuf, Thing>;

pub(crate) fn look(root: &Path) -> Seen {
    let mut seen = Seen::new();
    for entry in walkdir::WalkDir::new(root).min_depth(1) {
        let entry = entry.expect("it can be listed");
        let path = entry.path();
        let thing = if entry.path_is_symlink() {
            Thing::Link(fs::read_link(path).expect("a link"))
        } else if entry.file_type().is_dir() {
            Thing::Folder
        } else {
            let mode = entry.metadata().expect("there").permissions().mode() & 0o7777;
            Thing::File { bytes: fs::read(path).expect("it can be read"), mode }
        };
        seen.insert(path.strip_prefix(root).expect("below it").to_path_buf(), thing);
    }
    seen
}

fn lay_down(seen: &Seen, root: &Path) {
    for (path, thing) in seen {
        let path = root.join(path);
        match thing {
            Thing::Folder => fs::create_dir(&path).expect("a folder"),
            Thing::Link(to) => std::os::unix::fs::symlink(to, &path).expect("a link"),
            Thing::File { bytes, mode } => {
                fs::write(&path, bytes).expect("written");
                fs::set_permissions(&path, fs::Permissions::from_mode(*mode)).expect("set");
            }
        }
    }
}

/// What the same command does when all is done already.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Again {
    /// The same result once more.
    Same,
    /// It says that it is done and changes nothing.
    Refused,
    /// One record more, behind what is there.
    Adds,
}

/// A command in front of a yard of ledgers.
pub(crate) struct Scene {
    pub name: &'static str,
    arguments: Vec<&'static str>,
    answers: &'static str,
    again: Again,
    pub before: Seen,
    pub after: Seen,
    pub code: Option<i32>,
    lint: [String; 2],
}

/// What was seen after a command was cut short.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct State {
    pub begun: bool,
    pub done: bool,
    pub leftovers: usize,
}

impl Scene {
    /// `yard` makes the folder that the command runs in.
    pub(crate) fn new(
        name: &'static str,
        again: Again,
        arguments: &[&'static str],
        answers: &'static str,
        yard: impl FnOnce(&Path),
    ) -> Scene {
        let folder = tempfile::tempdir().expect("a folder");
        for part in ["yard", "home", "tmp", "elsewhere"] {
            fs::create_dir(folder.path().join(part)).expect("a folder");
        }
        yard(&folder.path().join("yard"));
        let before = look(folder.path());
        let arguments = arguments.to_vec();
        let mut scene = Scene {
            name,
            arguments,
            answers,
            again,
            after: before.clone(),
            before,
            code: None,
            lint: Default::default(),
        };
        scene.lint[0] = lint(folder.path());
        let output = scene.run(folder.path(), &mut scene.command(folder.path()));
        assert!(matches!(output.status.code(), Some(0 | 1)), "{name}: {}", String::from_utf8_lossy(&output.stderr));
        scene.code = output.status.code();
        scene.after = look(folder.path());
        scene.lint[1] = lint(folder.path());
        assert_ne!(scene.before, scene.after, "{name} writes something");
        assert!(leftovers(&scene.after).is_empty(), "{name}");
        scene
    }

    /// A fresh copy of the yard.
    pub(crate) fn stage(&self) -> tempfile::TempDir {
        let folder = tempfile::tempdir().expect("a folder");
        lay_down(&self.before, folder.path());
        folder
    }

    pub(crate) fn command(&self, root: &Path) -> Command {
        let mut command = Command::new(PROGRAM);
        command.args(&self.arguments);
        self.dress(root, &mut command);
        command
    }

    /// The command run by another program, such as one that stops it.
    pub(crate) fn under(&self, root: &Path, program: &str, arguments: &[&str]) -> Command {
        let mut command = Command::new(program);
        command.args(arguments).arg(PROGRAM).args(&self.arguments);
        self.dress(root, &mut command);
        command
    }

    fn dress(&self, root: &Path, command: &mut Command) {
        command.current_dir(root.join("yard")).env("HOME", root.join("home")).env("TMPDIR", root.join("tmp"));
        command.env("GIT_CONFIG_GLOBAL", "/dev/null").env("GIT_CONFIG_NOSYSTEM", "1").env("RAYON_NUM_THREADS", "1");
        for name in ["GIT_DIR", "GIT_WORK_TREE", "GIT_INDEX_FILE"] {
            command.env_remove(name);
        }
        command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    }

    pub(crate) fn start(&self, command: &mut Command) -> std::process::Child {
        use std::io::Write as _;
        let mut child = command.spawn().expect("it starts");
        let mut pipe = child.stdin.take().expect("a pipe");
        // It may be gone already.
        let _ = pipe.write_all(self.answers.as_bytes());
        child
    }

    pub(crate) fn run(&self, _: &Path, command: &mut Command) -> Output {
        self.start(command).wait_with_output().expect("it ends")
    }

    /// Checks what a command that was cut short left behind, and that the next one is not hindered by it.
    #[track_caller]
    pub(crate) fn judge(&self, root: &Path, how: &str, code: Option<i32>) -> State {
        let name = self.name;
        let now = look(root);
        let left = leftovers(&now);
        let everywhere = self.before.keys().chain(self.after.keys());
        for path in everywhere {
            let thing = now.get(path);
            let is = [self.before.get(path), self.after.get(path)].contains(&thing);
            assert!(is, "{name}, {how}: {} is neither old nor new: {thing:?}", path.display());
        }
        for path in now.keys().filter(|path| !left.contains(path)) {
            let known = self.before.contains_key(path) || self.after.contains_key(path);
            assert!(known, "{name}, {how}: {} has come about", path.display());
        }
        let mut clean = now.clone();
        clean.retain(|path, _| !left.contains(&path));
        let state = State { begun: clean != self.before, done: clean == self.after, leftovers: left.len() };
        if code == self.code {
            assert!(state.done, "{name}, {how}: it said that all is well, and it is not");
        }
        // Git does not take it up.
        if !left.is_empty() {
            let seen = seen_by_git(&root.join("yard"));
            assert!(!seen.contains(".wayledger-"), "{name}, {how}: {seen}");
        }
        // A leftover is read by nobody.
        if !left.is_empty() && (!state.begun || state.done) {
            assert_eq!(lint(root), self.lint[usize::from(state.done)], "{name}, {how}");
        }
        self.go_on(root, how, state);
        state
    }

    /// The same command once more.
    #[track_caller]
    fn go_on(&self, root: &Path, how: &str, state: State) {
        let name = self.name;
        let output = self.run(root, &mut self.command(root));
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        let mut now = look(root);
        if !state.done || self.again == Again::Same {
            // Where a file is as it should be there is nothing to write, and the folder of a draft that got its name just
            // before stays for the next writer. A draft with a text in it does not.
            let left: Vec<PathBuf> = leftovers(&now).into_iter().cloned().collect();
            now.retain(|path, _| !left.contains(path) || path.ends_with(".git/text"));
        }
        match (state.done, self.again) {
            (false, _) | (true, Again::Same) => {
                assert_eq!(output.status.code(), self.code, "{name}, {how}, once more: {told}");
                assert!(
                    now == self.after,
                    "{name}, {how}: once more gives another result: {}",
                    differ(&now, &self.after)
                );
            }
            (true, Again::Refused) => {
                assert_eq!(output.status.code(), Some(2), "{name}, {how}, once more: {told}");
                assert!(leftovers(&now).len() == state.leftovers, "{name}, {how}");
            }
            (true, Again::Adds) => {
                assert_eq!(output.status.code(), self.code, "{name}, {how}, once more: {told}");
                assert!(leftovers(&now).is_empty(), "{name}, {how}");
                for (path, thing) in &self.after {
                    let (Thing::File { bytes, .. }, Some(Thing::File { bytes: more, .. })) = (thing, now.get(path))
                    else {
                        continue;
                    };
                    assert!(more.starts_with(bytes), "{name}, {how}: {}", path.display());
                }
            }
        }
    }
}

fn differ(one: &Seen, other: &Seen) -> String {
    let paths = one.keys().chain(other.keys()).filter(|path| one.get(*path) != other.get(*path));
    paths.map(|path| path.display().to_string()).collect::<Vec<_>>().join(", ")
}

/// Folders of temporary files of ours, and what is in them.
pub(crate) fn leftovers(seen: &Seen) -> Vec<&PathBuf> {
    let ours = |name: &OsStr| {
        let name = name.to_string_lossy();
        name.strip_prefix(".wayledger-").and_then(|rest| rest.strip_suffix(".tmp")).is_some_and(|it| it.len() == 6)
    };
    seen.keys().filter(|path| path.iter().any(ours)).collect()
}

/// What `git add --force` takes up of a folder, in a repository made for this.
pub(crate) fn seen_by_git(folder: &Path) -> String {
    let apart = tempfile::tempdir().expect("a folder");
    let git = |words: &[&str]| {
        let mut git = Command::new("git");
        git.env("GIT_CONFIG_GLOBAL", "/dev/null").env("GIT_CONFIG_NOSYSTEM", "1").current_dir(folder);
        git.arg("--git-dir").arg(apart.path()).arg("--work-tree=.").args(words);
        let output = git.output().expect("git runs");
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8_lossy(&output.stdout).into_owned()
    };
    git(&["init", "-q"]);
    git(&["add", "--all", "--force"]);
    git(&["ls-files", "--cached", "--others"])
}

/// What the lint says of the yard.
fn lint(root: &Path) -> String {
    let mut command = Command::new(PROGRAM);
    command.args(["lint", "--format", "json", "--today", "2026-11-01"]).current_dir(root.join("yard"));
    let output = command.output().expect("it runs");
    String::from_utf8_lossy(&output.stdout).into_owned()
}

/// Small numbers that look random and come back with the same seed.
pub(crate) struct Dice(u64);

impl Dice {
    /// The seed from the environment, or always the same one; it is printed when a test fails.
    pub(crate) fn new() -> Dice {
        let seed = std::env::var("WAYLEDGER_SEED").ok().and_then(|seed| seed.parse().ok()).unwrap_or(20_261_101);
        super::tell(&format!("WAYLEDGER_SEED={seed}"));
        Dice(seed)
    }

    /// From 0 to below `sides`.
    pub(crate) fn roll(&mut self, sides: usize) -> usize {
        // SplitMix64, from memory of the published algorithm; any well mixed numbers would do.
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) % sides as u64) as usize
    }

    /// Some of all, in any order.
    pub(crate) fn some<T>(&mut self, mut all: Vec<T>, most: usize) -> Vec<T> {
        for i in (1..all.len()).rev() {
            all.swap(i, self.roll(i + 1));
        }
        all.truncate(most);
        all
    }
}
