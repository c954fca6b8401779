//! The fuzz targets over their corpus, and over inputs made from it by a few random changes: always the same ones.
//!
//! Each file of the corpus that once brought something down is named after what it did.

use std::fs;
use std::path::Path;

use crate::common::machines::Dice;
use crate::common::pieces::PIECES;
use crate::fuzz;

const FOLDER: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/it/fuzz/corpus");

/// Runs a target over its corpus, and over some changed inputs of each file.
fn run(target: &str, check: fn(&[u8]), changes: u64) {
    let mut files: Vec<_> = fs::read_dir(Path::new(FOLDER).join(target))
        .expect("the corpus is there")
        .map(|entry| entry.expect("it can be listed").path())
        .collect();
    files.sort();
    assert!(files.len() >= 5, "{target} has a corpus");
    let inputs: Vec<Vec<u8>> = files.iter().map(|file| fs::read(file).expect("it can be read")).collect();
    let size: usize = inputs.iter().map(Vec::len).sum();
    assert!(size < 200_000, "the corpus of {target} has {size} bytes: keep it small");
    let mut dice = Dice::new(0x5eed);
    for (file, input) in files.iter().zip(&inputs) {
        told(file, input, check);
        for _ in 0..changes {
            let other = dice.pick(&inputs);
            told(file, &changed(input, other, &mut dice), check);
        }
    }
}

/// Runs one input, and shows it where it fails.
fn told(file: &Path, input: &[u8], check: fn(&[u8])) {
    let run = std::panic::catch_unwind(|| check(input));
    assert!(run.is_ok(), "from {}: {:?}", file.display(), String::from_utf8_lossy(input));
}

/// Values at their edges.
const VALUES: [&str; 5] = ["#null", "-1", "0,5", "1e9", "9223372036854775807"];

fn piece(dice: &mut Dice) -> &'static str {
    if dice.chance(85) { dice.pick::<&str>(&PIECES) } else { dice.pick::<&str>(&VALUES) }
}

/// A number from 0 up to another one.
fn up_to(most: usize, dice: &mut Dice) -> usize {
    dice.roll(0..=most as i64) as usize
}

fn changed(input: &[u8], other: &[u8], dice: &mut Dice) -> Vec<u8> {
    let mut out = input.to_vec();
    for _ in 0..dice.roll(1..=3) {
        let (a, b) = (up_to(out.len(), dice), up_to(out.len(), dice));
        let (start, end) = (a.min(b), a.max(b));
        match dice.roll(0..=5) {
            0 => drop(out.drain(start..end.min(start + 20))),
            1 => out.truncate(end),
            2 => drop(out.splice(start..start, piece(dice).bytes())),
            3 => drop(out.splice(start..end.min(start + 8), piece(dice).bytes())),
            4 => {
                let piece = out[start..end.min(start + 60)].to_vec();
                drop(out.splice(end..end, piece));
            }
            _ => {
                let from = up_to(other.len(), dice);
                let piece = &other[from..other.len().min(from + 60)];
                drop(out.splice(start..start, piece.iter().copied()));
            }
        }
    }
    out
}

#[test]
fn kept_inputs_pass_the_check_of_the_reader() {
    run("reader", fuzz::reader::check, 10);
}

#[test]
fn kept_inputs_pass_the_check_of_quantities() {
    run("quantities", fuzz::quantities::check, 20);
}

#[test]
fn kept_inputs_pass_the_check_of_lint() {
    run("lint", fuzz::lint::check, 2);
}

#[test]
fn kept_inputs_pass_the_check_of_import() {
    run("import", fuzz::import::check, 20);
}

#[test]
fn kept_inputs_pass_the_check_of_typing() {
    run("typing", fuzz::typing::check, 20);
}

#[test]
fn kept_inputs_pass_the_check_of_edits() {
    run("edits", fuzz::edits::check, 4);
}
