//! What goes, what is drawn into another ledger, and what is shown in the place of something else.

use super::ways::By::{All, Staged};
use super::ways::Ends::Stopped;
use super::ways::{GONE, STEP, Way, good, kept_slip, mill, slip, stage, way, write_slip};
use crate::common::yard::SHOP;

pub(super) const WAYS: &[Way] = &[
    way("machine.kdl is removed", |y| drop(y.git(&["rm", "-q", "saw/machine.kdl"])), Staged, GONE),
    way("machine.kdl is renamed", |y| drop(y.git(&["mv", "saw/machine.kdl", "saw/Machine.kdl"])), Staged, GONE),
    way("the ledger is hidden", |y| drop(y.git(&["mv", "saw", ".saw"])), Staged, GONE),
    way("the ledger is removed", |y| drop(y.git(&["rm", "-q", "-r", "saw"])), Staged, GONE),
    way(
        "moved without its record",
        |y| {
            y.git(&["mv", "saw", "mill"]);
            y.git(&["rm", "-q", "-f", "mill/2021-04-15.kdl"]);
        },
        Staged,
        GONE,
    ),
    way(
        "a new ledger inside takes a break",
        |y| {
            y.write("saw/sub/b.kdl", slip()).commit("a slip");
            y.write("saw/sub/machine.kdl", mill());
        },
        All,
        Stopped("record-gone"),
    ),
    way(
        "a new ledger inside brings a break",
        |y| {
            y.write("saw/sub/b.kdl", slip()).write("saw/sub/machine.kdl", mill());
        },
        All,
        STEP,
    ),
    way(
        "a new ledger around brings a break",
        |y| {
            y.write("machine.kdl", mill()).write("store/b.kdl", slip());
        },
        All,
        STEP,
    ),
    way(
        "a folder declared as none",
        |y| {
            write_slip(y);
            y.write("shop.kdl", SHOP.replacen('{', "{\n    passed-over \"saw\" reason=\"to copy from\"\n", 1));
        },
        All,
        STEP,
    ),
    way(
        "a break altered away",
        |y| {
            write_slip(y);
            y.commit("a slip");
            y.write("saw/b.kdl", good());
        },
        All,
        Stopped("record-altered"),
    ),
    way(
        "a break made a remark",
        |y| {
            write_slip(y);
            y.commit("a slip");
            y.write("saw/b.kdl", format!("/- {}", slip()));
        },
        All,
        Stopped("record-gone"),
    ),
    way(
        "another text shown in its place",
        |y| {
            y.write("../good", good());
            let shown = y.git(&["hash-object", "-w", "../good"]);
            y.git(&["replace", &kept_slip(y), &shown]);
            write_slip(y);
        },
        All,
        STEP,
    ),
    way(
        "another last commit shown in its place",
        |y| {
            let last = y.head();
            write_slip(y);
            let with = y.commit("a slip");
            y.git(&["reset", "-q", "--hard", &last]);
            y.git(&["replace", &last, &with]);
            stage(y, "100644", &kept_slip(y), "saw/b.kdl");
        },
        Staged,
        STEP,
    ),
];
