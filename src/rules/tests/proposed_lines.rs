//! Every line of the language that a finding proposes can be written as it stands, whatever names it holds, and does what the
//! finding says: it is filled in, put into the ledger, and the finding is gone. None is spelt by hand anywhere in `src`.

use std::collections::BTreeSet;

use crate::finding::Finding;
use crate::language::schema::{NodeShape, language};
use crate::rules;
use crate::testing::judge;
use crate::text::{ReadLimits, quote, read};

/// Somebody lifts a hold on their own work; the same by `void` is made of it.
const LIFTED: &str = "
machine m { axis X { rail a { support S1 at=240 } } }
release X date=\"2026-04-20\" by=engineer-1
hold X.a date=\"2026-05-02\" by=fitter-2 reason=\"S1 was found loose\"
fasten X.a date=\"2026-05-03\" by=fitter-2 stage=full setting=10.5 { clicked S1 }
lift X.a date=\"2026-05-03\" by=fitter-2 disposition=rework reason=\"tightened anew\"
";

const WORDS: [&str; 4] = ["void ", "lift ", "hold ", "not-applicable "];

/// The lines that a next step proposes: from their word to the reason that is to be filled in.
fn proposed(next: &str) -> Vec<&str> {
    const END: &str = "reason=\"…\"";
    let mut found = Vec::new();
    let mut from = 0;
    while let Some(at) = next[from..].find(END) {
        let end = from + at + END.len();
        let before = &next[from..end];
        let is_word = |at: usize| at == 0 || !before[..at].ends_with(|c: char| c.is_alphanumeric() || c == '-');
        let starts =
            WORDS.iter().flat_map(|word| before.match_indices(word).map(|(at, _)| at)).filter(|at| is_word(*at));
        // A word of the sentence may be one of the language too: the line begins at the last one before its date.
        let day = before.rfind("date=").unwrap_or(before.len());
        if let Some(start) = starts.filter(|at| *at < day).max() {
            // A void names the kind of record behind its own word.
            let start = if before[..start].ends_with("void ") { start - "void ".len() } else { start };
            found.push(&next[from + start..end]);
        }
        from = end;
    }
    found
}

fn filled_in(line: &str) -> String {
    line.replace("date=\"…\"", "date=\"2026-10-30\"")
        .replace("by=…", "by=engineer-9")
        .replace("reason=\"…\"", "reason=\"as decided there\"")
}

/// The text with its axis X called 7, which KDL takes for a number unless it is quoted.
fn renamed(text: &str) -> String {
    let (mut out, mut quoted) = (String::new(), false);
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        let begins = !quoted && c == 'X' && out.ends_with(|c: char| c.is_whitespace());
        if begins {
            let end = rest.find(|c: char| c.is_whitespace() || ";{}".contains(c)).unwrap_or(rest.len());
            let (address, after) = rest.split_at(end);
            if address == "X" || address.starts_with("X.") {
                out += &quote(&address.replacen('X', "7", 1));
                rest = after;
                continue;
            }
        }
        quoted ^= c == '"';
        out.push(c);
        rest = &rest[c.len_utf8()..];
    }
    out
}

fn found(text: &str) -> Vec<Finding> {
    judge(&[("machine.kdl", text)], &[]).findings
}

/// The line put where it belongs: beside the records, or into the machine.
fn with(text: &str, line: &str) -> String {
    match line.starts_with("not-applicable") {
        true => {
            let at = text.find("machine ").expect("a machine");
            let open = at + text[at..].find('{').expect("a block") + 1;
            format!("{} {line}\n{}", &text[..open], &text[open..])
        }
        false => format!("{text}\n{line}\n"),
    }
}

#[test]
fn every_line_that_is_proposed_can_be_written_and_does_what_it_says() {
    let (mut wrong, mut words) = (Vec::new(), BTreeSet::new());
    let withdrawn = LIFTED.replace(
        "lift X.a date=\"2026-05-03\" by=fitter-2 disposition=rework",
        "void hold X.a of=\"2026-05-02\" date=\"2026-05-03\" by=fitter-2",
    );
    assert_ne!(withdrawn, LIFTED);
    for text in rules::all().map(|rule| rule.wrong).chain([withdrawn.as_str()]) {
        for text in [text.to_owned(), renamed(text)] {
            for finding in found(&text) {
                for line in proposed(&finding.next) {
                    let about = format!("{} on {}: {line}", finding.rule, finding.address);
                    // Where it is on hold is to be said more exactly: the line has room for it.
                    if line.starts_with("hold ") && line.contains("… date") {
                        continue;
                    }
                    let line = filled_in(line);
                    if line.contains('…') {
                        wrong.push(format!("{about}: there is more to fill in"));
                        continue;
                    }
                    if !read(line.clone(), &ReadLimits::default()).faults.is_empty() {
                        wrong.push(format!("{about}: cannot be read"));
                        continue;
                    }
                    words.insert(line.split(' ').take(2).collect::<Vec<_>>().join(" "));
                    let (before, after) = (found(&text), found(&with(&text, &line)));
                    let at_fault = |all: &[Finding]| {
                        all.iter()
                            .filter(|it| {
                                rules::named(it.rule.as_str()).is_some_and(|rule| rule.group == rules::RuleGroup::Text)
                            })
                            .count()
                    };
                    if at_fault(&after) > at_fault(&before) {
                        wrong.push(format!("{about}: the text is at fault with it: {after:?}"));
                    }
                    let same = |it: &&Finding| {
                        it.rule == finding.rule
                            && it.address == finding.address
                            && it.message == finding.message
                            && it.conceded.is_none()
                    };
                    // What nobody can tell is answered axis by axis and rule by rule.
                    if after.iter().any(|it| same(&it)) {
                        wrong.push(format!("{about}: is found as before with it"));
                    }
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}:\n{}", wrong.len(), wrong.join("\n"));
    for word in ["void release", "void hold", "lift X", "lift \"7", "not-applicable"] {
        assert!(words.iter().any(|it| it.starts_with(word)), "{word} is proposed somewhere: {words:?}");
    }
}

/// The names of all nodes of the language.
fn nodes() -> BTreeSet<String> {
    fn below(shape: &NodeShape, all: &mut BTreeSet<String>) {
        all.insert(shape.name.clone());
        shape.children.iter().for_each(|child| below(child, all));
    }
    let mut all = BTreeSet::new();
    language().top.iter().for_each(|shape| below(shape, &mut all));
    all
}

/// What a next step says in the language: behind `: ` or inside of backticks, from a node's name to the end of the line.
fn in_the_language<'n>(next: &'n str, nodes: &BTreeSet<String>) -> Vec<&'n str> {
    let starts = next.match_indices(": ").map(|(at, it)| (at + it.len(), None));
    let quoted = next.match_indices('`').map(|(at, it)| (at + it.len(), Some('`')));
    let begins = |(at, end): (usize, Option<char>)| {
        let rest = &next[at..];
        let word = rest.split([' ', '`']).next()?;
        // A word alone is no line; nor is a sentence that begins with one.
        let said = nodes.contains(word) && rest[word.len()..].starts_with(' ');
        let (mut inside, mut depth) = (false, 0);
        let stop = rest.char_indices().find(|(_, c)| {
            match c {
                '"' => inside = !inside,
                '{' if !inside => depth += 1,
                '}' if !inside => depth -= 1,
                _ => {}
            }
            !inside && (Some(*c) == end || end.is_none() && depth == 0 && matches!(c, ';' | ',' | '`'))
        });
        let line = rest[..stop.map_or(rest.len(), |(at, _)| at)].trim_end();
        (said && (line.contains('=') || line.ends_with('…'))).then_some(line)
    };
    starts.chain(quoted).filter_map(begins).collect()
}

/// Every line that any finding proposes reads as it stands, whatever the names in it.
#[test]
fn every_line_of_every_message_can_be_read() {
    let nodes = nodes();
    let (mut wrong, mut words) = (Vec::new(), BTreeSet::new());
    let more = [
        "machine m { axis X { rail a { segment 1200; segment 1200; support S1 at=240 } } }\nfasten X.a date=\"2026-05-01\" by=f stage=full { clicked J1 }",
        "machine m { axis X { rail a { support S1 at=240 } } }\nrelease X date=\"2026-04-20\" by=e\nvoid release X of=\"2026-04-20\" date=\"2026-05-01\" by=e reason=\"S1 was loose\"",
        "machine m { rulebook { received-length most=1 reason=\"as agreed\"; running-force most=20 reason=\"as agreed\"; straightness most=1 reason=\"as agreed\" }; axis X { rail a { segment 1200 serial=\"7 b\" } } }",
    ];
    for text in rules::all().map(|rule| rule.wrong).chain(more) {
        for text in [text.to_owned(), renamed(text)] {
            for finding in judge(&[("machine.kdl", &text)], &[]).findings {
                for line in in_the_language(&finding.next, &nodes) {
                    words.insert(line.split(' ').next().expect("a word").to_owned());
                    let read = read(line.to_owned(), &ReadLimits::default());
                    if !read.faults.is_empty() || read.document.nodes().count() != 1 {
                        wrong.push(format!("{} on {}: {line}", finding.rule, finding.address));
                    }
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}:\n{}", wrong.len(), wrong.join("\n"));
    for word in ["fasten", "survey", "closure", "joint-support", "receive", "running-force", "service", "hold", "lift"]
    {
        assert!(words.contains(word), "{word} is proposed somewhere: {words:?}");
    }
}

/// The closing reading that is asked for can be written into the survey as it is proposed, be its stations supports or positions.
#[test]
fn a_closure_that_is_asked_for_closes_the_survey() {
    for first in ["S1", "0", "240.5"] {
        let survey = |closure: &str| {
            format!(
                "shop {{ gauge DI-4 graduation=0.01 }}
machine m {{ axis X {{ rail a {{ segment 1200; support S1 at=120 }} }} }}
survey straightness X.a date=\"2026-05-04\" by=inspector-1 gauge=DI-4 stage=as-fitted plus=left {{ at {first} 0; at 600 0; at 1100 0; {closure} }}
"
            )
        };
        let asked = |all: &[Finding]| {
            let of = all.iter().filter(|it| it.rule.as_str() == "survey-closure");
            of.map(|it| it.next.clone()).collect::<Vec<_>>()
        };
        let next = asked(&found(&survey("")));
        let [next] = &next[..] else { panic!("{first}: {next:?}") };
        let lines = in_the_language(next, &nodes());
        let [line] = lines[..] else { panic!("{first}: {next}") };
        let after = found(&survey(&line.replace('…', "0")));
        let of_text =
            |it: &&Finding| rules::named(it.rule.as_str()).is_some_and(|rule| rule.group == rules::RuleGroup::Text);
        assert_eq!(after.iter().filter(of_text).map(|it| &it.message).collect::<Vec<_>>(), [""; 0], "{first}: {line}");
        assert_eq!(asked(&after), [""; 0], "{first}: {line}");
    }
}

/// The texts between quotes in a source file, examples in raw strings left out.
fn literals(source: &str) -> Vec<String> {
    let mut plain = String::new();
    for (at, part) in source.split("r#\"").enumerate() {
        plain += if at == 0 { part } else { part.split_once("\"#").map_or("", |(_, rest)| rest) };
    }
    let mut all = Vec::new();
    let mut chars = plain.chars().peekable();
    while let Some(c) = chars.next() {
        match c {
            '/' if chars.peek() == Some(&'/') => while chars.next_if(|c| *c != '\n').is_some() {},
            // A quote as a character opens nothing.
            '\'' if chars.peek() == Some(&'"') => drop(chars.nth(1)),
            '"' => {
                let mut text = String::new();
                while let Some(c) = chars.next() {
                    match c {
                        '"' => break,
                        '\\' => text.extend(chars.next()),
                        c => text.push(c),
                    }
                }
                all.push(text);
            }
            _ => {}
        }
    }
    all
}

/// The node that a text spells out by hand in front of a name that is put in, with more of a line behind it.
fn by_hand<'n>(text: &str, nodes: &'n BTreeSet<String>) -> Option<&'n str> {
    let text = text.replace("{{", "").replace("}}", "");
    let spells = |node: &&String| {
        text.match_indices(node.as_str()).any(|(at, _)| {
            let (before, rest) = (&text[..at], &text[at + node.len()..]);
            let whole = !before.ends_with(|c: char| c.is_alphanumeric() || c == '-') && !before.ends_with("wayledger ");
            let Some((_, behind)) = rest.strip_prefix(" {").and_then(|rest| rest.split_once('}')) else { return false };
            let line = behind.split([';', '`']).next().unwrap_or_default();
            let is_property = |word: &str| {
                word.split_once('=').is_some_and(|(name, _)| {
                    !name.is_empty() && name.bytes().all(|c| c.is_ascii_lowercase() || c == b'-')
                })
            };
            whole && (line.starts_with(" …") || line.split(' ').any(is_property))
        })
    };
    nodes.iter().find(spells).map(String::as_str)
}

#[test]
fn no_line_is_spelt_by_hand() {
    let nodes = nodes();
    assert_eq!(by_hand("record it: fasten {rail} stage=full …", &nodes), Some("fasten"));
    assert_eq!(by_hand("`wayledger release {axis} --date=…`; the joint {name} is `at=`", &nodes), None);
    let (mut found, mut looked_at) = (Vec::new(), 0);
    let mut folders = vec![std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("src")];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(&folder).expect("a folder") {
            let path = entry.expect("an entry").path();
            let name = path.file_name().and_then(|name| name.to_str()).expect("a plain name").to_owned();
            if path.is_dir() {
                folders.extend((!["tests", "testing"].contains(&name.as_str())).then_some(path));
            } else if name.ends_with(".rs") {
                let source = std::fs::read_to_string(&path).expect("a source file");
                let shipped = source.split("#[cfg(test)]\nmod tests {").next().unwrap_or_default();
                looked_at += 1;
                let all = literals(shipped).into_iter().filter_map(|text| Some((by_hand(&text, &nodes)?, text)));
                let all: Vec<String> = all.map(|(node, text)| format!("{}: {node}: {text}", path.display())).collect();
                found.extend(all);
            }
        }
    }
    assert!(looked_at > 300, "{looked_at} files");
    assert!(found.is_empty(), "a draft spells them, so that names are quoted:\n{}", found.join("\n"));
}
