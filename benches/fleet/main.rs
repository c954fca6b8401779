//! How fast a whole fleet is linted, as whole processes, each figure beside other work on the same bytes in the same run.
//!
//! `cargo bench --bench fleet` prints every table. Words after `--` choose tables: `rate`, `cores`, `ledgers`, `supports`,
//! `staged`, `findings`, `answers`; a number is how many ledgers the largest fleet has (10,000 unless said).

#![expect(clippy::print_stdout, reason = "a benchmark reports on the terminal")]

mod answers;
#[path = "../../tests/it/common/mod.rs"]
#[allow(dead_code, reason = "the tests use the rest")]
mod common;
mod findings;
mod json;
mod other;
mod process;
mod rate;
mod scaling;
mod staged;

use std::path::Path;

use common::fleet::Fleet;
use common::machines::Size;

/// The day that ledgers are judged on.
pub const TODAY: &str = "2026-11-01";

/// What a fleet weighs: machines with 40 supports a rail make about that.
pub const BYTES: i64 = 14_000;

/// Writes a fleet; one ledger of a hundred has a fault. Gives its bytes.
pub(crate) fn fleet(folder: &Path, ledgers: u64, size: Size) -> u64 {
    let fleet = Fleet { ledgers, size, faulty: 1, seed: 1 };
    fleet.write(folder).expect("the fleet can be written").0
}

fn main() {
    let words: Vec<String> = std::env::args().skip(1).filter(|word| !word.starts_with("--")).collect();
    // The program starts itself for the work that it times beside the lint.
    if let [work, folder, most] = &words[..]
        && let Some(work) = other::work(work)
    {
        return work(Path::new(folder), most.parse().expect("a number of files"));
    }
    let most = words.iter().find_map(|word| word.parse().ok()).unwrap_or(10_000);
    let tables: [(&str, &dyn Fn()); 7] = [
        ("rate", &|| rate::table(most)),
        ("cores", &|| scaling::cores(most)),
        ("ledgers", &|| scaling::ledgers(most)),
        ("supports", &scaling::supports),
        ("staged", &|| staged::table(most / 2)),
        ("findings", &findings::table),
        ("answers", &answers::table),
    ];
    let chosen = |name: &str| words.iter().all(|word| word.parse::<u64>().is_ok()) || words.iter().any(|w| w == name);
    for (name, table) in tables {
        if chosen(name) {
            println!("\n## {name}\n");
            table();
        }
    }
}
