//! A real git repository of small ledgers, and the program run in it as a person would.
//!
//! Its dates lie well in the past: a hook judges by the machine's own date, whatever that is.

use std::fs;
use std::os::unix::ffi::OsStrExt as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// A quarry's shop file.
pub(crate) const SHOP: &str = "shop \"Quarry 3\" {
    profile R20 hole-pitch=60 end-distance=30 bolt-edge=10 contact=outward least-segment=240 { stock 1200 }
    shim-stock { leaf 0.02; leaf 0.05 }
}
";

/// A saw with one joint, without a finding that stops a commit.
pub(crate) const SAW: &str = "machine saw {
    axis X {
        run from=0 to=2400
        rail left profile=R20 datum=left {
            segment 1200
            segment 1200
            supports S first=240 pitch=240 count=9 length=80 { omit S5 }
            joint-support J1 at=1200 length=200
        }
    }
}
";

/// Its joint, read within the limit of 0.02 mm.
pub(crate) const GOOD: &str = "inspect X.left.J1 date=\"2021-04-15\" by=inspector-1 {
    light none
    UL 0 -> 0.01
    UR 0 -> 0
    LL 0 -> 0.005
    LR 0 -> 0
    carrier reach=40 travel=15
}
";

/// The same with a step of 0.03 mm.
pub(crate) fn bad() -> String {
    GOOD.replace("UL 0 -> 0.01", "UL 0 -> 0.03")
}

/// A repository in a folder that goes away with it.
pub(crate) struct Yard {
    _folder: tempfile::TempDir,
    pub root: PathBuf,
}

impl Yard {
    /// An empty repository.
    pub(crate) fn empty() -> Yard {
        let folder = tempfile::tempdir().unwrap();
        let root = fs::canonicalize(folder.path()).unwrap().join("yard");
        fs::create_dir(&root).unwrap();
        let yard = Yard { _folder: folder, root };
        yard.git(&["init", "-q", "-b", "main"]);
        yard
    }

    /// A repository with one saw, committed.
    pub(crate) fn with_saw() -> Yard {
        let yard = Yard::empty();
        yard.write("shop.kdl", SHOP).write("saw/machine.kdl", SAW).write("saw/2021-04-15.kdl", GOOD);
        yard.commit("a saw");
        yard
    }

    /// Another one in the same state, with all that lies beside it.
    pub(crate) fn again(&self) -> Yard {
        let folder = tempfile::tempdir().unwrap();
        let parent = fs::canonicalize(folder.path()).unwrap();
        let beside = self.root.parent().unwrap().join(".");
        assert!(Command::new("cp").arg("-a").args([&beside, &parent]).status().unwrap().success());
        Yard { _folder: folder, root: parent.join("yard") }
    }

    pub(crate) fn write(&self, name: &str, text: impl AsRef<[u8]>) -> &Yard {
        let file = self.root.join(name);
        fs::create_dir_all(file.parent().unwrap()).unwrap();
        fs::write(file, text).unwrap();
        self
    }

    pub(crate) fn read(&self, name: &str) -> String {
        fs::read_to_string(self.root.join(name)).unwrap()
    }

    /// A program run in a folder of the repository, with a git that sees no settings but ours, and with ours on the PATH.
    pub(crate) fn command(&self, program: &str, folder: &str) -> Command {
        let mut command = Command::new(program);
        for (name, _) in std::env::vars_os() {
            if name.as_bytes().starts_with(b"GIT_") {
                command.env_remove(name);
            }
        }
        // Unit tests have no program of ours.
        let ours = option_env!("CARGO_BIN_EXE_wayledger").and_then(|program| Path::new(program).parent());
        let path = std::env::var_os("PATH").unwrap_or_default();
        let path = std::env::join_paths(ours.map(Path::to_owned).into_iter().chain(std::env::split_paths(&path)));
        command.env("PATH", path.unwrap()).env("GIT_CONFIG_GLOBAL", "/dev/null").env("GIT_CONFIG_NOSYSTEM", "1");
        for who in ["AUTHOR", "COMMITTER"] {
            command.env(format!("GIT_{who}_NAME"), "fitter-2").env(format!("GIT_{who}_EMAIL"), "fitter-2@example.org");
            command.env(format!("GIT_{who}_DATE"), "2021-05-02T10:00:00+0100");
        }
        command.current_dir(self.root.join(folder));
        command
    }

    pub(crate) fn run(&self, program: &str, arguments: &[&str]) -> Ran {
        Ran::of(self.command(program, ".").args(arguments).output().unwrap())
    }

    /// Git, which must succeed; what it prints.
    #[track_caller]
    pub(crate) fn git(&self, arguments: &[&str]) -> String {
        let ran = self.run("git", arguments);
        assert_eq!(ran.code, 0, "git {arguments:?}: {}{}", ran.out, ran.err);
        ran.out.trim_end().to_owned()
    }

    /// Commits all there is, past every hook.
    pub(crate) fn commit(&self, message: &str) -> String {
        self.git(&["add", "-A"]);
        self.git(&["commit", "-q", "--no-verify", "--allow-empty", "-m", message]);
        self.head()
    }

    pub(crate) fn head(&self) -> String {
        self.git(&["rev-parse", "HEAD"])
    }

    /// Our program.
    pub(crate) fn wayledger(&self, arguments: &[&str]) -> Ran {
        self.run("wayledger", arguments)
    }

    /// Releases axis `X` of a ledger on a day, which is the day it is.
    pub(crate) fn release(&self, ledger: &str, day: &str) -> Ran {
        self.wayledger(&["release", "X", "--by", "engineer-9", "--ledger", ledger, "--today", day, "--date", day])
    }
}

/// What a program did.
#[derive(Debug)]
pub(crate) struct Ran {
    pub code: i32,
    pub out: String,
    pub err: String,
}

impl Ran {
    pub(crate) fn of(output: Output) -> Ran {
        Ran {
            code: output.status.code().unwrap_or(-1),
            out: String::from_utf8(output.stdout).expect("output is UTF-8"),
            err: String::from_utf8(output.stderr).expect("output is UTF-8"),
        }
    }
}
