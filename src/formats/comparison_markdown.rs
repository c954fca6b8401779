//! A comparison as a comment on a pull request: the verdict and what is new at the top, everything else folded.

use std::fmt::Write as _;

use super::clean;
use super::comparison::{Tally, fact_line, finding_line, heading, shown, state_line, title, verdict};
use super::paper::markdown_text;
use crate::views::compare::{Compared, Comparison, Said, Topic};

/// Review pages refuse a comment of more than 65,536 characters; what would go past this is left to the terminal.
const MOST: usize = 60_000;
/// Rows and findings shown unfolded.
const MOST_AT_TOP: usize = 20;

/// The whole comment.
pub fn markdown(comparison: &Comparison) -> String {
    let mut out = String::from("### Build ledgers\n\n");
    // Writing to a string cannot fail.
    let _ = writeln!(out, "**{}.**", markdown_text(&verdict(comparison)));
    let _ = writeln!(out, "\n{}.", markdown_text(&heading(comparison)));
    top(&mut out, comparison);
    for (at, compared) in comparison.ledgers.iter().enumerate() {
        let details = details(compared);
        if out.len() + details.len() > MOST {
            let left = comparison.ledgers.len() - at;
            let _ = writeln!(out, "\nThe details of {left} more would not fit here; `wayledger compare` prints them.");
            break;
        }
        out.push_str(&details);
    }
    out
}

/// New nonconformities and one row a ledger.
fn top(out: &mut String, comparison: &Comparison) {
    let new = comparison.ledgers.iter().flat_map(|ledger| {
        let changed = ledger.findings.changed.iter().filter(|(was, now)| now.counts() && !was.counts());
        ledger.findings.new.iter().filter(|said| said.counts()).chain(changed.map(|(_, now)| now))
    });
    list(out, "New nonconformities", new, MOST_AT_TOP);
    if comparison.ledgers.is_empty() {
        return;
    }
    out.push_str("\n| ledger | new | changed | fixed | remaining | axes and joints that stand otherwise |\n|---|---|---|---|---|---|\n");
    for compared in comparison.ledgers.iter().take(MOST_AT_TOP) {
        let tally = Tally::of([compared]);
        let otherwise: Vec<String> = compared
            .states
            .iter()
            .filter(|state| state.was != state.now)
            .map(|state| format!("{}: {}", state.address, state_line(state)))
            .collect();
        let states = match otherwise.len() {
            0..=3 => otherwise.join("; "),
            many => format!("{} and {} more", otherwise[..2].join("; "), many - 2),
        };
        let _ = writeln!(
            out,
            "| {} | {} | {} | {} | {} | {} |",
            markdown_text(&title(compared)),
            tally.new,
            tally.changed,
            tally.fixed,
            tally.remaining,
            markdown_text(&states)
        );
    }
    if comparison.ledgers.len() > MOST_AT_TOP {
        let _ = writeln!(out, "\nand {} more", comparison.ledgers.len() - MOST_AT_TOP);
    }
}

fn details(compared: &Compared) -> String {
    let mut out = String::new();
    let count = |topic: Topic| compared.changes.iter().filter(|change| change.topic == topic).count();
    let mut what: Vec<String> = Topic::ALL
        .into_iter()
        .filter(|topic| count(*topic) > 0)
        .map(|topic| format!("{} {}", count(topic), topic.word()))
        .collect();
    if what.is_empty() {
        what.push("judged otherwise".into());
    }
    let _ = writeln!(out, "\n<details><summary>{}: {}</summary>\n", html_text(&title(compared)), what.join(", "));
    for topic in Topic::ALL.into_iter().filter(|topic| count(*topic) > 0) {
        let _ = writeln!(out, "**{}**\n", topic.word());
        for change in compared.changes.iter().filter(|change| change.topic == topic) {
            let _ = writeln!(out, "- {} {}", markdown_text(&change.about), change.how.word());
            for fact in shown(change) {
                let _ = writeln!(out, "  - {}", markdown_text(&fact_line(fact, change.how)));
            }
        }
        out.push('\n');
    }
    let findings = &compared.findings;
    list(&mut out, "New findings", findings.new.iter(), usize::MAX);
    if !findings.changed.is_empty() {
        let _ = writeln!(out, "\n**Changed findings**\n");
        for (was, now) in &findings.changed {
            let _ = writeln!(out, "- was: {}", markdown_text(&finding_line(was)));
            let _ = writeln!(out, "  - now: {}", markdown_text(&finding_line(now)));
        }
    }
    list(&mut out, "Not judged any more, since the text cannot be read", findings.not_judged.iter(), usize::MAX);
    list(&mut out, "Fixed findings", findings.fixed.iter(), usize::MAX);
    list(&mut out, "Remaining findings", findings.remaining.iter(), usize::MAX);
    if !compared.states.is_empty() {
        out.push_str("\n| axis or joint | before → after |\n|---|---|\n");
        for state in &compared.states {
            let _ = writeln!(out, "| {} | {} |", markdown_text(&state.address), markdown_text(&state_line(state)));
        }
    }
    out.push_str("\n</details>\n");
    out
}

fn list<'c>(out: &mut String, head: &str, said: impl Iterator<Item = &'c Said>, most: usize) {
    let all: Vec<&Said> = said.collect();
    if all.is_empty() {
        return;
    }
    let _ = writeln!(out, "\n**{head}**\n");
    for said in all.iter().take(most) {
        let _ = writeln!(out, "- {}", markdown_text(&finding_line(said)));
    }
    if all.len() > most {
        let _ = writeln!(out, "- and {} more", all.len() - most);
    }
}

/// Text inside an HTML element, where Markdown's own escapes do not work. A joiner that is not seen keeps review pages
/// from making mentions and links of it.
fn html_text(text: &str) -> String {
    let text = clean(text);
    let mut out = String::with_capacity(text.len() + 8);
    for (at, c) in text.char_indices() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            c => out.push(c),
        }
        let links = match c {
            '@' | '#' => true,
            ':' => text[at..].starts_with("://"),
            'w' | 'W' => text[..=at].to_ascii_lowercase().ends_with("www"),
            _ => false,
        };
        if links {
            out.push('\u{2060}');
        }
    }
    out
}
