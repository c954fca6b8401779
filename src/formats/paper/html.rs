//! A paper as one HTML page that stands for itself: no network, no script, readable on paper, by screen readers, in
//! light and dark, and on a narrow screen.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::{Block, Cell, Paper, Picture, Table};
use crate::formats::clean;
use crate::views::report::State;

/// The first line, by which our own earlier paper is known.
pub const HEAD: &str = "<!DOCTYPE html><!-- written by wayledger -->";

const STYLE: &str = include_str!("page.css");

/// The page. Every text from a ledger is escaped, and made harmless before.
pub fn html(paper: &Paper) -> String {
    let title = clean(&paper.title);
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
            body {
                header { h1 { (title) } (contents(paper)) }
                main {
                    @for (at, block) in paper.blocks.iter().enumerate() { (self::block(at, block)) }
                }
            }
        }
    };
    page.into_string() + "\n"
}

/// Links to the headings of the first level.
fn contents(paper: &Paper) -> Markup {
    let headings = || {
        paper.blocks.iter().enumerate().filter_map(|(at, block)| match block {
            Block::Heading(2, text) => Some((at, clean(text))),
            _ => None,
        })
    };
    html! {
        @if headings().count() > 1 {
            nav aria-label="Contents" {
                ul { @for (at, text) in headings() { li { a href=(format!("#s{at}")) { (text) } } } }
            }
        }
    }
}

fn block(at: usize, block: &Block) -> Markup {
    html! {
        @match block {
            Block::Heading(2, text) => h2 id=(format!("s{at}")) { (clean(text)) },
            Block::Heading(_, text) => h3 { (clean(text)) },
            Block::Text(text) => p { (clean(text)) },
            Block::List(items) => ul { @for item in items { li { (clean(item)) } } },
            Block::Facts(facts) => dl {
                @for (name, value) in facts { div { dt { (name) } dd { (cell(value)) } } }
            },
            Block::Table(table) => (self::table(table)),
            Block::Picture(picture) => (self::picture(picture)),
        }
    }
}

/// A wide table is pushed sideways in its own frame, so that the page never is.
fn table(table: &Table) -> Markup {
    let label = if table.caption.is_empty() { table.head.join(", ") } else { clean(&table.caption).into_owned() };
    html! {
        div.wide role="region" tabindex="0" aria-label=(label) {
            table {
                @if !table.caption.is_empty() { caption { (clean(&table.caption)) } }
                thead { tr { @for (at, head) in table.head.iter().enumerate() {
                    th scope="col" class=[numbers(table, at).then_some("number")] { (head) }
                } } }
                tbody {
                    @for row in &table.rows {
                        tr {
                            @for (at, value) in row.iter().enumerate() {
                                @let class = matches!(value, Cell::Number(_)).then_some("number");
                                @if at == 0 {
                                    th scope="row" class=[class] { (cell(value)) }
                                } @else {
                                    td class=[class] { (cell(value)) }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Whether a column holds numbers.
fn numbers(table: &Table, column: usize) -> bool {
    table.rows.iter().any(|row| matches!(row.get(column), Some(Cell::Number(_))))
}

fn cell(cell: &Cell) -> Markup {
    html! {
        @match cell {
            Cell::Text(text) | Cell::Number(text) => (clean(text)),
            Cell::Wrong(text) => strong.wrong { (clean(text)) },
            Cell::State(state) => span class=(format!("state {}", class(*state))) { (state.word()) },
        }
    }
}

fn class(state: State) -> &'static str {
    match state {
        State::Nonconforming => "nonconforming",
        State::NotJudged => "not-judged",
        State::Outstanding => "outstanding",
        State::Conceded => "conceded",
        State::Conforming => "conforming",
    }
}

fn picture(picture: &Picture) -> Markup {
    html! {
        figure {
            div.wide role="region" tabindex="0" aria-label=(clean(&picture.title)) { (picture.svg) }
            figcaption { (clean(&picture.text)) }
        }
    }
}
