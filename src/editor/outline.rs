//! What a file holds at a glance: its outline, what can be folded, and the files that it names.

use gen_lsp_types::{
    BaseSymbolInformation, DocumentLink, DocumentLinkParams, DocumentSymbol, DocumentSymbolParams, FoldingRange,
    FoldingRangeParams, SymbolKind, WorkspaceSymbol, WorkspaceSymbolParams,
};

use super::desk::Desk;
use super::protocol::RequestError;
use crate::formats::clean;
use crate::language::schema::language;
use crate::ledger::{Attached, Body};
use crate::text::{EntryRef, NodeRef};

/// The outline of a file.
pub(super) fn symbols(desk: &mut Desk, params: &DocumentSymbolParams) -> Result<Vec<DocumentSymbol>, RequestError> {
    let file = desk.opened(&params.text_document.uri)?;
    Ok(file.source.document.nodes().map(|node| symbol(desk, node)).collect())
}

/// How deep an outline goes. Nothing of the language lies deeper.
const DEEPEST: usize = 5;

fn symbol(desk: &Desk, node: NodeRef) -> DocumentSymbol {
    let document = node.document();
    // The rows of a record are many and say little by themselves.
    let is_record = language().node(node.name()).is_some_and(|shape| !shape.describes()) && node.depth() == 0;
    let below = !is_record && node.depth() < DEEPEST;
    let children: Vec<DocumentSymbol> = node.children().filter(|_| below).map(|child| symbol(desk, child)).collect();
    let names: Vec<&str> = node.args().filter_map(EntryRef::word).take(3).collect();
    let detail = ["date", "stage", "by"].iter().filter_map(|name| node.prop(name)?.word());
    let detail = detail.collect::<Vec<_>>().join(" ");
    // A symbol without a name is refused by editors.
    let name = clean(format!("{} {}", node.name(), names.join(" ")).trim()).into_owned();
    #[expect(deprecated, reason = "the field must be given")]
    DocumentSymbol {
        name: if name.is_empty() { "(no name)".to_owned() } else { name },
        detail: (!detail.is_empty()).then(|| clean(&detail).into_owned()),
        kind: kind(node.name(), is_record),
        tags: None,
        deprecated: None,
        range: desk.range(document, node.span()),
        selection_range: desk.range(document, node.head()),
        children: (!children.is_empty()).then_some(children),
    }
}

fn kind(name: &str, is_record: bool) -> SymbolKind {
    match name {
        _ if is_record => SymbolKind::Event,
        "machine" | "shop" => SymbolKind::Module,
        "axis" | "rail" | "beam" | "carriage" => SymbolKind::Class,
        "gauge" | "wrench" | "profile" | "fastener" | "block" => SymbolKind::Object,
        _ => SymbolKind::Field,
    }
}

/// The names of what is described in the ledgers that are open, and in the shop files that apply to them.
pub(super) fn found_symbols(desk: &mut Desk, params: &WorkspaceSymbolParams) -> Vec<WorkspaceSymbol> {
    let wanted = params.query.to_lowercase();
    let mut all: Vec<WorkspaceSymbol> = Vec::new();
    for known in desk.open_ledgers() {
        let ledger = &known.ledger;
        let machine = ledger.machine.name.as_ref().map(|name| name.to_string());
        let mut take = |name: String, kind: SymbolKind, place, container: Option<String>| {
            if !name.to_lowercase().contains(&wanted) {
                return;
            }
            let base = BaseSymbolInformation {
                name: clean(&name).into_owned(),
                kind,
                tags: None,
                container_name: container.map(|name| clean(&name).into_owned()),
            };
            let location = desk.location(ledger, place).into();
            let found = WorkspaceSymbol { location, data: None, base_symbol_information: base };
            if !all.contains(&found) {
                all.push(found);
            }
        };
        if let Some(name) = &ledger.machine.name {
            take(name.to_string(), SymbolKind::Module, name.place, None);
        }
        for (at, axis) in ledger.machine.axes.iter().enumerate() {
            take(axis.name.to_string(), SymbolKind::Class, axis.name.place, machine.clone());
            for (id, _, rail) in ledger.machine.rails().filter(|(id, ..)| id.axis == at) {
                take(ledger.machine.rail_address(id), SymbolKind::Class, rail.name.place, machine.clone());
            }
        }
        for instrument in ledger.shop.instruments() {
            take(instrument.name().to_owned(), SymbolKind::Object, instrument.place(), None);
        }
        for profile in &ledger.shop.profiles {
            take(profile.name.to_string(), SymbolKind::Object, profile.name.place, None);
        }
        for fastener in &ledger.shop.fasteners {
            take(fastener.name.to_string(), SymbolKind::Object, fastener.name.place, None);
        }
        for block in &ledger.shop.blocks {
            take(block.name.to_string(), SymbolKind::Object, block.name.place, None);
        }
    }
    all
}

/// The blocks that lie over several lines.
pub(super) fn folds(desk: &mut Desk, params: &FoldingRangeParams) -> Result<Vec<FoldingRange>, RequestError> {
    let file = desk.opened(&params.text_document.uri)?;
    let document = &file.source.document;
    let nodes = (0..document.len()).filter_map(|index| document.node(index));
    let fold = |node: NodeRef| {
        let block = node.block()?.range();
        let (start, end) = (desk.position(document, block.start), desk.position(document, block.end.max(1) - 1));
        (start.line < end.line).then(|| FoldingRange {
            start_line: start.line,
            end_line: end.line,
            ..FoldingRange::default()
        })
    };
    Ok(nodes.filter_map(fold).collect())
}

/// The attached files that are there.
pub(super) fn links(desk: &mut Desk, params: &DocumentLinkParams) -> Result<Vec<DocumentLink>, RequestError> {
    let file = desk.opened(&params.text_document.uri)?;
    let path = &file.source.path;
    let Some(known) = desk.ledger(path) else { return Ok(Vec::new()) };
    let ledger = &known.ledger;
    let own = ledger.records.iter().filter(|record| ledger.sources.get(record.place.source).path == *path);
    let link = |attached: &crate::ledger::Spanned<crate::ledger::Name>| {
        let is_there = matches!(ledger.attachments.get(attached.as_str()), Some(Attached::Sha256(_)));
        is_there.then(|| DocumentLink {
            range: desk.location(ledger, attached.place).range,
            target: Some(desk.uri(&ledger.folder.join(attached))),
            ..DocumentLink::default()
        })
    };
    let files = own.filter_map(|record| match &record.body {
        Body::Attach(attach) => attach.file.as_ref(),
        _ => None,
    });
    Ok(files.filter_map(link).collect())
}
