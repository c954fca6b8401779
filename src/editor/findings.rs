//! Findings as the editor shows them: of the text as it stands there, saved or not.

use gen_lsp_types::{
    Code, CodeDescription, Diagnostic, DiagnosticRelatedInformation, DiagnosticSeverity, DocumentDiagnosticParams,
    FullDocumentDiagnosticReport, PublishDiagnosticsParams, RelatedFullDocumentDiagnosticReport,
    TextDocumentContentParams, TextDocumentContentResult, Uri,
};

use super::desk::Desk;
use super::protocol::RequestError;
use crate::finding::{Finding, Grade, Place, SourceId, Sources, names, sentence};
use crate::formats::clean;
use crate::language::schema::language;
use crate::ledger::{Ledger, TextFile};
use crate::rules::{self, pages};
use crate::world::Path;
use crate::world::ledgers::is_shared;

/// Under which names the pages of rules are handed out, to editors that ask the server for documents.
const PAGES: &str = "wayledger-rule";

/// The findings of one file, for an editor that asks for them.
pub(super) fn pulled(
    desk: &mut Desk,
    params: &DocumentDiagnosticParams,
) -> Result<gen_lsp_types::DocumentDiagnosticReport, RequestError> {
    let path = desk.opened(&params.text_document.uri)?.source.path.clone();
    let items = of_file(desk, &path);
    let report = FullDocumentDiagnosticReport { items, ..FullDocumentDiagnosticReport::default() };
    Ok(RelatedFullDocumentDiagnosticReport { full_document_diagnostic_report: report, related_documents: None }.into())
}

/// The same for one that is told.
pub(super) fn published(desk: &mut Desk, path: &Path) -> Option<PublishDiagnosticsParams> {
    let open = desk.open_file(path)?;
    let (uri, version) = (open.uri.clone(), open.version);
    Some(PublishDiagnosticsParams { uri, version: Some(version), diagnostics: of_file(desk, path) })
}

/// The page of a rule.
pub(super) fn rule_page(params: &TextDocumentContentParams) -> Result<TextDocumentContentResult, RequestError> {
    let name =
        params.uri.0.strip_prefix(PAGES).and_then(|rest| rest.trim_start_matches([':', '/']).strip_suffix(".txt"));
    let rule = name.and_then(rules::named);
    let rule = rule.ok_or_else(|| RequestError::invalid(format!("{} is no page of a rule", params.uri.0)))?;
    Ok(TextDocumentContentResult { text: pages::page(rule) })
}

/// The findings that point into a file, in the order of their places.
fn of_file(desk: &mut Desk, path: &Path) -> Vec<Diagnostic> {
    if let Some(known) = desk.ledger(path)
        && let Some(source) = known.source(path)
    {
        let own = known.findings().iter().filter(|finding| finding.at.place.source == source);
        return own.map(|finding| diagnostic(desk, &known.ledger, finding)).collect();
    }
    if !is_shared(path.name()) {
        return of_loose(desk, path);
    }
    let file = desk.file(path);
    let judged = desk.shared_judged(&file);
    let told = judged.findings.iter().map(|finding| diagnostic(desk, &judged.ledger, finding));
    let mut all: Vec<Diagnostic> = told.collect();
    // What the ledgers that are open make of it.
    for known in desk.open_ledgers() {
        let Some(source) = known.source(path) else { continue };
        for finding in known.findings().iter().filter(|finding| finding.at.place.source == source) {
            let told = diagnostic(desk, &known.ledger, finding);
            if !all.contains(&told) {
                all.push(told);
            }
        }
    }
    all.sort_by_key(|told| told.range);
    all
}

/// What is wrong with a text that lies in no ledger. Nothing else can be told of it.
fn of_loose(desk: &mut Desk, path: &Path) -> Vec<Diagnostic> {
    let file = desk.file(path);
    let alone = alone(&file);
    let mut findings = file.findings(SourceId::default());
    // A text that holds nothing of a ledger may be of another language that is written in KDL.
    if !file.source.document.nodes().any(|node| language().node(node.name()).is_some()) {
        findings.retain(|finding| finding.rule == names::UNREADABLE);
    }
    findings.iter().map(|finding| diagnostic(desk, &alone, finding)).collect()
}

/// A file by itself.
fn alone(file: &TextFile) -> Ledger {
    let mut sources = Sources::default();
    sources.add(file.source.clone());
    Ledger::of_files(sources)
}

/// One finding.
pub(super) fn diagnostic(desk: &Desk, ledger: &Ledger, finding: &Finding) -> Diagnostic {
    let related = if desk.client.relates { related(desk, ledger, finding) } else { Vec::new() };
    Diagnostic {
        range: desk.location(ledger, finding.at.place).range,
        severity: Some(severity(finding)),
        code: Some(Code::String(finding.rule.as_str().to_owned())),
        code_description: desk
            .client
            .shows_pages
            .then(|| CodeDescription { href: Uri(format!("{PAGES}:/{}.txt", finding.rule.as_str())) }),
        source: Some("wayledger".to_owned()),
        message: told(finding).into(),
        related_information: (!related.is_empty()).then_some(related),
        ..Diagnostic::default()
    }
}

/// What is told of a finding, in one line.
fn told(finding: &Finding) -> String {
    let address = if finding.address.is_empty() { String::new() } else { format!("{}: ", finding.address) };
    let grade = match finding.grade {
        Grade::Nonconformity => "",
        grade => grade.name(),
    };
    let grade = if grade.is_empty() { String::new() } else { format!("{grade}: ") };
    let held = finding.held.as_ref().map_or(String::new(), |held| format!(". on hold since {}", held.since));
    clean(&format!("{grade}{address}{}{held}", sentence(finding))).into_owned()
}

/// What is broken is an error, unless somebody has accepted or held it; what is not recorded yet is no mistake.
fn severity(finding: &Finding) -> DiagnosticSeverity {
    match finding.grade {
        Grade::Nonconformity if finding.conceded.is_some() => DiagnosticSeverity::Hint,
        Grade::Nonconformity if finding.held.is_some() => DiagnosticSeverity::Warning,
        Grade::Nonconformity => DiagnosticSeverity::Error,
        Grade::Outstanding | Grade::NotJudged => DiagnosticSeverity::Information,
        Grade::Observation => DiagnosticSeverity::Hint,
    }
}

/// Other places that belong to a finding, each once.
fn related(desk: &Desk, ledger: &Ledger, finding: &Finding) -> Vec<DiagnosticRelatedInformation> {
    let mut places: Vec<(Place, String)> = finding.also.iter().map(|label| (label.place, label.text.clone())).collect();
    let limit = finding.limit.as_ref().and_then(|limit| limit.set_at);
    places.extend(limit.map(|place| (place, "the limit was set here".to_owned())));
    places.extend(finding.conceded.iter().map(|it| (it.place, "accepted by this concession".to_owned())));
    places.extend(finding.held.iter().map(|it| (it.place, "held by this".to_owned())));
    places.extend(finding.causes.iter().map(|place| (*place, "it follows from this".to_owned())));
    let mut told: Vec<Place> = vec![finding.at.place];
    let mut all = Vec::new();
    for (place, text) in places {
        if told.contains(&place) {
            continue;
        }
        told.push(place);
        all.push(DiagnosticRelatedInformation {
            location: desk.location(ledger, place),
            message: clean(&text).into_owned(),
        });
    }
    all
}
