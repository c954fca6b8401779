//! Changing a text: what is written is read again with the meaning that was meant, and the layout keeps every meaning.
//!
//! The parts of the input, each ended by the byte 0x1F, are a text, a piece to add or put in, and which places.

use wayledger::kdl::{
    Document, Edit, EditError, ParsedText, ReadLimits, Span, Value, append, apply, prove, quote, quoted, read,
    same_meaning,
};
use wayledger::records::{TidyError, tidy};

/// The second reader is slow, and shall not take the time of the others.
const MOST: usize = 4096;

pub(crate) fn check(bytes: &[u8]) {
    let mut parts = bytes.splitn(3, |byte| *byte == 0x1F);
    let mut part = || parts.next().unwrap_or_default();
    let (Ok(before), Ok(piece), places) = (std::str::from_utf8(part()), std::str::from_utf8(part()), part()) else {
        return;
    };
    let old = plain(before);
    laid_out(before, &old);
    cited(piece);
    spliced(before, piece, places);
    if !old.faults.is_empty() || bytes.len() > MOST {
        return;
    }
    appended(before, piece, &old.document);
    let word = piece.chars().filter(|c| !wayledger::kdl::is_banned(*c)).collect::<String>();
    replaced(before, &word, places, &old.document);
}

fn plain(text: &str) -> ParsedText {
    read(text.to_owned(), &ReadLimits::default())
}

/// The one layout says the same, and laid out again it stays as it is.
fn laid_out(before: &str, old: &ParsedText) {
    match tidy(before) {
        Ok(tidied) => {
            assert!(old.faults.is_empty());
            let new = plain(&tidied);
            assert_eq!(new.faults, []);
            assert_eq!(same_meaning(&old.document, &new.document), None);
            assert_eq!(tidy(&tidied).as_ref(), Ok(&tidied), "laid out twice");
        }
        Err(TidyError::Faults(_)) => assert!(!old.faults.is_empty()),
        Err(TidyError::TooMuch { parts }) => assert!(parts > 1_000_000),
        Err(TidyError::Altered(what)) => panic!("the layout would have altered {what}"),
    }
}

/// A text in quotes is that text again, wherever it stands.
fn cited(piece: &str) {
    if piece.contains(wayledger::kdl::is_banned) {
        return;
    }
    for spelt in [quote(piece), quoted(piece)] {
        let again = plain(&format!("{spelt} {spelt} {spelt}={spelt}"));
        assert_eq!(again.faults, [], "{spelt}");
        let node = again.document.nodes().next().expect("there is a node");
        assert_eq!(node.name(), piece);
        assert_eq!(node.args().next().map(|arg| arg.value()), Some(Value::Text(piece)));
        assert_eq!(node.prop(piece).map(|entry| entry.value()), Some(Value::Text(piece)));
    }
}

/// Edits of any places are made byte by byte or refused.
fn spliced(before: &str, piece: &str, places: &[u8]) {
    let edits: Vec<Edit> = places
        .chunks_exact(2)
        .take(4)
        .map(|at| Edit { span: Span { start: at[0].into(), end: at[1].into() }, text: piece.into() })
        .collect();
    if let Ok(after) = apply(before, &edits) {
        let taken: usize = edits.iter().map(|edit| edit.span.len()).sum();
        assert_eq!(after.len(), before.len() - taken + edits.len() * piece.len());
        let first = edits.iter().map(|edit| edit.span.start as usize).min().unwrap_or(0);
        let last = edits.iter().map(|edit| edit.span.end as usize).max().unwrap_or(0);
        assert!(after.starts_with(&before[..first]) && after.ends_with(&before[last..]));
    }
}

/// Records added at the end stand behind all that was there.
fn appended(before: &str, piece: &str, old: &Document) {
    let edit = append(before, piece);
    let proved = match prove(before, &[edit], &ReadLimits::default()) {
        Ok(proved) => proved,
        Err(EditError::AlsoChanged(_)) => {
            // Only a text that goes on past its end can swallow what is added: a comment, a continued line.
            assert!(before.contains(['\\', '/']) || piece.contains(['\\', '/', '}']), "{before:?} + {piece:?}");
            return;
        }
        Err(_) => return,
    };
    assert!(proved.document.text().starts_with(before));
    let (was, added) = (old.nodes().count(), plain(piece).document.nodes().count());
    let is = proved.document.nodes().count();
    assert!(is >= was, "{was} nodes before, {is} after");
    if !before.contains(['\\', '/']) && !piece.contains('\u{feff}') {
        assert_eq!(is, was + added);
    }
}

/// One value is put in the place of another, and it alone changes.
fn replaced(before: &str, word: &str, places: &[u8], old: &Document) {
    let Some(place) = places.first().map(|place| usize::from(*place)) else { return };
    let nodes = (0..old.len()).filter_map(|index| old.node(index));
    let Some((index, at, entry)) =
        nodes.flat_map(|node| node.entries().enumerate().map(move |(at, entry)| (node.index(), at, entry))).nth(place)
    else {
        return;
    };
    let edit = Edit { span: entry.value_span(), text: quote(word) };
    let proved = match prove(before, &[edit], &ReadLimits::default()) {
        Ok(proved) => proved,
        Err(EditError::SecondReader(_) | EditError::LeftOutTooDeep { .. } | EditError::ReadersDisagree(_)) => return,
        Err(why) => panic!("{word:?} in the place of {entry:?} of {before:?}: {why}"),
    };
    let new = proved.document.node(index).and_then(|node| node.entries().nth(at)).expect("it still stands there");
    assert_eq!(new.value(), Value::Text(word));
    assert_eq!((new.name(), new.ty().map(|(ty, _)| ty)), (entry.name(), entry.ty().map(|(ty, _)| ty)));
}
