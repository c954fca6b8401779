//! What a word means, and what a number means here.

use gen_lsp_types::{Hover, HoverParams, MarkupContent, MarkupKind};

use super::desk::{Desk, KnownLedger};
use super::markdown::{fenced, line, link, node_help, part_help};
use super::mentions::{MentionedThing, mention_at};
use super::protocol::RequestError;
use super::scope;
use crate::calc::derivation::{Derivation, Origin};
use crate::finding::{Finding, Locator, Place, SourceId};
use crate::language::rulebook::LimitName;
use crate::language::schema::{NodeShape, Refers, language};
use crate::ledger::{Instrument, Ledger, Target};
use crate::quantity::{Amount, Length};
use crate::rules::{self, Case, pages};
use crate::text::{Document, NodeRef, Span};
use crate::views::derived::{DerivedQuantity, quantities};
use crate::views::traveler::holes;

/// What is known about a place.
pub(super) fn hover(desk: &mut Desk, params: &HoverParams) -> Result<Option<Hover>, RequestError> {
    let at = &params.text_document_position_params;
    let file = desk.opened(&at.text_document.uri)?;
    let (path, document) = (&file.source.path, &file.source.document);
    let offset = desk.offset(document, at.position);
    let mut parts: Vec<String> = Vec::new();
    let known = desk.ledger_by(path);
    if let Some(known) = &known
        && let Some(source) = known.source(path)
    {
        parts.extend(named(desk, known, source, offset));
        parts.extend(known.findings().iter().filter(|it| here(it, source, offset)).map(finding));
    }
    let word = word_at(document, offset);
    parts.extend(word.as_ref().map(|(_, help)| help.clone()));
    if parts.is_empty() {
        return Ok(None);
    }
    let value = parts.join("\n\n---\n\n");
    let range = word.map(|(span, _)| desk.range(document, span));
    Ok(Some(Hover { contents: MarkupContent { kind: MarkupKind::Markdown, value }.into(), range }))
}

fn here(finding: &Finding, source: SourceId, offset: usize) -> bool {
    let range = finding.at.place.span.range();
    finding.at.place.source == source && range.start <= offset && offset <= range.end
}

/// A finding's rule in short.
fn finding(finding: &Finding) -> String {
    let rule = rules::named(finding.rule.as_str());
    let (what, why) = rule.map_or(("", ""), |rule| (rule.what, rule.why));
    format!("**{}**: {}\n\n{}", finding.rule.as_str(), line(what), line(why))
}

/// The word at a place, with what the schema says of it.
fn word_at(document: &Document, offset: usize) -> Option<(Span, String)> {
    let path = document.path_to(offset);
    let mut shape: Option<&'static NodeShape> = None;
    for node in &path {
        shape = Some(match shape {
            Some(above) => above.child(node.name())?,
            None => language().node(node.name())?,
        });
    }
    let (node, shape) = (path.last()?, shape?);
    let inside = |span: Span| span.range().start <= offset && offset <= span.range().end;
    if inside(node.name_span()) {
        return Some((node.name_span(), node_help(shape)));
    }
    let mut args = 0;
    for entry in node.entries() {
        let part = shape.part(entry.name(), args);
        args += usize::from(entry.name().is_none());
        if inside(entry.span()) {
            return Some((entry.span(), part.map_or_else(|| node_help(shape), part_help)));
        }
    }
    None
}

/// What is known of what is named at a place.
fn named(desk: &Desk, known: &KnownLedger, source: SourceId, offset: usize) -> Option<String> {
    let ledger = &known.ledger;
    let place = Place { source, span: Span::new(offset, offset) };
    let path = known.document(source).path_to(offset);
    if let Some(row) = row_number(desk, known, place, &path) {
        return Some(row);
    }
    if let Some(limit) = path.last().and_then(|node| scope::limit(node.name())).filter(|_| path.len() > 1) {
        let (printed, source) = (ledger.rulebook.printed(limit), ledger.rulebook.source(limit));
        let default = pages::default(limit);
        return Some(format!(
            "`{}`: {}; in force: {} ({}); default: {default}",
            limit.name,
            line(limit.what),
            line(&printed),
            line(&source)
        ));
    }
    let mention = mention_at(known, source, offset)?;
    match mention.subject {
        MentionedThing::OfShop(Refers::Gauge, name) => {
            instrument(known, Instrument::Gauge(ledger.shop.gauge(&name)?), place)
        }
        MentionedThing::OfShop(Refers::Wrench, name) => {
            instrument(known, Instrument::Wrench(ledger.shop.wrench(&name)?), place)
        }
        MentionedThing::OfShop(refers, name) => Some(format!("{} {}", refers.called(), line(&name))),
        MentionedThing::Beam(axis, name) => {
            let beam = ledger.machine.axes[axis].beams.iter().find(|beam| beam.name.value == name)?;
            Some(format!("beam {} from {} to {}", line(&name), beam.from, beam.to()))
        }
        MentionedThing::Part(target) => Some(part(known, target)),
        MentionedThing::Rule(name) => {
            rules::named(&name).map(|rule| format!("**{}**: {}\n\n{}", rule.name, line(rule.what), line(rule.why)))
        }
        MentionedThing::Record(record) => {
            let void = ledger.records[record].void?;
            let by = ledger.records[void].by.as_ref().map_or("", |by| by.as_str());
            let date = ledger.records[void].written.map_or(String::new(), |date| date.value.to_string());
            Some(format!("This record counts no more: withdrawn or replaced on {date} by {}.", line(by)))
        }
    }
}

/// The number that a row of a record makes: the step of a groove, the preload of a support, the shim a station needs.
fn row_number(desk: &Desk, known: &KnownLedger, place: Place, path: &[NodeRef]) -> Option<String> {
    let ledger = &known.ledger;
    let [top, row] = path else { return None };
    let here = ledger.record_at(place)?;
    let record = &ledger.records[here];
    let (id, target, word) = match (top.name(), record.target?) {
        ("inspect", target @ Target::Joint(id, _)) => (id, target, format!("step-{}", row.name())),
        ("fasten", Target::Rail(id)) if row.is("at") => (id, support_of(ledger, id, row)?, "preload".to_owned()),
        ("survey", Target::Rail(id)) if row.is("at") => (id, support_of(ledger, id, row)?, "shim-needed".to_owned()),
        _ => return None,
    };
    let case = Case::of_axis(ledger, known.day, id.axis);
    let all = quantities(&case, target);
    let of = all.iter().find(|it| it.word == word);
    let of = of?;
    let mut rests_on = Vec::new();
    inputs(&of.how, &mut rests_on);
    let mut records = rests_on.iter().filter_map(|place| ledger.record_at(*place));
    if !record.counts() || !records.any(|of| of == here) {
        return Some(format!("`{word}`: another record counts here"));
    }
    let mut out = derivation(desk, ledger, of);
    if word.starts_with("step-")
        && let Some((_, limit)) = case.limits(id.axis).most::<Length>(LimitName::JointStep)
    {
        out.push_str(&format!("\n\nlimit: {} ({})", line(&limit.text()), line(&limit.source())));
    }
    if let Target::Support(id, support) = target {
        out = format!("{}\n\n{out}", support_line(ledger, id, support));
    }
    Some(out)
}

fn support_of(ledger: &Ledger, id: crate::ledger::RailId, row: &NodeRef) -> Option<Target> {
    let name = row.args().next()?.text()?;
    ledger.machine.rail(id).support(name).map(|at| Target::Support(id, at))
}

fn support_line(ledger: &Ledger, id: crate::ledger::RailId, support: usize) -> String {
    let rail = ledger.machine.rail(id);
    let of = &rail.supports[support];
    let holes = holes(rail, support);
    let holes = if holes.is_empty() { String::new() } else { format!("; holes {holes}") };
    let shims = ledger.shim_total(id, support, None);
    let shims = if shims == Length::ZERO { String::new() } else { format!("; shims of {shims} lie there") };
    format!("**{}**: support at {}{holes}{shims}", line(&ledger.machine.support_address(id, support)), of.at)
}

/// An axis, a rail or something on it: where it lies, and the numbers that are known of it.
fn part(known: &KnownLedger, target: Target) -> String {
    let ledger = &known.ledger;
    let machine = &ledger.machine;
    let head = match target {
        Target::Axis(axis) => format!("**{}**: axis", line(&machine.axes[axis].name)),
        Target::Rail(id) => {
            let rail = machine.rail(id);
            format!("**{}**: rail from {} to {}", line(&machine.rail_address(id)), rail.from, rail.to())
        }
        Target::Segment(id, at) => {
            let segment = &machine.rail(id).segments[at];
            format!("**{}**: segment from {} to {}", line(&machine.segment_address(id, at)), segment.from, segment.to)
        }
        Target::Joint(id, at) => {
            let joint = &machine.rail(id).joints[at];
            let support = joint.support.map_or(String::new(), |it| format!("\n\n{}", support_line(ledger, id, it)));
            format!("**{}**: joint at {}{support}", line(&machine.joint_address(id, at)), joint.position)
        }
        Target::Support(id, at) => support_line(ledger, id, at),
    };
    let case = Case::of_axis(ledger, known.day, target.axis());
    let told = |DerivedQuantity { word, how }: DerivedQuantity| {
        format!("- `{word}` {} {} {}", line(&how.result), how.unit, line(&how.name))
    };
    let numbers: Vec<String> = quantities(&case, target).into_iter().map(told).collect();
    if numbers.is_empty() { head } else { format!("{head}\n\n{}", numbers.join("\n")) }
}

/// How a number comes about, with links to what was written.
fn derivation(desk: &Desk, ledger: &Ledger, quantity: &DerivedQuantity) -> String {
    let locator = Locator::new(&ledger.sources);
    let name = |place: &Place| ledger.sources.get(place.source).path.name().to_owned();
    let text = quantity.how.to_text(|place| format!("{}:{}", name(place), locator.locate(*place).line));
    let mut places = Vec::new();
    inputs(&quantity.how, &mut places);
    let links: Vec<String> = places
        .iter()
        .map(|place| {
            let at = locator.locate(*place).line;
            link(&format!("{}:{at}", name(place)), &desk.uri(&ledger.sources.get(place.source).path).0, at)
        })
        .collect();
    format!("{}\n\n{}", fenced(&text), links.join(", "))
}

/// The places of all inputs, each once. A derivation is a few levels deep.
fn inputs(how: &Derivation<Place>, places: &mut Vec<Place>) {
    for input in &how.inputs {
        match &input.origin {
            Origin::Place(place) | Origin::Told(place, _) if !places.contains(place) => places.push(*place),
            Origin::Derived(from) => inputs(from, places),
            _ => {}
        }
    }
}

/// An instrument, and its calibration on the day of the record that it is named in.
fn instrument(known: &KnownLedger, instrument: Instrument, place: Place) -> Option<String> {
    let ledger = &known.ledger;
    let record = ledger.record_at(place).map(|record| &ledger.records[record]);
    let day = record.and_then(|record| record.date).map_or(known.day.date, |date| date.date);
    let what = match instrument {
        Instrument::Gauge(gauge) => {
            let kind = gauge.kind.as_ref().map_or(String::new(), |kind| format!(", {}", line(kind)));
            let number = |name: &str, of: Option<crate::ledger::Spanned<Length>>| {
                of.map_or(String::new(), |of| format!(", {name} {} mm", of.value.number()))
            };
            format!("gauge{kind}{}{}", number("graduation", gauge.graduation), number("range", gauge.range))
        }
        Instrument::Wrench(wrench) => {
            let number = |name: &str, of: Option<crate::ledger::Spanned<crate::quantity::Torque>>| {
                of.map_or(String::new(), |of| format!(", {name} {} N·m", of.value.number()))
            };
            format!("wrench{}{}", number("least", wrench.least), number("most", wrench.most))
        }
    };
    let calibrated = match instrument.calibration_on(day).filter(|_| instrument.held_on(day, &ledger.rulebook)) {
        Some(it) => {
            let certificate = it.certificate.as_ref().map_or(String::new(), |of| format!(", certificate {}", line(of)));
            let due = it.last_day(&ledger.rulebook).map_or(String::new(), |due| format!(", holds until {due}"));
            format!("On {day} calibrated: {}{certificate}{due}.", it.on.value)
        }
        None => format!("On {day} it had no calibration that holds."),
    };
    Some(format!("**{}**: {what}\n\n{calibrated}", line(instrument.name())))
}
