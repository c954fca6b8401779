//! What may be written here: nodes, properties, words and units from the schema, names from the ledger, and on an empty
//! line whole records and rows that are outstanding.

use gen_lsp_types::{
    CompletionItem, CompletionItemKind, CompletionParams, InsertTextFormat, MarkupContent, MarkupKind, TextEdit,
};

use super::context::{WantedText, WritingPlace};
use super::desk::Desk;
use super::markdown::{node_help, part_help};
use super::new_records::{Signing, groove, new_records, station, torques};
use super::protocol::RequestError;
use super::scope::{names, stage, target};
use super::snippet;
use crate::formats::clean;
use crate::language::schema::{EntryShape, FileKind, NodeShape, Type, language};
use crate::ledger::{Groove, Keyword, Ledger, NodeDraft, Target};
use crate::quantity::units_of;
use crate::rules::Case;
use crate::text::{Document, EntryRef, Span, quote, quoted};
use crate::writing::entry::outstanding;

/// What may be written at a place, the likeliest first.
pub(super) fn completion(desk: &mut Desk, params: &CompletionParams) -> Result<Vec<CompletionItem>, RequestError> {
    let at = &params.text_document_position_params;
    let file = desk.opened(&at.text_document.uri)?;
    let (path, document) = (&file.source.path, &file.source.document);
    let offset = desk.offset(document, at.position);
    let Some(place) = WritingPlace::find(document.text(), offset) else { return Ok(Vec::new()) };
    let known = desk.ledger_by(path);
    let nothing = Ledger::default();
    let ledger = known.as_ref().map_or(&nothing, |known| &known.ledger);
    let case = Case::new(ledger, desk.day());
    let signed = Signing::for_file(&case, path);
    let mut list = CompletionList { desk, document, word: place.word, quoted: place.quoted, items: Vec::new() };
    match &place.wanted {
        WantedText::Node => {
            rows(&mut list, &case, &place, offset);
            nodes(&mut list, &place, file.kind());
            if place.shapes.is_empty() && known.is_some() && file.kind() == FileKind::Record {
                records(&mut list, &case, &signed);
            }
        }
        WantedText::Value(part) => values(&mut list, &case, &place, part, signed.date),
        WantedText::Entry(part) => {
            if let Some(part) = part {
                values(&mut list, &case, &place, part, signed.date);
            }
            properties(&mut list, &place);
        }
        WantedText::Unit(dimensions) => {
            for dimension in dimensions {
                for unit in units_of(*dimension) {
                    let behind = document.text()[place.word.range().end..].starts_with(')');
                    let text = if behind { quote(unit.name) } else { format!("{})", quote(unit.name)) };
                    list.put(unit.name, CompletionItemKind::Unit, dimension.name(), text, None);
                }
            }
        }
    }
    Ok(list.items)
}

/// The list in the making.
struct CompletionList<'d> {
    desk: &'d Desk,
    document: &'d Document,
    word: Span,
    quoted: bool,
    items: Vec<CompletionItem>,
}

impl CompletionList<'_> {
    /// Adds what takes the place of the word that was begun. The order of the list is kept.
    fn put(&mut self, label: &str, kind: CompletionItemKind, detail: &str, text: String, help: Option<String>) {
        let range = self.desk.range(self.document, self.word);
        let label = clean(label).into_owned();
        // An editor compares with what stands in the range, the opening quote among it.
        let filter = if self.quoted { format!("\"{label}") } else { label.clone() };
        self.items.push(CompletionItem {
            label,
            kind: Some(kind),
            detail: (!detail.is_empty()).then(|| clean(detail).into_owned()),
            documentation: help.map(|value| MarkupContent { kind: MarkupKind::Markdown, value }.into()),
            sort_text: Some(format!("{:05}", self.items.len())),
            filter_text: Some(filter),
            text_edit: Some(TextEdit { range, new_text: text }.into()),
            ..CompletionItem::default()
        });
    }

    /// Adds a record or a row with places to fill.
    fn put_draft(&mut self, label: &str, detail: &str, text: &str) {
        let snippets = self.desk.client.snippets;
        self.put(label, CompletionItemKind::Snippet, detail, snippet::written(text, snippets), None);
        if let Some(item) = self.items.last_mut().filter(|_| snippets) {
            item.insert_text_format = Some(InsertTextFormat::Snippet);
        }
    }
}

/// The nodes that may stand here.
fn nodes(list: &mut CompletionList, place: &WritingPlace, kind: FileKind) {
    let all: Vec<&NodeShape> = match place.shapes.last() {
        Some(shape) => shape.children.iter().collect(),
        None => language().top.iter().filter(|shape| shape.files.iter().any(|file| file == kind.word())).collect(),
    };
    let nodes = place.nodes();
    // The last one is our own word.
    let around = nodes.len().checked_sub(2).and_then(|at| nodes.get(at));
    for shape in all {
        let there = around.map_or(0, |around| around.children().filter(|child| child.is(&shape.name)).count());
        if shape.most.is_none_or(|most| there < most) {
            list.put(&shape.name, CompletionItemKind::Keyword, "", shape.name.clone(), Some(node_help(shape)));
        }
    }
}

/// The properties that are not written yet.
fn properties(list: &mut CompletionList, place: &WritingPlace) {
    let (Some(shape), nodes) = (place.shapes.last(), place.nodes()) else { return };
    let Some(node) = nodes.last() else { return };
    let before = list.document.text().len();
    // What stands behind the place on the same node counts too.
    let written = list.document.node_at(place.word.range().start.min(before));
    for part in &shape.props {
        let there = node.prop(&part.name).is_some()
            || written.is_some_and(|written| written.is(&shape.name) && written.prop(&part.name).is_some());
        if !there {
            let needed = if part.required { "needed" } else { "" };
            let text = format!("{}=", part.name);
            list.put(&part.name, CompletionItemKind::Property, needed, text, Some(part_help(part)));
        }
    }
}

/// The values that a part may have.
fn values(
    list: &mut CompletionList,
    case: &Case,
    place: &WritingPlace,
    part: &'static EntryShape,
    usual: jiff::civil::Date,
) {
    for word in &part.allow {
        let text = if list.quoted { quoted(word) } else { quote(word) };
        list.put(word, CompletionItemKind::EnumMember, "", text, Some(part_help(part)));
    }
    if part.ty == Type::Flag {
        for word in ["#true", "#false"] {
            list.put(word, CompletionItemKind::EnumMember, "", word.to_owned(), Some(part_help(part)));
        }
    }
    // Of a range `S9..S1` the second end is a name by itself.
    let begun = list.document.text()[place.word.range()].rfind("..").filter(|_| part.ty == Type::Supports);
    let whole = list.word;
    if let Some(at) = begun {
        list.word.start = whole.start + at as u32 + 2;
    }
    for offered in names(case, place, part, usual) {
        let must = list.quoted || matches!(part.ty, Type::Date | Type::Moment);
        let text = match part.ty {
            Type::Count if !list.quoted => offered.name.clone(),
            _ if must => quoted(&offered.name),
            _ => quote(&offered.name),
        };
        list.put(&offered.name, CompletionItemKind::Reference, &offered.detail, text, None);
    }
    list.word = whole;
    if part.blank && !list.quoted {
        list.put("#null", CompletionItemKind::Constant, "not read yet", "#null".to_owned(), Some(part_help(part)));
    }
}

/// The rows of the record here that are outstanding.
fn rows(list: &mut CompletionList, case: &Case, place: &WritingPlace, offset: usize) {
    let [record] = place.shapes[..] else { return };
    // What the record says already, before the place and behind it.
    let top = list.document.path_to(offset).first().copied();
    let said = |name: &str, first: &str| {
        let says = |node: crate::text::NodeRef| {
            node.is(name) && (first.is_empty() || node.args().next().and_then(EntryRef::text) == Some(first))
        };
        top.is_some_and(|top| top.children().any(says))
    };
    let mut drafts: Vec<(String, NodeDraft)> = Vec::new();
    match (record.name.as_str(), target(case, place)) {
        ("fasten", Some(Target::Rail(id))) => {
            let Some((interface, stage)) = stage(place) else { return };
            for support in outstanding::supports(case, id, interface, stage) {
                let name = case.machine.rail(id).supports[support].name.to_string();
                drafts.push((format!("at {name}"), torques(case, id, interface, support)));
            }
        }
        ("inspect", Some(Target::Joint(..))) => {
            drafts.extend(Groove::ALL.map(|it| (it.word().to_owned(), groove(it))));
        }
        ("survey", Some(Target::Rail(id))) => {
            for support in 0..case.machine.rail(id).supports.len() {
                let name = case.machine.rail(id).supports[support].name.to_string();
                drafts.push((format!("at {name}"), station(case, id, support)));
            }
        }
        _ => {}
    }
    drafts.retain(|(label, _)| {
        let (name, first) = label.split_once(' ').unwrap_or((label, ""));
        !said(name, first)
    });
    if drafts.len() > 1 {
        let all: Vec<String> = drafts.iter().map(|(_, draft)| draft.line()).collect();
        // An editor indents the lines that follow as the first.
        list.put_draft("all outstanding rows", &format!("{} rows", all.len()), &all.join("\n"));
    }
    for (label, draft) in drafts {
        list.put_draft(&label, "outstanding", &draft.line());
    }
}

/// Whole records.
fn records(list: &mut CompletionList, case: &Case, signed: &Signing) {
    for record in new_records(case, signed) {
        list.put_draft(&record.label, &record.detail, record.draft.text().trim_end());
    }
}
