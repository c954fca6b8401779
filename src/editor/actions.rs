//! What an editor may offer to do: the changes that findings carry, since they can mean one thing; and text for a person to
//! complete. No reading is ever written, and no reason.

use std::collections::BTreeMap;

use gen_lsp_types::{CodeAction, CodeActionKind, CodeActionParams};

use super::changes;
use super::desk::{Desk, KnownLedger};
use super::findings::diagnostic;
use super::new_records::{Signing, station, torques};
use super::protocol::RequestError;
use super::snippet;
use crate::facts::shim_plan::shim_plan;
use crate::facts::shim_write;
use crate::finding::{Finding, SourceId};
use crate::judging::what_if;
use crate::ledger::{Body, NodeDraft, Record, SpeltValue, Target};
use crate::quantity::Moment;
use crate::rules::{self, Case};
use crate::text::{Edit, NodeRef, Span, append, newline};
use crate::world::Path;
use crate::writing::entry::outstanding;
use crate::writing::tidy;

/// What is offered at a place.
pub(super) fn actions(desk: &mut Desk, params: &CodeActionParams) -> Result<Vec<CodeAction>, RequestError> {
    let file = desk.opened(&params.text_document.uri)?;
    let (path, document) = (file.source.path.clone(), &file.source.document);
    let asked = desk.span(document, params.range);
    let Some(known) = desk.ledger(&path) else { return Ok(Vec::new()) };
    let Some(source) = known.source(&path) else { return Ok(Vec::new()) };
    let mut offers = Offers { known: &known, source, path: &path, all: Vec::new() };
    let touched = |span: Span| span.start <= asked.end && asked.start <= span.end;
    let own = known.findings().iter().filter(|it| it.at.place.source == source && touched(it.at.place.span));
    for finding in own {
        offers.of_finding(finding);
    }
    let records = known.ledger.records.iter().enumerate();
    let here = |record: &Record| record.whole.source == source && touched(record.whole.span);
    for (index, record) in records.filter(|(_, record)| here(record)) {
        offers.of_record(index, record, document.node_at(record.place.span.range().start));
    }
    let wanted = params.context.only.as_ref();
    let mut actions = Vec::new();
    for offer in offers.all {
        let kind = if offer.finding.is_some() { CodeActionKind::QuickFix } else { CodeActionKind::RefactorRewrite };
        // `refactor` asks for `refactor.rewrite` too.
        let asked_for = |only: &CodeActionKind| {
            *only == kind
                || *only == CodeActionKind::Empty
                || *only == CodeActionKind::Refactor && kind == CodeActionKind::RefactorRewrite
        };
        if wanted.is_some_and(|only| !only.iter().any(asked_for)) {
            continue;
        }
        // What cannot be proven is not offered.
        let Ok(edit) = changes::workspace_edit(desk, &offer.edits) else { continue };
        actions.push(CodeAction {
            title: offer.title,
            kind: Some(kind),
            diagnostics: offer.finding.map(|finding| vec![diagnostic(desk, &known.ledger, finding)]),
            is_preferred: offer.certain.then_some(true),
            edit: Some(edit),
            ..CodeAction::default()
        });
    }
    Ok(actions)
}

/// One thing that may be done.
struct Offer<'l> {
    title: String,
    finding: Option<&'l Finding>,
    certain: bool,
    edits: BTreeMap<Path, Vec<Edit>>,
}

struct Offers<'l> {
    known: &'l KnownLedger,
    source: SourceId,
    path: &'l Path,
    all: Vec<Offer<'l>>,
}

impl<'l> Offers<'l> {
    fn put(&mut self, title: String, finding: Option<&'l Finding>, edits: Vec<Edit>) {
        let edits = BTreeMap::from([(self.path.clone(), edits)]);
        self.all.push(Offer { title, finding, certain: false, edits });
    }

    /// Puts a record behind the others of the file.
    fn put_record(&mut self, title: String, finding: Option<&'l Finding>, draft: &NodeDraft) {
        let text = self.text();
        let plain = snippet::written(&draft.text(), false);
        if let Ok(addition) = tidy::addition(text, &plain) {
            self.put(title, finding, vec![append(text, &addition)]);
        }
    }

    fn text(&self) -> &'l str {
        self.known.document(self.source).text()
    }

    fn case(&self) -> Case<'l> {
        Case::new(&self.known.ledger, self.known.day)
    }

    /// Who writes, and today.
    fn signed(&self, draft: NodeDraft) -> NodeDraft {
        let signed = Signing::for_file(&self.case(), self.path);
        let by = if signed.by.is_empty() { "…" } else { &signed.by };
        draft.signed(Moment { date: self.known.day.date, minute: None }, by)
    }

    fn of_finding(&mut self, finding: &'l Finding) {
        if let Some(fix) = &finding.fix {
            let mut edits: BTreeMap<Path, Vec<Edit>> = BTreeMap::new();
            for (source, edit) in &fix.edits {
                edits.entry(self.known.ledger.sources.get(*source).path.clone()).or_default().push(edit.clone());
            }
            self.all.push(Offer { title: fix.title.clone(), finding: Some(finding), certain: true, edits });
        }
        let rule = rules::named(finding.rule.as_str());
        let open = finding.is_broken();
        if open && !finding.address.is_empty() && rule.is_some_and(|rule| !rule.never_conceded) {
            let draft = NodeDraft::new("concession").value(finding.rule.as_str()).value(&finding.address);
            let draft = self.signed(draft).property("reason", SpeltValue::typed("\"\""));
            self.put_record(
                format!("Concede {} at {}: write the reason", finding.rule.as_str(), finding.address),
                Some(finding),
                &draft,
            );
        }
    }

    fn of_record(&mut self, index: usize, record: &Record, node: Option<NodeRef>) {
        if let Some(node) = node {
            self.rows(record, node);
        }
        if let (Body::Survey(_), Some(Target::Rail(id))) = (&record.body, record.target)
            && let Ok(plan) = shim_plan(&self.known.ledger, id, self.known.day.date)
            && plan.survey == index
            && let Ok(best) = &plan.best
        {
            let today = Moment { date: self.known.day.date, minute: None };
            let by = Signing::for_file(&self.case(), self.path).by;
            let by = Some(by.as_str()).filter(|by| !by.is_empty());
            if let Some(draft) = shim_write::record(&self.known.ledger, &plan, &best.stacks, today, by) {
                self.put_record("Put in the shims of the plan".to_owned(), None, &draft);
            }
        }
        self.void(index, record);
    }

    /// The rows that are outstanding, for a person to fill.
    fn rows(&mut self, record: &Record, node: NodeRef) {
        let case = self.case();
        let (Some(Target::Rail(id)), Some(block)) = (record.target, node.block()) else { return };
        let rail = case.machine.rail(id);
        let said = |name: &str| node.children().any(|row| row.args().next().is_some_and(|it| it.text() == Some(name)));
        let drafts: Vec<NodeDraft> = match &record.body {
            Body::Fasten(fasten) => {
                // Of a wrench that clicks no torque is read.
                let Some(stage) = fasten.stage.filter(|_| fasten.setting.is_none()) else { return };
                let open = outstanding::supports(&case, id, fasten.interface, stage.value);
                let open = open.into_iter().filter(|support| !said(&rail.supports[*support].name));
                open.map(|support| torques(&case, id, fasten.interface, support)).collect()
            }
            Body::Survey(_) => {
                let open = (0..rail.supports.len()).filter(|support| !said(&rail.supports[*support].name));
                open.map(|support| station(&case, id, support)).collect()
            }
            _ => return,
        };
        if drafts.is_empty() {
            return;
        }
        let lines: Vec<String> = drafts.iter().map(|draft| snippet::written(&draft.line(), false)).collect();
        // Before the closing brace, which stands at the beginning of its line or behind the last row.
        let at = block.range().end - 1;
        let start = self.text()[..at].trim_end_matches([' ', '\t']).len();
        let alone = self.text()[..start].ends_with('\n');
        let newline = newline(self.text());
        let rows = lines.iter().map(|line| format!("    {line}{newline}")).collect::<String>();
        let edit = match alone {
            true => Edit { span: Span::new(start, start), text: rows },
            false => Edit { span: Span::new(at, at), text: format!("{newline}{rows}") },
        };
        let title = format!("Add {} outstanding", crate::finding::counted(drafts.len(), "row", "rows"));
        self.put(title, None, vec![edit]);
    }

    /// The record that withdraws this one, where it can be said which one is meant.
    fn void(&mut self, index: usize, record: &Record) {
        let (true, Some(moment)) = (record.counts(), record.written) else { return };
        let mut draft = NodeDraft::new("void").value(record.kind);
        if let Some(on) = &record.on {
            draft = draft.value(on.as_str());
        }
        draft.set("of", moment.value);
        for (name, value) in record.told_by() {
            draft.set(name, &value);
        }
        let draft = self.signed(draft).property("reason", SpeltValue::typed("\"\""));
        // It is tried whether it means this one and no other.
        let text = self.text();
        let Ok(addition) = tidy::addition(text, &draft.text()) else { return };
        let edits = vec![append(text, &addition)];
        let Ok(becomes) = changes::changed(text, &edits) else { return };
        let ledger = what_if::with(&self.known.ledger, &[(self.path.clone(), becomes)]);
        if ledger.records.get(index).is_some_and(|it| it.place == record.place && it.void.is_some()) {
            self.put(format!("Void this {} record: write the reason", record.kind), None, edits);
        }
    }
}
