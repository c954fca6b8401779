//! What a `readings-file` node of the shop file says.

use super::decode::Encoding;
use crate::ledger::Ledger;
use crate::quantity::{Amount, Length};
use crate::text::{EntryRef, NodeRef, Value};

/// How one kind of file is read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mapping {
    pub(crate) name: String,
    /// What the rows become.
    pub becomes: Becomes,
    /// The gauge or wrench.
    pub instrument: Option<String>,
    pub(crate) separator: u8,
    pub(crate) decimal_comma: bool,
    pub(crate) encoding: Encoding,
    pub(crate) skip: usize,
    pub(crate) header: bool,
    pub(crate) dates: DateOrder,
    pub(crate) repeats: bool,
    pub(crate) closure: bool,
    /// Of a survey of angles: how long each step is.
    pub(crate) base: Option<BaseLength>,
    pub(crate) columns: Vec<MappedColumn>,
    /// Words of the file and the names they stand for.
    pub words: Vec<(String, String)>,
}

/// A length as it is spelt.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct BaseLength {
    pub raw: String,
    pub unit: Option<String>,
    pub value: Length,
}

/// What rows become.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Becomes {
    /// Torques of one stage.
    Fasten,
    /// Stations of a survey.
    Survey,
    /// Grooves of joints.
    Inspect,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum DateOrder {
    #[default]
    YearMonthDay,
    DayMonthYear,
    MonthDayYear,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct MappedColumn {
    /// Its header, or its number from 1.
    pub header: String,
    pub holds: ColumnMeaning,
    pub unit: Option<String>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum ColumnMeaning {
    /// A support or any other station: where the reading was taken.
    Place,
    Bolt,
    Joint,
    Groove,
    Before,
    After,
    Reading,
    Date,
    Gauge,
    Person,
    Ignored,
}

/// The mapping of that name that applies to a ledger, the nearest first; or why there is none.
pub fn find(ledger: &Ledger, name: &str) -> Result<Mapping, String> {
    let mut known = Vec::new();
    for (_, source) in ledger.sources.iter() {
        let shops = source.document.nodes().filter(|node| node.name() == "shop");
        for node in shops.flat_map(|shop| shop.children()).filter(|node| node.name() == "readings-file") {
            let own = node.args().next().map_or("", |entry| text(entry));
            if own == name {
                return mapping(node, name).map_err(|why| format!("`readings-file {name}` in {}: {why}", source.path));
            }
            known.push(own.to_owned());
        }
    }
    known.sort();
    known.dedup();
    let next = match known.is_empty() {
        true => "describe the file in the shop file first; see `readings-file` in the language reference".to_owned(),
        false => format!("known: {}", known.join(", ")),
    };
    Err(format!("no shop file of this ledger has `readings-file {name}`; {next}"))
}

fn mapping(node: NodeRef, name: &str) -> Result<Mapping, String> {
    let prop = |name: &str| node.prop(name).map(text);
    let flag = |name: &str| node.prop(name).is_some_and(|entry| entry.value() == Value::Bool(true));
    let becomes = match prop("record") {
        Some("fasten") => Becomes::Fasten,
        Some("survey") => Becomes::Survey,
        Some("inspect") => Becomes::Inspect,
        _ => return Err("it does not say what rows become: add record=fasten, record=survey or record=inspect".into()),
    };
    let instrument = if becomes == Becomes::Fasten { prop("wrench") } else { prop("gauge") };
    let separator = match prop("separator") {
        None => b',',
        Some("tab" | "\t") => b'\t',
        Some(one) if one.len() == 1 && one.is_ascii() && !matches!(one, "\"" | "\n" | "\r") => one.as_bytes()[0],
        Some(other) => return Err(format!("`{other}` cannot part columns: state one ASCII character, or tab")),
    };
    let decimal_comma = prop("decimal") == Some("comma");
    if decimal_comma && separator == b',' {
        return Err("a comma cannot part columns and decimals: state the separator".into());
    }
    if !decimal_comma && separator == b'.' {
        return Err("a point cannot part columns and decimals: state decimal=comma, or another separator".into());
    }
    if separator.is_ascii_alphanumeric() || matches!(separator, b'-' | b'+') {
        let sign = separator as char;
        return Err(format!("`{sign}` cannot part columns, since numbers and names hold it: state another separator"));
    }
    let mut columns = Vec::new();
    for column in node.children().filter(|child| child.name() == "column") {
        let header = column.args().next().map_or("", text).to_owned();
        let holds = match column.prop("holds").map_or("", text) {
            "support" | "station" => ColumnMeaning::Place,
            "bolt" => ColumnMeaning::Bolt,
            "joint" => ColumnMeaning::Joint,
            "groove" => ColumnMeaning::Groove,
            "before" => ColumnMeaning::Before,
            "after" => ColumnMeaning::After,
            "reading" => ColumnMeaning::Reading,
            "date" => ColumnMeaning::Date,
            "gauge" => ColumnMeaning::Gauge,
            "person" => ColumnMeaning::Person,
            "ignored" => ColumnMeaning::Ignored,
            other => return Err(format!("column `{header}` cannot hold `{other}`")),
        };
        if holds != ColumnMeaning::Ignored && columns.iter().any(|known: &MappedColumn| known.holds == holds) {
            return Err(format!("column `{header}` holds what another column holds already"));
        }
        columns.push(MappedColumn { header, holds, unit: column.prop("unit").map(|unit| text(unit).to_owned()) });
    }
    let needed: &[(ColumnMeaning, &str)] = match becomes {
        Becomes::Fasten => &[(ColumnMeaning::Place, "support"), (ColumnMeaning::Reading, "reading")],
        Becomes::Survey => &[(ColumnMeaning::Place, "station"), (ColumnMeaning::Reading, "reading")],
        Becomes::Inspect => {
            &[(ColumnMeaning::Groove, "groove"), (ColumnMeaning::Before, "before"), (ColumnMeaning::After, "after")]
        }
    };
    for (holds, word) in needed {
        if !columns.iter().any(|column| column.holds == *holds) {
            return Err(format!("no column holds={word}, which such a record needs"));
        }
    }
    let base = match node.prop("base") {
        Some(_) if becomes != Becomes::Survey => return Err("only a survey adds up angles: leave base out".into()),
        Some(entry) => {
            let (raw, unit) = (text(entry).to_owned(), entry.ty().map(|(unit, _)| unit.to_owned()));
            match Length::read(&raw, unit.as_deref()) {
                Ok(value) if value > Length::ZERO => Some(BaseLength { raw, unit, value }),
                _ => return Err(format!("`{raw}` is not how long a step is")),
            }
        }
        None => None,
    };
    let words = node.children().filter(|child| child.name() == "row");
    let words = words.map(|row| (row.args().next().map_or("", text).into(), row.prop("is").map_or("", text).into()));
    Ok(Mapping {
        name: name.to_owned(),
        becomes,
        instrument: instrument.map(str::to_owned),
        separator,
        decimal_comma,
        encoding: match prop("encoding") {
            Some("utf-16") => Encoding::Utf16,
            Some("latin-1") => Encoding::Latin1,
            _ => Encoding::Utf8,
        },
        skip: prop("skip").and_then(|count| count.parse().ok()).unwrap_or(0),
        header: node.prop("header").is_none_or(|entry| entry.value() != Value::Bool(false)),
        dates: match prop("dates") {
            Some("day-month-year") => DateOrder::DayMonthYear,
            Some("month-day-year") => DateOrder::MonthDayYear,
            _ => DateOrder::YearMonthDay,
        },
        repeats: flag("repeats"),
        closure: flag("closure"),
        base,
        columns,
        words: words.collect(),
    })
}

fn text(entry: EntryRef<'_>) -> &str {
    match entry.value() {
        Value::Text(text) | Value::Number(text) => text,
        Value::Bool(_) | Value::Null => "",
    }
}
