//! Before which git asks no hook of ours.

use super::ways::By::As;
use super::ways::Ends::Unseen;
use super::ways::{Way, both_sides, good, side, stage_slip, way, write_slip};

pub(super) const WAYS: &[Way] = &[
    way("past the hook", stage_slip, As(&["commit", "-q", "--no-verify", "-m", "x"]), Unseen("`--no-verify`")),
    way(
        "with another folder of hooks",
        stage_slip,
        As(&["-c", "core.hooksPath=/dev/null", "commit", "-q", "-m", "x"]),
        Unseen("`core.hooksPath`"),
    ),
    way("picked", side, As(&["cherry-pick", "side"]), Unseen("cherry-pick")),
    way(
        "picked with another message",
        side,
        As(&["-c", "core.editor=true", "cherry-pick", "-e", "side"]),
        Unseen("cherry-pick"),
    ),
    way(
        "taken back to a slip",
        |y| {
            write_slip(y);
            y.commit("a slip");
            y.write("saw/b.kdl", good()).commit("put right");
        },
        As(&["revert", "--no-edit", "HEAD"]),
        Unseen("revert"),
    ),
    way("rebased", both_sides, As(&["rebase", "-q", "side"]), Unseen("rebase")),
    way(
        "from a letter",
        |y| {
            side(y);
            y.git(&["format-patch", "-q", "-1", "-o", "../letters", "side"]);
        },
        As(&["am", "-q", "../letters/0001-a-slip.patch"]),
        Unseen("`git am`"),
    ),
    way("reset to", side, As(&["reset", "-q", "--hard", "side"]), Unseen("`git reset`")),
    way("a fast-forward", side, As(&["merge", "-q", "--ff-only", "side"]), Unseen("fast-forward")),
    way("pulled", side, As(&["pull", "-q", ".", "side"]), Unseen("fast-forward")),
    way(
        "merged, as the branch has it",
        both_sides,
        As(&["merge", "-q", "--no-edit", "side"]),
        Unseen("a merge takes it as it is"),
    ),
    way(
        "merged from three",
        |y| {
            y.git(&["branch", "third"]);
            both_sides(y);
            y.git(&["checkout", "-q", "third"]);
            y.write("y.txt", "y").commit("y");
            y.git(&["checkout", "-q", "main"]);
        },
        As(&["merge", "-q", "--no-edit", "side", "third"]),
        Unseen("a merge takes it as it is"),
    ),
    way("a branch moved by hand", side, As(&["update-ref", "refs/heads/main", "side"]), Unseen("`git update-ref`")),
    way(
        "fetched into the branch",
        |y| {
            side(y);
            y.git(&["checkout", "-q", "side"]);
        },
        As(&["fetch", "-q", ".", "side:main"]),
        Unseen("fast-forward"),
    ),
];
