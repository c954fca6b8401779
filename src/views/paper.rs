//! A paper before it has a format: headings, facts, tables, figures, and what is filled in with a pen. Every paper is
//! described once in these; the formats print the same.

use super::cautions::{CAUTIONS, NO_SUBSTITUTE};
use super::report::State;

/// A paper.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Paper {
    pub(crate) title: String,
    /// It goes with the job and is written on.
    pub is_form: bool,
    /// How what it is about stands as a whole, for the head of every sheet.
    pub(crate) state: Option<State>,
    /// Which bytes it shows, judged by which day, for the foot of every sheet: `revision 0123456789ab, as of 2026-11-01`.
    pub shows: Option<String>,
    pub(crate) body: Content,
}

impl Paper {
    pub(crate) fn new(title: impl Into<String>) -> Paper {
        Paper { title: title.into(), ..Paper::default() }
    }
}

/// What stands on a paper, or in a part of it, from top to bottom.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Content(pub Vec<Element>);

#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Element {
    /// A heading below the title; the first level is 2.
    Heading(u8, String),
    Paragraph(String),
    List(Vec<ListItem>),
    /// Names with their values.
    Facts(Vec<(&'static str, TableCell)>),
    Table(Table),
    Figure(Figure),
    /// Work in its order, each with a box to tick.
    Checklist(Vec<CheckItem>),
    /// Work stops here until somebody signs: what is signed for.
    HoldPoint(String),
    /// Kept together on one page.
    Group(Content),
    /// What follows begins on a page of its own.
    NewPage,
    /// Folded under its line where a format can fold. Plain text leaves out what is folded within a fold.
    Folded(String, Content),
}

/// A line of a list; one of a deeper level belongs to the line above it. The first level is 0.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct ListItem {
    pub level: u8,
    pub text: String,
}

impl ListItem {
    pub(crate) fn new(level: u8, text: impl Into<String>) -> ListItem {
        ListItem { level, text: text.into() }
    }
}

/// One piece of work.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct CheckItem {
    pub what: String,
    /// The ledger already has it.
    pub is_done: bool,
}

impl CheckItem {
    pub(crate) fn open(what: impl Into<String>) -> CheckItem {
        CheckItem { what: what.into(), is_done: false }
    }
}

#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Table {
    pub caption: String,
    pub head: Vec<String>,
    pub rows: Vec<Vec<TableCell>>,
}

impl Table {
    pub(crate) fn new(head: &[&str]) -> Table {
        Table { head: head.iter().map(ToString::to_string).collect(), ..Table::default() }
    }
}

/// What stands in a table's cell or beside a fact's name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum TableCell {
    Text(String),
    /// A text that leads to another page, where a format can.
    Link {
        text: String,
        page: String,
    },
    /// Set to the right, so that digits stand under digits.
    Number(String),
    State(State),
    /// A text that must catch the eye: something is wrong there.
    Wrong(String),
    /// To be written in.
    Blank,
    /// To be ticked, or ticked already.
    Tick(bool),
    /// One of these is to be ticked.
    Choice(&'static [&'static str]),
    /// Nothing belongs here.
    Nothing,
}

impl TableCell {
    pub(crate) fn text(text: impl Into<String>) -> TableCell {
        TableCell::Text(text.into())
    }

    /// A number, or a dash where it is not known.
    pub(crate) fn number(number: Option<String>) -> TableCell {
        number.map_or_else(TableCell::none, TableCell::Number)
    }

    /// A text, or a dash where it is not known.
    pub(crate) fn given(text: Option<impl Into<String>>) -> TableCell {
        text.map_or_else(TableCell::none, TableCell::text)
    }

    /// A text, or room to write it in where it is not known.
    pub(crate) fn text_or_blank(text: Option<impl Into<String>>) -> TableCell {
        text.map_or(TableCell::Blank, TableCell::text)
    }

    /// A number, or room to write it in where it is not known.
    pub(crate) fn number_or_blank(number: Option<String>) -> TableCell {
        number.map_or(TableCell::Blank, TableCell::Number)
    }

    /// Not known, or not recorded.
    pub(crate) fn none() -> TableCell {
        TableCell::Text("–".into())
    }
}

impl<T: Into<String>> From<T> for TableCell {
    fn from(text: T) -> TableCell {
        TableCell::Text(text.into())
    }
}

/// A picture, with what it says in words. A format without either kind of picture prints the words.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Figure {
    pub title: String,
    pub caption: String,
    /// An `svg` element, complete and escaped.
    pub svg: Option<String>,
    /// Drawn in characters of one width, for where no picture can be shown, or where there is no other.
    pub characters: Option<String>,
}

impl Content {
    pub(crate) fn heading(&mut self, level: u8, text: impl Into<String>) {
        self.0.push(Element::Heading(level, text.into()));
    }

    pub(crate) fn say(&mut self, text: impl Into<String>) {
        self.0.push(Element::Paragraph(text.into()));
    }

    /// A list; nothing where it has no items.
    pub(crate) fn list(&mut self, items: Vec<ListItem>) {
        if !items.is_empty() {
            self.0.push(Element::List(items));
        }
    }

    pub(crate) fn facts(&mut self, facts: Vec<(&'static str, TableCell)>) {
        self.0.push(Element::Facts(facts));
    }

    /// A table; nothing where it has no rows.
    pub(crate) fn table(&mut self, caption: impl Into<String>, head: &[&str], rows: Vec<Vec<TableCell>>) {
        self.whole_table(Table { caption: caption.into(), rows, ..Table::new(head) });
    }

    /// The same of a table that was made before.
    pub(crate) fn whole_table(&mut self, table: Table) {
        if !table.rows.is_empty() {
            self.0.push(Element::Table(table));
        }
    }

    pub(crate) fn figure(&mut self, figure: Option<Figure>) {
        self.0.extend(figure.map(Element::Figure));
    }

    /// Work to tick; nothing where there is none.
    pub(crate) fn checklist(&mut self, items: Vec<CheckItem>) {
        if !items.is_empty() {
            self.0.push(Element::Checklist(items));
        }
    }

    pub(crate) fn hold_point(&mut self, what: impl Into<String>) {
        self.0.push(Element::HoldPoint(what.into()));
    }

    pub(crate) fn new_page(&mut self) {
        self.0.push(Element::NewPage);
    }

    /// The cautions, and what the tool is not.
    pub(crate) fn cautions(&mut self) {
        let mut group = Content::default();
        group.heading(2, "Cautions");
        group.list(CAUTIONS.iter().map(|it| ListItem::new(0, format!("{}: {}", it.title, it.text))).collect());
        group.say(NO_SUBSTITUTE);
        self.0.push(Element::Group(group));
    }

    /// Every heading with its level, those in groups too, in their order.
    pub(crate) fn headings(&self) -> Vec<(u8, &str)> {
        let mut all = Vec::new();
        for element in &self.0 {
            match element {
                Element::Heading(level, text) => all.push((*level, text.as_str())),
                Element::Group(body) => all.extend(body.headings()),
                _ => {}
            }
        }
        all
    }
}
