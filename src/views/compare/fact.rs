//! One fact that changed, as it is told.

use schemars::JsonSchema;
use serde::Serialize;

/// One fact, old and new.
#[derive(Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct FactChange {
    /// The fact.
    pub fact: String,
    /// What it was.
    pub was: Option<String>,
    /// What it is now.
    pub now: Option<String>,
}

impl FactChange {
    /// A row's values are told without the name that its address ends in already: `at S2` is `0.02`, not `S2 0.02`. Of
    /// a row that is nothing but a text, as a title, the word alone is its address.
    pub(super) fn new(address: &str, was: Option<String>, now: Option<String>) -> FactChange {
        let (word, label) = split(address);
        let is_label = |value: &String| {
            !label.is_empty() && (*value == crate::text::quote(label) || names_more(word, label, value))
        };
        if [&was, &now].into_iter().flatten().any(is_label) {
            return FactChange { fact: word.to_owned(), was, now };
        }
        let value = |value: Option<String>| value.map(|value| without_label(address, &value));
        FactChange { fact: address.to_owned(), was: value(was), now: value(now) }
    }
}

/// Whether a row names several supports and nothing else, as `at J2 S28` of what was loosened: then none is its name.
fn names_more(word: &str, label: &str, value: &str) -> bool {
    let rest = value.strip_prefix(label).and_then(|rest| rest.strip_prefix(' '));
    let is_row = matches!(word.rsplit(' ').next(), Some("at" | "clicked"));
    is_row && rest.is_some_and(|rest| rest.starts_with(char::is_alphabetic) && !rest.contains('='))
}

/// An address up to its last row's word, and the name behind it.
fn split(address: &str) -> (&str, &str) {
    let row = address.rfind(" / ").map_or(0, |at| at + 3);
    match address[row..].find(' ') {
        Some(at) => (&address[..row + at], &address[row + at + 1..]),
        None => (address, ""),
    }
}

pub(super) fn without_label(address: &str, value: &str) -> String {
    let label = split(address).1;
    match value.strip_prefix(label).filter(|_| !label.is_empty()) {
        Some(rest) if rest.is_empty() || rest.starts_with(' ') => rest.trim_start().to_owned(),
        _ => value.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(address: &str, value: &str) -> (String, String) {
        let change = FactChange::new(address, None, Some(value.to_owned()));
        (change.fact, change.now.unwrap_or_default())
    }

    #[test]
    fn a_row_is_told_by_its_support_and_one_of_several_supports_by_all() {
        assert_eq!(told("at S2", "S2 0.02"), ("at S2".into(), "0.02".into()));
        assert_eq!(told("at J2", "J2 S28"), ("at".into(), "J2 S28".into()));
        assert_eq!(told("machine m / at S4", "S4 10.4 #null"), ("machine m / at S4".into(), "10.4 #null".into()));
        assert_eq!(told("gauge DI-4", "DI-4 kind=laser"), ("gauge DI-4".into(), "kind=laser".into()));
    }
}
