//! Under a release nothing changes unseen: every token of a released machine taken away or changed, and every two records that
//! change places.
//!
//! Free, since a release does not rest on it, is what is listed in `FREE`; and of swaps those after which the machine's report
//! says the same and the lint too.
//!
//! `WAYLEDGER_SEALED_EDITS=n` tries so many random edits beside the plain ones; `.ci/run all` tries 100,000.

use std::collections::BTreeSet;
use std::ops::Range;

use rayon::prelude::*;
use wayledger::amounts::{Decimal, Moment};
use wayledger::files::Path;
use wayledger::kdl::{Document, NodeRef, ReadLimits, Value, read};
use wayledger::lint::{Grade, Judged, RuleGroup, judge_ledger, rule};
use wayledger::model::{Ledger, TextFile};
use wayledger::papers::report;
use wayledger::records::{Sealing, release};

use crate::common::machines::Dice;
use crate::common::today;

/// The texts, file by file: the shop, the machine, its records, the release, and what came later.
const FILES: [(&str, &str); 4] = [
    ("shop.kdl", include_str!("sealed_edits/shop.kdl")),
    ("machine.kdl", include_str!("sealed_edits/dock.kdl")),
    ("work.kdl", include_str!("sealed_edits/work.kdl")),
    ("more.kdl", include_str!("sealed_edits/more.kdl")),
];
const SHOP: usize = 0;
const RELEASE: usize = 4;

/// What a release does not rest on: the file, and what its line holds.
const FREE: [(usize, &str, &str); 3] = [
    (0, "shop \"Slip", "the shop's own name"),
    (1, "axis Y", "another axis"),
    (3, "fasten Y.other", "a record about another axis"),
];

type Texts = Vec<String>;

fn ledger(texts: &[String]) -> Ledger {
    let names = FILES.iter().map(|(name, _)| *name).chain(["release.kdl"]);
    let read = |(name, text): (&str, &String)| TextFile::read(Path(format!("m/{name}")), text.as_bytes().to_vec());
    let mut files: Vec<TextFile> = names.zip(texts).map(read).collect();
    let shop = files.remove(0);
    Ledger::new(Path("m".into()), files, &[shop])
}

fn judged(texts: &[String]) -> Judged {
    judge_ledger(ledger(texts), today())
}

fn released() -> Texts {
    let mut texts: Texts = FILES.iter().map(|(_, text)| (*text).to_string()).collect();
    let before = ledger(&texts);
    assert!(before.text_findings.is_empty(), "{:?}", before.text_findings);
    let moment = Moment::read("2026-04-20T12:00").expect("a moment");
    let notes = vec!["released with the drawing 44".into()];
    texts.push(release(&before, 0, &Sealing { notes, ..Sealing::new(moment, "engineer-1") }).text());
    texts
}

/// What is said of an altered release, and of text that cannot be what it was.
fn named(judged: &Judged) -> Vec<String> {
    let told = judged.findings.iter().chain(&judged.ledger.text_findings);
    let told = told.filter(|it| {
        let of_text = rule(it.rule.as_str()).is_some_and(|rule| rule.group == RuleGroup::Text);
        it.grade == Grade::Nonconformity && (of_text || ["release-altered", "date-order"].contains(&it.rule.as_str()))
    });
    told.map(|it| format!("{} {}: {}", it.rule, it.address, it.message)).collect()
}

fn nodes(document: &Document) -> impl Iterator<Item = NodeRef<'_>> {
    (0..document.len()).filter_map(|index| document.node(index))
}

/// A token of a text: where it stands with what belongs to it, and where its value stands.
struct Token {
    file: usize,
    whole: Range<usize>,
    value: Range<usize>,
}

fn tokens(texts: &[String]) -> Vec<Token> {
    let mut all = Vec::new();
    for (file, text) in texts.iter().enumerate() {
        let read = read(text.clone(), &ReadLimits::default());
        for node in nodes(&read.document) {
            let name = node.head().start as usize..node.head().start as usize + node.name().len();
            if text[name.clone()] == *node.name() {
                all.push(Token { file, whole: node.span().range(), value: name });
            }
            for entry in node.entries() {
                all.push(Token { file, whole: entry.span().range(), value: entry.value_span().range() });
            }
        }
    }
    all
}

/// Whether two spellings of a value are one value.
fn means_the_same(one: &str, other: &str) -> bool {
    let plain = |text: &str| {
        let read = read(format!("n {text}"), &ReadLimits::default());
        let node = read.document.nodes().next()?;
        match node.args().next()?.value() {
            Value::Text(text) => Some(text.to_string()),
            Value::Number(raw) => Some(Decimal::read(raw).map_or(raw.to_string(), |it| format!("{it:?}"))),
            other => Some(format!("{other:?}")),
        }
    };
    one == other || plain(one).is_some() && plain(one) == plain(other)
}

/// Whether two tokens are one number or word with quotes and without. A fact of a release says the same by both; a shop file
/// with a number in quotes has its finding where it is judged on its own, which is not done here.
fn differ_in_quotes(one: &str, other: &str) -> bool {
    one != other && one.trim_matches('"') == other.trim_matches('"')
}

/// The last digit is another one; a word is longer.
fn another(value: &str) -> String {
    match value.char_indices().rev().find(|(_, c)| c.is_ascii_digit()) {
        Some((at, '9')) => format!("{}8{}", &value[..at], &value[at + 1..]),
        Some((at, digit)) => format!("{}{}{}", &value[..at], char::from(digit as u8 + 1), &value[at + 1..]),
        None if value.ends_with('"') => format!("{}x\"", &value[..value.len() - 1]),
        None => format!("{value}x"),
    }
}

fn edited(texts: &[String], file: usize, at: &Range<usize>, now: &str) -> Texts {
    let mut texts = texts.to_vec();
    texts[file].replace_range(at.clone(), now);
    texts
}

/// Why an edit at a place is free.
fn free(texts: &[String], file: usize, at: usize) -> Option<usize> {
    let text = &texts[file];
    let line = text[..at].rfind('\n').map_or(0, |line| line + 1);
    let line = text[line..].lines().next().unwrap_or("");
    FREE.iter().position(|(of, holds, _)| *of == file && line.contains(holds))
}

/// Tries edits and returns how many were named, and what nobody named.
fn tried(texts: &[String], edits: &[(usize, Range<usize>, String)]) -> (usize, Vec<String>) {
    let told: Vec<Option<String>> = edits
        .par_iter()
        .map(|(file, at, now)| {
            let told = named(&judged(&edited(texts, *file, at, now)));
            told.is_empty().then(|| {
                let line = texts[*file][..at.start].matches('\n').count() + 1;
                format!("file {file} line {line}: `{}` -> `{now}`", &texts[*file][at.clone()])
            })
        })
        .collect();
    let missed: Vec<String> = told.into_iter().flatten().collect();
    (edits.len() - missed.len(), missed)
}

#[test]
fn every_token_of_a_released_machine_is_under_the_seal() {
    let texts = released();
    let plain = named(&judged(&texts));
    assert!(plain.is_empty(), "{plain:?}");
    let mut met = BTreeSet::new();
    let mut edits = Vec::new();
    for (at, token) in tokens(&texts).into_iter().enumerate() {
        // Of the release's own tokens, most of all, each kind is tried.
        if token.file == RELEASE && at % 5 > 0 && !texts[RELEASE][token.whole.clone()].starts_with("release ") {
            continue;
        }
        if let Some(why) = free(&texts, token.file, token.value.start) {
            met.insert(why);
            continue;
        }
        let now = another(&texts[token.file][token.value.clone()]);
        edits.push((token.file, token.value, now));
        // That a release is gone is for the history to say.
        if token.file != RELEASE || !texts[token.file][token.whole.clone()].starts_with("release ") {
            edits.push((token.file, token.whole, String::new()));
        }
    }
    assert!(edits.len() > 800, "{}", edits.len());
    let (told, missed) = tried(&texts, &edits);
    assert!(missed.is_empty(), "{} of {} not named:\n{}", missed.len(), told + missed.len(), missed.join("\n"));
    assert_eq!(met.len(), FREE.len(), "listed for nothing");
}

#[test]
fn a_token_in_the_place_of_another_is_named() {
    let wanted = std::env::var("WAYLEDGER_SEALED_EDITS").ok().and_then(|count| count.parse().ok());
    let count: usize = wanted.unwrap_or(300);
    let texts = released();
    let all: Vec<Token> =
        tokens(&texts).into_iter().filter(|it| free(&texts, it.file, it.value.start).is_none()).collect();
    let mut dice = Dice::new(20_260_420);
    let mut edits = Vec::new();
    while edits.len() < count {
        let [to, from] = [dice.pick(&all), dice.pick(&all)];
        let (was, now) = (&texts[to.file][to.value.clone()], &texts[from.file][from.value.clone()]);
        let in_quotes = [SHOP, RELEASE].contains(&to.file) && differ_in_quotes(was, now);
        if !in_quotes && !means_the_same(was, now) {
            edits.push((to.file, to.value.clone(), now.to_string()));
        }
    }
    let (told, missed) = tried(&texts, &edits);
    assert!(missed.is_empty(), "{} of {} not named:\n{}", missed.len(), told + missed.len(), missed.join("\n"));
}

/// What the report and the lint say, wherever and in whatever order.
fn state(judged: &Judged) -> serde_json::Value {
    fn plain(value: serde_json::Value) -> serde_json::Value {
        match value {
            serde_json::Value::Object(all) => {
                let all = all.into_iter().filter(|(key, _)| !["file", "line", "place"].contains(&key.as_str()));
                all.map(|(key, value)| (key, plain(value))).collect()
            }
            serde_json::Value::Array(all) => {
                let mut all: Vec<serde_json::Value> = all.into_iter().map(plain).collect();
                all.sort_by_key(ToString::to_string);
                all.into()
            }
            other => other,
        }
    }
    let mut found: Vec<String> =
        judged.findings.iter().map(|it| format!("{:?} {} {} {}", it.grade, it.rule, it.address, it.message)).collect();
    found.sort();
    plain(serde_json::json!({ "report": report(judged, today()), "found": found }))
}

#[test]
fn two_records_that_change_places_are_named_or_mean_the_same() {
    let texts = released();
    let before = state(&judged(&texts));
    let mut records: Vec<(usize, Range<usize>)> = Vec::new();
    for file in [2, 3] {
        let read = read(texts[file].clone(), &ReadLimits::default());
        records.extend(read.document.nodes().map(|node| (file, node.span().range())));
    }
    let mut pairs = Vec::new();
    for (at, first) in records.iter().enumerate() {
        pairs.extend(records[at + 1..].iter().map(|second| (first, second)));
    }
    assert!(pairs.len() > 400, "{}", pairs.len());
    let told: Vec<(String, usize)> = pairs
        .par_iter()
        .map(|(first, second)| {
            let of = |(file, at): &(usize, Range<usize>)| texts[*file][at.clone()].to_string();
            // The later place first, so that the earlier one stays where it is.
            let swapped = edited(&edited(&texts, second.0, &second.1, &of(first)), first.0, &first.1, &of(second));
            let judged = judged(&swapped);
            let what = format!("{}\n  <-> {}", of(first), of(second));
            match named(&judged) {
                told if !told.is_empty() => {
                    (what, told.iter().filter(|it| it.contains("no longer certainly does")).count())
                }
                _ if state(&judged) == before => (String::new(), 0),
                _ => (format!("NOT NAMED {what}"), 0),
            }
        })
        .collect();
    let missed: Vec<&str> = told.iter().map(|(what, _)| what.as_str()).filter(|it| it.starts_with("NOT")).collect();
    assert!(missed.is_empty(), "{}:\n{}", missed.len(), missed.join("\n"));
    // The shims of one day, which only their order tells apart; and independent work, which is free.
    let of = |one: &str, other: &str| {
        let (what, swaps) = told.iter().find(|(what, _)| what.contains(one) && what.contains(other)).expect("tried");
        assert!(*swaps > 0, "{what}");
    };
    of("{ at S3 0.05 }", "{ at S3 0.02 }");
    of("{ at 200 14; at 900 15 }", "{ at 200 13; at 900 16 }");
    of("accepts=96", "accepts=95");
    let free = told.iter().filter(|(what, _)| what.is_empty()).count();
    assert!(free >= 3, "{free}");
}

#[test]
fn a_record_of_another_axis_put_above_one_changes_no_order_unseen() {
    let texts = released();
    let before = state(&judged(&texts));
    let mut named_ones = 0;
    for (file, text) in [(2, &texts[2]), (3, &texts[3])] {
        for at in std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)) {
            for day in ["2026-04-14", "2026-04-15", "2026-04-17", "2026-04-18"] {
                let other = format!("loosen Y.other date=\"{day}T23:50\" by=fitter-2 reason=\"a seat\" {{ at S1 }}\n");
                let put_in = judged(&edited(&texts, file, &(at..at), &other));
                let told = named(&put_in);
                named_ones += usize::from(!told.is_empty());
                let axis = |state: &serde_json::Value| state["report"]["axes"][0].clone();
                if told.is_empty() {
                    let after = state(&put_in);
                    let axes = [&before, &after].map(axis);
                    let x = |all: &serde_json::Value| {
                        let axes = all["report"]["axes"].as_array().cloned().unwrap_or_default();
                        axes.into_iter().find(|axis| axis["name"] == "X")
                    };
                    assert_eq!(x(&before), x(&after), "{other} at {at}: {axes:?}");
                }
            }
        }
    }
    assert!(named_ones > 20, "{named_ones}");
}

#[test]
fn what_files_are_called_and_which_one_a_record_stands_in_is_free() {
    let texts = released();
    let day = texts[2].find("running-force X").expect("there");
    // Whole days of records moved to the end of another file.
    let mut moved = texts.clone();
    let later = moved[2].split_off(day);
    let void = moved[3].find("void ").expect("there");
    moved[3].insert_str(void, &later);
    assert_eq!(named(&judged(&moved)), Vec::<String>::new());
}
