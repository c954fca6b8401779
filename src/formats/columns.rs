//! What each column of the table of readings holds, for people who analyse it: made from the shape of a row.

use std::fmt::Write as _;

use super::schemas;
use crate::views::readings::{FORMAT, Reading};

/// Above the table of columns.
const HEAD: &str = "# The table of readings

`wayledger export` writes a row for each reading of the ledgers: `--format csv` (RFC 4180, UTF-8, a row of names first) or
`--format jsonl` (a JSON object a line). `--output FOLDER` writes a file for each ledger under the ledger's own path, for
engines that read many files. [analysis.md](analysis.md) asks five questions of it in SQL.

What stays: a column keeps its name and meaning, and new ones come behind the last. Where that cannot be, the number behind
`wayledger-reading-` goes up. An empty cell, in JSON an empty text or `null`, says that the ledger does not say. Numbers are exact
decimals, and in JSON numbers; in CSV a text that a spreadsheet would run as a formula has an apostrophe in front.

";

/// The page.
#[must_use]
pub fn columns_page() -> String {
    let schema = schemas::closed_schema::<Reading>();
    let mut page = HEAD.to_owned();
    let _ = writeln!(page, "The columns of `{FORMAT}`:\n\n| column | holds |\n|---|---|");
    let properties = schema.get("properties").and_then(|all| all.as_object());
    for (name, of) in properties.into_iter().flatten().filter(|(name, _)| *name != "format") {
        let text = of.get("description").and_then(|text| text.as_str()).unwrap_or_default();
        let _ = writeln!(page, "| `{name}` | {} |", text.replace('\n', " "));
    }
    page
}
