//! By what a file or a folder is called.

use super::ways::By::All;
use super::ways::Ends::Stopped;
use super::ways::{RENAME, STEP, Way, good, mill, named, slip, way, write_slip};
use crate::common::yard::bad;

pub(super) const WAYS: &[Way] = &[
    way("a new file", write_slip, All, STEP),
    way(
        "a changed file",
        |y| {
            y.write("saw/2021-04-15.kdl", bad());
        },
        All,
        STEP,
    ),
    way(
        "a sub-folder",
        |y| {
            y.write("saw/april/late/b.kdl", slip());
        },
        All,
        STEP,
    ),
    way(
        "a name that looks like an option",
        |y| {
            y.write("saw/--cached.kdl", slip());
        },
        All,
        STEP,
    ),
    way(
        "a name that git takes for a pattern",
        |y| {
            y.write(":(exclude)m*[a]/r.kdl", slip()).write(":(exclude)m*[a]/machine.kdl", mill());
        },
        All,
        STEP,
    ),
    way(
        "a name that git takes for a revision",
        |y| {
            y.write("@{-1}^{tree}:a/r.kdl", slip()).write("@{-1}^{tree}:a/machine.kdl", mill());
        },
        All,
        STEP,
    ),
    way(
        "a line end in a folder's name",
        |y| {
            y.write("mill\nM\t\"x/r.kdl", slip()).write("mill\nM\t\"x/machine.kdl", mill());
        },
        All,
        STEP,
    ),
    way(
        "a carriage return at the end of a folder",
        |y| {
            y.write("mill\r/machine.kdl", mill()).commit("a mill");
            y.write("mill\r/r.kdl", slip());
        },
        All,
        STEP,
    ),
    way(
        "no UTF-8 in a folder",
        |y| {
            named(y, b"mill\xff/machine.kdl", &mill());
            named(y, b"mill\xff/r.kdl", &slip());
        },
        All,
        RENAME,
    ),
    way("no UTF-8 in a file", |y| named(y, b"saw/b\xff.kdl", &slip()), All, RENAME),
    way(
        "capitals",
        |y| {
            y.write("saw/b.KDL", slip());
        },
        All,
        RENAME,
    ),
    way(
        "a dot before the file",
        |y| {
            y.write("saw/.b.kdl", slip());
        },
        All,
        RENAME,
    ),
    way(
        "a dot before a folder",
        |y| {
            y.write(".mill/machine.kdl", mill()).write(".mill/r.kdl", good());
        },
        All,
        RENAME,
    ),
    way(
        "a space at the end",
        |y| {
            y.write("saw/b.kdl ", slip());
        },
        All,
        RENAME,
    ),
    way(
        "a sign without width at the end",
        |y| {
            y.write("saw/b.kdl\u{200b}", slip());
        },
        All,
        RENAME,
    ),
    way(
        "a dot at the end",
        |y| {
            y.write("saw/b.kdl.", slip());
        },
        All,
        RENAME,
    ),
    way(
        "outside of every ledger",
        |y| {
            y.write("store/b.kdl", slip());
        },
        All,
        Stopped("lies in none"),
    ),
    way(
        "a ledger in capitals",
        |y| {
            y.write("mill/MACHINE.kdl", mill()).write("mill/r.kdl", slip());
        },
        All,
        RENAME,
    ),
];
