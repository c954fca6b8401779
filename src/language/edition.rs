//! The edition of the language that a file states. Of one that is not known nobody knows what its words mean, so that such
//! a file is not read.

use crate::text::{Document, Span};

/// The editions that are read, as they are written.
pub(crate) const KNOWN: [&str; 1] = ["1"];

/// The node that states it.
pub(crate) const WORD: &str = "edition";

/// An edition that is not known.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnknownEdition {
    /// Where it is stated.
    pub span: Span,
    /// As it is written; nothing where the number is missing.
    pub said: Option<String>,
}

impl UnknownEdition {
    /// The first one that a document states.
    pub fn find(document: &Document) -> Option<UnknownEdition> {
        document.nodes().filter(|node| node.is(WORD)).find_map(|node| match node.args().next() {
            Some(said) if said.ty().is_none() && KNOWN.iter().any(|known| said.is_spelt(known)) => None,
            Some(said) => Some(UnknownEdition { span: said.span(), said: Some(said.raw().to_owned()) }),
            None => Some(UnknownEdition { span: node.head(), said: None }),
        })
    }

    pub fn message(&self) -> String {
        match &self.said {
            Some(said) => format!("edition {said} of the ledger language is not known here"),
            None => "the edition of the ledger language is not stated".into(),
        }
    }

    pub fn next(&self) -> String {
        format!(
            "known: {}; judge it with a program that knows its edition, or state the one that it is written in; until then \
             nothing in the file is read and the ledger is not judged",
            KNOWN.join(", ")
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::text::{ReadLimits, read};

    fn unknown(text: &str) -> Option<Option<String>> {
        UnknownEdition::find(&read(text.to_owned(), &ReadLimits::default()).document).map(|unknown| unknown.said)
    }

    #[test]
    fn what_is_not_exactly_a_known_edition_is_not_known() {
        for known in
            ["", "edition 1", "// above\nedition 1 // behind\nmachine m", "machine m { edition 2 }", "/-edition 2"]
        {
            assert_eq!(unknown(known), None, "{known}");
        }
        for (text, said) in
            [("edition 2", "2"), ("machine m\nedition 0", "0"), ("edition 1.0", "1.0"), ("edition \"1\"", "\"1\"")]
        {
            assert_eq!(unknown(text), Some(Some(said.to_owned())), "{text}");
        }
        assert_eq!(unknown("edition"), Some(None));
        assert!(unknown("edition (x)1").is_some());
    }
}
