//! The gap along the axis: before shims, as they lead to expect, and after, each from its own zero, against the band that
//! the limit leaves.

use maud::{Markup, html};

use super::scale::Scale;
use super::{LEFT, MOST_MARKS, MarkShape, RIGHT, fitting, framed, label, line, mark};
use crate::formats::report::gap_in_words;
use crate::quantity::{Amount, Length};
use crate::views::paper::Figure;
use crate::views::report::{Gap, GapStation, RailReport};

const TOP: i64 = 44;
const BOTTOM: i64 = 300;

/// One line of the picture.
struct Series {
    name: &'static str,
    class: &'static str,
    mark: MarkShape,
    of: fn(&GapStation) -> Option<Length>,
}

const SERIES: [Series; 3] = [
    Series { name: "before", class: "before", mark: MarkShape::Ring, of: |station| station.before },
    Series {
        name: "to be expected with the shims",
        class: "expected",
        mark: MarkShape::Diamond,
        of: |station| station.predicted,
    },
    Series { name: "after", class: "after", mark: MarkShape::Dot, of: |station| station.after },
];

/// The picture; nothing without stations.
pub(crate) fn picture(rail: &RailReport, gap: &Gap) -> Option<Figure> {
    let stations = &gap.stations;
    let (first, last) = (stations.first()?, stations.last()?);
    if stations.len() > MOST_MARKS {
        return None;
    }
    let narrows = gap.zero == "narrowest";
    // The band in which a survey conforms that is counted from its own zero.
    let edge = gap.most.map(|most| if narrows { most } else { -most });
    let values = stations.iter().flat_map(|station| [station.before, station.predicted, station.after]).flatten();
    let values: Vec<Length> = values.chain(edge).chain([Length::ZERO]).collect();
    let (least, most) = (i128::from(values.iter().min()?.nm()), i128::from(values.iter().max()?.nm()));
    let room = ((most - least) / 10).max(1000);
    let x = Scale::new(first.at.nm().into(), last.at.nm().into(), LEFT + 12, RIGHT - 12);
    let y = Scale::new(least - room, most + room, BOTTOM, TOP);
    let drawing = html! {
        (key(stations))
        @if let Some(edge) = edge {
            @let (zero, at) = (y.at(0), y.at(edge.nm().into()));
            rect class="band" x=(LEFT) y=(zero.min(at)) width=(RIGHT - LEFT) height=((zero - at).abs().max(1)) fill="url(#rising)" {}
            (line("limit", LEFT, at, RIGHT, at))
            (label("small", RIGHT, 20, "end", &format!("hatched: within {} of the {} place", edge.abs(), gap.zero)))
        }
        (line("thin", LEFT, y.at(0), RIGHT, y.at(0)))
        (axes(&x, &y, stations))
        @for series in &SERIES { (self::series(series, stations, &x, &y)) }
    };
    let title = format!("{} of {} along the axis", if gap.kind == "height" { "Height" } else { "Gap" }, rail.address);
    let text = format!(
        "{} In mm, each survey counted from its own {} place, so that it conforms where it stays within the hatched band.",
        gap_in_words(rail, gap),
        gap.zero
    );
    Some(framed(title, text, BOTTOM + 46, drawing))
}

fn axes(x: &Scale, y: &Scale, stations: &[GapStation]) -> Markup {
    let names: Vec<(i64, usize)> =
        stations.iter().map(|station| (x.at(station.at.nm().into()), station.name.chars().count())).collect();
    html! {
        (line("thin", LEFT, TOP, LEFT, BOTTOM))
        (line("thin", LEFT, BOTTOM, RIGHT, BOTTOM))
        @for tick in y.ticks(8) {
            @let at = y.at(tick);
            (line("thin", LEFT - 4, at, LEFT, at))
            (label("small", LEFT - 8, at + 4, "end", &Length(i64::try_from(tick).unwrap_or(0)).number()))
        }
        (label("small", LEFT - 8, TOP - 8, "end", "mm"))
        @for (station, ((at, _), fits)) in stations.iter().zip(names.iter().zip(fitting(&names))) {
            (line("thin", *at, BOTTOM, *at, BOTTOM + 4))
            @if fits { (label("small", *at, BOTTOM + 17, "middle", &station.name)) }
        }
        @for tick in x.ticks(10) {
            (label("small faint", x.at(tick), BOTTOM + 34, "middle", &Length(i64::try_from(tick).unwrap_or(0)).number()))
        }
        (label("small faint", LEFT - 8, BOTTOM + 34, "end", "at, mm"))
    }
}

fn series(series: &Series, stations: &[GapStation], x: &Scale, y: &Scale) -> Markup {
    let points: Vec<(i64, i64)> = stations
        .iter()
        .filter_map(|station| Some((x.at(station.at.nm().into()), y.at((series.of)(station)?.nm().into()))))
        .collect();
    let path: Vec<String> = points.iter().map(|(x, y)| format!("{x},{y}")).collect();
    html! {
        @if !points.is_empty() {
            g class=(format!("series {}", series.class)) {
                polyline points=(path.join(" ")) {}
                @for (x, y) in points { (mark(series.mark, "point", x, y)) }
            }
        }
    }
}

fn key(stations: &[GapStation]) -> Markup {
    let shown = SERIES.iter().filter(|series| stations.iter().any(|station| (series.of)(station).is_some()));
    let mut next = LEFT;
    let placed: Vec<(i64, &Series)> = shown
        .map(|series| {
            let at = next;
            next += 70 + 7 * i64::try_from(series.name.len()).unwrap_or(0);
            (at, series)
        })
        .collect();
    html! {
        @for (at, series) in placed {
            g class=(format!("series {}", series.class)) {
                polyline points=(format!("{at},16 {},16", at + 40)) {}
                (mark(series.mark, "point", at + 20, 16))
            }
            (label("small", at + 48, 20, "start", series.name))
        }
    }
}
