//! What KDL 2 says about single characters: which are spaces, line breaks, parts of a bare word, or banned.

/// May stand inside a bare word. Of the bytes of longer characters, those that can only belong to one.
pub(super) const WORD: u8 = 1;
/// A one-byte space.
pub(super) const SPACE: u8 = 2;
/// A one-byte line break.
pub(super) const BREAK: u8 = 4;
/// Ends the plain stretch of a quoted string, or may begin something that does.
pub(super) const STOP: u8 = 8;
/// The first byte of a longer character that may be a space or a line break.
pub(super) const LOOK: u8 = 16;
/// Certainly ends the name or value that stands before it.
pub(super) const END: u8 = 32;
/// May begin what stands between two parts of a node: a space, a comment, a continued line.
pub(super) const GAP: u8 = 64;
/// May stand in a decimal number behind its first digit.
pub(super) const NUMERIC: u8 = 128;

static CLASS: [u8; 256] = classes();

const fn classes() -> [u8; 256] {
    let mut class = [WORD; 256];
    // NUL doubles as "no more text"; it is banned anyway.
    class[0] = 0;
    class[b'\t' as usize] = SPACE | END | GAP;
    class[b' ' as usize] = SPACE | END | GAP;
    let mut breaks = 0x0A;
    while breaks <= 0x0D {
        class[breaks] = BREAK | STOP | END;
        breaks += 1;
    }
    let marks = b"\\/(){};[]\"#=";
    let mut i = 0;
    while i < marks.len() {
        class[marks[i] as usize] = 0;
        i += 1;
    }
    let ends = b"={};";
    let mut i = 0;
    while i < ends.len() {
        class[ends[i] as usize] = END;
        i += 1;
    }
    class[b'"' as usize] = STOP;
    class[b'\\' as usize] = STOP | GAP;
    class[b'/' as usize] = GAP;
    let mut digit = b'0';
    while digit <= b'9' {
        class[digit as usize] |= NUMERIC;
        digit += 1;
    }
    class[b'_' as usize] |= NUMERIC;
    class[0xC2] = LOOK | STOP | GAP; // U+0085, U+00A0
    class[0xE1] = LOOK | GAP; // U+1680
    class[0xE2] = LOOK | STOP | GAP; // U+2000–U+205F
    class[0xE3] = LOOK | GAP; // U+3000
    class
}

#[inline]
pub(super) fn class(byte: u8) -> u8 {
    CLASS[byte as usize]
}

/// The end of the stretch of wanted bytes from `at` on.
#[inline]
pub(super) fn stretch(bytes: &[u8], mut at: usize, wanted: impl Fn(u8) -> bool) -> usize {
    // Eight at a time, so that the end of the text is looked for once for all of them.
    while let Some(eight) = bytes.get(at..at + 8) {
        for byte in eight {
            if !wanted(*byte) {
                return at;
            }
            at += 1;
        }
    }
    while bytes.get(at).is_some_and(|byte| wanted(*byte)) {
        at += 1;
    }
    at
}

/// KDL 2, "Whitespace".
pub(crate) fn is_space(c: char) -> bool {
    matches!(c, '\t' | ' ' | '\u{A0}' | '\u{1680}' | '\u{2000}'..='\u{200A}' | '\u{202F}' | '\u{205F}' | '\u{3000}')
}

/// KDL 2, "Newline", without the pair CR LF.
pub(crate) fn is_break(c: char) -> bool {
    matches!(c, '\n' | '\r' | '\u{B}' | '\u{C}' | '\u{85}' | '\u{2028}' | '\u{2029}')
}

/// KDL 2, "Disallowed Literal Code Points". The byte order mark is allowed as the very first character only.
pub fn is_banned(c: char) -> bool {
    matches!(c, '\0'..='\u{8}' | '\u{E}'..='\u{1F}' | '\u{7F}' | '\u{200E}' | '\u{200F}'
        | '\u{202A}'..='\u{202E}' | '\u{2066}'..='\u{2069}' | '\u{FEFF}')
}

/// May stand inside a bare word.
pub(crate) fn is_word(c: char) -> bool {
    !is_space(c) && !is_break(c) && !is_banned(c) && !"\\/(){};[]\"#=".contains(c)
}

/// Words that KDL 2 reserves, so that a forgotten `#` cannot turn a value into a string.
#[inline]
pub(super) fn is_reserved(word: &[u8]) -> bool {
    matches!(word, b"true" | b"false" | b"null" | b"inf" | b"-inf" | b"nan")
}

/// Begins like a number: digits, or a sign or point followed by one.
#[inline]
pub(crate) fn begins_number(word: &[u8]) -> bool {
    let digit = |i: usize| word.get(i).is_some_and(u8::is_ascii_digit);
    match word.first() {
        Some(b'0'..=b'9') => true,
        Some(b'+' | b'-') => digit(1) || word.get(1) == Some(&b'.') && digit(2),
        Some(b'.') => digit(1),
        _ => false,
    }
}

/// The stretches of banned characters from `from` on, each as start and end.
pub(super) fn banned_runs(text: &str, from: usize) -> impl Iterator<Item = (usize, usize)> {
    let mut at = from;
    std::iter::from_fn(move || {
        let start = next_banned(text, at)?;
        let mut end = start;
        for c in text[start..].chars().take_while(|c| is_banned(*c)) {
            end += c.len_utf8();
        }
        at = end;
        Some((start, end))
    })
}

fn next_banned(text: &str, from: usize) -> Option<usize> {
    let bytes = text.as_bytes();
    let mut at = from;
    loop {
        // Whole blocks without a suspect are the rule, and the compiler turns this test into wide instructions.
        while let Some(block) = bytes.get(at..at + 64) {
            if block.iter().fold(false, |found, byte| found | is_suspect(*byte)) {
                break;
            }
            at += 64;
        }
        let end = bytes.len().min(at + 64);
        for i in at..end {
            if is_suspect(bytes[i]) && text.is_char_boundary(i) && text[i..].chars().next().is_some_and(is_banned) {
                return Some(i);
            }
        }
        if end == bytes.len() {
            return None;
        }
        at = end;
    }
}

/// May be a banned character or the first byte of one.
#[inline]
fn is_suspect(byte: u8) -> bool {
    let plain = byte.cast_signed() >= 0x20 || (0x09..=0x0D).contains(&byte);
    !plain || byte == 0x7F
}

/// Characters that are not seen, or change what is seen around them: what Unicode calls format characters (Cf), line and
/// paragraph separators (Zl, Zp), and characters to be ignored where they cannot be shown (Default_Ignorable_Code_Point).
/// A test compares this with the tables of another package.
#[inline]
pub fn is_unseen(c: char) -> bool {
    !c.is_ascii() && is_unseen_elsewhere(c)
}

fn is_unseen_elsewhere(c: char) -> bool {
    matches!(c,
        '\u{ad}' | '\u{34f}' | '\u{600}'..='\u{605}' | '\u{61c}' | '\u{6dd}' | '\u{70f}' | '\u{890}'..='\u{891}' | '\u{8e2}'
        | '\u{115f}'..='\u{1160}' | '\u{17b4}'..='\u{17b5}' | '\u{180b}'..='\u{180f}' | '\u{200b}'..='\u{200f}'
        | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{3164}' | '\u{fe00}'..='\u{fe0f}' | '\u{feff}' | '\u{ffa0}'
        | '\u{fff0}'..='\u{fffb}' | '\u{110bd}' | '\u{110cd}' | '\u{13430}'..='\u{1343f}' | '\u{1bca0}'..='\u{1bca3}'
        | '\u{1d173}'..='\u{1d17a}' | '\u{e0000}'..='\u{e0fff}')
}
