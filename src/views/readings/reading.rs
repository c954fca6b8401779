//! One reading as a row.

use super::verdict::ReadingVerdict;

/// One reading.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reading {
    /// The ledger's folder.
    pub ledger: String,
    /// The machine's name.
    pub machine: String,
    /// What was read: `X.port.S4`, `X.port.J1`, `X.port@1250` for a position, `X` for an axis, a serial number.
    pub address: String,
    /// The word of its record: `fasten`.
    pub record: &'static str,
    /// `snug`, `full`, `as-fitted` and the like.
    pub stage: &'static str,
    /// What of it: `bolt 2`, `UL before`, `gap`.
    pub what: String,
    /// Exactly as it stands in the ledger; empty for what is computed from two readings.
    pub written: String,
    /// The exact number in the plain unit; nothing for a word.
    pub value: Option<String>,
    /// The unit of the value.
    pub unit: &'static str,
    /// The gauge or wrench.
    pub instrument: String,
    /// Who read it.
    pub by: String,
    /// `2026-04-14` or `2026-04-14T08:10`.
    pub date: String,
    /// How it stands today.
    pub verdict: ReadingVerdict,
    /// The limit its rule judges by, where it judges each reading: that of the seal on a released axis.
    pub limit: String,
    /// Where that limit comes from, and today's beside it where it is another one.
    pub limit_source: String,
    /// The rules with a finding at it.
    pub rules: Vec<&'static str>,
    /// Where it is written.
    pub file: String,
    /// The line there.
    pub line: u32,
}

impl Reading {
    /// The names of the columns, in order.
    pub const COLUMNS: [&'static str; 18] = [
        "ledger",
        "machine",
        "address",
        "record",
        "stage",
        "what",
        "written",
        "value",
        "unit",
        "instrument",
        "by",
        "date",
        "verdict",
        "limit_text",
        "limit_source",
        "rules",
        "file",
        "line",
    ];

    /// The column that holds a number wherever it holds anything.
    pub const NUMBERS: [&'static str; 2] = ["value", "line"];
}
