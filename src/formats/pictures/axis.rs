//! The axis to scale along its length: beams with their seams, rails with segments and joints, supports, and the
//! carriage with its blocks in the middle of its stroke.

use maud::{Markup, html};

use super::scale::Scale;
use super::{LEFT, MOST_MARKS, MarkShape, RIGHT, fitting, framed, label, line, mark, rect, short};
use crate::finding::counted;
use crate::quantity::{Amount, Length};
use crate::views::paper::Figure;
use crate::views::report::{AxisReport, RailReport, State};

/// From the top of one rail's strip to that of the next.
const PITCH: i64 = 92;
const TOP: i64 = 78;

/// The picture; nothing where the axis has no rails, or too many parts to be told apart.
pub(crate) fn picture(axis: &AxisReport) -> Option<Figure> {
    let marks: usize = axis.rails.iter().map(|rail| rail.supports.len() + rail.segments.len()).sum();
    let ends = axis.rails.iter().flat_map(|rail| [rail.from, rail.to]);
    let ends = ends.chain(axis.beams.iter().flat_map(|beam| [beam.from, beam.to]));
    let ends: Vec<Length> = ends.chain(axis.run.iter().flat_map(|run| [run.from, run.to])).collect();
    let (from, to) = (*ends.iter().min()?, *ends.iter().max()?);
    if axis.rails.is_empty() || marks > MOST_MARKS || from == to {
        return None;
    }
    let scale = Scale::new(from.nm().into(), to.nm().into(), LEFT, RIGHT);
    let rails = i64::try_from(axis.rails.len()).unwrap_or(0);
    let height = TOP + rails * PITCH + 30;
    let drawing = html! {
        (ruler(&scale))
        (stroke(axis, &scale))
        @for (at, rail) in axis.rails.iter().enumerate() {
            (self::rail(axis, rail, &scale, TOP + PITCH * i64::try_from(at).unwrap_or(0)))
        }
        (blocks(axis, &scale))
        (key(height - 14))
    };
    Some(framed(format!("Axis {} to scale", axis.name), words(axis), height, drawing))
}

/// What the picture says.
fn words(axis: &AxisReport) -> String {
    let rails = axis.rails.iter().map(|rail| {
        let joints: Vec<String> =
            rail.joints.iter().map(|joint| format!("{} at {}", joint.name, joint.at.number())).collect();
        let joints = if joints.is_empty() { "no joints".to_string() } else { joints.join(", ") };
        let beam = rail.beam.as_ref().map_or(String::new(), |beam| format!(" on beam {beam}"));
        format!(
            "Rail {}{beam}, {} to {}: {joints}, {}.",
            rail.name,
            rail.from.number(),
            rail.to,
            counted(rail.supports.len(), "support", "supports")
        )
    });
    let beams = axis.beams.iter().filter(|beam| !beam.seams.is_empty()).map(|beam| {
        let seams: Vec<String> = beam.seams.iter().map(|seam| seam.number()).collect();
        format!("Beam {}: seams at {}.", beam.name, seams.join(", "))
    });
    let stroke = axis
        .stroke
        .map(|stroke| format!("The middle of the carriage travels from {} to {}.", stroke.from.number(), stroke.to));
    let all: Vec<String> = rails.chain(beams).chain(stroke).collect();
    format!("Axis {}, to scale along its length only, in mm. {}", axis.name, all.join(" "))
}

fn ruler(scale: &Scale) -> Markup {
    html! {
        (line("thin", LEFT, 24, RIGHT, 24))
        @for tick in scale.ticks(12) {
            @let x = scale.at(tick);
            (line("thin", x, 20, x, 28))
            (label("small", x, 15, "middle", &Length(i64::try_from(tick).unwrap_or(0)).number()))
        }
        (label("small", LEFT - 8, 28, "end", "mm"))
    }
}

/// The stroke as a line, and the carriage as a frame in the middle of it.
fn stroke(axis: &AxisReport, scale: &Scale) -> Markup {
    let Some(stroke) = axis.stroke else { return html! {} };
    let x = |at: Length| scale.at(at.nm().into());
    let (from, to) = (x(stroke.from), x(stroke.to));
    let bottom = TOP + PITCH * i64::try_from(axis.rails.len()).unwrap_or(0) - 52;
    html! {
        (line("stroke", from, 44, to, 44))
        (line("stroke", from, 38, from, 50))
        (line("stroke", to, 38, to, 50))
        (label("small", LEFT - 8, 48, "end", "stroke"))
        @if let Some(length) = axis.carriage.as_ref().and_then(|carriage| carriage.length) {
            @let (near, far) = (x(around(axis, -length.nm() / 2)), x(around(axis, length.nm() / 2)));
            (rect("carriage", near, TOP - 18, far - near, bottom - TOP + 34))
        }
    }
}

/// A place on the carriage that stands in the middle of its stroke.
fn around(axis: &AxisReport, at: i64) -> Length {
    let middle = axis.stroke.map_or(0, |stroke| (stroke.from.nm() + stroke.to.nm()) / 2);
    Length(middle.saturating_add(at))
}

/// The blocks, over the rails they ride on.
fn blocks(axis: &AxisReport, scale: &Scale) -> Markup {
    let blocks = axis.carriage.iter().filter(|_| axis.stroke.is_some()).flat_map(|carriage| &carriage.blocks);
    html! {
        @for block in blocks {
            @if let Some(rail) = axis.rails.iter().position(|rail| rail.name == block.rail) {
                @let half = block.length.map_or(0, |length| length.nm() / 2);
                @let near = scale.at(around(axis, block.at.nm() - half).nm().into());
                @let far = scale.at(around(axis, block.at.nm() + half).nm().into());
                @let top = TOP + PITCH * i64::try_from(rail).unwrap_or(0);
                g {
                    title { "block on " (crate::formats::clean(&block.rail)) " at " (block.at.number()) " from the carriage's middle" }
                    (rect("block", near, top - 5, (far - near).max(6), 21))
                }
            }
        }
    }
}

/// `beam bed`; of a long name the name alone, so that it is not cut.
fn beam_label(name: &str) -> String {
    let whole = format!("beam {name}");
    if whole.chars().count() <= LETTERS_BESIDE { whole } else { short(name, LETTERS_BESIDE) }
}

/// So many small letters have room beside the drawing.
const LETTERS_BESIDE: usize = 17;

fn rail(axis: &AxisReport, rail: &RailReport, scale: &Scale, top: i64) -> Markup {
    let x = |at: Length| scale.at(at.nm().into());
    let beam = axis.beams.iter().find(|beam| Some(&beam.name) == rail.beam.as_ref());
    let names: Vec<String> = rail.joints.iter().map(|joint| format!("{} {}", joint.name, joint.at.number())).collect();
    let places: Vec<(i64, usize)> =
        rail.joints.iter().zip(&names).map(|(joint, name)| (x(joint.at), name.chars().count())).collect();
    html! {
        (label("", LEFT - 8, top + 11, "end", &short(&rail.name, 15)))
        @for (at, segment) in rail.segments.iter().enumerate() {
            @let (near, far) = (x(segment.from), x(segment.to));
            g {
                title { "segment " (at + 1) ", " (segment.from.number()) " to " (segment.to.to_string()) @if let Some(serial) = &segment.serial { ", serial " (crate::formats::clean(serial)) } }
                (rect(if at % 2 == 0 { "rail" } else { "rail other" }, near, top, far - near, 14))
                @if at % 2 == 1 { rect x=(near) y=(top) width=((far - near).max(1)) height="14" fill="url(#rising)" {} }
            }
        }
        @for support in &rail.supports {
            @let half = support.covers.map_or(0, |covers| covers.nm() / 2);
            @let (near, far) = (x(Length(support.at.nm() - half)), x(Length(support.at.nm() + half)));
            g {
                title { (crate::formats::clean(&support.name)) " at " (support.at.to_string()) ": " (support.state.word()) }
                (rect(support_class(support.state), near, top + 18, (far - near).max(3), 9))
                @if support.state == State::Nonconforming { (mark(MarkShape::Cross, "cross", x(support.at), top + 22)) }
            }
        }
        @for ((joint, name), fits) in rail.joints.iter().zip(&names).zip(fitting(&places)) {
            @let at = x(joint.at);
            (line("joint", at, top - 10, at, top + 16))
            @if fits { (label("small halo", at, top - 14, "middle", name)) }
        }
        @if let Some(beam) = beam {
            (label("small", LEFT - 8, top + 41, "end", &beam_label(&beam.name)))
            (rect("beam", x(beam.from), top + 31, x(beam.to) - x(beam.from), 13))
            @for seam in &beam.seams {
                @let at = x(*seam);
                (rect("seam", at - 2, top + 29, 4, 17))
                (label("small halo", at, top + 58, "middle", &format!("seam {}", seam.number())))
            }
        }
    }
}

fn support_class(state: State) -> &'static str {
    match state {
        State::Conforming | State::Conceded => "support",
        State::Outstanding | State::NotJudged | State::Nonconforming => "support open",
    }
}

/// What the shapes mean.
fn key(y: i64) -> Markup {
    html! {
        (rect("support", LEFT, y - 8, 14, 9))
        (label("small", LEFT + 20, y, "start", "support, conforming"))
        (rect("support open", LEFT + 165, y - 8, 14, 9))
        (label("small", LEFT + 185, y, "start", "something outstanding"))
        (rect("support open", LEFT + 345, y - 8, 14, 9))
        (mark(MarkShape::Cross, "cross", LEFT + 352, y - 4))
        (label("small", LEFT + 365, y, "start", "nonconforming"))
        (line("joint", LEFT + 485, y - 12, LEFT + 485, y + 2))
        (label("small", LEFT + 493, y, "start", "joint"))
        (rect("seam", LEFT + 545, y - 12, 4, 14))
        (label("small", LEFT + 556, y, "start", "beam seam"))
        (rect("block", LEFT + 645, y - 9, 14, 11))
        (label("small", LEFT + 665, y, "start", "block, middle of stroke"))
    }
}
