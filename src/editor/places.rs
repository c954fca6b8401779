//! Where something is described, and where it is named; and another name for it, where no record holds the old one.

use std::collections::BTreeMap;
use std::rc::Rc;

use gen_lsp_types::{
    DefinitionParams, Location, PrepareRenameParams, Range, ReferenceParams, RenameParams, TextDocumentPositionParams,
    WorkspaceEdit,
};

use super::changes;
use super::desk::{Desk, KnownLedger};
use super::mentions::{Mention, MentionedThing, described, mention_at, mentions};
use super::protocol::RequestError;
use crate::finding::{Locator, Place, SourceId};
use crate::ledger::{Name, Target};
use crate::text::{Edit, Span, quote};
use crate::world::Path;
use crate::world::ledgers::is_shared;

/// What is named at a place, and the ledger it is named in.
fn named(desk: &mut Desk, at: &TextDocumentPositionParams) -> Result<Option<NamedPlace>, RequestError> {
    let file = desk.opened(&at.text_document.uri)?;
    let offset = desk.offset(&file.source.document, at.position);
    let path = &file.source.path;
    let found = desk.ledger_by(path).and_then(|known| Some((known.source(path)?, known)));
    Ok(found.map(|(source, known)| NamedPlace { mention: mention_at(&known, source, offset), source, known, offset }))
}

struct NamedPlace {
    known: Rc<KnownLedger>,
    source: SourceId,
    offset: usize,
    mention: Option<Mention>,
}

/// Where that is described which is named at a place; from a finding that was accepted, the concession.
pub(super) fn definition(desk: &mut Desk, params: &DefinitionParams) -> Result<Vec<Location>, RequestError> {
    let Some(it) = named(desk, &params.text_document_position_params)? else { return Ok(Vec::new()) };
    let mut places = it.mention.as_ref().map_or(Vec::new(), |mention| described(&it.known.ledger, &mention.subject));
    let here = |place: &Place| {
        let range = place.span.range();
        place.source == it.source && range.start <= it.offset && it.offset <= range.end
    };
    // One who stands at the description itself wants what is said of it.
    if places.iter().all(here) {
        let conceded = it.known.findings().iter().filter(|finding| here(&finding.at.place));
        places.extend(conceded.filter_map(|finding| Some(finding.conceded.as_ref()?.place)));
    }
    Ok(places.iter().map(|place| desk.location(&it.known.ledger, *place)).collect())
}

/// Where a thing is named: in its own ledger, and what the shop has in all ledgers that are open.
pub(super) fn references(desk: &mut Desk, params: &ReferenceParams) -> Result<Vec<Location>, RequestError> {
    let Some(it) = named(desk, &params.text_document_position_params)? else { return Ok(Vec::new()) };
    let Some(Mention { subject, .. }) = it.mention else { return Ok(Vec::new()) };
    let all = if let MentionedThing::OfShop(..) = subject { desk.open_ledgers() } else { vec![it.known] };
    let mut found: Vec<Location> = Vec::new();
    for known in all {
        let own = described(&known.ledger, &subject);
        for mention in mentions(&known).into_iter().filter(|mention| mention.subject == subject) {
            let location = desk.location(&known.ledger, mention.place);
            let describes = own.iter().any(|place| mention.place.lies_in(*place) || place.lies_in(mention.place));
            if (params.context.include_declaration || !describes) && !found.contains(&location) {
                found.push(location);
            }
        }
    }
    Ok(found)
}

/// What would be renamed at a place; an error says why nothing can be.
pub(super) fn prepare_rename(desk: &mut Desk, params: &PrepareRenameParams) -> Result<Range, RequestError> {
    let renaming = Renaming::find(desk, &params.text_document_position_params)?;
    Ok(desk.location(&renaming.known.ledger, renaming.mention.place).range)
}

/// Another name for what is named at a place.
pub(super) fn rename(desk: &mut Desk, params: &RenameParams) -> Result<WorkspaceEdit, RequestError> {
    let renaming = Renaming::find(desk, &params.text_document_position_params)?;
    let new = &params.new_name;
    if new.is_empty() || !new.chars().all(|c| c.is_alphanumeric() || matches!(c, '-' | '_')) {
        return Err(RequestError::invalid(format!("`{new}` is no name: letters, digits, `-` and `_` are")));
    }
    let mut edits: BTreeMap<Path, Vec<Edit>> = BTreeMap::new();
    for known in &renaming.all {
        for mention in mentions(known).iter().filter(|mention| renaming.touches(mention)) {
            let source = known.ledger.sources.get(mention.place.source);
            let edit = renaming.edit(known, mention, new);
            let of_file = edits.entry(source.path.clone()).or_default();
            if !of_file.contains(&edit) {
                of_file.push(edit);
            }
        }
    }
    // With the new name nothing may be wrong that was not before: a name that is taken, for one.
    for known in &renaming.all {
        renaming.is_untaken(known, new)?;
        changes::keeps_in_order(known, &edits)?;
    }
    changes::keep_shared_in_order(desk, &edits)?;
    changes::workspace_edit(desk, &edits)
}

/// A name that may be changed.
struct Renaming {
    known: Rc<KnownLedger>,
    mention: Mention,
    /// The ledgers that may hold it.
    all: Vec<Rc<KnownLedger>>,
}

impl Renaming {
    fn find(desk: &mut Desk, at: &TextDocumentPositionParams) -> Result<Renaming, RequestError> {
        let nothing = || RequestError::invalid("no name that is described in machine or shop stands here");
        let NamedPlace { known, mention, .. } = named(desk, at)?.ok_or_else(nothing)?;
        let mention = mention.filter(|it| !it.within).ok_or_else(nothing)?;
        let all = match &mention.subject {
            MentionedThing::OfShop(..) => {
                let place = *described(&known.ledger, &mention.subject).first().ok_or_else(nothing)?;
                desk.ledgers_of(&known.ledger.sources.get(place.source).path)
            }
            MentionedThing::Beam(..) | MentionedThing::Part(Target::Axis(_) | Target::Rail(_)) => {
                vec![Rc::clone(&known)]
            }
            MentionedThing::Part(_) => {
                let why = "a joint, a segment or a support is named by where it lies, in the description of its rail";
                return Err(RequestError::invalid(why));
            }
            MentionedThing::Record(_) | MentionedThing::Rule(_) => return Err(nothing()),
        };
        let renaming = Renaming { known, mention, all };
        renaming.is_own()?;
        renaming.is_free()?;
        Ok(renaming)
    }

    /// Whether a place names it, or something on it.
    fn touches(&self, mention: &Mention) -> bool {
        match (&self.mention.subject, &mention.subject) {
            (MentionedThing::Part(Target::Axis(axis)), MentionedThing::Part(of)) => {
                of.axis() == *axis && (mention.address || *of == Target::Axis(*axis))
            }
            (MentionedThing::Part(Target::Rail(id)), MentionedThing::Part(of)) => {
                of.rail() == Some(*id) && (mention.address || *of == Target::Rail(*id))
            }
            (own, other) => own == other,
        }
    }

    /// Fails where a design that other machines may be built to describes it.
    fn is_own(&self) -> Result<(), RequestError> {
        let sources = &self.known.ledger.sources;
        let of_machine = !matches!(self.mention.subject, MentionedThing::OfShop(..));
        let described = described(&self.known.ledger, &self.mention.subject);
        let mut paths = described.iter().map(|place| &sources.get(place.source).path);
        match paths.find(|path| of_machine && is_shared(path.name())) {
            Some(path) => Err(RequestError::invalid(format!(
                "{} describes it for every machine that is built to it: give it another name in a new revision",
                path.name()
            ))),
            None => Ok(()),
        }
    }

    /// Fails where a ledger has another entry of that name from its shop: a nearer file would hide or complete it.
    fn is_untaken(&self, known: &KnownLedger, new: &str) -> Result<(), RequestError> {
        let MentionedThing::OfShop(refers, _) = self.mention.subject else { return Ok(()) };
        let taken = described(&known.ledger, &MentionedThing::OfShop(refers, Name::new(new)));
        match taken.first() {
            Some(place) => {
                let at = Locator::new(&known.ledger.sources).locate(*place);
                let file = known.ledger.sources.get(place.source).path.name();
                let (what, line) = (refers.called(), at.line);
                Err(RequestError::invalid(format!("there is a {what} `{new}` already ({file}, line {line})")))
            }
            None => Ok(()),
        }
    }

    /// Fails where a record holds the name: what was recorded is not rewritten.
    fn is_free(&self) -> Result<(), RequestError> {
        for known in &self.all {
            let ledger = &known.ledger;
            let held = |mention: &&Mention| self.touches(mention) && ledger.record_at(mention.place).is_some();
            if let Some(mention) = mentions(known).iter().find(held) {
                let at = Locator::new(&ledger.sources).locate(mention.place);
                let file = ledger.sources.get(mention.place.source).path.name().to_owned();
                return Err(RequestError::invalid(format!(
                    "a record holds this name ({file}, line {}), and records are not rewritten: describe it anew under another name",
                    at.line
                )));
            }
        }
        Ok(())
    }

    fn edit(&self, known: &KnownLedger, mention: &Mention, new: &str) -> Edit {
        let written = known.ledger.sources.text(mention.place);
        if !mention.address {
            return Edit { span: mention.place.span, text: quote(new) };
        }
        // An address holds no quotes but around the whole.
        let bare = written.trim_matches('"');
        let mut parts: Vec<&str> = bare.split('.').collect();
        let at = usize::from(!matches!(self.mention.subject, MentionedThing::Part(Target::Axis(_))));
        if let Some(part) = parts.get_mut(at) {
            *part = new;
        }
        let text = parts.join(".");
        let text = if written.starts_with('"') { crate::text::quoted(&text) } else { quote(&text) };
        Edit { span: Span { ..mention.place.span }, text }
    }
}
