//! Each output read back by somebody else's reader: it holds what we wrote, and nothing that a text brought along.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::LazyLock;

use html5gum::{Token, Tokenizer};
use pulldown_cmark::{Event, Options, Parser, Tag};
use regex::Regex;

/// Who reads an output.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Reader {
    Terminal,
    ColourTerminal,
    Json,
    JsonLines,
    Github,
    Markdown,
    Html,
    Csv,
    Dxf,
    Kdl,
}

/// Everything that is wrong with an output.
pub(crate) fn wrong(reader: Reader, text: &str) -> Vec<String> {
    let mut wrong = Vec::new();
    let plain = if reader == Reader::ColourTerminal { colours().replace_all(text, "") } else { text.into() };
    if let Some(found) = UNSEEN.find(&plain.replace(['\n', '\t'], "")).map(|it| it.as_str().to_owned())
        && !(reader == Reader::Csv && found == "\r")
        && !(reader == Reader::Markdown && found == "\u{2060}")
    {
        wrong.push(format!("a character that is not seen: {found:?}"));
    }
    for whole in plain.lines() {
        let line = whole.trim_start();
        let own = ["##[", "##vso[", "::error file=x"].iter().find(|it| line.starts_with(**it));
        // What a command printed begins a line; a long line that we break goes on with spaces.
        let own = own.or_else(|| ["INJECTED"].iter().find(|it| whole.starts_with(**it)));
        if let Some(own) = own {
            wrong.push(format!("a line of its own: {own}"));
        }
    }
    match reader {
        Reader::Terminal | Reader::ColourTerminal => {}
        Reader::Json => wrong.extend(serde_json::from_str::<serde_json::Value>(text).err().map(|why| why.to_string())),
        Reader::JsonLines => {
            let lines = text.lines().map(serde_json::from_str::<serde_json::Value>);
            wrong.extend(lines.filter_map(|line| line.err().map(|why| why.to_string())));
        }
        Reader::Github => {
            let command = Regex::new(r"^::((error|warning|notice) file=[^:,]+,|notice title=more annotations::\d)")
                .expect("a pattern");
            wrong.extend(text.lines().filter(|line| !command.is_match(line)).map(|line| format!("no command: {line}")));
        }
        Reader::Markdown => markdown(text, &mut wrong),
        Reader::Html => html(text, &mut wrong),
        Reader::Csv => csv(text, &mut wrong),
        Reader::Dxf => dxf(text, &mut wrong),
        Reader::Kdl => wrong.extend(text.parse::<kdl::KdlDocument>().err().map(|why| format!("no KDL: {why:?}"))),
    }
    wrong
}

/// What Unicode says is not seen, or turns or steers.
static UNSEEN: LazyLock<Regex> =
    LazyLock::new(|| Regex::new(r"[\p{Cc}\p{Cf}\p{Zl}\p{Zp}\p{Default_Ignorable_Code_Point}]").expect("a pattern"));

/// Our own colours, and nothing else that begins with an escape.
fn colours() -> Regex {
    Regex::new("\u{1b}\\[[0-9;]*m").expect("a pattern")
}

fn markdown(text: &str, wrong: &mut Vec<String>) {
    static OURS: LazyLock<Regex> = LazyLock::new(|| {
        Regex::new(r"^\s*(<!--[^>]*-->|</?details>|(<details>)?<summary>[^<]*</summary>|<br>)\s*$").expect("a pattern")
    });
    static PIECE: LazyLock<Regex> = LazyLock::new(|| Regex::new("^zq-[a-z]+( zq7)?$").expect("a pattern"));
    let options =
        Options::ENABLE_TABLES | Options::ENABLE_STRIKETHROUGH | Options::ENABLE_MATH | Options::ENABLE_TASKLISTS;
    // Elements that are open, with the text in them so far.
    let mut inside: Vec<(bool, String)> = Vec::new();
    for event in Parser::new_ext(text, options) {
        match event {
            Event::Html(html) | Event::InlineHtml(html) if !OURS.is_match(&html) => wrong.push(format!("HTML: {html}")),
            Event::Code(code) if code.starts_with("zq-") => wrong.push(format!("code: {code}")),
            Event::InlineMath(it) | Event::DisplayMath(it) => wrong.push(format!("mathematics: {it}")),
            Event::FootnoteReference(it) => wrong.push(format!("a footnote: {it}")),
            Event::Start(tag) => {
                if matches!(tag, Tag::Link { .. } | Tag::Image { .. } | Tag::Strikethrough | Tag::BlockQuote(_)) {
                    wrong.push(format!("{tag:?}"));
                }
                let cell = matches!(tag, Tag::TableCell | Tag::Table(_) | Tag::TableRow | Tag::TableHead);
                inside.push((!cell, String::new()));
            }
            // Inside a structure of ours a hostile text is longer than the piece that would have made one.
            Event::End(_) => {
                let (structure, text) = inside.pop().expect("it was opened");
                if structure && PIECE.is_match(text.trim()) {
                    wrong.push(format!("it made a structure: {text}"));
                }
                if let Some((_, outer)) = inside.last_mut() {
                    outer.push_str(&text);
                }
            }
            Event::Text(text) | Event::Code(text) => {
                if let Some((_, all)) = inside.last_mut() {
                    all.push_str(&text);
                }
            }
            _ => {}
        }
    }
    // What is beyond the columns of a table is dropped by readers, so bars are counted in the text.
    let mut wide = None;
    for line in text.lines() {
        if !line.starts_with('|') {
            wide = None;
            continue;
        }
        let bars = line.replace("\\\\", "").replace("\\|", "").matches('|').count();
        if *wide.get_or_insert(bars) != bars {
            wrong.push(format!("a table's row with other columns: {line}"));
        }
    }
    // What review pages link by themselves.
    static CODE: LazyLock<Regex> = LazyLock::new(|| Regex::new("`[^`\n]*`").expect("a pattern"));
    let spoken = CODE.replace_all(text, "");
    for link in ["https://h/", "www.h", " @zq", " #12"] {
        if spoken.contains(link) {
            let at = spoken.lines().find(|line| line.contains(link)).unwrap_or_default();
            wrong.push(format!("a review page links `{link}`: {at}"));
        }
    }
}

/// The elements and attributes of our pages: what a clean ledger gives, looked over by hand once.
const ELEMENTS: &[&str] = &[
    "html",
    "head",
    "meta",
    "title",
    "style",
    "body",
    "header",
    "main",
    "footer",
    "section",
    "article",
    "div",
    "span",
    "p",
    "h1",
    "h2",
    "h3",
    "h4",
    "ul",
    "ol",
    "li",
    "dl",
    "dt",
    "dd",
    "table",
    "caption",
    "colgroup",
    "col",
    "thead",
    "tbody",
    "tr",
    "th",
    "td",
    "figure",
    "figcaption",
    "strong",
    "em",
    "b",
    "small",
    "code",
    "br",
    "hr",
    "svg",
    "g",
    "line",
    "rect",
    "circle",
    "path",
    "polyline",
    "polygon",
    "text",
    "title",
    "desc",
    "defs",
    "pattern",
    "tspan",
    "aside",
    "a",
    "nav",
    "details",
    "summary",
    "pre",
];
const VOID: &[&str] = &["meta", "br", "hr", "col", "img", "link", "input"];
/// Attributes that may hold text of a ledger.
const TEXT: &[&str] = &["aria-label", "title", "alt", "content"];

fn html(text: &str, wrong: &mut Vec<String>) {
    let mut open: Vec<String> = Vec::new();
    let mut counts: BTreeMap<String, usize> = BTreeMap::new();
    let bytes = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    for token in Tokenizer::new(text) {
        match token.expect("memory can be read") {
            Token::StartTag(tag) => {
                let name = bytes(&tag.name);
                if !ELEMENTS.contains(&name.as_str()) {
                    wrong.push(format!("an element <{name}>"));
                }
                for (key, value) in &tag.attributes {
                    let (key, value) = (bytes(key), bytes(value));
                    let active =
                        key.starts_with("on") || ["href", "src", "style", "srcset", "action"].contains(&key.as_str());
                    let fixed = key == "style" && !value.contains("zq") || key == "href" && value.starts_with("#s");
                    if active && !fixed || value.contains("zq") && !TEXT.contains(&key.as_str()) {
                        wrong.push(format!("<{name}> has {key}={value:?}"));
                    }
                    if key.contains("zq") || key == "x" && value == "y" {
                        wrong.push(format!("<{name}> has the attribute {key}"));
                    }
                }
                *counts.entry(name.clone()).or_default() += 1;
                if !tag.self_closing && !VOID.contains(&name.as_str()) {
                    open.push(name);
                }
            }
            Token::EndTag(tag) => {
                let name = bytes(&tag.name);
                if open.pop().as_deref() != Some(&name) {
                    wrong.push(format!("</{name}> closes nothing of ours"));
                }
            }
            Token::Comment(comment) if bytes(&comment).contains("zq") => wrong.push("a comment".into()),
            Token::Error(error) => wrong.push(format!("no right HTML: {error:?}")),
            _ => {}
        }
    }
    if !open.is_empty() {
        wrong.push(format!("left open: {open:?}"));
    }
    for one in ["title", "style", "body"] {
        let outside_pictures = one != "title" || !counts.contains_key("svg");
        if outside_pictures && counts.get(one).is_some_and(|count| *count > 1) {
            wrong.push(format!("more than one <{one}>"));
        }
    }
}

fn csv(text: &str, wrong: &mut Vec<String>) {
    let number = Regex::new(r"^[-+]?[0-9]+(\.[0-9]+)?$").expect("a pattern");
    // Also as a spreadsheet of another country or a careless one takes it apart.
    for separator in [b',', b';', b'\t'] {
        let mut reader = csv::ReaderBuilder::new();
        let mut reader =
            reader.has_headers(false).delimiter(separator).flexible(separator != b',').from_reader(text.as_bytes());
        for row in reader.records() {
            match row {
                Err(why) => wrong.push(format!("no CSV: {why}")),
                Ok(row) => {
                    let formula =
                        |cell: &&str| cell.starts_with(['=', '+', '-', '@', '\t', '\r', '\n', '＝', '＋', '－', '＠']);
                    let bad = row.iter().filter(formula).filter(|cell| !number.is_match(cell));
                    wrong.extend(
                        bad.map(|cell| format!("a formula, cells parted by {:?}: {cell}", char::from(separator))),
                    );
                }
            }
        }
    }
}

fn dxf(text: &str, wrong: &mut Vec<String>) {
    let lines: Vec<&str> = text.lines().collect();
    let pairs: Vec<(&str, &str)> = lines.chunks(2).map(|pair| (pair[0], *pair.last().expect("one"))).collect();
    if !lines.len().is_multiple_of(2) || pairs.iter().any(|(code, _)| code.trim().parse::<u16>().is_err()) {
        wrong.push("no pairs of codes and values".into());
    }
    if pairs.iter().filter(|pair| **pair == ("0", "EOF")).count() != 1 || pairs.last() != Some(&("0", "EOF")) {
        wrong.push("another end than its own".into());
    }
}

/// All strings of a JSON text.
pub(crate) fn strings(value: &serde_json::Value, all: &mut BTreeSet<String>) {
    match value {
        serde_json::Value::String(text) => drop(all.insert(text.clone())),
        serde_json::Value::Array(values) => values.iter().for_each(|value| strings(value, all)),
        serde_json::Value::Object(values) => {
            for (key, value) in values {
                all.insert(key.clone());
                strings(value, all);
            }
        }
        _ => {}
    }
}
