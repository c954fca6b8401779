//! How fast a whole fleet is linted, beside other work on the same bytes, as whole processes.
//!
//! `cargo bench --bench fleet` prints every table; a word after `--` only that one.

#[path = "../../tests/it/common/mod.rs"]
#[allow(dead_code, reason = "the tests use the rest")]
mod common;

use std::path::Path;

use common::fleet::Fleet;
use common::machines::Size;

fn main() {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let fleet = Fleet { ledgers: words[1].parse().unwrap(), size: Size::of_bytes(14_000), faulty: 10, seed: 1 };
    let (bytes, announced) = fleet.write(Path::new(&words[0])).unwrap();
    eprintln!("{bytes} bytes, {} faults", announced.len());
}
