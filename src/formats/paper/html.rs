//! A paper as one HTML page that stands for itself: no network, no script, readable on paper, by screen readers, in
//! light and dark, and on a narrow screen.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use crate::formats::clean;
use crate::views::paper::{Content, Element, Figure, Paper, Table, TableCell};
use crate::views::report::State;

/// The first line, by which our own earlier paper is known.
pub(crate) const HEAD: &str = "<!DOCTYPE html><!-- written by wayledger -->";

const STYLE: &str = include_str!("page.css");

/// The page. Every text from a ledger is escaped, and made harmless before.
pub fn html(paper: &Paper) -> String {
    let title = clean(&paper.title);
    let mut sections = 0;
    let main = body(&paper.body, &mut sections);
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
                style { (PreEscaped(STYLE)) }
            }
            body class=[paper.is_form.then_some("form")] {
                header { h1 { (title) } (contents(paper)) }
                main { (main) }
            }
        }
    };
    page.into_string() + "\n"
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

/// The elements; the headings of the first level are counted for the links to them.
fn body(body: &Content, sections: &mut usize) -> Markup {
    html! { @for element in &body.0 { (self::element(element, sections)) } }
}

fn element(element: &Element, sections: &mut usize) -> Markup {
    match element {
        Element::Heading(2, text) => {
            *sections += 1;
            html! { h2 id=(format!("s{}", *sections - 1)) { (clean(text)) } }
        }
        Element::Heading(3, text) => html! { h3 { (clean(text)) } },
        Element::Heading(_, text) => html! { h4 { (clean(text)) } },
        Element::Paragraph(text) => html! { p { (clean(text)) } },
        Element::List(items) => list(items.iter().map(|item| (item.level, item.text.as_str()))),
        Element::Facts(facts) => facts_list(facts),
        Element::Table(table) => self::table(table),
        Element::Figure(figure) => self::figure(figure),
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
        Element::Group(group) => html! { section.group { (body(group, sections)) } },
        Element::Folded(line, folded) => html! {
            details { summary { (clean(line)) } (body(folded, &mut 0)) }
        },
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
fn table(table: &Table) -> Markup {
    let label = if table.caption.is_empty() { table.head.join(", ") } else { table.caption.clone() };
    html! {
        div.wide role="region" tabindex="0" aria-label=(clean(&label)) {
            table {
                @if !table.caption.is_empty() { caption { (clean(&table.caption)) } }
                thead { tr { @for (at, name) in table.head.iter().enumerate() {
                    @if name.is_empty() {
                        td.nothing {}
                    } @else {
                        th scope="col" class=[numbers(table, at).then_some("number")] { (clean(name)) }
                    }
                } } }
                tbody { @for row in &table.rows { tr { @for (at, value) in row.iter().enumerate() {
                    @if at == 0 {
                        th scope="row" class=[class(value)] { (cell(value)) }
                    } @else {
                        td class=[class(value)] { (cell(value)) }
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

fn class(cell: &TableCell) -> Option<&'static str> {
    match cell {
        TableCell::Number(_) => Some("number"),
        TableCell::Blank => Some("blank"),
        TableCell::Tick(_) => Some("tick"),
        TableCell::Nothing => Some("nothing"),
        _ => None,
    }
}

fn cell(cell: &TableCell) -> Markup {
    html! {
        @match cell {
            TableCell::Text(text) | TableCell::Number(text) => (clean(text)),
            TableCell::Wrong(text) => strong.wrong { (clean(text)) },
            TableCell::State(state) => span class=(format!("state {}", state_class(*state))) { (state.word()) },
            TableCell::Tick(done) => (tick(*done)),
            TableCell::Choice(words) => @for word in *words { (tick(false)) " " (word) " " },
            TableCell::Blank | TableCell::Nothing => {},
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

fn figure(figure: &Figure) -> Markup {
    html! {
        figure {
            div.wide role="region" tabindex="0" aria-label=(clean(&figure.title)) {
                @match (&figure.svg, &figure.characters) {
                    (Some(svg), _) => (PreEscaped(svg)),
                    (None, Some(drawn)) => pre { @for line in drawn.lines() { (clean(line)) "\n" } },
                    (None, None) => {},
                }
            }
            figcaption { (clean(&figure.caption)) }
        }
    }
}
