//! How time grows with cores, ledgers and supports, and that memory does not grow with ledgers.

use super::common::machines::Size;
use super::process::{best, milliseconds, per_second, wayledger};
use super::{BYTES, TODAY, fleet};

const LINT: [&str; 4] = ["lint", "--quiet", "--today", TODAY];

pub(crate) fn cores(ledgers: u64) {
    let folder = tempfile::tempdir().expect("a folder");
    let bytes = fleet(folder.path(), ledgers, Size::of_bytes(BYTES));
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    println!("| threads | rate | times one |\n|---|---|---|");
    let one = best(3, || wayledger(folder.path(), 1, &LINT)).time;
    for threads in 1..=cores {
        let time = best(3, || wayledger(folder.path(), threads, &LINT)).time;
        println!("| {threads} | {} | {:.2} |", per_second(bytes, time), one.as_secs_f64() / time.as_secs_f64());
    }
}

pub(crate) fn ledgers(most: u64) {
    println!("| ledgers | rate, one thread | most memory held |\n|---|---|---|");
    for ledgers in [most.div_ceil(100), most.div_ceil(10), most] {
        let folder = tempfile::tempdir().expect("a folder");
        let bytes = fleet(folder.path(), ledgers, Size::of_bytes(BYTES));
        let run = best(3, || wayledger(folder.path(), 1, &LINT));
        let memory = run.peak.map_or("not told here".into(), |kb| format!("{:.1} MB", kb as f64 / 1e3));
        println!("| {ledgers} | {} | {memory} |", per_second(bytes, run.time));
    }
}

pub(crate) fn supports() {
    println!("| supports a rail | bytes a ledger | time of one ledger | time a support |\n|---|---|---|---|");
    let folder = tempfile::tempdir().expect("a folder");
    let start = best(9, || wayledger(folder.path(), 1, &["rules"])).time;
    for supports in [40, 400, 4_000] {
        let folder = tempfile::tempdir().expect("a folder");
        let size = Size { rails: 2..=2, segments: 4..=6, supports: supports * 19 / 20..=supports * 21 / 20 };
        let ledgers = (4_000 / supports as u64).max(2);
        let bytes = fleet(folder.path(), ledgers, size) / ledgers;
        let all = best(3, || wayledger(folder.path(), 1, &LINT)).time.saturating_sub(start);
        let one = all / ledgers as u32;
        let each = one.as_secs_f64() * 1e6 / (2 * supports) as f64;
        println!("| {supports} | {bytes} | {} | {each:.2} µs |", milliseconds(one));
    }
}
