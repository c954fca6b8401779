//! The torque of each bolt against its window, support by support.

use maud::{Markup, html};

use super::scale::Scale;
use super::{LEFT, MOST_MARKS, MarkShape, RIGHT, fitting, framed, label, line, mark};
use crate::quantity::{Amount, Torque};
use crate::views::paper::Figure;
use crate::views::report::{BoltTorque, RailReport, SupportTorque, TorquesReport};

/// Supports side by side in one row.
const A_ROW: usize = 30;
const ROW: i64 = 190;
const HEIGHT: i64 = 140;

/// The picture; nothing where no torque is known.
pub(crate) fn picture(rail: &RailReport, torques: &TorquesReport) -> Option<Figure> {
    let bolts = || torques.supports.iter().flat_map(|support| &support.bolts);
    let read = || bolts().filter_map(|bolt| bolt.torque);
    if read().next().is_none() || bolts().count() > MOST_MARKS {
        return None;
    }
    let all = || read().chain(torques.least).chain(torques.most);
    let (least, most) = (milli(all().min()?), milli(all().max()?));
    let room = ((most - least) / 5).max(100);
    let missing = bolts().filter(|bolt| !bolt.held).count();
    let rows: Vec<&[SupportTorque]> = torques.supports.chunks(A_ROW).collect();
    let height = 30 + ROW * i64::try_from(rows.len()).ok()?;
    let drawing = html! {
        (key())
        @for (at, row) in rows.iter().enumerate() {
            @let top = 34 + ROW * i64::try_from(at).unwrap_or(0);
            (self::row(row, torques, &Scale::new(least - room * 2, most + room, top + HEIGHT, top), top))
        }
    };
    let off = bolts().filter(|bolt| bolt.off.is_some()).count();
    let window = torques
        .least
        .zip(torques.most)
        .map_or("no window is in force".to_string(), |(least, most)| format!("window {} to {most}", least.number()));
    let text = format!(
        "Full torque of the {} bolts of {} in N·m: held by {} of {}, {off} of them outside the window, {missing} not recorded; {window}.",
        torques.interface,
        rail.address,
        bolts().count() - missing,
        bolts().count()
    );
    Some(framed(format!("Torque of the {} bolts of {}", torques.interface, rail.address), text, height, drawing))
}

/// In whole thousandths of a N·m: enough for a picture.
fn milli(torque: Torque) -> i128 {
    torque.0 / 1_000_000_000_000_000
}

fn row(supports: &[SupportTorque], torques: &TorquesReport, y: &Scale, top: i64) -> Markup {
    let slot = (RIGHT - LEFT) / i64::try_from(supports.len().max(A_ROW / 3)).unwrap_or(1);
    let middle = |at: usize| LEFT + slot * i64::try_from(at).unwrap_or(0) + slot / 2;
    let names: Vec<(i64, usize)> =
        supports.iter().enumerate().map(|(at, support)| (middle(at), support.support.chars().count())).collect();
    let fits = fitting(&names);
    html! {
        (line("thin", LEFT, top, LEFT, top + HEIGHT))
        @for tick in y.ticks(6) {
            @let at = y.at(tick);
            (line("thin", LEFT - 4, at, LEFT, at))
            (label("small", LEFT - 8, at + 4, "end", &Torque::milli(i64::try_from(tick).unwrap_or(0)).number()))
        }
        @if let Some((least, most)) = torques.least.zip(torques.most) {
            @let (low, high) = (y.at(milli(least)), y.at(milli(most)));
            rect class="band" x=(LEFT) y=(high) width=(RIGHT - LEFT) height=((low - high).max(1)) fill="url(#rising)" {}
            (line("limit", LEFT, low, RIGHT, low))
            (line("limit", LEFT, high, RIGHT, high))
        }
        (line("thin", LEFT, top + HEIGHT, RIGHT, top + HEIGHT))
        @for (at, support) in supports.iter().enumerate() {
            g {
                title { (crate::formats::clean(&support.support)) ": " (crate::formats::clean(&crate::formats::report::bolts(support))) }
                (bolts(support, middle(at), slot, y, top))
            }
            @if fits[at] { (label("small", middle(at), top + HEIGHT + 16, "middle", &support.support)) }
        }
    }
}

fn bolts(support: &SupportTorque, middle: i64, slot: i64, y: &Scale, top: i64) -> Markup {
    let count = i64::try_from(support.bolts.len()).unwrap_or(1).max(1);
    let each = ((slot - 6) / count).min(9);
    html! {
        @for (at, bolt) in support.bolts.iter().enumerate() {
            @let x = middle + each * (2 * i64::try_from(at).unwrap_or(0) - count + 1) / 2;
            (self::bolt(bolt, x, y, top))
        }
    }
}

fn bolt(bolt: &BoltTorque, x: i64, y: &Scale, top: i64) -> Markup {
    match bolt.torque {
        _ if !bolt.held => mark(MarkShape::Square, "bolt missing", x, top + HEIGHT - 8),
        None => mark(MarkShape::Triangle, "bolt missing", x, top + HEIGHT - 8),
        Some(torque) => {
            let at = y.at(milli(torque));
            match (bolt.off, bolt.clicked) {
                (Some(_), _) => mark(MarkShape::Cross, "cross", x, at),
                (None, true) => mark(MarkShape::Triangle, "bolt", x, at),
                (None, false) => mark(MarkShape::Circle, "bolt", x, at),
            }
        }
    }
}

fn key() -> Markup {
    html! {
        (mark(MarkShape::Circle, "bolt", LEFT + 6, 12))
        (label("small", LEFT + 17, 16, "start", "read"))
        (mark(MarkShape::Triangle, "bolt", LEFT + 66, 12))
        (label("small", LEFT + 77, 16, "start", "clicked at its setting"))
        (mark(MarkShape::Cross, "cross", LEFT + 236, 12))
        (label("small", LEFT + 247, 16, "start", "outside the window"))
        (mark(MarkShape::Square, "bolt missing", LEFT + 386, 12))
        (label("small", LEFT + 397, 16, "start", "not recorded"))
        (label("small", RIGHT, 16, "end", "N·m; the hatched band is the window"))
    }
}
