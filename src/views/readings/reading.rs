//! One reading as a row.

use schemars::JsonSchema;
use serde::{Serialize, Serializer};

use super::verdict::ReadingVerdict;

/// The shape of a row, counted up when it changes.
pub(crate) const FORMAT: &str = "wayledger-reading-2";

/// A number exactly as it is printed, for JSON a number too.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ExactNumber(pub String);

impl Serialize for ExactNumber {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        serde_json::value::RawValue::from_string(self.0.clone()).map_err(serde::ser::Error::custom)?.serialize(to)
    }
}

impl JsonSchema for ExactNumber {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "ExactNumber".into()
    }

    fn inline_schema() -> bool {
        true
    }

    fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
        schemars::json_schema!({ "type": "number" })
    }
}

/// One reading: a line of JSON, or a row of the table. Its fields are the columns, in this order.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Reading {
    /// The shape of this row; in JSON alone.
    #[schemars(extend("const" = FORMAT))]
    pub format: &'static str,
    /// Names this reading among all: ledger, kind and stage of the record, what it is about, its moment, which of several such
    /// records it is, what was read, and which repeat. It stays while the record stands as it is written and none of the same
    /// kind, stage, subject and moment is put before it: write the time of day where that happens.
    pub id: String,
    /// The ledger's folder.
    pub ledger: String,
    /// The machine's name.
    pub machine: String,
    /// The axis; empty for a part that was received.
    pub axis: String,
    /// The rail, where it is one.
    pub rail: String,
    /// The joint, where it is one: `J1`.
    pub joint: String,
    /// The support, where it is one: `S4`.
    pub support: String,
    /// Where along the axis.
    pub position_mm: Option<ExactNumber>,
    /// What was read, as an address of the ledger: `X.port.S4`, `X.port.J1`, `X` for an axis. A place between is written
    /// `X.port@1250`, the ends of two rails in a joint `X.port.J1-` and `X.port.J1+`; a part is its serial number.
    pub address: String,
    /// The kind of its record: `fasten`.
    pub record: &'static str,
    /// The stage of its record: `snug`, `full`, `as-fitted` and the like.
    pub stage: &'static str,
    /// What was read: `torque`, `setting` of a wrench that clicked, `groove`, `step`, `light`, `feeler`, `gap`, `straightness`,
    /// `height`, `slope` of the step that ends there, `gap-closure` and so on, `shim-leaf`, `running-force`, `length`, `travelled`, `temperature`.
    pub quantity: String,
    /// Of a bolt: `rail` or `base`.
    pub interface: &'static str,
    /// Which bolt, counted from 1.
    pub bolt: Option<u32>,
    /// Which groove: `UL`.
    pub groove: &'static str,
    /// Of a groove: read `before` or `after` the joint.
    pub side: &'static str,
    /// Which of several readings of this in its record, counted from 1.
    pub repeat: u32,
    /// Exactly as it stands in the ledger; empty for a step, which is worked out from two readings.
    pub written: String,
    /// The number in `unit`; nothing for a word. A step is what its limit is held against: the reading after the joint less the
    /// one before it, of a slanted stylus across the groove, rounded up to a nanometre.
    pub value: Option<ExactNumber>,
    /// The unit of `value`, `least`, `most` and `uncertainty`.
    pub unit: &'static str,
    /// The least that its limit allows, where each reading is judged by itself.
    pub least: Option<ExactNumber>,
    /// The most that its limit allows. A step may be so far to either side.
    pub most: Option<ExactNumber>,
    /// How far the value may be off: the expanded uncertainty U of a step or a station by itself, and the permissible deviation
    /// of the wrench of a torque. Nothing where the shop file does not say enough of the instrument.
    pub uncertainty: Option<ExactNumber>,
    /// The limit in words: that of the seal on a released axis.
    pub limit_text: String,
    /// Where that limit comes from, and today's beside it where it is another one.
    pub limit_source: String,
    /// The day it was read: `2026-04-14`.
    pub day: String,
    /// The time of that day, where the record says one: `08:10`.
    pub time: String,
    /// Who read it.
    pub by: String,
    /// The gauge or wrench.
    pub instrument: String,
    /// The day of the calibration that held then.
    pub calibration: String,
    /// The serial number of the rail segment there; at a joint of both, the one before it first.
    pub serial: String,
    /// The lot of that segment; at a joint of both.
    pub lot: String,
    /// How it stands today: `conforming`, `nonconforming`, `conceded`, `undecided` (the instrument is not sure enough), `stale`
    /// (undone since), `replaced` (read again since), `void` (withdrawn), `not judged`, or `unjudged` (no rule judges such
    /// readings one by one).
    #[serde(serialize_with = "word")]
    #[schemars(with = "String")]
    pub verdict: ReadingVerdict,
    /// It counts today: it is neither stale, replaced nor void, was not taken while the rail was set, and its instrument lets
    /// it be proof.
    pub in_force: bool,
    /// The rules with a finding at it.
    pub rules: Vec<&'static str>,
    /// The file where it is written.
    pub file: String,
    /// The line there.
    pub line: u32,
}

fn word<S: Serializer>(verdict: &ReadingVerdict, to: S) -> Result<S::Ok, S::Error> {
    to.serialize_str(verdict.word())
}

impl Reading {
    /// The names of the columns, in order.
    pub const COLUMNS: [&'static str; 37] = [
        "id",
        "ledger",
        "machine",
        "axis",
        "rail",
        "joint",
        "support",
        "position_mm",
        "address",
        "record",
        "stage",
        "quantity",
        "interface",
        "bolt",
        "groove",
        "side",
        "repeat",
        "written",
        "value",
        "unit",
        "least",
        "most",
        "uncertainty",
        "limit_text",
        "limit_source",
        "day",
        "time",
        "by",
        "instrument",
        "calibration",
        "serial",
        "lot",
        "verdict",
        "in_force",
        "rules",
        "file",
        "line",
    ];

    /// The columns that hold a number wherever they hold anything.
    pub const NUMBERS: [&'static str; 8] =
        ["position_mm", "bolt", "repeat", "value", "least", "most", "uncertainty", "line"];
}
