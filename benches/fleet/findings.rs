//! A file with ten thousand findings, in every format, with each on a line of its own and with all on one line.

use std::fmt::Write as _;
use std::fs;

use super::TODAY;
use super::process::{best, milliseconds, wayledger};

const FINDINGS: usize = 10_000;

pub(crate) fn table() {
    println!("{FINDINGS} findings in one file\n\n| format | one a line | all on one line |\n|---|---|---|");
    let folders = ["\n", "; "].map(|between| {
        let folder = tempfile::tempdir().expect("a folder");
        let mut text = String::from("machine m {\n axis X {\n rail a {\n");
        for number in 0..FINDINGS {
            let _ = write!(text, "suport S{number} at={number}{between}");
        }
        text.push_str("\n}\n}\n}\n");
        fs::write(folder.path().join("machine.kdl"), text).expect("the file can be written");
        folder
    });
    for format in ["text", "json", "sarif", "github", "gitlab"] {
        let arguments = ["lint", "--format", format, "--today", TODAY];
        let [lines, line] = folders.each_ref().map(|folder| best(3, || wayledger(folder.path(), 1, &arguments)).time);
        println!("| {format} | {} | {} |", milliseconds(lines), milliseconds(line));
    }
}
