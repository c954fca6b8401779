//! By mode, by what the index says, and by what git makes of a file as it is added.

use std::fs;
use std::os::unix::fs::PermissionsExt as _;

use super::ways::By::{All, As, Staged};
use super::ways::Ends::Stopped;
use super::ways::{STEP, SUBMODULE, Way, good, kept_slip, slip, stage, stage_slip, way, write_slip};

pub(super) const WAYS: &[Way] = &[
    way(
        "an executable",
        |y| {
            write_slip(y);
            fs::set_permissions(y.root.join("saw/b.kdl"), fs::Permissions::from_mode(0o755)).unwrap();
        },
        All,
        STEP,
    ),
    way(
        "a folder in place of a file",
        |y| {
            fs::remove_file(y.root.join("saw/2021-04-15.kdl")).unwrap();
            y.write("saw/2021-04-15.kdl/r.kdl", slip());
        },
        All,
        Stopped("it is a folder, not a file"),
    ),
    way("a submodule in place of a file", |y| stage(y, "160000", &y.head(), "saw/2021-04-15.kdl"), Staged, SUBMODULE),
    way(
        "a submodule as a file, told to be ignored",
        |y| {
            y.git(&["config", "diff.ignoreSubmodules", "all"]);
            stage(y, "160000", &y.head(), "saw/b.kdl");
        },
        Staged,
        SUBMODULE,
    ),
    way(
        "a submodule in place of the ledger",
        |y| {
            y.git(&["rm", "-q", "-r", "saw"]);
            stage(y, "160000", &y.head(), "saw");
        },
        Staged,
        SUBMODULE,
    ),
    way(
        "meant to be added, and all",
        |y| {
            write_slip(y);
            y.git(&["add", "-N", "saw/b.kdl"]);
        },
        As(&["commit", "-q", "-a", "-m", "x"]),
        STEP,
    ),
    way("not in the work tree", |y| stage(y, "100644", &kept_slip(y), "saw/b.kdl"), Staged, STEP),
    way(
        "skipped in the work tree",
        |y| {
            stage(y, "100644", &kept_slip(y), "saw/b.kdl");
            y.git(&["update-index", "--skip-worktree", "saw/b.kdl"]);
        },
        Staged,
        STEP,
    ),
    way(
        "assumed to be unchanged",
        |y| {
            stage(y, "100644", &kept_slip(y), "saw/b.kdl");
            y.git(&["update-index", "--assume-unchanged", "saw/b.kdl"]);
        },
        Staged,
        STEP,
    ),
    way(
        "outside of a sparse work tree",
        |y| {
            y.write("other/x.txt", "x").commit("another folder");
            y.git(&["sparse-checkout", "init", "--cone", "--sparse-index"]);
            y.git(&["sparse-checkout", "set", "other"]);
            stage(y, "100644", &kept_slip(y), "saw/b.kdl");
        },
        Staged,
        STEP,
    ),
    way(
        "a split index",
        |y| {
            y.git(&["update-index", "--split-index"]);
            write_slip(y);
        },
        All,
        STEP,
    ),
    way(
        "an index of version 4",
        |y| {
            y.git(&["update-index", "--index-version", "4"]);
            write_slip(y);
        },
        All,
        STEP,
    ),
    way(
        "a conflict settled badly",
        |y| {
            y.git(&["checkout", "-q", "-b", "side"]);
            y.write("saw/b.kdl", good()).commit("good");
            y.git(&["checkout", "-q", "main"]);
            y.write("saw/b.kdl", good().replace("inspector-1", "inspector-2")).commit("another");
            y.run("git", &["merge", "-q", "side"]);
            write_slip(y);
        },
        All,
        STEP,
    ),
    way(
        "a conflict staged with its marks",
        |y| {
            y.write("saw/b.kdl", format!("<<<<<<< HEAD\n{}=======\n{}>>>>>>> side\n", good(), slip()));
        },
        All,
        Stopped("an unresolved merge"),
    ),
    way(
        "line ends that git changes",
        |y| {
            y.write(".gitattributes", "*.kdl text eol=lf\n").write("saw/b.kdl", slip().replace('\n', "\r\n"));
        },
        All,
        STEP,
    ),
    way(
        "another encoding in the work tree",
        |y| {
            y.write(".gitattributes", "b.kdl working-tree-encoding=UTF-16LE\n");
            y.write("saw/b.kdl", slip().encode_utf16().flat_map(u16::to_le_bytes).collect::<Vec<u8>>());
        },
        All,
        STEP,
    ),
    way(
        "a filter that changes what is added",
        |y| {
            y.git(&["config", "filter.f.clean", "sed 's/UL 0 -> 0.01/UL 0 -> 0.03/'"]);
            y.write(".gitattributes", "*.kdl filter=f\n").write("saw/b.kdl", good());
        },
        All,
        STEP,
    ),
    way(
        "put right in the work tree alone",
        |y| {
            stage_slip(y);
            y.write("saw/b.kdl", good());
        },
        Staged,
        STEP,
    ),
];
