//! How long each block lives: on rails that lie where they should and as measured, against what is required.

use maud::{Markup, html};

use super::scale::Scale;
use super::{RIGHT, framed, label, line, rect, short};
use crate::quantity::{Amount, Travel};
use crate::views::paper::Figure;
use crate::views::report::LifeReport;

const LEFT: i64 = 20;
const TOP: i64 = 44;
/// The height of a row: its words, and two bars under them.
const ROW: i64 = 46;
const BAR: i64 = 9;
/// Letters of a rail's name: as many as leave room for the numbers.
const LONGEST_NAME: usize = 60;

/// The picture; nothing where no life is known.
pub(crate) fn picture(axis: &str, life: &LifeReport) -> Option<Figure> {
    let mut rows: Vec<(String, Option<Travel>, Option<Travel>)> = life
        .blocks
        .iter()
        .map(|block| {
            let name = format!("{}, block at {}", short(&block.rail, LONGEST_NAME), block.at);
            (name, block.life_nominal, block.life_as_measured)
        })
        .collect();
    rows.push(("all blocks together".into(), life.life_together_nominal, life.life_together_as_measured));
    let known = rows.iter().flat_map(|(_, nominal, measured)| [*nominal, *measured]).flatten();
    let most = known.chain(life.required).map(metres).max().filter(|most| *most > 0)?;
    life.life_together_nominal?;
    let x = Scale::new(0, most, LEFT, RIGHT);
    let height = TOP + ROW * i64::try_from(rows.len()).ok()?;
    let required = life.required.map(|required| (x.at(metres(required)), format!("required {required}")));
    let drawing = html! {
        (rect("step", LEFT, 8, 40, BAR))
        (label("small", LEFT + 48, 17, "start", "as measured"))
        rect class="band" x="180" y="8" width="40" height=(BAR) fill="url(#rising)" {}
        (label("small", 228, 17, "start", "nominal, on rails that lie where they should"))
        @if let Some((at, words)) = &required {
            (line("limit", *at, TOP - 16, *at, height))
            @let (side, anchor) = if *at > RIGHT / 2 { (-6, "end") } else { (6, "start") };
            (label("small halo", at + side, TOP - 8, anchor, words))
        }
        @for (at, row) in (0_i64..).zip(&rows) { (drawn(row, TOP + ROW * at, &x)) }
    };
    let against = life.required.map_or("none is required".to_string(), |required| format!("{required} is required"));
    let text = format!("How long each block of {axis} lives, by ISO 14728-1, in km; {against}.");
    Some(framed(format!("Life of the blocks of {axis}, block by block"), text, height + 8, drawing))
}

fn drawn((name, nominal, measured): &(String, Option<Travel>, Option<Travel>), top: i64, x: &Scale) -> Markup {
    let told = |life: &Option<Travel>| life.map_or("not known".to_string(), |life| life.to_string());
    let words = format!("{name}: {} as measured, {} nominal", told(measured), told(nominal));
    let bar = |life: &Option<Travel>| life.map(|life| x.at(metres(life)) - LEFT);
    html! {
        (label("small halo", LEFT, top + 12, "start", &words))
        @if let Some(wide) = bar(measured) { (rect("step", LEFT, top + 18, wide, BAR)) }
        @if let Some(wide) = bar(nominal) {
            rect class="band" x=(LEFT) y=(top + 19 + BAR) width=(wide.max(1)) height=(BAR) fill="url(#rising)" {}
        }
        (line("thin", LEFT, top + 16, LEFT, top + 22 + 2 * BAR))
    }
}

/// Near enough for a picture.
fn metres(travel: Travel) -> i128 {
    (travel.to_f64() * 1000.0) as i128
}
