//! How grooves are named in a sentence.

use crate::ledger::{Groove, Keyword};

/// `UL, UR and LR`.
pub(super) fn named(grooves: &[Groove]) -> String {
    let words: Vec<&str> = grooves.iter().map(|groove| groove.word()).collect();
    match words.split_last() {
        None => String::new(),
        Some((last, [])) => (*last).to_string(),
        Some((last, rest)) => format!("{} and {last}", rest.join(", ")),
    }
}
