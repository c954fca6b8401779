//! A comparison as a paper: the verdict and what is new at the top, everything else folded ledger by ledger.

use super::paper::markdown::markdown;
use crate::views::compare::{
    ByCalendar, Compared, Comparison, FactChange, LedgerFate, RecordChange, RecordChangeKind, StateChange, ToldFinding,
    Topic,
};
use crate::views::paper::{Content, Element, ListItem, Paper, TableCell};

/// Review pages refuse a comment of more than 65,536 characters; what would go past this is left to the other formats.
const MOST: usize = 60_000;
/// Rows and findings shown unfolded.
const MOST_AT_TOP: usize = 20;

/// How many findings came, went and stayed, over all ledgers.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
struct Tally {
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
    fn from_ledgers<'c>(ledgers: impl IntoIterator<Item = &'c Compared>) -> Tally {
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
    fn line(&self) -> String {
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
pub fn paper(comparison: &Comparison) -> Paper {
    with_details(comparison, comparison.ledgers.len())
}

/// The comparison as a comment on a pull request: as many ledgers in detail as fit.
pub fn comment(comparison: &Comparison) -> String {
    let fits = |count: usize| markdown(&with_details(comparison, count)).len() <= MOST;
    let (mut count, mut beyond) = (0, comparison.ledgers.len() + 1);
    if fits(beyond - 1) {
        count = beyond - 1;
    }
    while beyond - count > 1 {
        let middle = count.midpoint(beyond);
        if fits(middle) { count = middle } else { beyond = middle }
    }
    markdown(&with_details(comparison, count))
}

/// The comparison with the first ledgers in detail.
fn with_details(comparison: &Comparison, count: usize) -> Paper {
    let mut paper = Paper::new("Build ledgers compared");
    let body = &mut paper.body;
    body.say(format!("{}.", verdict(comparison)));
    body.say(format!("{}.", heading(comparison)));
    top(body, comparison);
    if let Some(calendar) = &comparison.calendar {
        by_calendar(body, calendar);
    }
    for compared in &comparison.ledgers[..count] {
        body.0.push(Element::Folded(folded_under(compared), details(compared)));
    }
    let left = comparison.ledgers.len() - count;
    if left > 0 {
        body.say(format!("The details of {left} more would not fit here; `wayledger compare` prints them."));
    }
    paper
}

/// New nonconformities and one row a ledger.
fn top(body: &mut Content, comparison: &Comparison) {
    let new = comparison.ledgers.iter().flat_map(|ledger| {
        let changed = ledger.findings.changed.iter().filter(|(was, now)| now.counts() && !was.counts());
        ledger.findings.new.iter().filter(|said| said.counts()).chain(changed.map(|(_, now)| now))
    });
    list(body, 2, "New nonconformities", new, MOST_AT_TOP);
    let rows = comparison.ledgers.iter().take(MOST_AT_TOP).map(|compared| {
        let tally = Tally::from_ledgers([compared]);
        let number = |count: usize| TableCell::Number(count.to_string());
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
        let numbers = [tally.new, tally.changed, tally.fixed, tally.remaining].map(number);
        [vec![title(compared).into()], numbers.to_vec(), vec![states.into()]].concat()
    });
    let head = ["Ledger", "New", "Changed", "Fixed", "Remaining", "Axes and joints that stand otherwise"];
    body.table("", &head, rows.collect());
    if comparison.ledgers.len() > MOST_AT_TOP {
        body.say(format!("and {} more", comparison.ledgers.len() - MOST_AT_TOP));
    }
}

/// What came and went though nobody wrote anything.
fn by_calendar(body: &mut Content, calendar: &ByCalendar) {
    let title = format!("What the calendar did from {} to {}", calendar.from, calendar.to);
    let told = |said: &ToldFinding, how: &str| ListItem::new(0, format!("{how}: {}", finding_line(said)));
    let items = calendar.ledgers.iter().flat_map(|ledger| {
        let findings = &ledger.findings;
        let came = findings.new.iter().map(|said| told(said, "new"));
        let changed = findings.changed.iter().map(|(_, now)| told(now, "changed"));
        came.chain(changed).chain(findings.fixed.iter().map(|said| told(said, "gone"))).collect::<Vec<_>>()
    });
    let mut items: Vec<ListItem> = items.collect();
    let left = items.len().saturating_sub(MOST_AT_TOP);
    items.truncate(MOST_AT_TOP);
    body.heading(2, title);
    match items.is_empty() {
        true => body.say("Nothing."),
        false => body.list(items),
    }
    if left > 0 {
        body.say(format!("and {left} more, in JSON"));
    }
}

/// `hull-gantry: 1 described, 2 recorded`.
fn folded_under(compared: &Compared) -> String {
    let count = |topic: Topic| compared.changes.iter().filter(|change| change.topic == topic).count();
    let what = Topic::ALL.into_iter().filter(|topic| count(*topic) > 0);
    let what: Vec<String> = what.map(|topic| format!("{} {}", count(topic), topic.word())).collect();
    let what = if what.is_empty() { "judged otherwise".into() } else { what.join(", ") };
    format!("{}: {what}", title(compared))
}

fn details(compared: &Compared) -> Content {
    let mut body = Content::default();
    for topic in Topic::ALL {
        let mut items = Vec::new();
        for change in compared.changes.iter().filter(|change| change.topic == topic) {
            items.push(ListItem::new(0, format!("{} {}", change.about, change.how.word())));
            items.extend(shown(change).map(|fact| ListItem::new(1, fact_line(fact, change.how))));
        }
        if !items.is_empty() {
            body.heading(3, capital(topic.word()));
            body.list(items);
        }
    }
    let findings = &compared.findings;
    list(&mut body, 3, "New findings", findings.new.iter(), usize::MAX);
    let changed = findings.changed.iter().flat_map(|(was, now)| {
        [
            ListItem::new(0, format!("was: {}", finding_line(was))),
            ListItem::new(1, format!("now: {}", finding_line(now))),
        ]
    });
    let changed: Vec<ListItem> = changed.collect();
    if !changed.is_empty() {
        body.heading(3, "Changed findings");
        body.list(changed);
    }
    let unread = "Not judged any more, since the text cannot be read";
    list(&mut body, 3, unread, findings.not_judged.iter(), usize::MAX);
    list(&mut body, 3, "Fixed findings", findings.fixed.iter(), usize::MAX);
    if !findings.remaining.is_empty() {
        let mut remaining = Content::default();
        remaining.list(findings.remaining.iter().map(|said| ListItem::new(0, finding_line(said))).collect());
        let count = crate::finding::counted(findings.remaining.len(), "finding remains", "findings remain");
        body.0.push(Element::Folded(count, remaining));
    }
    if !compared.states.is_empty() {
        body.heading(3, "Axes and joints");
        let line = |state: &StateChange| ListItem::new(0, format!("{}: {}", state.address, state_line(state)));
        body.list(compared.states.iter().map(line).collect());
    }
    body
}

fn list<'c>(body: &mut Content, level: u8, head: &str, said: impl Iterator<Item = &'c ToldFinding>, most: usize) {
    let mut items: Vec<ListItem> = said.map(|said| ListItem::new(0, finding_line(said))).collect();
    if items.is_empty() {
        return;
    }
    if items.len() > most {
        let more = items.split_off(most).len();
        items.push(ListItem::new(0, format!("and {more} more")));
    }
    body.heading(level, head);
    body.list(items);
}

fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

/// `From 1a2b3c4d5e6f to the work tree, both judged by 2026-05-02`.
fn heading(comparison: &Comparison) -> String {
    let Comparison { before, after, judged_by, .. } = comparison;
    format!("From {before} to {after}, both judged by {judged_by}")
}

/// What came of it, in one line.
fn verdict(comparison: &Comparison) -> String {
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
    format!("{} changed: {}{rewritten}", what.join(" and "), Tally::from_ledgers(&comparison.ledgers).line())
}

/// `hull-gantry, new`.
fn title(compared: &Compared) -> String {
    let fate = match (compared.fate, &compared.moved_from) {
        (LedgerFate::Added, _) => ", new".to_owned(),
        (LedgerFate::Removed, _) => ", removed".to_owned(),
        (LedgerFate::Kept, Some(from)) => format!(", moved from {from}"),
        (LedgerFate::Kept, None) => String::new(),
    };
    format!("{}{fate}", compared.path)
}

/// The facts worth a line: of what came or went whole, those that say something.
fn shown(change: &RecordChange) -> impl Iterator<Item = &FactChange> {
    let said = |value: &Option<String>| value.as_ref().is_some_and(|value| !value.is_empty());
    change
        .facts
        .iter()
        .filter(move |fact| change.how == RecordChangeKind::Changed || said(&fact.was) || said(&fact.now))
}

/// `UL: was 0 -> 0.01, now 0 -> 0.03`.
fn fact_line(fact: &FactChange, how: RecordChangeKind) -> String {
    let none = |value: &Option<String>| value.as_ref().is_none_or(String::is_empty);
    let (was, now) = (fact.was.as_deref().unwrap_or(""), fact.now.as_deref().unwrap_or(""));
    let name = &fact.fact;
    match (how, &fact.was, &fact.now) {
        (RecordChangeKind::Added, ..) => format!("{name}: {now}"),
        (RecordChangeKind::Removed, ..) => format!("{name}: {was}"),
        (_, Some(_), None) if none(&fact.was) => format!("{name}: removed"),
        (_, Some(_), None) => format!("{name}: was {was}, now not given"),
        (_, None, _) if none(&fact.now) => format!("{name}: added"),
        (_, None, _) => format!("{name}: was not given, now {now}"),
        _ => format!("{name}: was {was}, now {now}"),
    }
}

/// `nonconformity joint-step X.port.J1: groove UL steps by …`.
fn finding_line(said: &ToldFinding) -> String {
    let conceded = if said.conceded { " (accepted by concession)" } else { "" };
    let head = format!("{} {} {}", said.grade, said.rule, said.address);
    format!("{}{conceded}: {} [{}:{}]", head.trim_end(), said.message, said.file, said.line)
}

/// `conforming → nonconforming`.
fn state_line(state: &StateChange) -> String {
    let line = |standing: &Option<crate::views::compare::ComparedState>| {
        standing.as_ref().map_or("not there".to_owned(), crate::views::compare::ComparedState::line)
    };
    if state.was == state.now {
        format!("{}, as before", line(&state.now))
    } else {
        format!("{} → {}", line(&state.was), line(&state.now))
    }
}
