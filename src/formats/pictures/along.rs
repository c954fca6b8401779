//! Numbers along an axis: one or more lines from place to place, the joints under them, and the limit that they are held
//! against.

use maud::{Markup, html};

use super::scale::Scale;
use super::{LEFT, MOST_MARKS, MarkShape, RIGHT, WIDTH, beside_each_other, fitting, framed, label, line, mark, short};
use crate::quantity::{Amount, Length};
use crate::views::paper::Figure;

const TOP: i64 = 62;
const BOTTOM: i64 = 318;

/// Letters of a line's name in the key: two rows hold the names of six lines.
const LONGEST_NAME: usize = 30;

/// What is drawn.
pub(super) struct Along<'a> {
    pub title: String,
    /// What it says, in words.
    pub text: String,
    /// The unit at the scale, and a number on it as text.
    pub unit: &'static str,
    pub number: fn(i128) -> String,
    /// Places that have a name or a number of their own.
    pub places: Vec<(Length, &'a str)>,
    pub joints: Vec<(Length, String)>,
    pub series: Vec<Series<'a>>,
    /// Where the limit lies, and what the band from 0 up to it is.
    pub limit: Option<(i128, String)>,
    /// The least room that the scale has above and below what is drawn.
    pub room: i128,
    /// What is drawn is a shape, its heights in the unit of its places: the picture says how much larger they are drawn.
    pub is_shape: bool,
}

/// One line of it.
pub(super) struct Series<'a> {
    pub name: &'a str,
    pub class: &'static str,
    pub mark: MarkShape,
    pub values: Vec<(Length, i128)>,
}

impl Along<'_> {
    /// The picture; nothing where there is too little or too much to be drawn.
    pub(super) fn picture(self) -> Option<Figure> {
        let values = || self.series.iter().flat_map(|series| &series.values);
        let ends = || values().map(|(at, _)| *at).chain(self.places.iter().map(|(at, _)| *at));
        let (first, last) = (ends().min()?, ends().max()?);
        if values().count() > 3 * MOST_MARKS || self.places.len() > MOST_MARKS || self.joints.len() > MOST_MARKS {
            return None;
        }
        let heights = || values().map(|(_, value)| *value).chain(self.limit.iter().map(|it| it.0)).chain([0]);
        let (least, most) = (heights().min()?, heights().max()?);
        let room = ((most - least) / 10).max(self.room);
        let x = Scale::new(first.nm().into(), last.nm().into(), LEFT + 12, RIGHT - 12);
        let y = Scale::new(least - room, most + room, BOTTOM, TOP);
        let mut text = self.text.clone();
        let exaggerated = self.is_shape.then(|| exaggerated(&x, &y)).flatten();
        if let Some(times) = exaggerated {
            text += &format!(" What is off is drawn {times} times larger than what lies along the axis.");
        }
        let drawing = html! {
            (self.key())
            @if let Some(times) = exaggerated {
                (label("small", RIGHT, 36, "end", &format!("drawn {times} times larger")))
            }
            @if let Some((limit, words)) = &self.limit {
                @let (zero, at) = (y.at(0), y.at(*limit));
                rect class="band" x=(LEFT) y=(zero.min(at)) width=(RIGHT - LEFT) height=((zero - at).abs().max(1)) fill="url(#rising)" {}
                (line("limit", LEFT, at, RIGHT, at))
                (label("small", RIGHT, 20, "end", &format!("hatched: {words}")))
            }
            (line("thin", LEFT, y.at(0), RIGHT, y.at(0)))
            (self.joints(&x))
            (self.axes(&x, &y))
            @for series in &self.series { (drawn(series, &x, &y)) }
        };
        Some(framed(self.title.clone(), text, BOTTOM + 46, drawing))
    }

    fn joints(&self, x: &Scale) -> Markup {
        let (from, to) = (LEFT, RIGHT);
        let inside = |at: &i64| (from..=to).contains(at);
        let places = self.joints.iter().map(|(at, name)| (x.at(at.nm().into()), name));
        let places: Vec<(i64, &String)> = places.filter(|(at, _)| inside(at)).collect();
        let names: Vec<(i64, usize)> = places.iter().map(|(at, name)| (*at, name.chars().count())).collect();
        // Right of the unit and in the picture.
        let middles = beside_each_other(&names, LEFT - 4, WIDTH);
        html! {
            @for ((at, name), middle) in places.iter().zip(middles) {
                (line("hidden", *at, TOP, *at, BOTTOM))
                @if let Some(middle) = middle { (label("small halo", middle, TOP - 8, "middle", name)) }
            }
        }
    }

    fn axes(&self, x: &Scale, y: &Scale) -> Markup {
        let names: Vec<(i64, usize)> =
            self.places.iter().map(|(at, name)| (x.at(at.nm().into()), name.chars().count())).collect();
        html! {
            (line("thin", LEFT, TOP, LEFT, BOTTOM))
            (line("thin", LEFT, BOTTOM, RIGHT, BOTTOM))
            @for tick in y.ticks(8) {
                @let at = y.at(tick);
                (line("thin", LEFT - 4, at, LEFT, at))
                (label("small", LEFT - 8, at + 4, "end", &(self.number)(tick)))
            }
            (label("small", LEFT - 8, TOP - 8, "end", self.unit))
            @for ((_, name), ((at, _), fits)) in self.places.iter().zip(names.iter().zip(fitting(&names))) {
                (line("thin", *at, BOTTOM, *at, BOTTOM + 4))
                @if fits { (label("small", *at, BOTTOM + 17, "middle", name)) }
            }
            @for tick in x.ticks(10) {
                (label("small faint", x.at(tick), BOTTOM + 34, "middle", &Length(i64::try_from(tick).unwrap_or(0)).number()))
            }
            (label("small faint", LEFT - 8, BOTTOM + 34, "end", "at, mm"))
        }
    }

    fn key(&self) -> Markup {
        let (mut next, mut row) = (LEFT, 16);
        let shown = self.series.iter().filter(|series| !series.values.is_empty());
        let placed: Vec<(i64, i64, String, &Series)> = shown
            .map(|series| {
                let name = short(series.name, LONGEST_NAME);
                let wide = 70 + 7 * i64::try_from(name.chars().count()).unwrap_or(0);
                if next + wide > RIGHT && next > LEFT {
                    (next, row) = (LEFT, row + 16);
                }
                let at = next;
                next += wide;
                (at, row, name, series)
            })
            .collect();
        html! {
            @for (at, row, name, series) in placed {
                g class=(format!("series {}", series.class)) {
                    polyline points=(format!("{at},{row} {},{row}", at + 40)) {}
                    (mark(series.mark, "point", at + 20, row))
                }
                (label("small", at + 48, row + 4, "start", &name))
            }
        }
    }
}

/// How many times larger heights are drawn than lengths, to two figures; nothing where they are not.
fn exaggerated(x: &Scale, y: &Scale) -> Option<i128> {
    let ((wide, along), (high, off)) = (x.extent(), y.extent());
    let times = (high * along).checked_div(wide * off)?;
    let place = 10_i128.checked_pow(times.checked_ilog10()?.saturating_sub(1))?;
    Some((times + place / 2) / place * place).filter(|times| *times > 1)
}

/// More points than this have no mark each, but only so many.
const MOST_MARKED: usize = 400;
const MARKS: usize = 24;

fn drawn(series: &Series, x: &Scale, y: &Scale) -> Markup {
    let points: Vec<(i64, i64)> =
        series.values.iter().map(|(at, value)| (x.at(at.nm().into()), y.at(*value))).collect();
    let path: Vec<String> = points.iter().map(|(x, y)| format!("{x},{y}")).collect();
    let nth = if points.len() > MOST_MARKED { points.len() / MARKS } else { 1 };
    html! {
        @if !points.is_empty() {
            g class=(format!("series {}", series.class)) {
                polyline points=(path.join(" ")) {}
                @for (x, y) in points.iter().copied().step_by(nth) { (mark(series.mark, "point", x, y)) }
            }
        }
    }
}

/// Nanometres as millimetres.
pub(super) fn millimetres(nm: i128) -> String {
    Length(i64::try_from(nm).unwrap_or(0)).number()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One coordinate stands for a millimetre along, and across for as many micrometres as is said.
    #[test]
    fn heights_are_said_to_be_as_much_larger_as_they_are_drawn() {
        let along = Scale::new(0, 836_000_000, 132, 968);
        let across = |micrometres: i128| Scale::new(-128_000 * micrometres, 128_000 * micrometres, 318, 62);
        for (micrometres, times) in [(1, Some(1000)), (3, Some(330)), (7, Some(140)), (300, Some(3)), (1000, None)] {
            assert_eq!(exaggerated(&along, &across(micrometres)), times, "{micrometres}");
        }
        assert_eq!(exaggerated(&along, &Scale::new(5, 5, 318, 62)), None);
    }
}
