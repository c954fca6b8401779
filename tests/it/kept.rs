//! What the tool says of many texts, held as it was: which rules find what, in which words; every paper; what the reader
//! makes of broken texts. A change of any of it is meant to be seen in review, because people compare reports.
//!
//! Nothing here is from outside, and no line says that a result is right. Only fingerprints are kept, one for each rule or
//! kind of paper: what changed is best seen with the program itself, on the example ledgers, before and after.
//! `UPDATE_PAGES=1 cargo test kept` writes them anew.

mod edits;
mod ledgers;
mod texts;

use std::collections::BTreeMap;

use crate::common::{fingerprint, same_page};

/// What is said, by kind.
#[derive(Default)]
struct Kept(BTreeMap<String, (usize, String)>);

impl Kept {
    fn add(&mut self, kind: &str, said: &str) {
        let (count, all) = self.0.entry(kind.to_string()).or_default();
        *count += 1;
        all.push_str(said);
        all.push('\n');
    }

    /// Against the page kept of it.
    fn check(self, page: &str) {
        let lines = self.0.into_iter().map(|(kind, (count, all))| format!("{kind}: {count}, {}\n", fingerprint(&all)));
        same_page(&format!("tests/it/kept/{page}.txt"), &lines.collect::<String>());
    }
}
