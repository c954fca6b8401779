//! A paper as one HTML page that stands for itself: no network, no script, readable on paper, by screen readers, in
//! light and dark, and on a narrow screen.

use std::collections::BTreeSet;

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::MADE_BY;
use crate::formats::clean;
use crate::formats::pictures::with_own_patterns;
use crate::views::paper::{Content, Element, Figure, Paper, Table, TableCell};
use crate::views::report::State;

/// The first line, by which our own earlier paper is known.
pub(crate) const HEAD: &str = "<!DOCTYPE html><!-- written by wayledger -->";

const STYLE: &str = include_str!("page.css");

/// The page. Every text from a ledger is escaped, and made harmless before.
pub fn html(paper: &Paper) -> String {
    let title = clean(&paper.title);
    let mut ids = PageIds::default();
    let main = body(&paper.body, &mut ids);
    let page = html! {
        (DOCTYPE)
        (PreEscaped("<!-- written by wayledger -->\n"))
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                // The page asks for nothing from anywhere, and the browser holds it to that.
                meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'";
                meta name="color-scheme" content="light dark";
                title { (title) }
                style { (PreEscaped(STYLE)) (PreEscaped(sheet_marks(paper))) }
            }
            body class=[paper.is_form.then_some("form")] {
                header { h1 { (title) } (contents(paper)) }
                main { (main) }
                footer { p { @if let Some(shows) = &paper.shows { "Shows " (clean(shows)) "; " } (MADE_BY) } }
            }
        }
    };
    page.into_string() + "\n"
}

/// What stands in the margins of every printed sheet, so that one that is taken out of the pile is known.
fn sheet_marks(paper: &Paper) -> String {
    let state = paper.state.map_or("", State::word);
    let shows = paper.shows.as_deref().unwrap_or_default();
    let title: String = paper.title.chars().take(LONGEST_HEAD).collect();
    let cut = if title.len() < paper.title.len() { "…" } else { "" };
    let boxes = [
        ("top-left", css_string(&(title + cut))),
        ("top-right", css_string(state)),
        ("bottom-left", css_string(shows)),
        ("bottom-center", css_string(MADE_BY)),
        ("bottom-right", "\"page \" counter(page) \" of \" counter(pages)".to_owned()),
    ];
    let boxes: String = boxes.iter().map(|(at, content)| format!(" @{at} {{ content: {content}; }}")).collect();
    format!("@page {{{boxes} }}")
}

/// A longer title is cut in the head of a sheet: it stands whole on the first.
const LONGEST_HEAD: usize = 90;

/// A text as a string of CSS; what is no letter or digit of ASCII is written by its number, so that nothing ends the string
/// or the element around it; a space too, for a number swallows one behind it.
fn css_string(text: &str) -> String {
    let mut out = String::from("\"");
    for c in clean(text).chars() {
        match c {
            c if c.is_ascii_alphanumeric() => out.push(c),
            c => out.push_str(&format!("\\{:06x}", u32::from(c))),
        }
    }
    out + "\""
}

/// Links to the headings of the first level.
fn contents(paper: &Paper) -> Markup {
    let headings = paper.body.headings();
    let sections: Vec<&str> = headings.into_iter().filter(|(level, _)| *level == 2).map(|(_, text)| text).collect();
    html! {
        @if sections.len() > 1 {
            nav aria-label="Contents" {
                ul { @for (at, text) in sections.iter().enumerate() {
                    li { a href=(format!("#s{at}")) { (clean(text)) } }
                } }
            }
        }
    }
}

/// What was given a name on the page so far: no name is given twice.
#[derive(Default)]
struct PageIds {
    sections: usize,
    figures: usize,
    /// In how many folds we are.
    folds: usize,
    /// The last heading and its level: one below it is at most a level deeper.
    heading: String,
    level: u8,
    /// The names of frames.
    frames: BTreeSet<String>,
}

impl PageIds {
    /// The level of a heading below the last one.
    fn level(&mut self, level: u8, text: &str) -> u8 {
        self.level = level.clamp(2, 4).min(self.level.max(1) + 1);
        self.heading = clean(text).into_owned();
        self.level
    }

    /// The name of a frame; where another one is called so, the heading or a number tells them apart.
    fn frame(&mut self, label: &str) -> String {
        let label = clean(label);
        let under = format!("{}: {label}", self.heading);
        let numbered = (2..).map(|number| format!("{under} ({number})"));
        let mut names = [label.into_owned(), under.clone()].into_iter().chain(numbered);
        let name = names.find(|name| !self.frames.contains(name)).unwrap_or_default();
        self.frames.insert(name.clone());
        name
    }
}

/// The elements; the headings of the first level are counted for the links to them, but for those that are folded.
fn body(body: &Content, ids: &mut PageIds) -> Markup {
    html! { @for element in &body.0 { (self::element(element, ids)) } }
}

fn element(element: &Element, ids: &mut PageIds) -> Markup {
    match element {
        Element::Heading(level, text) => {
            let linked = *level == 2 && ids.folds == 0;
            ids.sections += usize::from(linked);
            let id = linked.then(|| format!("s{}", ids.sections - 1));
            match ids.level(*level, text) {
                2 => html! { h2 id=[id] { (clean(text)) } },
                3 => html! { h3 { (clean(text)) } },
                _ => html! { h4 { (clean(text)) } },
            }
        }
        Element::Paragraph(text) => html! { p { (clean(text)) } },
        Element::List(items) => list(items.iter().map(|item| (item.level, item.text.as_str()))),
        Element::Facts(facts) => facts_list(facts),
        Element::Table(table) => self::table(table, ids),
        Element::Figure(figure) => self::figure(figure, ids),
        Element::Checklist(items) => html! {
            ul.checklist { @for item in items { li { (tick(item.is_done)) " " (clean(&item.what)) } } }
        },
        Element::HoldPoint(what) => html! {
            div.hold {
                p { strong { "HOLD POINT" } " " (clean(what)) }
                (facts_list(&[("Name", TableCell::Blank), ("Date and time", TableCell::Blank), ("Signature", TableCell::Blank)]))
            }
        },
        Element::NewPage => html! { div.new-page {} },
        Element::Group(group) => html! { section.group { (body(group, ids)) } },
        Element::Folded(line, folded) => {
            ids.folds += 1;
            let folded = body(folded, ids);
            ids.folds -= 1;
            html! { details { summary { (clean(line)) } (folded) } }
        }
    }
}

/// A list of lists: what is deeper stands indented below its line.
fn list<'i>(items: impl Iterator<Item = (u8, &'i str)>) -> Markup {
    html! { ul { @for (level, text) in items {
        li class=[(level > 0).then(|| format!("level-{}", level.min(3)))] { (clean(text)) }
    } } }
}

fn facts_list(facts: &[(&'static str, TableCell)]) -> Markup {
    html! { dl { @for (name, value) in facts { div { dt { (name) } dd { (cell(value)) } } } } }
}

/// A wide table is pushed sideways in its own frame, so that the page never is.
fn table(table: &Table, ids: &mut PageIds) -> Markup {
    let decimals: Vec<usize> = (0..table.head.len()).map(|column| decimals(table, column)).collect();
    let label = if table.caption.is_empty() { table.head.join(", ") } else { table.caption.clone() };
    html! {
        section.wide tabindex="0" aria-label=(ids.frame(&label)) {
            table {
                @if !table.caption.is_empty() { caption { (clean(&table.caption)) } }
                thead { tr { @for (at, name) in table.head.iter().enumerate() {
                    th scope="col" class=[numbers(table, at).then_some("number")] { (clean(name)) }
                } } }
                tbody { @for row in &table.rows { tr { @for (at, value) in row.iter().enumerate() {
                    @if at == 0 {
                        th scope="row" class=[class(value)] { (cell(value)) (pad(value, decimals.get(at))) }
                    } @else {
                        td class=[class(value)] { (cell(value)) (pad(value, decimals.get(at))) }
                    }
                } } } }
            }
        }
    }
}

/// Whether a column holds numbers.
fn numbers(table: &Table, column: usize) -> bool {
    table.rows.iter().any(|row| matches!(row.get(column), Some(TableCell::Number(_))))
}

/// How many characters a number has from its decimal point on; nothing where it is no plain number.
fn from_point(cell: &TableCell) -> Option<usize> {
    let TableCell::Number(text) = cell else { return None };
    let plain = |c: char| c.is_ascii_digit() || matches!(c, '.' | '-' | '−' | '+');
    text.chars().all(plain).then(|| text.find('.').map_or(0, |point| text.len() - point))
}

/// The most of them in a column.
fn decimals(table: &Table, column: usize) -> usize {
    table.rows.iter().filter_map(|row| from_point(row.get(column)?)).max().unwrap_or(0)
}

/// Blanks as wide as a point and as digits, so that points stand under each other.
fn pad(cell: &TableCell, most: Option<&usize>) -> String {
    let (Some(own), Some(most)) = (from_point(cell), most) else { return String::new() };
    let point = if own == 0 && *most > 0 { "\u{2008}" } else { "" };
    point.to_owned() + &"\u{2007}".repeat(most.saturating_sub(own.max(1)))
}

/// A plain number of five digits or more, its thousands set apart by room alone: what is copied is the number as written.
fn thousands(text: &str) -> Markup {
    let first = text.find(|c: char| c.is_ascii_digit()).unwrap_or(0);
    let end = text.find('.').unwrap_or(text.len());
    if end < first + 5 {
        return html! { (text) };
    }
    let mut rest = first + (end - first) % 3;
    let head = &text[..rest];
    let mut groups = Vec::new();
    while rest < end {
        groups.push(&text[rest..rest + 3]);
        rest += 3;
    }
    let set_apart = |at: usize| at > 0 || head.len() > first;
    html! {
        (head)
        @for (at, group) in groups.iter().enumerate() { span.apart[set_apart(at)] { (group) } }
        (text[end..])
    }
}

/// A text of more letters gets a column in which it stays low, by how many there are.
const SOME: usize = 16;
const LONG: usize = 60;

fn class(cell: &TableCell) -> Option<&'static str> {
    match cell {
        TableCell::Number(_) => Some("number"),
        // A count that must catch the eye stands under the other counts.
        TableCell::Wrong(text) if text.bytes().all(|byte| byte.is_ascii_digit()) => Some("number"),
        TableCell::Text(text) | TableCell::Wrong(text) | TableCell::Link { text, .. } => match text.chars().count() {
            count if count > LONG => Some("long"),
            count if count > SOME => Some("some"),
            _ => None,
        },
        TableCell::Blank => Some("blank"),
        TableCell::Tick(_) => Some("tick"),
        TableCell::Nothing => Some("nothing"),
        _ => None,
    }
}

fn cell(cell: &TableCell) -> Markup {
    html! {
        @match cell {
            TableCell::Number(text) if from_point(cell).is_some() => (thousands(text)),
            TableCell::Text(text) | TableCell::Number(text) => (clean(text)),
            TableCell::Link { text, page } => a href=(page) { (clean(text)) },
            TableCell::Wrong(text) => strong.wrong { (clean(text)) },
            TableCell::State(state) => span class=(format!("state {}", state_class(*state))) { (state.word()) },
            TableCell::Tick(done) => (tick(*done)),
            TableCell::Choice(words) => @for word in *words { (tick(false)) " " (word) " " },
            TableCell::Nothing => "–",
            TableCell::Blank => {},
        }
    }
}

/// A box, ticked where it is done.
fn tick(done: bool) -> Markup {
    html! { span.box role="img" aria-label=(if done { "done" } else { "open" }) { @if done { "✓" } } }
}

fn state_class(state: State) -> &'static str {
    match state {
        State::Nonconforming => "nonconforming",
        State::NotJudged => "not-judged",
        State::Outstanding => "outstanding",
        State::Conceded => "conceded",
        State::Conforming => "conforming",
    }
}

fn figure(figure: &Figure, ids: &mut PageIds) -> Markup {
    ids.figures += 1;
    html! {
        figure {
            section.wide tabindex="0" aria-label=(ids.frame(&figure.title)) {
                @match (&figure.svg, &figure.characters) {
                    (Some(svg), _) => (PreEscaped(with_own_patterns(svg, ids.figures))),
                    (None, Some(drawn)) => pre { @for line in drawn.lines() { (clean(line)) "\n" } },
                    (None, None) => {},
                }
            }
            figcaption { (clean(&figure.caption)) }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_text_gets_out_of_a_margin() {
        assert_eq!(css_string("a 1"), "\"a\\0000201\"");
        assert_eq!(css_string("\"}</p>\\"), r#""\000022\00007d\00003c\00002fp\00003e\00005c""#);
        let mut paper = Paper::new("x".repeat(200));
        paper.state = Some(State::NotJudged);
        let marks = sheet_marks(&paper);
        assert!(marks.contains("@top-right { content: \"not\\000020judged\"; }"), "{marks}");
        assert!(marks.contains(&"x".repeat(90)) && !marks.contains(&"x".repeat(91)), "{marks}");
    }

    #[test]
    fn points_stand_under_each_other() {
        let mut table = Table::new(&["mm"]);
        let numbers = ["12", "0.5", "-0.125", "3 of 4"];
        table.rows = numbers.iter().map(|number| vec![TableCell::Number((*number).into())]).collect();
        let most = decimals(&table, 0);
        let padded: Vec<String> = table.rows.iter().map(|row| pad(&row[0], Some(&most))).collect();
        assert_eq!(padded, ["\u{2008}\u{2007}\u{2007}\u{2007}", "\u{2007}\u{2007}", "", ""]);
        // In a column of whole numbers nothing is added.
        assert_eq!(pad(&table.rows[0][0], Some(&0)), "");
    }

    #[test]
    fn thousands_stand_apart_and_are_copied_whole() {
        for number in ["5341309", "-14400", "123456.789", "1440", "0.00001", "−10000"] {
            let shown = thousands(number).into_string();
            let copied: String = shown.split('<').map(|part| part.split('>').next_back().unwrap_or("")).collect();
            assert_eq!(copied, number);
        }
        let apart = |number| thousands(number).into_string().matches("class=\"apart\"").count();
        assert_eq!(["5341309", "-14400", "123456.789", "1440", "0.00001"].map(apart), [2, 1, 1, 0, 0]);
    }

    /// A reader that lists frames and headings finds each by a name of its own, and no level left out.
    #[test]
    fn frames_are_told_apart_and_no_level_is_left_out() {
        let mut ids = PageIds::default();
        assert_eq!([3, 4, 4, 2, 3].map(|level| ids.level(level, "Torques of X.a")), [2, 3, 4, 2, 3]);
        let names = ["Support", "Support", "Support", "Joint"].map(|label| ids.frame(label));
        assert_eq!(names, ["Support", "Torques of X.a: Support", "Torques of X.a: Support (2)", "Joint"]);
    }

    #[test]
    fn no_name_is_given_twice_on_a_page() {
        let drawn = crate::formats::pictures::tests::hatched;
        let mut paper = Paper::new("Two pictures, and headings in folds");
        for title in ["one", "the other"] {
            paper.body.heading(2, title);
            paper.body.figure(Some(drawn(title)));
            let mut folded = Content::default();
            folded.heading(2, "deep");
            folded.figure(Some(drawn("url(#rising)")));
            paper.body.0.push(Element::Folded("more".into(), folded));
        }
        let page = html(&paper);
        let named = |mark: &str| -> Vec<String> {
            page.split(mark).skip(1).map(|rest| rest.split(['"', ')']).next().unwrap_or_default().to_owned()).collect()
        };
        let mut ids = named(" id=\"");
        let all = ids.len();
        assert_eq!(all, 10, "two headings, and two hatchings of each of four pictures: {ids:?}");
        ids.sort();
        ids.dedup();
        assert_eq!(ids.len(), all, "{ids:?}");
        let used = named(" fill=\"url(#");
        assert!(used.len() == 4 && used.iter().all(|name| ids.contains(name)), "{used:?}");
        assert!(page.contains(">url(#rising)<"), "what is text stays");
    }
}
