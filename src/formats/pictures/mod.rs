//! Pictures of a report, as SVG drawn by hand: whole coordinates, a title and a description in each, and never a colour
//! that is not also a shape or a pattern.

mod along;
pub(crate) mod axis;
mod bars;
pub(crate) mod fleet;
pub(crate) mod gap;
pub(crate) mod life;
pub(crate) mod motion;
pub(crate) mod running_force;
mod scale;
pub(crate) mod steps;
pub(crate) mod straightness;
pub(crate) mod torque;

use maud::{Markup, html};

use super::clean;
use crate::quantity::Length;
use crate::views::paper::Figure;
use crate::views::report::RailReport;

/// The width of every picture, in its own units; a letter is about 7 of them wide.
const WIDTH: i64 = 1000;
/// Where the drawn part begins, right of the labels.
const LEFT: i64 = 120;
/// Where it ends.
const RIGHT: i64 = 980;
/// More marks than this make no picture.
const MOST_MARKS: usize = 4000;

/// Puts a drawing of some height into its frame.
fn framed(title: String, text: String, height: i64, drawing: Markup) -> Figure {
    let svg = html! {
        svg xmlns="http://www.w3.org/2000/svg" role="img" viewBox=(format!("0 0 {WIDTH} {height}")) {
            title { (clean(&title)) }
            desc { (clean(&text)) }
            (patterns())
            (drawing)
        }
    };
    Figure { title, caption: text, svg: Some(svg.into_string()), characters: None }
}

/// The picture of some number on a page, its hatchings named by the number. No text in it can hold what is changed: a quote
/// in a text is escaped.
pub(crate) fn with_own_patterns(svg: &str, number: usize) -> String {
    ["rising", "crossed"].iter().fold(svg.to_owned(), |svg, name| {
        svg.replace(&format!("id=\"{name}\""), &format!("id=\"{name}-{number}\""))
            .replace(&format!("\"url(#{name})\""), &format!("\"url(#{name}-{number})\""))
    })
}

/// The joints of a rail with their places.
fn rail_joints(rail: &RailReport) -> Vec<(Length, String)> {
    rail.joints.iter().map(|joint| (joint.at, joint.name.clone())).collect()
}

/// The joints of all rails of an axis with their places; where several rails have any, with the name of the rail before.
fn joints_of_rails<'r>(rails: impl Iterator<Item = (&'r str, Vec<(Length, String)>)>) -> Vec<(Length, String)> {
    let rails: Vec<_> = rails.filter(|(_, joints)| !joints.is_empty()).collect();
    let several = rails.len() > 1;
    let named = |rail: &str, joint: String| if several { format!("{rail}.{joint}") } else { joint };
    rails
        .into_iter()
        .flat_map(|(rail, joints)| joints.into_iter().map(move |(at, joint)| (at, named(rail, joint))))
        .collect()
}

/// The hatchings. Every picture brings its own, so that each can be taken out of the page.
fn patterns() -> Markup {
    html! {
        defs {
            pattern id="rising" width="8" height="8" patternUnits="userSpaceOnUse" {
                path class="hatch" d="M-1 9 L9 -1" {}
            }
            pattern id="crossed" width="6" height="6" patternUnits="userSpaceOnUse" {
                path class="hatch strong" d="M0 0 L6 6 M6 0 L0 6" {}
            }
        }
    }
}

fn line(class: &str, x1: i64, y1: i64, x2: i64, y2: i64) -> Markup {
    html! { line class=(class) x1=(x1) y1=(y1) x2=(x2) y2=(y2) {} }
}

fn rect(class: &str, x: i64, y: i64, width: i64, height: i64) -> Markup {
    html! { rect class=(class) x=(x) y=(y) width=(width.max(1)) height=(height.max(1)) {} }
}

/// A text with its anchor: `start`, `middle` or `end`.
fn label(class: &str, x: i64, y: i64, anchor: &str, text: &str) -> Markup {
    html! { text class=(class) x=(x) y=(y) text-anchor=(anchor) { (clean(text)) } }
}

/// A text cut to a number of letters.
fn short(text: &str, most: usize) -> String {
    if text.chars().count() <= most {
        return text.to_string();
    }
    let kept: String = text.chars().take(most.saturating_sub(1)).collect();
    kept + "…"
}

/// Which of some labels fit side by side: each has its middle and its length in letters. The first are preferred.
fn fitting(labels: &[(i64, usize)]) -> Vec<bool> {
    let mut taken: Vec<(i64, i64)> = Vec::new();
    labels
        .iter()
        .map(|&(middle, letters)| {
            let half = i64::try_from(letters).unwrap_or(i64::MAX / 16) * 7 / 2 + 2;
            let free = taken.iter().all(|&(from, to)| middle + half <= from || to <= middle - half);
            if free {
                taken.push((middle - half, middle + half));
            }
            free
        })
        .collect()
}

/// Where labels go that may lie over their place, or else end or begin at it; nothing where none of these is free.
fn beside_each_other(labels: &[(i64, usize)], from: i64, to: i64) -> Vec<Option<i64>> {
    let mut taken: Vec<(i64, i64)> = Vec::new();
    labels
        .iter()
        .map(|&(at, letters)| {
            let half = i64::try_from(letters).unwrap_or(i64::MAX / 16) * 7 / 2 + 2;
            let inside = |middle: i64| middle.min(to - half).max(from + half);
            let is_free = |&middle: &i64| {
                let is_clear = |&(near, far): &(i64, i64)| middle + half <= near || far <= middle - half;
                middle + half <= to && (middle - at).abs() <= half && taken.iter().all(is_clear)
            };
            let middle = [at, at - half, at + half].map(inside).into_iter().find(is_free)?;
            taken.push((middle - half, middle + half));
            Some(middle)
        })
        .collect()
}

/// Marks of different shapes, so that series are told apart without colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum MarkShape {
    Circle,
    /// So large that a dot in it leaves it visible.
    Ring,
    Dot,
    Diamond,
    Square,
    Triangle,
    Cross,
}

fn mark(mark: MarkShape, class: &str, x: i64, y: i64) -> Markup {
    html! {
        @match mark {
            MarkShape::Circle => circle class=(class) cx=(x) cy=(y) r="4" {},
            MarkShape::Ring => circle class=(class) cx=(x) cy=(y) r="7" {},
            MarkShape::Dot => rect class=(class) x=(x - 2) y=(y - 2) width="5" height="5" {},
            MarkShape::Diamond => path class=(class) d=(format!("M{x} {} L{} {y} L{x} {} L{} {y} Z", y - 5, x + 5, y + 5, x - 5)) {},
            MarkShape::Square => rect class=(class) x=(x - 4) y=(y - 4) width="8" height="8" {},
            MarkShape::Triangle => path class=(class) d=(format!("M{x} {} L{} {} L{} {} Z", y - 5, x + 5, y + 4, x - 5, y + 4)) {},
            MarkShape::Cross => path class=(class) d=(format!("M{} {} L{} {} M{} {} L{} {}", x - 4, y - 4, x + 4, y + 4, x + 4, y - 4, x - 4, y + 4)) {},
        }
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;

    /// A picture with a hatching in it.
    pub(crate) fn hatched(title: &str) -> Figure {
        let drawing = html! { rect class="band" fill="url(#rising)" {} };
        framed(title.into(), "hatched".into(), 100, drawing)
    }

    #[test]
    fn a_label_lies_over_its_place_or_beside_it() {
        let at = |labels: &[(i64, usize)]| beside_each_other(labels, 100, 1000);
        assert_eq!(at(&[(200, 10), (240, 10), (215, 10)]), [Some(200), Some(277), None]);
        assert_eq!(at(&[(200, 10), (180, 10)]), [Some(200), None]);
        // None leaves the picture, and one that is wider than it is left out.
        assert_eq!(at(&[(110, 10), (995, 10)]), [Some(137), Some(963)]);
        assert_eq!(at(&[(500, 200)]), [None]);
    }

    #[test]
    fn joints_of_several_rails_are_told_apart() {
        let rail = |joints: &[(i64, &str)]| joints.iter().map(|(at, name)| (Length(*at), (*name).to_owned())).collect();
        let port = || ("port", rail(&[(2, "J1"), (4, "J2")]));
        let one: Vec<(Length, String)> = joints_of_rails([port(), ("whole", rail(&[]))].into_iter());
        assert_eq!(one, rail(&[(2, "J1"), (4, "J2")]));
        let two = joints_of_rails([port(), ("starboard", rail(&[(3, "J1")]))].into_iter());
        assert_eq!(two, rail(&[(2, "port.J1"), (4, "port.J2"), (3, "starboard.J1")]));
    }

    #[test]
    fn labels_that_would_run_into_each_other_are_left_out() {
        assert_eq!(fitting(&[(100, 4), (110, 4), (140, 4)]), [true, false, true]);
        assert_eq!(fitting(&[(100, 3), (128, 3)]), [true, true]);
        assert_eq!(short("K-118-very-long", 6), "K-118…");
    }
}
