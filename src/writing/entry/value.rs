//! A number as somebody typed it: checked at once, kept as it was typed.

use crate::quantity::{Amount, AmountError, better_spelling};

/// A number that was typed, and what it is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct TypedNumber<A> {
    /// As it goes into the record, with its unit where one was typed: `0.020`, `(um)20`.
    pub text: String,
    pub value: A,
}

/// Reads a number with an optional unit in front; says the right spelling where there is one.
pub(crate) fn number<A: Amount>(text: &str) -> Result<TypedNumber<A>, String> {
    let text = text.trim();
    let (unit, raw) = match text.strip_prefix('(').and_then(|rest| rest.split_once(')')) {
        Some((unit, raw)) => (Some(unit), raw),
        None => (None, text),
    };
    // KDL takes no number that begins with a point or a plus without a digit; the exact reader decides the rest.
    let plain = raw.strip_prefix(['-', '+']).unwrap_or(raw);
    let looks = plain.starts_with(|c: char| c.is_ascii_digit());
    match A::read(raw, unit) {
        Ok(value) if looks => Ok(TypedNumber { text: text.to_string(), value }),
        Err(AmountError::TooFine { finest }) => Err(format!("{text} is finer than this is kept: {finest}")),
        Err(AmountError::WrongUnit { unit, .. }) => {
            Err(format!("({unit}) is no unit of {}", A::DIMENSION.with_article()))
        }
        Err(AmountError::TooLarge) => Err(format!("{text} is larger than anything that is measured here")),
        _ if text.is_empty() => Err("nothing was written: write a number, as 0.02".into()),
        _ => Err(match better_spelling(text) {
            Some(better) => format!("`{text}` is no number; write {better}"),
            None => format!("`{text}` is no number; write it as 0.02"),
        }),
    }
}

/// Several numbers with blanks between them.
pub(crate) fn numbers<A: Amount>(text: &str) -> Result<Vec<TypedNumber<A>>, String> {
    text.split_whitespace().map(number).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Angle, Length};

    #[test]
    fn a_wrong_unit_is_told_with_the_article_of_what_was_asked() {
        assert_eq!(number::<Angle>("(mm)1"), Err("(mm) is no unit of an angle".into()));
        assert_eq!(number::<Length>("(urad)1"), Err("(urad) is no unit of a length".into()));
    }

    #[test]
    fn what_was_typed_is_kept_or_refused_with_the_right_spelling() {
        assert_eq!(number::<Length>("-0.040").map(|it| (it.text, it.value)), Ok(("-0.040".into(), Length::um(-40))));
        assert_eq!(number::<Length>("(um)12").map(|it| it.value), Ok(Length::um(12)));
        for (wrong, right) in [("0,02", "0.02"), (".5", "0.5"), ("12um", "(um)12"), ("−0.04", "-0.04")] {
            let told = number::<Length>(wrong).expect_err("no number");
            assert!(told.ends_with(&format!("write {right}")), "{told}");
        }
        for wrong in ["", "x", "1e400", "0.0000001", "(N.m)1", "1 2", "#null", "0.02}"] {
            assert!(number::<Length>(wrong).is_err(), "{wrong}");
        }
    }
}
