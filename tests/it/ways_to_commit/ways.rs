//! The table: what somebody does, how they commit it, and what becomes of that. Its parts lie in files of their own.

use std::ffi::OsStr;
use std::fs;
use std::os::unix::ffi::OsStrExt as _;
use std::os::unix::fs::symlink;

use super::{Deed, gone, kinds, links, modes, names, unseen};
use crate::common::yard::{GOOD, SAW, Yard, bad};

/// How it is committed.
#[derive(Clone, Copy)]
pub(super) enum By {
    /// With all there is, added before.
    All,
    /// As it is staged.
    Staged,
    /// By git with these words.
    As(&'static [&'static str]),
    /// The same in a folder.
    In(&'static str, &'static [&'static str]),
}

/// What becomes of it.
#[derive(Clone, Copy)]
pub(super) enum Ends {
    /// It is stopped, with these words.
    Stopped(&'static str),
    /// Git asks no hook; the page for a server says so with this word.
    Unseen(&'static str),
}

pub(super) struct Way {
    pub name: &'static str,
    pub lay: Deed,
    pub by: By,
    pub ends: Ends,
}

use Ends::Stopped;

pub(super) const STEP: Ends = Stopped("nonconformity: joint-step X.left.J1");
pub(super) const OUTSIDE: Ends = Stopped("it is a link out of the repository");
pub(super) const SUBMODULE: Ends = Stopped("it is a submodule");
pub(super) const RENAME: Ends = Stopped("rename it");
pub(super) const GONE: Ends = Stopped("nonconformity: ledger-gone");

pub(super) const fn way(name: &'static str, lay: Deed, by: By, ends: Ends) -> Way {
    Way { name, lay, by, ends }
}

pub(super) fn slip() -> String {
    bad().replace("04-15", "04-16")
}

pub(super) fn good() -> String {
    GOOD.replace("04-15", "04-16")
}

pub(super) fn mill() -> String {
    SAW.replace("saw", "mill")
}

/// A slip in a file of its own.
pub(super) fn write_slip(yard: &Yard) {
    yard.write("saw/b.kdl", slip());
}

pub(super) fn stage_slip(yard: &Yard) {
    write_slip(yard);
    yard.git(&["add", "-A"]);
}

/// The slip as git keeps it, under no name yet.
pub(super) fn kept_slip(yard: &Yard) -> String {
    yard.write("../slip", slip());
    yard.git(&["hash-object", "-w", "../slip"])
}

pub(super) fn stage(yard: &Yard, mode: &str, id: &str, path: &str) {
    yard.git(&["update-index", "--add", "--cacheinfo", mode, id, path]);
}

/// A slip under a name of bytes.
pub(super) fn named(yard: &Yard, name: &[u8], text: &str) {
    let file = yard.root.join(OsStr::from_bytes(name));
    fs::create_dir_all(file.parent().unwrap()).unwrap();
    fs::write(file, text).unwrap();
}

/// A branch `side` with a slip, committed past the hook; `main` stays as it was.
pub(super) fn side(yard: &Yard) {
    yard.git(&["checkout", "-q", "-b", "side"]);
    write_slip(yard);
    yard.commit("a slip");
    yard.git(&["checkout", "-q", "main"]);
}

/// The same, and `main` has gone on.
pub(super) fn both_sides(yard: &Yard) {
    side(yard);
    yard.write("note.txt", "x").commit("a note");
}

/// A record, a folder of records, a shop file or a ledger that lies elsewhere, committed with the link to it.
pub(super) fn link(yard: &Yard, to: &str, from: &str) {
    let place = yard.root.join(from);
    let _ = fs::remove_file(&place);
    symlink(to, place).unwrap();
}

/// A slip where only the link to it changes or comes.
pub(super) fn chain(yard: &Yard) {
    yard.write("store/good", good()).write("store/bad", slip());
    link(yard, "good", "store/b");
    link(yard, "b", "store/a");
    link(yard, "../store/a", "saw/b.kdl");
    yard.commit("a chain of links");
}

/// A second folder that is committed into our repository; a repository of its own lies in it.
pub(super) fn other(yard: &Yard) {
    fs::create_dir_all(yard.root.join("../other/saw")).unwrap();
    for name in ["shop.kdl", "saw/machine.kdl", "saw/2021-04-15.kdl"] {
        fs::copy(yard.root.join(name), yard.root.join("../other").join(name)).unwrap();
    }
    yard.git(&["init", "-q", "../other"]);
    yard.git(&["-C", "../other", "add", "-A"]);
    yard.write("../other/saw/b.kdl", slip());
}

/// All parts of the table.
pub(super) fn all() -> impl Iterator<Item = &'static Way> {
    [names::WAYS, modes::WAYS, links::WAYS, gone::WAYS, kinds::WAYS, unseen::WAYS].into_iter().flatten()
}
