//! Merges that nobody settled: git leaves both sides in the file between marks. Read as a ledger, such a text is a flood of
//! faults that say nothing, so it is told as what it is, and nothing else in the file is judged.

use std::sync::LazyLock;

use memchr::memchr2;
use memchr::memmem::Finder;

use crate::text::Span;

/// More of them in one file are not listed.
const MOST: usize = 1_000;

/// One of them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Unmerged {
    /// Its first and last mark.
    pub from: Span,
    pub to: Span,
    /// Lines, counted from 1.
    pub first: usize,
    pub last: usize,
}

impl Unmerged {
    pub fn message(&self) -> String {
        match self.last - self.first {
            0 => format!("an unresolved merge, line {}", self.first),
            _ => format!("an unresolved merge, lines {} to {}", self.first, self.last),
        }
    }
}

/// Made once: a file is mostly so short that making them takes longer than looking through it.
static END: LazyLock<Finder<'static>> = LazyLock::new(|| Finder::new(">>>>>>>".as_bytes()));

/// The unresolved merges of a text.
pub(super) fn unmerged(text: &str) -> Vec<Unmerged> {
    let mut all: Vec<Unmerged> = Vec::new();
    // Most texts have nothing that begins like one of the marks but the last; a row of `=` alone is none, it may underline a
    // remark.
    if memchr2(b'<', b'|', text.as_bytes()).is_none() && END.find(text.as_bytes()).is_none() {
        return all;
    }
    // Whether the last one still waits for its end.
    let mut open = false;
    // A row of `=` before any other mark: the middle of a merge whose beginning was taken away.
    let mut middle: Option<(Span, usize)> = None;
    let mut at = 0;
    for (line, text) in (1..).zip(text.split_inclusive('\n')) {
        let span = Span::new(at, at + 7);
        at += text.len();
        let Some(mark) = mark(text) else { continue };
        match (mark, open) {
            ('=', false) => middle = middle.or(Some((span, line))),
            ('<', _) | (_, false) => {
                if all.len() == MOST {
                    break;
                }
                let (from, first) = middle.take().filter(|_| mark != '<').unwrap_or((span, line));
                all.push(Unmerged { from, to: span, first, last: line });
                open = mark != '>';
            }
            (_, true) => {
                if let Some(last) = all.last_mut() {
                    (last.to, last.last) = (span, line);
                }
                open = mark != '>';
            }
        }
        if mark == '<' {
            middle = None;
        }
    }
    all
}

/// The mark that a line is: seven of one sign, alone or with a space and a name behind them.
fn mark(line: &str) -> Option<char> {
    let line = line.trim_end_matches(['\n', '\r']);
    let sign = line.chars().next().filter(|sign| matches!(sign, '<' | '=' | '>' | '|'))?;
    let rest = line.trim_start_matches(sign);
    (line.len() - rest.len() == 7 && (rest.is_empty() || rest.starts_with(' '))).then_some(sign)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lines(text: &str) -> Vec<(usize, usize)> {
        unmerged(text).iter().map(|it| (it.first, it.last)).collect()
    }

    /// Marks as git 2.47 writes them: `git merge`, with `merge.conflictStyle=diff3`, and after a hand has taken one away.
    #[test]
    fn a_merge_is_one_whatever_is_left_of_it() {
        let whole = "a\n<<<<<<< HEAD\nb\n||||||| 0a1b2c3\nc\n=======\nd\n>>>>>>> theirs\ne\n";
        assert_eq!(lines(whole), [(2, 8)]);
        assert_eq!(lines(&whole.replace('\n', "\r\n")), [(2, 8)]);
        assert_eq!(lines(&format!("{whole}{whole}")), [(2, 8), (11, 17)]);
        assert_eq!(lines(&whole.replace("<<<<<<< HEAD\n", "")), [(3, 7)]);
        assert_eq!(lines("a\nb\n=======\nd\n>>>>>>> theirs\n"), [(3, 5)]);
        assert_eq!(lines("a\n>>>>>>> theirs\n"), [(2, 2)]);
        assert_eq!(lines("<<<<<<< HEAD\na\n=======\nb\n"), [(1, 3)]);
        assert_eq!(lines("<<<<<<< HEAD\na\n<<<<<<< HEAD\nb\n=======\n>>>>>>> x\n"), [(1, 1), (3, 6)]);
    }

    #[test]
    fn what_people_write_is_no_merge() {
        for text in
            ["// a\n=======\n", "<<<<<<<<\n", " <<<<<<< HEAD\n", "<<<<<<<HEAD\n", "note \">>>>>>> \"\n", "<<<<<< x\n"]
        {
            assert_eq!(lines(text), [], "{text}");
        }
    }
}
