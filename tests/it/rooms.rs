//! The picture of the house in DEVELOPERS.md is the truth: a room imports only from rooms that stand above it there.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use regex::Regex;

mod circles;

const HOUSE: &str = include_str!("../../DEVELOPERS.md");
const SRC: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/src");

/// The rooms in the order of the picture.
fn rooms() -> Vec<String> {
    let row = Regex::new(r"(?m)^\| `(\w+)` \|").expect("a pattern");
    row.captures_iter(HOUSE).map(|row| row[1].to_string()).collect()
}

/// The files of a room: `room.rs`, and all below `room/` but its tests, which may look at every room.
fn files(room: &str) -> Vec<PathBuf> {
    let mut files = Vec::new();
    let mut folders = vec![Path::new(SRC).join(room)];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).into_iter().flatten() {
            let path = entry.expect("a file of the source").path();
            match path.is_dir() {
                true if path.ends_with("tests") => {}
                true => folders.push(path),
                false => files.push(path),
            }
        }
    }
    let own = Path::new(SRC).join(format!("{room}.rs"));
    files.extend(own.exists().then_some(own));
    files.sort();
    files
}

/// The rooms that a text names. Comments name none.
fn named(text: &str) -> BTreeSet<String> {
    let comment = Regex::new(r"(?m)//.*$").expect("a pattern");
    let one = Regex::new(r"\bcrate::(\w+)").expect("a pattern");
    one.captures_iter(&comment.replace_all(text, "")).map(|found| found[1].to_string()).collect()
}

/// What a text in one room imports from rooms that do not stand above it.
fn against_the_picture(room: &str, text: &str, rooms: &[String]) -> Vec<String> {
    let place = |name: &str| rooms.iter().position(|known| known == name);
    let own = place(room).expect("the room is in the picture");
    named(text).into_iter().filter(|name| place(name).is_some_and(|at| at > own)).collect()
}

#[test]
fn the_picture_names_every_room_once() {
    let declared = Regex::new(r"(?m)^(?:pub )?(?:pub\(crate\) )?mod (\w+);").expect("a pattern");
    let root = fs::read_to_string(Path::new(SRC).join("lib.rs")).expect("the root of the library");
    let mut there: Vec<String> = declared.captures_iter(&root).map(|found| found[1].to_string()).collect();
    // What tests share is no room.
    there.retain(|name| name != "testing");
    let mut pictured = rooms();
    there.sort();
    pictured.sort();
    assert_eq!(pictured, there, "the table in DEVELOPERS.md and src/lib.rs");
}

#[test]
fn rooms_import_only_from_rooms_above_them() {
    let rooms = rooms();
    let mut wrong = Vec::new();
    for room in &rooms {
        let files = files(room);
        assert!(!files.is_empty(), "the room `{room}` has no file");
        for file in files {
            let text = fs::read_to_string(&file).expect("a file of the source");
            assert!(!text.contains("crate::{"), "{}: write one `use crate::…` a room", file.display());
            let short = file.strip_prefix(SRC).expect("below the source").display().to_string();
            wrong.extend(against_the_picture(room, &text, &rooms).iter().map(|name| format!("{short} imports {name}")));
        }
    }
    assert_eq!(wrong, Vec::<String>::new());
}

#[test]
fn an_import_from_below_is_seen() {
    let rooms: Vec<String> = ["world", "text", "formats"].map(str::to_string).to_vec();
    let seen = |text: &str| against_the_picture("text", text, &rooms);
    for text in [
        "use crate::formats::clean;",
        "use crate::formats as paper;",
        "    use crate::world::Path;\n    pub use crate::formats::{clean, Root};",
        "fn f() -> crate::formats::Root { Root }",
    ] {
        assert_eq!(seen(text), ["formats"], "{text}");
    }
    for text in ["use crate::world::Path;", "use crate::text::formats;", "// use crate::formats::clean;", ""] {
        assert_eq!(seen(text), Vec::<String>::new(), "{text}");
    }
}
