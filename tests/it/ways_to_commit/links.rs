//! Through links.

use super::ways::By::All;
use super::ways::Ends::Stopped;
use super::ways::{OUTSIDE, STEP, Way, chain, good, link, slip, way};
use crate::common::yard::{SAW, SHOP};

pub(super) const WAYS: &[Way] = &[
    way(
        "what a link leads to",
        |y| {
            y.write("store/b.txt", good());
            link(y, "../store/b.txt", "saw/b.kdl");
            y.commit("a link");
            y.write("store/b.txt", slip());
        },
        All,
        STEP,
    ),
    way(
        "a link to what was there",
        |y| {
            y.write("store/b.txt", slip()).commit("a text");
            link(y, "../store/b.txt", "saw/b.kdl");
        },
        All,
        STEP,
    ),
    way(
        "what a link to a folder leads to",
        |y| {
            y.write("store/d/b.kdl", good());
            link(y, "../store/d", "saw/d");
            y.commit("a link");
            y.write("store/d/b.kdl", slip());
        },
        All,
        STEP,
    ),
    way(
        "the end of a chain of links",
        |y| {
            chain(y);
            y.write("store/good", slip());
        },
        All,
        STEP,
    ),
    way(
        "the middle of a chain of links",
        |y| {
            chain(y);
            link(y, "bad", "store/b");
        },
        All,
        STEP,
    ),
    way(
        "a ledger's folder is a link",
        |y| {
            y.git(&["mv", "saw", "real"]);
            link(y, "real", "saw");
            y.commit("a link");
            y.write("real/b.kdl", slip());
        },
        All,
        STEP,
    ),
    way(
        "a shop file is a link",
        |y| {
            y.write("store/s", SHOP);
            link(y, "store/s", "shop.kdl");
            y.commit("a link");
            y.write("store/s", SHOP.replace("shim-stock", "shim-stok"));
        },
        All,
        Stopped("unknown-node"),
    ),
    way(
        "a machine.kdl is a link",
        |y| {
            y.write("saw/m.txt", SAW);
            link(y, "m.txt", "saw/machine.kdl");
            y.commit("a link");
            y.write("saw/m.txt", SAW.replace("axis", "axs"));
        },
        All,
        Stopped("unknown-node"),
    ),
    way(
        "a link out of the repository",
        |y| {
            y.write("../b.kdl", slip());
            link(y, "../../b.kdl", "saw/b.kdl");
        },
        All,
        OUTSIDE,
    ),
    way(
        "a link from the root",
        |y| {
            y.write("saw/b.txt", slip());
            link(y, y.root.join("saw/b.txt").to_str().unwrap(), "saw/b.kdl");
        },
        All,
        OUTSIDE,
    ),
    way("a link in a circle", |y| link(y, "b.kdl", "saw/b.kdl"), All, Stopped("leads back to itself")),
    way(
        "a link to nothing",
        |y| link(y, "nowhere", "saw/2021-04-15.kdl"),
        All,
        Stopped("a link to something that is not there"),
    ),
];
