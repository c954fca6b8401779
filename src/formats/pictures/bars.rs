//! Counts side by side, as bars.

use maud::{Markup, html};

use super::scale::Scale;
use super::{LEFT, RIGHT, framed, label, line, rect};
use crate::views::paper::Figure;

const TOP: i64 = 40;
const BOTTOM: i64 = 200;
/// More bars than this make no picture.
const MOST: usize = 24;

/// One bar.
pub(super) struct CountBar {
    pub name: String,
    pub count: usize,
    /// Something is wrong with what it counts.
    pub wrong: bool,
}

/// The picture; nothing where nothing was counted. `limit` names a line and says before which bar it stands.
pub(super) fn picture(title: &str, text: &str, bars: &[CountBar], limit: Option<(usize, &str)>) -> Option<Figure> {
    let most = bars.iter().map(|bar| bar.count).max().filter(|most| *most > 0)?;
    if bars.len() > MOST {
        return None;
    }
    let y = Scale::new(0, i128::try_from(most).ok()?, BOTTOM, TOP);
    let slot = (RIGHT - LEFT) / i64::try_from(bars.len().max(5)).unwrap_or(5);
    let from = |at: usize| LEFT + slot * i64::try_from(at).unwrap_or(0);
    let drawing = html! {
        (line("thin", LEFT, BOTTOM, RIGHT, BOTTOM))
        (label("small", LEFT - 8, BOTTOM + 4, "end", "0"))
        @for (at, bar) in bars.iter().enumerate() { (drawn(bar, from(at), slot, &y)) }
        @if let Some((before, name)) = limit {
            (line("limit", from(before), TOP - 26, from(before), BOTTOM + 6))
            (label("small halo", from(before) - 6, TOP - 18, "end", name))
        }
    };
    Some(framed(title.into(), text.into(), BOTTOM + 30, drawing))
}

fn drawn(bar: &CountBar, from: i64, slot: i64, y: &Scale) -> Markup {
    let (top, middle) = (y.at(i128::try_from(bar.count).unwrap_or(0)), from + slot / 2);
    let wide = slot * 3 / 5;
    html! {
        @if bar.count > 0 {
            g {
                title { (bar.name) ": " (bar.count) }
                (rect(if bar.wrong { "step over" } else { "step" }, middle - wide / 2, top, wide, BOTTOM - top))
                @if bar.wrong { rect x=(middle - wide / 2) y=(top) width=(wide) height=((BOTTOM - top).max(1)) fill="url(#crossed)" {} }
            }
        }
        (label("small", middle, top - 6, "middle", &bar.count.to_string()))
        (label("small", middle, BOTTOM + 18, "middle", &bar.name))
    }
}
