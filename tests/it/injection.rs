//! No text of a ledger becomes more than text: hostile texts in every place of the language, in file, folder and
//! revision names, through every output, each read back by a reader that we did not write.
//!
//! `WAYLEDGER_INJECTIONS=99` tries every text in every place, a smaller number so many; else a share of the places gets one,
//! in turn.

#[cfg(unix)]
mod commands;
pub(crate) mod fields;
mod readers;
mod strings;

use std::collections::{BTreeMap, BTreeSet};

use fields::{Field, planted};
use readers::{Reader, wrong};
use strings::{ALL, TOKEN};
use wayledger::files::Path;
use wayledger::format::{
    ReadingFormat, Style, comparison_comment, comparison_paper, fleet_paper, html, json, limits_in_force, markdown,
    plain, report_paper, report_summary, trace_json, trace_paper,
};
use wayledger::lint::{Case, Judged, judge_ledger};
use wayledger::model::{Ledger, Target, TextFile};
use wayledger::papers::{COMPARISON_FORMAT, Comparison, Fleet, Tracing, compare, quantities, report, trace, traveler};

use crate::common::{share, today};
use crate::fuzz::lint::pieces;

/// Something for everybody, in a name too.
const EVERYTHING: &str = "zq7\u{1b}[31m\u{9b}\u{202e}\u{200b}\nINJECTED <script>zq()</script>\" x='y' [zq-link](javascript:zq) **zq-strong** `zq-code` | zq-cell ;=zq() {0} %0A::error::x @zq #12 */ } { \\";

fn judged(folder: &str, file: &str, text: &str) -> Judged {
    let read = TextFile::read(Path(format!("{folder}/{file}")), text.as_bytes().to_vec());
    judge_ledger(Ledger::new(Path(folder.into()), vec![read], &[]), today())
}

fn array(pieces: &[String]) -> String {
    format!("[{}]", pieces.join(","))
}

fn printed(write: impl FnOnce(&mut Vec<u8>)) -> String {
    let mut out = Vec::new();
    write(&mut out);
    String::from_utf8(out).expect("it is UTF-8")
}

/// Every output of a ledger that needs no more than the library.
fn outputs(it: Judged, hostile: &str) -> Vec<(&'static str, Reader, String)> {
    let pretty = |value: &dyn Fn() -> serde_json::Result<String>| value().expect("it is JSON");
    let mut all = vec![
        ("lint", Reader::Terminal, pieces("text", &it, Style::default()).concat()),
        ("lint, coloured", Reader::ColourTerminal, pieces("text", &it, Style { colour: true, width: 100 }).concat()),
        ("lint json", Reader::Json, pieces("json", &it, Style::default()).concat()),
        ("lint github", Reader::Github, pieces("github", &it, Style::default()).concat()),
        ("lint gitlab", Reader::Json, array(&pieces("gitlab", &it, Style::default()))),
        // What stands around the results is the same for every ledger, and long.
        ("lint sarif", Reader::Json, array(&pieces("sarif", &it, Style::default()))),
        ("rules --in-force", Reader::Terminal, limits_in_force(&it.ledger)),
    ];
    let one = report(&it, today());
    all.extend([
        ("report", Reader::Terminal, plain(&report_summary(&one))),
        ("report markdown", Reader::Markdown, markdown(&report_paper(&one))),
        ("report html", Reader::Html, html(&report_paper(&one))),
        ("report json", Reader::Json, pretty(&|| json(&one))),
    ]);
    let mut many = Fleet::new(today());
    many.add(&it, today());
    many.add(&judged("other", "machine.kdl", "machine other { axis Y { rail a { segment 1 } } }"), today());
    all.extend([
        ("report of many", Reader::Terminal, plain(&fleet_paper(&many))),
        ("report of many markdown", Reader::Markdown, markdown(&fleet_paper(&many))),
        ("report of many html", Reader::Html, html(&fleet_paper(&many))),
        ("report of many json", Reader::Json, pretty(&|| json(&many))),
    ]);
    for axis in 0..it.ledger.machine.axes.len() {
        let sheet = traveler(&it, axis, today(), false);
        all.push(("traveler markdown", Reader::Markdown, markdown(&sheet)));
        all.push(("traveler html", Reader::Html, html(&sheet)));
    }
    {
        let tracing = Tracing::new(if hostile.len().is_multiple_of(2) { hostile } else { "31" }, None);
        let found = [trace(&it, &tracing)];
        all.extend([
            ("trace", Reader::Terminal, plain(&trace_paper(&tracing, &found))),
            ("trace markdown", Reader::Markdown, markdown(&trace_paper(&tracing, &found))),
            ("trace html", Reader::Html, html(&trace_paper(&tracing, &found))),
            ("trace json", Reader::Json, pretty(&|| json(&trace_json(&tracing, &found)))),
        ]);
    }
    all.extend([
        (
            "export csv",
            Reader::Csv,
            printed(|out| {
                out.extend(ReadingFormat::Delimited.head().into_bytes());
                out.extend(ReadingFormat::Delimited.rows(&it).expect("written"));
            }),
        ),
        (
            "export jsonl",
            Reader::JsonLines,
            printed(|out| {
                out.extend(ReadingFormat::JsonLines.rows(&it).expect("written"));
            }),
        ),
    ]);
    let case = Case::new(&it.ledger, today());
    for (id, ..) in it.ledger.machine.rails() {
        for quantity in quantities(&case, Target::Rail(id)) {
            let text = quantity.how.to_text(|_| wayledger::format::clean(hostile).into_owned());
            let lines: String = text.lines().map(|line| format!("{}\n", wayledger::format::clean(line))).collect();
            all.push(("how", Reader::Terminal, lines));
        }
    }
    let other = vec![judged("m", "machine.kdl", "machine saw { axis Y { } }")];
    {
        let (old, new) = if hostile.len().is_multiple_of(3) { (vec![it], other) } else { (other, vec![it]) };
        let (ledgers, rewritten) = compare(old, new);
        let both = Comparison {
            format: COMPARISON_FORMAT,
            before: hostile.to_owned(),
            after: "the work tree".into(),
            judged_by: today().to_string(),
            ledgers,
            rewritten,
            calendar: None,
        };
        all.extend([
            ("compare", Reader::Terminal, plain(&comparison_paper(&both))),
            ("compare markdown", Reader::Markdown, comparison_comment(&both)),
            ("compare html", Reader::Html, html(&comparison_paper(&both))),
            ("compare json", Reader::Json, pretty(&|| json(&both))),
        ]);
    }
    all
}

/// What came of many tries.
#[derive(Default)]
struct Seen {
    tries: usize,
    /// Outputs, and how often a hostile text arrived in them.
    arrived: BTreeMap<&'static str, usize>,
    wrong: BTreeMap<(&'static str, String), String>,
}

impl Seen {
    fn look(&mut self, place: &str, hostile: &str, ledger: Judged) {
        for (name, reader, text) in outputs(ledger, hostile) {
            self.tries += 1;
            *self.arrived.entry(name).or_default() += usize::from(text.contains(TOKEN));
            for what in wrong(reader, &text) {
                let what: String = what.chars().take(300).collect();
                let kind: String = what.chars().take(24).collect();
                self.wrong.entry((name, kind)).or_insert_with(|| format!("{place}, {hostile:?}: {what:?}"));
            }
            if matches!(reader, Reader::Json) {
                self.whole(name, place, hostile, &text);
            }
        }
    }

    /// In JSON a text comes back as it was, or with what is not seen written out.
    fn whole(&mut self, name: &'static str, place: &str, hostile: &str, text: &str) {
        let Ok(value) = serde_json::from_str(text) else { return };
        let mut all = BTreeSet::new();
        readers::strings(&value, &mut all);
        let ways = [hostile.to_owned(), wayledger::format::clean(hostile).into_owned()];
        let start: String = hostile.chars().take(4).collect();
        let cut = all
            .iter()
            .find(|it| it.as_str() != hostile && it.starts_with(&start) && it.len() < 8 && hostile.len() > 16);
        let found = all.iter().any(|it| ways.iter().any(|way| it.contains(way.as_str())));
        if cut.is_some() && !found {
            self.wrong.entry((name, "cut".into())).or_insert_with(|| format!("{place}, {hostile:?}: {cut:?}"));
        }
    }

    #[track_caller]
    fn done(&self, what: &str) {
        crate::injection::tell(&format!("{what}: {} outputs read back", self.tries));
        let all: String = self.wrong.iter().map(|((name, _), what)| format!("{name}: {what}\n")).collect();
        assert!(self.wrong.is_empty(), "{} things came through:\n{all}", self.wrong.len());
        let never: Vec<_> = self.arrived.iter().filter(|(_, times)| **times == 0).collect();
        assert!(never.is_empty(), "no text ever arrived in {never:?}: then this proves nothing");
    }
}

/// How many texts are to be tried in every place; 0 where nothing is asked for.
fn every() -> usize {
    std::env::var("WAYLEDGER_INJECTIONS").ok().and_then(|texts| texts.parse().ok()).unwrap_or(0)
}

#[expect(clippy::print_stderr, reason = "a test has nowhere else to tell its figures")]
fn tell(what: &str) {
    eprintln!("{what}");
}

#[test]
fn a_clean_ledger_gives_what_the_readers_expect() {
    let text = format!(
        "{}{}",
        include_str!("../../src/views/tests/report/machine.kdl"),
        include_str!("../../src/views/tests/report/records.kdl")
    );
    for (name, reader, text) in outputs(judged("m", "machine.kdl", &text), "plain") {
        assert_eq!(wrong(reader, &text), Vec::<String>::new(), "{name}:\n{text}");
    }
}

#[test]
fn the_readers_see_what_comes_through() {
    for (reader, text) in [
        (Reader::Terminal, "a\u{1b}[31m"),
        (Reader::Terminal, "a\u{61c}"),
        (Reader::ColourTerminal, "\u{1b}[31ma\u{1b}]8;;x"),
        (Reader::Terminal, "a\nINJECTED"),
        (Reader::Json, "{\"a\":1}}"),
        (Reader::Github, "::error file=a,line=1::b\n::error::c"),
        (Reader::Markdown, "a [zq-link](x)"),
        (Reader::Markdown, "a <b>zq</b>"),
        (Reader::Markdown, "# zq-heading zq7"),
        (Reader::Markdown, "a **zq-strong** b"),
        (Reader::Markdown, "a `zq-code` b"),
        (Reader::Markdown, "- zq-item zq7"),
        (Reader::Markdown, "> zq-quote zq7"),
        (Reader::Markdown, "| a | b |\n|---|---|\n| zq | zq | zq |"),
        (Reader::Html, "<p><script>zq()</script></p>"),
        (Reader::Html, "<p onload=\"zq()\">a</p>"),
        (Reader::Html, "<p class=\"zq\">a</p>"),
        (Reader::Html, "<p>a</b></p>"),
        (Reader::Csv, "a,=1+1\r\n"),
        (Reader::Csv, "a;=1+1,b\r\n"),
        (Reader::Dxf, "0\nTEXT\n1\nzq\n0\nEOF\n0\nEOF\n"),
        (Reader::Kdl, "a }"),
    ] {
        assert!(!wrong(reader, text).is_empty(), "{reader:?} takes {text:?}");
    }
}

#[test]
fn no_text_in_any_place_of_the_language_becomes_more_than_text() {
    let fields = fields::all();
    assert!(fields.len() > 200, "the language has many places: {}", fields.len());
    let every = every();
    let one = |fields: &[(usize, &Field)]| {
        let mut seen = Seen::default();
        for (number, field) in fields {
            // One text each, in turn, and for every second place one with something for everybody.
            let all: Vec<&str> = ALL.iter().map(|it| it.text).chain([EVERYTHING]).collect();
            let turn = (0..all.len()).map(|at| all[(number + at * 7) % all.len()]);
            let mine: Vec<&str> = match (every, number / 4 % 2) {
                (0, 0) => vec![EVERYTHING],
                (0, _) => turn.take(1).collect(),
                (most, _) => turn.take(most).collect(),
            };
            for hostile in mine {
                let text = planted(field, hostile);
                let escaped = fields::escaped(hostile);
                assert!(text.contains(&escaped[1..escaped.len() - 1]), "{} is planted: {text}", field.name());
                seen.look(&field.name(), hostile, judged("m", "machine.kdl", &text));
            }
        }
        seen
    };
    // The limits of the rulebook are many and alike.
    let (limits, others): (Vec<_>, Vec<_>) = fields.iter().partition(|field| field.name().contains("rulebook/"));
    let part = |fields: Vec<_>, nth| share(fields, if every > 0 { 1 } else { nth });
    let numbered: Vec<(usize, &Field)> = part(limits, 12).chain(part(others, 3)).enumerate().collect();
    let mut seen = Seen::default();
    std::thread::scope(|scope| {
        let halves: Vec<_> =
            numbered.chunks(numbered.len().div_ceil(2)).map(|half| scope.spawn(|| one(half))).collect();
        for half in halves {
            let half = half.join().expect("it ends");
            seen.tries += half.tries;
            seen.wrong.extend(half.wrong);
            for (name, times) in half.arrived {
                *seen.arrived.entry(name).or_default() += times;
            }
        }
    });
    seen.done(&format!("{} places of the language", numbered.len()));
}

#[test]
fn no_name_of_a_file_folder_or_revision_becomes_more_than_text() {
    let text = format!(
        "{}{}nonsense 1\n",
        include_str!("../../src/views/tests/report/machine.kdl"),
        include_str!("../../src/views/tests/report/records.kdl")
    );
    let mut seen = Seen::default();
    for hostile in ALL.iter().map(|it| it.text).chain([EVERYTHING]) {
        // A name has no slash; all else a file system takes, but for the null.
        let name = hostile.replace(['/', '\0'], "-");
        seen.look("a folder and a file", &name, judged(&name, &format!("{name}.kdl"), &text));
    }
    // What is measured on the bench does not name its file in these.
    for unnamed in ["rules --in-force", "traveler markdown", "traveler html"] {
        seen.arrived.remove(unnamed);
    }
    seen.done("names of files and folders");
}

#[test]
fn the_table_of_attacks_names_every_one() {
    let text = include_str!("../README.md");
    for hostile in ALL {
        let class = hostile.class.split(": ").next().unwrap_or(hostile.class);
        assert!(text.contains(&format!("| {class} |")), "`{class}` is missing from the table of injections");
    }
}

/// The lines of a file are shown with a finding, with those between its two places.
#[test]
fn no_comment_in_lines_that_are_shown_steers_a_terminal() {
    for hostile in ALL.iter().filter(|hostile| !["/*", "*/"].iter().any(|own| hostile.text.contains(own))) {
        let text = format!("machine m {{\n    axis X /* {} */; axis X\n}}\n", hostile.text);
        let judged = judged("m", "machine.kdl", &text);
        assert!(
            judged.findings.iter().any(|finding| finding.rule.as_str() == "duplicate-name"),
            "{:?}",
            judged.findings
        );
        for (colour, reader) in [(false, Reader::Terminal), (true, Reader::ColourTerminal)] {
            let shown = pieces("text", &judged, Style { colour, width: 100 }).concat();
            assert!(shown.contains(TOKEN), "{shown}");
            assert_eq!(wrong(reader, &shown), [""; 0], "{}: {shown:?}", hostile.class);
        }
    }
}

#[test]
fn a_letter_that_is_not_seen_makes_no_name() {
    // U+3164 is a letter to Unicode, and blank: two names would look alike.
    let found = crate::common::found("machine saw { axis Y { rail \"a\\u{3164}\" { segment 1200 } } }");
    assert!(found.iter().any(|it| it.starts_with("wrong-value")), "{found:?}");
}
