//! A record before it is written: the one place that spells records.

use std::collections::BTreeMap;

use crate::quantity::Moment;
use crate::text::quote;

/// A record in the making. Texts in it are spelt as KDL already, but for names, which are quoted where they must be.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Draft {
    pub kind: String,
    /// What stands behind the kind: `gap`, `X.starboard`.
    pub about: Vec<String>,
    /// Properties in the order in which they are written, values as KDL.
    properties: Vec<(String, String)>,
    /// Rows without their indentation, each one line of KDL.
    pub rows: Vec<String>,
    /// The questions that rows came of, by the row's number; that of the head's number under none.
    pub asked: BTreeMap<Option<usize>, Asked>,
}

/// A question that gave a reading.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Asked {
    pub question: String,
    /// The person has said that it is what it showed.
    pub confirmed: bool,
}

impl Draft {
    pub fn new(kind: &str, about: &[&str]) -> Draft {
        let about = about.iter().map(|word| quote(word)).collect();
        Draft { kind: kind.to_string(), about, ..Draft::default() }
    }

    /// When and by whom.
    pub fn signed(&mut self, moment: Moment, by: &str) {
        self.properties.insert(0, ("by".into(), quote(by)));
        self.properties.insert(0, ("date".into(), format!("\"{moment}\"")));
    }

    /// A property that is a word or a text.
    pub fn word(&mut self, name: &str, value: &str) {
        self.properties.push((name.into(), quote(value)));
    }

    /// A property that is a number, as typed.
    pub fn number(&mut self, name: &str, value: &str) {
        self.properties.push((name.into(), value.into()));
    }

    /// A row that came of a question.
    pub fn row(&mut self, row: String, asked: Asked) {
        self.asked.insert(Some(self.rows.len()), asked);
        self.rows.push(row);
    }

    /// What a property was given, as KDL.
    pub fn value(&self, name: &str) -> Option<String> {
        self.properties.iter().find(|(known, _)| known == name).map(|(_, value)| value.clone())
    }

    /// The record as text.
    pub fn text(&self) -> String {
        let mut out = self.kind.clone();
        for word in &self.about {
            out += &format!(" {word}");
        }
        for (name, value) in &self.properties {
            out += &format!(" {name}={value}");
        }
        if !self.rows.is_empty() {
            out += " {\n";
            for row in &self.rows {
                out += &format!("    {row}\n");
            }
            out.push('}');
        }
        out.push('\n');
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_record_reads_as_in_the_examples() {
        let mut draft = Draft::new("survey", &["gap", "X.starboard"]);
        draft.word("gauge", "DI 6");
        draft.number("temperature", "21");
        draft.signed(Moment::read("2026-04-16T09:00").expect("a moment"), "inspector-1");
        draft.rows = vec!["at S1 -0.07".into(), "closure S1 -0.07".into()];
        let text = "survey gap X.starboard date=\"2026-04-16T09:00\" by=inspector-1 gauge=\"DI 6\" temperature=21 {\n    at S1 -0.07\n    closure S1 -0.07\n}\n";
        assert_eq!(draft.text(), text);
    }
}
