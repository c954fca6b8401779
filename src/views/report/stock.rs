//! What is left of the leaves and bars that shop files count, over all machines that take from them.

use schemars::JsonSchema;
use serde::Serialize;

use crate::facts::bars::bars_used;
use crate::judging::lint::Judged;
use crate::rules::{Case, leaves_used};

/// One thing that a shop file counts.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub(crate) struct StockLine {
    /// The file that states how many there were.
    #[serde(rename = "stated_in")]
    pub file: String,
    /// `leaf 0.05 mm`, `bar 1200 mm of R20`.
    pub item: String,
    /// How many there were.
    #[serde(rename = "pieces_received")]
    pub received: usize,
    /// How many lie in machines, or went into one.
    #[serde(rename = "pieces_used")]
    pub used: usize,
    /// How many lay in a machine and went.
    #[serde(rename = "pieces_scrapped")]
    pub scrapped: usize,
    /// More taken than there were is less than none.
    #[serde(rename = "pieces_left")]
    pub left: i64,
}

/// Takes up what one machine uses.
pub(super) fn add(stock: &mut Vec<StockLine>, judged: &Judged, case: &Case) {
    let ledger = &judged.ledger;
    // What lies in a copied folder lies there once.
    if !ledger.elsewhere.copies.is_empty() {
        return;
    }
    let file = |place: crate::finding::Place| ledger.sources.get(place.source).path.to_string();
    let mut put = |file: String, item: String, received: usize, (used, scrapped): (usize, usize)| {
        let key = (&file, &item);
        let at = stock.binary_search_by(|line| (&line.file, &line.item).cmp(&key)).unwrap_or_else(|at| {
            let (file, item) = (file.clone(), item.clone());
            stock.insert(at, StockLine { file, item, received, used: 0, scrapped: 0, left: 0 });
            at
        });
        let line = &mut stock[at];
        line.used += used;
        line.scrapped += scrapped;
        line.left = line.received as i64 - line.used as i64 - line.scrapped as i64;
    };
    for (thickness, place, used) in leaves_used(case) {
        let of_it = ledger.shop.shim_stock.iter().flat_map(|stock| &stock.leaves);
        let counts = of_it.filter(|of| *of.thickness == thickness).map(|of| of.count.map(|count| *count as usize));
        // Where one row counts them and another does not, there are as many as wanted.
        if let Some(received) = counts.sum::<Option<usize>>() {
            put(file(place), format!("leaf {thickness}"), received, (used, 0));
        }
    }
    for bars in bars_used(case.ledger) {
        let stock = ledger.shop.profile(&bars.profile).map_or(&[][..], |profile| &profile.stock);
        let counts =
            stock.iter().filter(|(bar, _)| **bar == bars.length).map(|(_, count)| count.map(|it| *it as usize));
        if let Some(received) = counts.sum::<Option<usize>>() {
            let item = format!("bar {} of {}", bars.length, bars.profile);
            put(file(bars.place), item, received, (bars.used, bars.scrapped));
        }
    }
}
