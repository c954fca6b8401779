//! How soon the editor hears: from a key to its findings, and what it asks for while one types, through the whole server
//! as a process of its own.
//!
//! `cargo bench --bench typing`

#![expect(clippy::print_stdout, reason = "a benchmark reports on the terminal")]

#[path = "../tests/it/language_server/client.rs"]
#[allow(dead_code, reason = "the tests use the rest")]
mod client;
#[path = "../tests/it/common/mod.rs"]
#[allow(dead_code, reason = "the tests use the rest")]
mod common;

use std::path::Path;
use std::time::{Duration, Instant};

use client::{Editor, able, place, plain};
use common::fleet::Fleet;
use common::machines::Size;

/// A row that somebody types, key by key, below the last row of a record.
const ROW: &str = "    at S3 10.4 10.5 10.4 10.45";

/// Of a hundred, the middle one and the last but one; the longest of more.
struct Times(Vec<Duration>);

impl Times {
    fn share(&mut self, of_hundred: usize) -> f64 {
        self.0.sort();
        self.0[(self.0.len() * of_hundred / 100).min(self.0.len() - 1)].as_secs_f64() * 1e3
    }

    fn row(mut self, what: &str) {
        let (number, median, late) = (self.0.len(), self.share(50), self.share(99));
        println!("| {what} | {number} | {median:.2} ms | {late:.2} ms |");
    }
}

/// A folder with one ledger of about so many bytes; its largest file of records.
fn ledger(folder: &Path, size: Size) -> (String, u64) {
    Fleet { ledgers: 1, size, faulty: 0, seed: 1 }.write(folder).expect("it can be written");
    let files = walkdir::WalkDir::new(folder).sort_by_file_name().into_iter().map(|entry| entry.expect("an entry"));
    let files: Vec<_> = files.filter(|entry| entry.file_type().is_file()).collect();
    let size = |entry: &walkdir::DirEntry| entry.metadata().expect("a file").len();
    let is_record =
        |entry: &&walkdir::DirEntry| !["machine.kdl", "shop.kdl"].contains(&&*entry.file_name().to_string_lossy());
    let largest = files.iter().filter(is_record).max_by_key(|entry| size(entry)).expect("a record");
    let below = largest.path().strip_prefix(folder).expect("below it");
    (below.to_string_lossy().into_owned(), files.iter().map(size).sum())
}

/// The text with the first so many keys of the row typed at its place.
fn typed(text: &str, at: usize, keys: usize) -> String {
    format!("{}{}\n{}", &text[..at], &ROW[..keys], &text[at..])
}

fn typing(name: &str, size: Size, turns: usize) {
    let folder = tempfile::tempdir().expect("a folder");
    let (file, bytes) = ledger(folder.path(), size);
    let mut editor = Editor::start(folder.path(), plain());
    let text = editor.open(&file);
    editor.heard("textDocument/publishDiagnostics");
    // Below the first line of a record that has rows.
    let at = text.find("{\n").expect("a record with rows") + 2;
    let (mut findings, mut completion, mut hover) = (Vec::new(), Vec::new(), Vec::new());
    for _ in 0..turns {
        for keys in 0..=ROW.len() {
            let now = typed(&text, at, keys);
            let start = Instant::now();
            editor.change(&file, &now);
            editor.heard("textDocument/publishDiagnostics");
            findings.push(start.elapsed());
            let (line, _) = place(&now, &text[..at], at);
            let start = Instant::now();
            editor.at("textDocument/completion", &file, (line, keys));
            completion.push(start.elapsed());
            let start = Instant::now();
            editor.at("textDocument/hover", &file, (line - 1, 3));
            hover.push(start.elapsed());
        }
    }
    println!("\n{name}: {bytes} bytes\n\n| from | times | median | 99th of 100 |\n|---|---|---|---|");
    Times(findings).row("key to findings");
    Times(completion).row("completion");
    Times(hover).row("hover");
}

fn folder_of(ledgers: u64) {
    let folder = tempfile::tempdir().expect("a folder");
    let fleet = Fleet { ledgers, size: Size::of_bytes(14_000), faulty: 1, seed: 1 };
    fleet.write(folder.path()).expect("it can be written");
    let file = walkdir::WalkDir::new(folder.path()).sort_by_file_name().into_iter().filter_map(Result::ok);
    let file = file.map(|entry| entry.into_path()).find(|path| path.ends_with("machine.kdl")).expect("a ledger");
    let file = file.strip_prefix(folder.path()).expect("below it").to_string_lossy().into_owned();
    let start = Instant::now();
    let mut editor = Editor::start(folder.path(), able());
    editor.open(&file);
    editor.findings(&file);
    let first = start.elapsed();
    let memory = editor.memory().unwrap_or(0);
    println!("\n{ledgers} ledgers: first findings after {:.0} ms, {} MB", first.as_secs_f64() * 1e3, memory / 1000);
    let start = Instant::now();
    editor.ask("workspace/symbol", serde_json::json!({ "query": "unit" }));
    println!("symbols of the folder after {:.0} ms", start.elapsed().as_secs_f64() * 1e3);
}

fn main() {
    typing("a ledger of eight files", Size::of_bytes(14_000), 10);
    let large = Size { rails: 4..=4, segments: 20..=20, supports: 100..=100 };
    typing("a machine of 400 supports", large, 5);
    folder_of(std::env::args().skip(1).find_map(|word| word.parse().ok()).unwrap_or(10_000));
}
