//! `wayledger language-server`, through the protocol itself: an editor of our own starts the program and speaks to it.

mod actions;
mod client;
mod completion;
mod file_kinds;
mod findings;
mod outline;
mod random_edits;
mod reading;
mod renaming;
mod session;

use std::path::Path;

use client::{Editor, able, edited, place, plain, texts};

/// A copy of the boatyard of the examples, to stand in.
fn yard() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let from = concat!(env!("CARGO_MANIFEST_DIR"), "/example-ledgers/boatyard");
    for entry in walkdir::WalkDir::new(from) {
        let entry = entry.expect("an entry");
        let to = folder.path().join(entry.path().strip_prefix(from).expect("below it"));
        match entry.file_type().is_dir() {
            true => std::fs::create_dir_all(to).expect("a folder"),
            false => drop(std::fs::copy(entry.path(), to).expect("a copy")),
        }
    }
    folder
}

/// All files below a folder with what they hold.
fn held(folder: &Path) -> Vec<(String, Vec<u8>)> {
    let files = walkdir::WalkDir::new(folder).sort_by_file_name().into_iter().map(|entry| entry.expect("an entry"));
    files
        .filter(|entry| entry.file_type().is_file())
        .map(|entry| (entry.path().display().to_string(), std::fs::read(entry.path()).expect("bytes")))
        .collect()
}
