//! What the owner of a fleet asks of it, each as one whole process.

use super::common::machines::Size;
use super::process::{best, milliseconds, wayledger};
use super::{BYTES, TODAY, fleet};

/// So many ledgers an owner may have in three yards.
const LEDGERS: u64 = 300;

/// Each question, as it is typed.
const QUESTIONS: [&[&str]; 7] = [
    &["lint", "--quiet"],
    &["report"],
    &["report", "--format", "html", "--within", "90d"],
    &["report", "--try", "joint-step=0.015"],
    &["trace", "DI-4"],
    &["trace", "TW-2"],
    &["rules", "--in-force", "."],
];

pub(crate) fn table() {
    let folder = tempfile::tempdir().expect("a folder");
    let bytes = fleet(folder.path(), LEDGERS, Size::of_bytes(BYTES));
    println!("{LEDGERS} ledgers, {:.1} MB\n\n| asked | one thread | all threads |\n|---|---|---|", bytes as f64 / 1e6);
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    for question in QUESTIONS {
        // The limits in force hang on no day.
        let day: &[&str] = if question[0] == "rules" { &[] } else { &["--today", TODAY] };
        let words = [question, day].concat();
        let [one, all] = [1, cores].map(|threads| best(5, || wayledger(folder.path(), threads, &words)).time);
        println!("| `{}` | {} | {} |", question.join(" "), milliseconds(one), milliseconds(all));
    }
}
