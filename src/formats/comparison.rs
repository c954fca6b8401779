//! A comparison on the terminal: plain lines, the important first.

use std::fmt::Write as _;

use super::clean;
use crate::views::compare::{Change, Compared, Comparison, FactChange, Fate, How, Said, StateChange, Topic};

/// How many findings came, went and stayed, over all ledgers.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Tally {
    /// Nonconformities that nobody has accepted.
    pub new_nonconformities: usize,
    pub new: usize,
    pub changed: usize,
    pub fixed: usize,
    /// Gone only because the text cannot be read any more.
    pub not_judged: usize,
    pub remaining: usize,
}

impl Tally {
    pub(super) fn of<'c>(ledgers: impl IntoIterator<Item = &'c Compared>) -> Tally {
        let mut tally = Tally::default();
        for findings in ledgers.into_iter().map(|ledger| &ledger.findings) {
            let became = findings.changed.iter().filter(|(was, now)| now.counts() && !was.counts()).count();
            tally.new_nonconformities += findings.new.iter().filter(|said| said.counts()).count() + became;
            tally.new += findings.new.len();
            tally.changed += findings.changed.len();
            tally.fixed += findings.fixed.len();
            tally.not_judged += findings.not_judged.len();
            tally.remaining += findings.remaining.len();
        }
        tally
    }

    /// `2 new findings (1 nonconformity), 1 fixed, 3 remaining`.
    pub(super) fn line(&self) -> String {
        let broken = match self.new_nonconformities {
            0 => "no nonconformity".to_owned(),
            1 => "1 nonconformity".to_owned(),
            many => format!("{many} nonconformities"),
        };
        let new = if self.new == 1 { "1 new finding" } else { &format!("{} new findings", self.new) };
        let changed = if self.changed > 0 { format!(", {} changed", self.changed) } else { String::new() };
        let unread =
            if self.not_judged > 0 { format!(", {} not judged any more", self.not_judged) } else { String::new() };
        format!("{new} ({broken}){changed}, {} fixed{unread}, {} remaining", self.fixed, self.remaining)
    }
}

/// The whole comparison.
pub fn text(comparison: &Comparison) -> String {
    let mut out = String::new();
    // Writing to a string cannot fail.
    let _ = writeln!(out, "{}", heading(comparison));
    for compared in &comparison.ledgers {
        out.push('\n');
        ledger(&mut out, compared);
    }
    let _ = writeln!(out, "\n{}", verdict(comparison));
    out
}

/// `from 1a2b3c4d5e6f to the work tree, both judged by 2026-05-02`.
pub(super) fn heading(comparison: &Comparison) -> String {
    let (before, after) = (clean(&comparison.before), clean(&comparison.after));
    format!("from {before} to {after}, both judged by {}", comparison.judged_by)
}

/// The last line, and the first of a comment.
pub(super) fn verdict(comparison: &Comparison) -> String {
    let rewritten = match comparison.rewritten {
        0 => String::new(),
        1 => "; 1 was only written differently".to_owned(),
        many => format!("; {many} were only written differently"),
    };
    if comparison.ledgers.is_empty() {
        return format!("no change in meaning{rewritten}");
    }
    let count = |shops: bool, one: &str| {
        let count = comparison.ledgers.iter().filter(|ledger| ledger.is_shop == shops).count();
        (count > 0).then(|| format!("{count} {one}{}", if count == 1 { "" } else { "s" }))
    };
    let what: Vec<String> = [count(false, "ledger"), count(true, "shop file")].into_iter().flatten().collect();
    format!("{} changed: {}{rewritten}", what.join(" and "), Tally::of(&comparison.ledgers).line())
}

fn ledger(out: &mut String, compared: &Compared) {
    let _ = writeln!(out, "{}", title(compared));
    for topic in Topic::ALL {
        for change in compared.changes.iter().filter(|change| change.topic == topic) {
            let _ = writeln!(out, "  {:<10} {} {}", topic.word(), clean(&change.about), change.how.word());
            for fact in shown(change) {
                let _ = writeln!(out, "      {}", clean(&fact_line(fact, change.how)));
            }
        }
    }
    let findings = &compared.findings;
    let mut finding = |word: &str, said: &Said| {
        let _ = writeln!(out, "  {word:<10} {}", clean(&finding_line(said)));
    };
    findings.new.iter().for_each(|said| finding("new", said));
    for (was, now) in &findings.changed {
        finding("was", was);
        finding("now", now);
    }
    findings.fixed.iter().for_each(|said| finding("fixed", said));
    findings.not_judged.iter().for_each(|said| finding("not judged", said));
    if !findings.remaining.is_empty() {
        let _ = writeln!(out, "  {:<10} {} as before", "remaining", findings.remaining.len());
    }
    for state in &compared.states {
        let _ = writeln!(out, "  {:<10} {}: {}", "state", clean(&state.address), clean(&state_line(state)));
    }
}

/// `hull-gantry, new`.
pub(super) fn title(compared: &Compared) -> String {
    let fate = match (compared.fate, &compared.moved_from) {
        (Fate::Added, _) => ", new".to_owned(),
        (Fate::Removed, _) => ", removed".to_owned(),
        (Fate::Kept, Some(from)) => format!(", moved from {}", clean(from)),
        (Fate::Kept, None) => String::new(),
    };
    format!("{}{fate}", clean(&compared.path))
}

/// The facts worth a line: of what came or went whole, those that say something.
pub(super) fn shown(change: &Change) -> impl Iterator<Item = &FactChange> {
    let said = |value: &Option<String>| value.as_ref().is_some_and(|value| !value.is_empty());
    change.facts.iter().filter(move |fact| change.how == How::Changed || said(&fact.was) || said(&fact.now))
}

/// `UL: was 0 -> 0.01, now 0 -> 0.03`.
pub(super) fn fact_line(fact: &FactChange, how: How) -> String {
    let none = |value: &Option<String>| value.as_ref().is_none_or(String::is_empty);
    let (was, now) = (fact.was.as_deref().unwrap_or(""), fact.now.as_deref().unwrap_or(""));
    let name = &fact.fact;
    match (how, &fact.was, &fact.now) {
        (How::Added, ..) => format!("{name}: {now}"),
        (How::Removed, ..) => format!("{name}: {was}"),
        (_, Some(_), None) if none(&fact.was) => format!("{name}: removed"),
        (_, Some(_), None) => format!("{name}: was {was}, now not given"),
        (_, None, _) if none(&fact.now) => format!("{name}: added"),
        (_, None, _) => format!("{name}: was not given, now {now}"),
        _ => format!("{name}: was {was}, now {now}"),
    }
}

/// `nonconformity joint-step X.port.J1: groove UL steps by …`.
pub(super) fn finding_line(said: &Said) -> String {
    let conceded = if said.conceded { " (accepted by concession)" } else { "" };
    let head = format!("{} {} {}", said.grade, said.rule, said.address);
    format!("{}{conceded}: {} [{}:{}]", head.trim_end(), said.message, said.file, said.line)
}

/// `conforming → nonconforming`.
pub(super) fn state_line(state: &StateChange) -> String {
    let line = |standing: &Option<crate::views::compare::Standing>| {
        standing.as_ref().map_or("not there".to_owned(), crate::views::compare::Standing::line)
    };
    if state.was == state.now {
        format!("{}, as before", line(&state.now))
    } else {
        format!("{} → {}", line(&state.was), line(&state.now))
    }
}
