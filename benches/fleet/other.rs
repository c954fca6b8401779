//! Other work on the files of a fleet, each in a process of its own: only reading them, reading them with the `kdl` crate,
//! writing them as JSON.

use std::fs;
use std::hint::black_box;
use std::path::{Path, PathBuf};

use super::json;

/// A work by its name: on a folder, on so many of its files.
pub(crate) fn work(name: &str) -> Option<fn(&Path, usize)> {
    match name {
        "only-read" => Some(only_read),
        "kdl-crate" => Some(kdl_crate),
        "as-json" => Some(as_json),
        _ => None,
    }
}

/// The files of a folder, in order.
pub(crate) fn files(folder: &Path) -> Vec<PathBuf> {
    let all = walkdir::WalkDir::new(folder).sort_by_file_name().into_iter();
    let files = all.map(|entry| entry.expect("the folder can be read").into_path());
    files.filter(|path| path.extension().is_some_and(|end| end == "kdl")).collect()
}

fn texts(folder: &Path, most: usize) -> impl Iterator<Item = (PathBuf, String)> {
    files(folder).into_iter().take(most).map(|path| {
        let text = fs::read_to_string(&path).expect("a text");
        (path, text)
    })
}

fn only_read(folder: &Path, most: usize) {
    for (_, text) in texts(folder, most) {
        black_box(text);
    }
}

fn kdl_crate(folder: &Path, most: usize) {
    for (_, text) in texts(folder, most) {
        // A ledger with a fault in its text does not parse; that it was tried is what counts.
        black_box(kdl::KdlDocument::parse_v2(&text).is_ok());
    }
}

/// Each file beside itself as JSON, and the language as a JSON Schema.
fn as_json(folder: &Path, most: usize) {
    for (path, text) in texts(folder, most) {
        fs::write(path.with_extension("json"), json::document(text).to_string()).expect("the JSON can be written");
    }
    fs::write(folder.join("schema.json"), json::schema().to_string()).expect("the schema can be written");
}
