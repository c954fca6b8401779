//! What numbers make, shown beside them: the step of each groove, where a support lies, what a station needs.

use gen_lsp_types::{InlayHint, InlayHintParams};

use super::desk::{Desk, KnownLedger};
use super::protocol::RequestError;
use crate::facts::steps::{Latest, signed_step};
use crate::facts::survey::{Seat, SurveyReadings, length, target_words};
use crate::finding::{Place, SourceId};
use crate::language::rulebook::LimitName;
use crate::ledger::{Body, Inspect, JointSide, Record, Target};
use crate::quantity::{Amount, Length};
use crate::rules::Case;
use crate::text::Span;

/// The hints of a stretch of a file.
pub(super) fn hints(desk: &mut Desk, params: &InlayHintParams) -> Result<Vec<InlayHint>, RequestError> {
    let file = desk.opened(&params.text_document.uri)?;
    let (path, document) = (&file.source.path, &file.source.document);
    let asked = desk.span(document, params.range);
    let Some(known) = desk.ledger(path) else { return Ok(Vec::new()) };
    let Some(source) = known.source(path) else { return Ok(Vec::new()) };
    let (wanted, mut texts) = (desk.client.options.inlay_hints, Vec::new());
    for (index, record) in known.ledger.records.iter().enumerate() {
        let whole = record.whole.span;
        if record.place.source != source || whole.end < asked.start || asked.end < whole.start {
            continue;
        }
        if wanted.position {
            positions(&known, source, record, &mut texts);
        }
        match &record.body {
            Body::Inspect(inspect) if wanted.step => steps(&known, index, inspect, &mut texts),
            Body::Survey(_) if wanted.shim => needs(&known, index, &mut texts),
            _ => {}
        }
    }
    texts.sort();
    let hint = |(at, text): (u32, String)| InlayHint {
        position: desk.position(document, at as usize),
        label: text.into(),
        kind: None,
        text_edits: None,
        tooltip: None,
        padding_left: Some(true),
        padding_right: None,
        data: None,
    };
    Ok(texts.into_iter().filter(|(at, _)| (asked.start..=asked.end).contains(at)).map(hint).collect())
}

/// The step behind the readings of each groove.
fn steps(known: &KnownLedger, record: usize, inspect: &Inspect, texts: &mut Vec<(u32, String)>) {
    let ledger = &known.ledger;
    let Some(Target::Joint(id, _)) = ledger.records[record].target else { return };
    let case = Case::of_axis(ledger, known.day, id.axis);
    let most = case.limits(id.axis).most::<Length>(LimitName::JointStep);
    for what in &inspect.grooves {
        let Some(step) = signed_step(ledger, &Latest { record, inspect, what }) else { continue };
        let over = match &most {
            Some((most, limit)) if step.abs() > *most => format!(", {}", limit.text()),
            _ => String::new(),
        };
        let wrong = if over.is_empty() { "step" } else { "step beyond the limit:" };
        texts.push((what.place.span.end, format!("{wrong} {} mm{over}", step.number())));
    }
}

/// Where each support lies that a record has a row for.
fn positions(known: &KnownLedger, source: SourceId, record: &Record, texts: &mut Vec<(u32, String)>) {
    let Some(id) = record.rail() else { return };
    let rail = known.ledger.machine.rail(id);
    let document = known.document(source);
    let Some(node) = document.path_to(record.place.span.range().start).first().copied() else { return };
    for row in node.children().filter(|row| row.is("at") || row.is("closure")) {
        let Some(entry) = row.args().next() else { continue };
        let end = |name| {
            let (of, _) = JointSide::split(name)?;
            Some(rail.joints.iter().find(|joint| joint.name == of)?.position)
        };
        let at = |name| rail.support(name).map(|support| rail.supports[support].at).or_else(|| end(name));
        if let Some(at) = entry.text().and_then(at) {
            texts.push((entry.value_span().end, format!("at {at}")));
        }
    }
}

/// The place that the others are shimmed to, and what each of them needs beside what lies there.
fn needs(known: &KnownLedger, record: usize, texts: &mut Vec<(u32, String)>) {
    let ledger = &known.ledger;
    let Some(id) = ledger.records[record].rail() else { return };
    let (Some(seat), Some(readings)) = (Seat::for_rail(ledger, id), SurveyReadings::for_record(ledger, record)) else {
        return;
    };
    let Some(effect) = seat.effect.filter(|_| readings.kind() == seat.kind) else { return };
    let target = readings.target(effect);
    for station in &readings.stations {
        let end = row_end(known, station.row.place);
        if station.row.position == target.row.position {
            texts.push((end, target_words(effect).to_owned()));
        } else {
            let need = length(readings.need(station, effect));
            if need != Length::ZERO {
                texts.push((end, format!("needs {} mm", need.number())));
            }
        }
    }
}

/// Where a row ends, its readings among it.
fn row_end(known: &KnownLedger, place: Place) -> u32 {
    let node = known.document(place.source).node_at(place.span.range().start);
    node.map_or(place.span, |node| Span { ..node.head() }).end
}
