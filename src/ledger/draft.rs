//! A record, or a part of a description, before it is written: the one place that spells names, dates and numbers, for all
//! that the program writes itself. How lines lie on the page is for the layout of ledger files to say.

use std::fmt::{self, Display};

use crate::quantity::{Amount, Moment};
use crate::text::quote;

/// A value as it stands in a text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SpeltValue(String);

impl SpeltValue {
    /// A number as somebody typed it or an instrument gave it, with its unit in front where it has one. It stays as it is.
    pub fn typed(number: &str) -> SpeltValue {
        SpeltValue(number.to_owned())
    }

    /// The same with a unit that stands apart from it.
    pub fn typed_in(unit: Option<&str>, number: &str) -> SpeltValue {
        SpeltValue(unit.map_or(number.to_owned(), |unit| format!("({}){number}", quote(unit))))
    }

    pub fn count(count: impl Display) -> SpeltValue {
        SpeltValue(count.to_string())
    }

    /// What is still to be filled in: a name or a number.
    pub(crate) fn open() -> SpeltValue {
        SpeltValue("…".into())
    }

    /// What is still to be filled in: a day or a text.
    pub(crate) fn open_text() -> SpeltValue {
        SpeltValue("\"…\"".into())
    }

    /// What was not read.
    pub fn blank() -> SpeltValue {
        SpeltValue("#null".into())
    }
}

impl Display for SpeltValue {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// A name, a word or a text: in quotes only where it needs them.
impl From<&str> for SpeltValue {
    fn from(text: &str) -> SpeltValue {
        SpeltValue(quote(text))
    }
}

impl From<&String> for SpeltValue {
    fn from(text: &String) -> SpeltValue {
        SpeltValue(quote(text))
    }
}

/// A day, with the time of day where there is one.
impl From<Moment> for SpeltValue {
    fn from(moment: Moment) -> SpeltValue {
        SpeltValue(quote(&moment.to_string()))
    }
}

/// A plain number in the usual unit.
impl<A: Amount> From<A> for SpeltValue {
    fn from(amount: A) -> SpeltValue {
        SpeltValue(amount.number())
    }
}

/// A node in the making.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct NodeDraft {
    name: String,
    values: Vec<SpeltValue>,
    properties: Vec<(&'static str, SpeltValue)>,
    rows: Vec<DraftRow>,
}

/// A line of a block.
#[derive(Clone, Debug, PartialEq, Eq)]
enum DraftRow {
    Node(NodeDraft),
    /// In the words of the ledger, as somebody typed it.
    Typed(String),
}

impl NodeDraft {
    pub(crate) fn new(name: &str) -> NodeDraft {
        NodeDraft { name: name.to_owned(), ..NodeDraft::default() }
    }

    /// With one more value behind the name.
    #[must_use]
    pub fn value(mut self, value: impl Into<SpeltValue>) -> NodeDraft {
        self.values.push(value.into());
        self
    }

    /// With several more.
    #[must_use]
    pub fn values<V: Into<SpeltValue>>(mut self, values: impl IntoIterator<Item = V>) -> NodeDraft {
        self.values.extend(values.into_iter().map(Into::into));
        self
    }

    /// With one more property.
    #[must_use]
    pub fn property(mut self, name: &'static str, value: impl Into<SpeltValue>) -> NodeDraft {
        self.set(name, value);
        self
    }

    /// With the properties that say of each statement when, by whom and why, to be filled in.
    #[must_use]
    pub(crate) fn unsigned(self) -> NodeDraft {
        let dated = self.property("date", SpeltValue::open_text()).property("by", SpeltValue::open());
        dated.property("reason", SpeltValue::open_text())
    }

    /// With the properties that every record has.
    #[must_use]
    pub fn signed(self, date: Moment, by: &str) -> NodeDraft {
        self.property("date", date).property("by", by)
    }

    /// With one more row.
    #[must_use]
    pub fn row(mut self, row: NodeDraft) -> NodeDraft {
        self.push(row);
        self
    }

    pub(crate) fn set(&mut self, name: &'static str, value: impl Into<SpeltValue>) {
        self.properties.push((name, value.into()));
    }

    pub(crate) fn push(&mut self, row: NodeDraft) {
        self.rows.push(DraftRow::Node(row));
    }

    /// Adds a row in the words of the ledger, as somebody typed it; whether it reads is for others to ask.
    pub fn push_typed(&mut self, row: &str) {
        self.rows.push(DraftRow::Typed(row.to_owned()));
    }

    /// How many rows there are.
    pub fn row_count(&self) -> usize {
        self.rows.len()
    }

    /// The node without its rows, on one line.
    pub fn head(&self) -> String {
        let mut out = self.name.clone();
        for SpeltValue(value) in &self.values {
            out.push(' ');
            out.push_str(value);
        }
        for (name, SpeltValue(value)) in &self.properties {
            out.push(' ');
            out.push_str(name);
            out.push('=');
            out.push_str(value);
        }
        out
    }

    /// The node with its rows on one line.
    pub fn line(&self) -> String {
        if self.rows.is_empty() {
            return self.head();
        }
        let rows: Vec<String> = self
            .rows
            .iter()
            .map(|row| match row {
                DraftRow::Node(node) => node.line(),
                DraftRow::Typed(text) => text.clone(),
            })
            .collect();
        format!("{} {{ {} }}", self.head(), rows.join("; "))
    }

    /// The node as text, a row a line. It ends in a line break.
    pub fn text(&self) -> String {
        let mut out = String::new();
        self.write(&mut out, 0);
        out
    }

    fn write(&self, out: &mut String, depth: usize) {
        let indent = "    ".repeat(depth);
        out.push_str(&indent);
        out.push_str(&self.head());
        if !self.rows.is_empty() {
            out.push_str(" {\n");
            for row in &self.rows {
                match row {
                    DraftRow::Node(node) => node.write(out, depth + 1),
                    DraftRow::Typed(text) => {
                        out.push_str(&indent);
                        out.push_str("    ");
                        out.push_str(text);
                        out.push('\n');
                    }
                }
            }
            out.push_str(&indent);
            out.push('}');
        }
        out.push('\n');
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Length;

    #[test]
    fn a_record_reads_as_in_the_examples() {
        let moment = Moment::read("2026-04-16T09:00").expect("a moment");
        let mut draft = NodeDraft::new("survey").value("gap").value("X.starboard").signed(moment, "inspector-1");
        draft.set("gauge", "DI 6");
        draft.set("temperature", SpeltValue::typed("21"));
        draft.push(NodeDraft::new("at").value("S1").value(Length::um(-70)));
        draft.push_typed("closure S1 -0.07");
        let head = "survey gap X.starboard date=\"2026-04-16T09:00\" by=inspector-1 gauge=\"DI 6\" temperature=21";
        assert_eq!(draft.text(), format!("{head} {{\n    at S1 -0.07\n    closure S1 -0.07\n}}\n"));
        assert_eq!(draft.line(), format!("{head} {{ at S1 -0.07; closure S1 -0.07 }}"));
    }

    #[test]
    fn quotes_stand_only_where_they_must() {
        let draft = NodeDraft::new("part").property("serial", "K-118").property("lot", "7731").property("mark", "a b");
        assert_eq!(draft.line(), "part serial=K-118 lot=\"7731\" mark=\"a b\"");
        let blank = NodeDraft::new("at")
            .value("S1")
            .value(SpeltValue::typed_in(Some("N.m"), "10.40"))
            .value(SpeltValue::blank());
        assert_eq!(blank.line(), "at S1 (N.m)10.40 #null");
    }
}
