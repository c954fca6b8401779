//! By the kind of commit, and from where it is made.

use super::ways::By::{As, In, Staged};
use super::ways::{STEP, Way, other, side, stage_slip, way};
use crate::common::yard::bad;

pub(super) const WAYS: &[Way] = &[
    way("amended", stage_slip, As(&["commit", "-q", "--amend", "-m", "x"]), STEP),
    way("a fix of a commit", stage_slip, As(&["commit", "-q", "--fixup", "HEAD"]), STEP),
    way(
        "all that is saved",
        |y| {
            y.write("saw/2021-04-15.kdl", bad());
        },
        As(&["commit", "-q", "-a", "-m", "x"]),
        STEP,
    ),
    way(
        "named files",
        |y| {
            y.write("saw/2021-04-15.kdl", bad());
        },
        As(&["commit", "-q", "-m", "x", "saw/2021-04-15.kdl"]),
        STEP,
    ),
    way(
        "named files and what is staged",
        |y| {
            y.write("note.txt", "x").git(&["add", "note.txt"]);
            y.write("saw/2021-04-15.kdl", bad());
        },
        As(&["commit", "-q", "-m", "x", "-i", "saw/2021-04-15.kdl"]),
        STEP,
    ),
    way("from a folder below", stage_slip, In("saw", &["commit", "-q", "-m", "x"]), STEP),
    way(
        "all from a folder below",
        |y| {
            y.write("saw/2021-04-15.kdl", bad());
        },
        In("saw", &["commit", "-q", "-a", "-m", "x"]),
        STEP,
    ),
    way(
        "a merge squashed",
        |y| {
            side(y);
            y.git(&["merge", "-q", "--squash", "side"]);
        },
        Staged,
        STEP,
    ),
    way(
        "a merge with a slip of its own",
        |y| {
            y.git(&["branch", "side"]);
            y.git(&["checkout", "-q", "side"]);
            y.write("x.txt", "x").commit("x");
            y.git(&["checkout", "-q", "main"]);
            y.git(&["merge", "-q", "--no-ff", "--no-commit", "side"]);
            stage_slip(y);
        },
        Staged,
        STEP,
    ),
    way(
        "picked and then committed",
        |y| {
            side(y);
            y.git(&["cherry-pick", "-n", "side"]);
        },
        Staged,
        STEP,
    ),
    way(
        "put aside and taken back",
        |y| {
            stage_slip(y);
            y.git(&["stash", "-q"]);
            y.git(&["stash", "pop", "-q", "--index"]);
        },
        Staged,
        STEP,
    ),
    way(
        "the first commit of a branch",
        |y| {
            y.git(&["checkout", "-q", "--orphan", "new"]);
            stage_slip(y);
        },
        Staged,
        STEP,
    ),
    way(
        "in a linked work tree",
        |y| {
            y.git(&["worktree", "add", "-q", "../second", "-b", "second"]);
            y.write("../second/saw/2021-04-15.kdl", bad());
        },
        In("../second", &["commit", "-q", "-a", "-m", "x"]),
        STEP,
    ),
    way(
        "with git's folder named alone",
        |y| {
            other(y);
            y.git(&["--work-tree=../other", "add", "-A"]);
        },
        In("../other", &["--git-dir=../yard/.git", "commit", "-q", "-m", "x"]),
        STEP,
    ),
    way(
        "with git's folder and a work tree named",
        |y| {
            other(y);
            y.git(&["--work-tree=../other", "add", "-A"]);
        },
        In("../other", &["--git-dir=../yard/.git", "--work-tree=.", "commit", "-q", "-m", "x"]),
        STEP,
    ),
    way(
        "with a work tree named alone",
        |y| {
            other(y);
            y.git(&["--work-tree=../other", "add", "-A"]);
        },
        As(&["--work-tree=../other", "commit", "-q", "-m", "x"]),
        STEP,
    ),
    way(
        "with a work tree by a setting",
        |y| {
            other(y);
            y.git(&["config", "core.worktree", y.root.join("../other").to_str().unwrap()]);
            y.git(&["add", "-A"]);
        },
        As(&["commit", "-q", "-m", "x"]),
        STEP,
    ),
    way(
        "in a bare repository with a work tree",
        |y| {
            stage_slip(y);
            y.git(&["config", "core.bare", "true"]);
        },
        As(&["--git-dir=.git", "--work-tree=.", "commit", "-q", "-m", "x"]),
        STEP,
    ),
];
