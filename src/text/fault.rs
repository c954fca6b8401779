//! What can be wrong with a text as such, in words for the person who wrote it.

use super::span::Span;

/// One mistake in the text. It never hides another one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// What is wrong.
    pub kind: FaultKind,
    /// The characters that are wrong.
    pub span: Span,
    /// A second place that explains it, with a label.
    pub also: Option<(Span, &'static str)>,
}

/// What is wrong. The strings are the text as written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum FaultKind {
    /// Nothing was read.
    TooLarge {
        /// Its bytes.
        size: u64,
        /// The most that are read.
        most: u64,
    },
    /// Read up to this byte.
    NotUtf8 {
        /// The first byte that is none.
        byte: u8,
    },
    /// Nothing was read.
    Utf16,
    /// A character that KDL refuses everywhere, comments too.
    Banned(char),
    /// The file says that it is KDL 1.
    VersionOne,
    /// Blocks lie too deep in one another.
    TooDeep {
        /// The deepest that is read.
        most: u16,
    },
    /// Nodes or entries; the rest of the file was not read.
    TooMany {
        /// The most that are read.
        most: usize,
    },
    /// Further faults were not listed.
    TooManyFaults {
        /// The most that are told.
        most: usize,
    },

    /// The block of this node has no closing brace.
    UnclosedBlock(String),
    /// A closing brace with no block to close.
    SurplusBrace,
    /// The string stops at the end of its line.
    UnclosedString,
    /// A string in three quotes, or with `#`, that has no end.
    UnclosedLongString,
    /// A comment has no end.
    UnclosedComment,
    /// A type annotation has no end.
    UnclosedType,

    /// A number that cannot be read, as it is written.
    BadNumber(String),
    /// Characters that cannot stand in a word without quotes.
    BadWord(String),
    /// `true` without its `#`.
    BareKeyword(String),
    /// `#yes`
    UnknownKeyword(String),
    /// Something that can begin neither a name nor a value.
    Stray(String),
    /// A backslash that continues no line.
    StrayBackslash,
    /// A semicolon that ends nothing.
    StraySemicolon,

    /// A node or property whose name is a number or keyword.
    ValueAsName(String),
    /// `{` where a node's name belongs.
    BlockWithoutName,
    /// `name=value` where a node belongs.
    PropertyAsNode(String),
    /// `(type)` with no name or value behind it.
    TypeWithoutValue,
    /// A type annotation without a word.
    EmptyType,
    /// `(type)name=value`
    TypeBeforeName {
        /// What stands in the brackets.
        ty: String,
        /// The name behind them.
        name: String,
    },
    /// `name=` and nothing.
    MissingValue(String),
    /// Two things stand side by side without a space.
    MissingSpace,
    /// Something on the same line behind a block.
    AfterBlock,
    /// A node has a second block.
    SecondBlock,
    /// `/-` with nothing behind it to leave out.
    SlashdashNothing,
    /// `/-` where nothing can be left out.
    SlashdashMisplaced,

    /// An escape that means nothing.
    BadEscape(String),
    /// `"""` with text behind it on its line.
    LongStringStart,
    /// Text before the closing `"""`.
    LongStringEnd,
    /// A line that does not begin with the spaces that stand before the closing `"""`.
    LongStringIndent,
    /// `r"…"`, as KDL 1 spelt it.
    OldRawString,
}

impl FaultKind {
    /// What stands behind it, or all of the file, was not read.
    pub fn leaves_unread(&self) -> bool {
        use FaultKind::{NotUtf8, TooLarge, TooMany, Utf16};
        matches!(self, TooLarge { .. } | TooMany { .. } | NotUtf8 { .. } | Utf16)
    }
}

impl Fault {
    pub(super) fn new(kind: FaultKind, span: Span) -> Fault {
        Fault { kind, span, also: None }
    }

    /// What is wrong, in one sentence without a full stop.
    pub fn message(&self) -> String {
        use FaultKind::*;
        match &self.kind {
            TooLarge { size, most } => format!("the file has {size} bytes; at most {most} are read"),
            NotUtf8 { byte } => format!("the byte 0x{byte:02X} is not UTF-8 text"),
            Utf16 => "the file is UTF-16, not UTF-8".into(),
            Banned('\u{FEFF}') => "a byte order mark stands inside the text".into(),
            Banned(c) => format!("the invisible character U+{:04X} is not allowed", u32::from(*c)),
            VersionOne => "the file says it is KDL version 1".into(),
            TooDeep { most } => format!("blocks are nested more than {most} deep"),
            TooMany { most } => format!("the file has more than {most} nodes or values"),
            TooManyFaults { most } => format!("more than {most} mistakes; the rest is not listed"),
            UnclosedBlock(name) if name.is_empty() => "this block is never closed".into(),
            UnclosedBlock(name) => format!("the block of `{name}` is never closed"),
            SurplusBrace => "this closing brace has no block to close".into(),
            UnclosedString => "the string is not closed on its line".into(),
            UnclosedLongString => "the string is never closed".into(),
            UnclosedComment => "the comment is never closed".into(),
            UnclosedType => "the parenthesis is not closed".into(),
            BadNumber(raw) => format!("`{raw}` is not a number"),
            BadWord(raw) => format!("`{raw}` needs quotes"),
            BareKeyword(raw) => format!("`{raw}` stands without its `#`"),
            UnknownKeyword(raw) => format!("`{raw}` is not a known keyword"),
            Stray(raw) => format!("`{raw}` cannot stand here"),
            StrayBackslash => "a `\\` may only stand at the end of a line".into(),
            StraySemicolon => "this `;` ends nothing".into(),
            ValueAsName(raw) => format!("`{raw}` cannot be a name"),
            BlockWithoutName => "a block begins without a name before it".into(),
            PropertyAsNode(name) => format!("`{name}=` stands where a line's first word belongs"),
            TypeWithoutValue => "nothing stands behind the parentheses".into(),
            EmptyType => "the parentheses are empty".into(),
            TypeBeforeName { ty, name } => format!("`({ty})` stands before the name `{name}`, not before its value"),
            MissingValue(name) => format!("`{name}=` has no value"),
            MissingSpace => "a space is missing here".into(),
            AfterBlock => "something follows the closing brace on its line".into(),
            SecondBlock => "a second block on the same node".into(),
            SlashdashNothing => "nothing follows `/-`".into(),
            SlashdashMisplaced => "`/-` cannot stand here".into(),
            BadEscape(raw) => format!("`{raw}` means nothing inside a string"),
            LongStringStart => "text stands on the line of the opening `\"\"\"`".into(),
            LongStringEnd => "text stands on the line of the closing `\"\"\"`".into(),
            LongStringIndent => "this line is indented less than the closing `\"\"\"`".into(),
            OldRawString => "`r` before a string is the old spelling".into(),
        }
    }

    /// What to do about it.
    pub fn help(&self) -> String {
        use FaultKind::*;
        match &self.kind {
            TooLarge { .. } => "split the file: every `.kdl` file of the folder is read".into(),
            NotUtf8 { byte } => match old_letter(*byte) {
                Some(letter) => format!(
                    "it may be a `{letter}` from an old Windows encoding: save the file as UTF-8; \
                     what stands behind it was not read"
                ),
                None => "save the file as UTF-8; what stands behind it was not read".into(),
            },
            Utf16 => "save the file as UTF-8".into(),
            Banned(_) => "delete it; it often comes along when text is copied from a web page or a PDF".into(),
            VersionOne => "rewrite it as KDL 2 (`#true`, `#null`, `#\"raw\"#`) and say `/- kdl-version 2`".into(),
            TooDeep { .. } => "check for a closing brace that is missing again and again".into(),
            TooMany { .. } => "split the file: every `.kdl` file of the folder is read".into(),
            TooManyFaults { .. } => "mend the first ones and run again".into(),
            UnclosedBlock(_) => "add a `}` where the block ends".into(),
            SurplusBrace => "delete it, or find the `{` that is missing above".into(),
            UnclosedString => "add the closing `\"`; text of several lines stands between `\"\"\"` and `\"\"\"`".into(),
            UnclosedLongString => "close it with the same quotes and `#` it began with".into(),
            UnclosedComment => "add a `*/`; every `/*` inside needs its own".into(),
            UnclosedType => "write the unit or type as `(mm)`, with nothing else inside".into(),
            BadNumber(raw) => number_help(raw),
            BadWord(raw) => format!("write {}", super::quoted(raw)),
            BareKeyword(raw) => format!("write `#{raw}`, or `\"{raw}\"` if the word itself is meant"),
            UnknownKeyword(raw) if raw == "#" => "a remark begins with `//`; a `#` in a text needs quotes".into(),
            UnknownKeyword(_) => {
                "there are `#true`, `#false`, `#null`, `#inf`, `#-inf` and `#nan`; text needs quotes".into()
            }
            Stray(raw) => match raw.as_str() {
                "=" => "a property is one name, one `=` and one value".into(),
                _ => format!("delete it, or put the text in quotes: {}", super::quoted(raw)),
            },
            StrayBackslash => "delete it, or put the text in quotes and write `\\\\` for each `\\`".into(),
            StraySemicolon => "delete it".into(),
            ValueAsName(raw) => format!("begin with a word; if it is one, write {}", super::quoted(raw)),
            BlockWithoutName => "write the name before the `{`, on the same line".into(),
            PropertyAsNode(name) => {
                format!("write `{name}` and a space before the value, or move it to the end of the line it belongs to")
            }
            TypeWithoutValue => "write the value directly behind, as in `(mm)0.02`".into(),
            EmptyType => "write the unit or type inside, as in `(mm)0.02`, or delete them".into(),
            TypeBeforeName { ty, name } => format!("write `{name}=({ty})` and then the value"),
            MissingValue(name) => format!("write the value directly behind `{name}=`, or delete it"),
            MissingSpace => "put a space between the two".into(),
            AfterBlock => "begin a new line here".into(),
            SecondBlock => "put everything into one block".into(),
            SlashdashNothing => {
                "`/-` leaves out the node, value or block behind it: write one, or delete the `/-`".into()
            }
            SlashdashMisplaced => "put the `/-` before the whole node, value or property".into(),
            BadEscape(_) => "write `\\\\` for a `\\` itself; known are `\\n \\r \\t \\s \\b \\f \\\" \\u{…}`".into(),
            LongStringStart => "begin the text on the next line, or use one `\"` on each side".into(),
            LongStringEnd => "put the closing quotes on a line of their own".into(),
            LongStringIndent => {
                "begin every line of the text with the spaces that stand before the closing quotes".into()
            }
            OldRawString => "write `#\"…\"#`, or `\"…\"` if there is no `\\` in it".into(),
        }
    }
}

/// The letters most often met in a workshop's old files (Windows code page 1252).
fn old_letter(byte: u8) -> Option<char> {
    match byte {
        0x91 | 0x92 => Some('\''),
        0x93 | 0x94 => Some('"'),
        0x96 => Some('–'),
        0x80 => Some('€'),
        0xA0..=0xFF => Some(byte as char),
        _ => None,
    }
}

/// What was probably meant by something that begins like a number.
fn number_help(raw: &str) -> String {
    let quoted = super::quoted(raw);
    if is_date(raw) {
        return format!("a date needs quotes: {quoted}");
    }
    let plain = |s: &str| !s.is_empty() && s.bytes().all(|b| b.is_ascii_digit());
    let unsigned = raw.trim_start_matches(['+', '-']);
    if let Some((whole, rest)) = unsigned.split_once(',')
        && plain(whole)
        && plain(rest)
    {
        return format!("write the decimals behind a point: {}", raw.replace(',', "."));
    }
    if let Some((over, under)) = unsigned.split_once('/')
        && plain(over)
        && plain(under)
    {
        return "write the fraction as a decimal number, as in `(in)0.0625` for 1/16".into();
    }
    if let Some(digits) = unsigned.strip_prefix('.')
        && plain(digits)
    {
        return format!("write a 0 before the point: {}", raw.replacen('.', "0.", 1));
    }
    let end = unsigned.find(|c: char| !c.is_ascii_digit() && !matches!(c, '.' | '_')).unwrap_or(unsigned.len());
    let (number, unit) = unsigned.split_at(end);
    let sign = &raw[..raw.len() - unsigned.len()];
    let unit = unit.trim_matches(['(', ')']);
    if !unit.is_empty() && number.bytes().next_back().is_some_and(|b| b.is_ascii_digit()) {
        let unit = match unit {
            "\"" => "in",
            "µm" | "μm" => "um",
            "Nm" | "N·m" | "nm" | "NM" => "N.m",
            "°C" | "C" => "degC",
            other => other,
        };
        if unit.chars().all(|c| c.is_alphabetic() || matches!(c, '.' | '-')) {
            return format!("write the unit in front: ({unit}){sign}{number}");
        }
    }
    format!("write digits with one point, as in `0.02`; for a text: {quoted}")
}

/// Shaped like YYYY-MM-DD, with or without a time.
fn is_date(raw: &str) -> bool {
    let bytes = raw.as_bytes();
    bytes.len() >= 8
        && bytes.iter().all(|b| b.is_ascii_digit() || matches!(b, b'-' | b'.' | b'T' | b':' | b'Z' | b'+' | b'/'))
        && bytes.iter().filter(|b| matches!(b, b'-' | b'.' | b'/')).count() >= 2
        && bytes[0].is_ascii_digit()
}
