//! The four groove steps of each joint against the limit.

use maud::{Markup, html};

use super::scale::Scale;
use super::{LEFT, MOST_MARKS, MarkShape, RIGHT, framed, label, line, mark, rect, short};
use crate::finding::counted;
use crate::quantity::{Amount, Length};
use crate::views::paper::Figure;
use crate::views::report::{AxisReport, JointReport};

/// Joints side by side in one row.
const A_ROW: usize = 8;
const ROW: i64 = 250;

/// The picture; nothing where no step is known.
pub(crate) fn picture(axis: &AxisReport) -> Option<Figure> {
    let joints: Vec<(&str, &JointReport)> =
        axis.rails.iter().flat_map(|rail| rail.joints.iter().map(|joint| (rail.name.as_str(), joint))).collect();
    let steps = || joints.iter().flat_map(|(_, joint)| joint.steps.iter().filter_map(|step| step.step));
    if steps().next().is_none() || joints.len() > MOST_MARKS / 8 {
        return None;
    }
    let limit = joints.iter().find_map(|(_, joint)| joint.most_step);
    let most = steps().map(Length::abs).chain(limit).max()?.nm().max(1000);
    let room = i128::from(most) * 6 / 5;
    let rows: Vec<&[(&str, &JointReport)]> = joints.chunks(A_ROW).collect();
    let height = ROW * i64::try_from(rows.len()).ok()? + 24;
    let drawing = html! {
        @for (at, row) in rows.iter().enumerate() {
            @let top = 24 + ROW * i64::try_from(at).unwrap_or(0);
            (self::row(row, limit, &Scale::new(-room, room, top + 186, top), top))
        }
        (rect("step", LEFT, 4, 14, 10))
        (label("small", LEFT + 20, 13, "start", "step within the limit"))
        g { (rect("step over", LEFT + 180, 4, 14, 10)) rect x=(LEFT + 180) y="4" width="14" height="10" fill="url(#crossed)" {} }
        (label("small", LEFT + 200, 13, "start", "over the limit"))
        (mark(MarkShape::Cross, "cross", LEFT + 322, 9))
        (label("small", LEFT + 333, 13, "start", "not read"))
        (label("small", RIGHT, 13, "end", "plus: the far rail's groove stands proud"))
    };
    let over = joints.iter().flat_map(|(_, joint)| &joint.steps).filter(|step| step.over).count();
    let largest = steps().map(Length::abs).max()?;
    let against = limit.map_or("no limit is in force".to_string(), |limit| format!("limit {limit}"));
    let text = format!(
        "Groove steps of {} of axis {} in mm: the largest is {largest}, {over} of {} over; {against}.",
        counted(joints.len(), "joint", "joints"),
        axis.name,
        steps().count()
    );
    Some(framed(format!("Groove steps at the joints of axis {}", axis.name), text, height, drawing))
}

fn row(joints: &[(&str, &JointReport)], limit: Option<Length>, y: &Scale, top: i64) -> Markup {
    let slot = (RIGHT - LEFT) / i64::try_from(joints.len().max(4)).unwrap_or(4);
    let zero = y.at(0);
    html! {
        (line("thin", LEFT, top, LEFT, top + 186))
        @for tick in y.ticks(7) {
            @let at = y.at(tick);
            (line("thin", LEFT - 4, at, LEFT, at))
            (label("small", LEFT - 8, at + 4, "end", &Length(i64::try_from(tick).unwrap_or(0)).number()))
        }
        @if let Some(limit) = limit {
            @for edge in [limit.nm(), -limit.nm()] {
                (line("limit", LEFT, y.at(edge.into()), RIGHT, y.at(edge.into())))
            }
            (label("small halo", RIGHT - 4, y.at(limit.nm().into()) - 5, "end", &format!("limit {}", limit.number())))
        }
        (line("thin", LEFT, zero, RIGHT, zero))
        @for (at, (rail, joint)) in joints.iter().enumerate() {
            @let from = LEFT + slot * i64::try_from(at).unwrap_or(0);
            (self::joint(joint, from, slot, y, top))
            (label("", from + slot / 2, top + 220, "middle", &format!("{} {}", short(rail, 12), joint.name)))
        }
    }
}

fn joint(joint: &JointReport, from: i64, slot: i64, y: &Scale, top: i64) -> Markup {
    let each = (slot - 24) / 4;
    let zero = y.at(0);
    html! {
        @for (at, step) in joint.steps.iter().enumerate() {
            @let x = from + 12 + each * i64::try_from(at).unwrap_or(0);
            @let width = (each - 6).min(40);
            @let x = x + (each - width) / 2;
            @if let Some(length) = step.step {
                @let to = y.at(length.nm().into());
                g {
                    title { (crate::formats::clean(&joint.address)) " " (step.groove) ": " (length.to_string()) @if step.over { ", over the limit" } }
                    (rect(if step.over { "step over" } else { "step" }, x, zero.min(to), width, (to - zero).abs()))
                    @if step.over { rect x=(x) y=(zero.min(to)) width=(width) height=((to - zero).abs().max(1)) fill="url(#crossed)" {} }
                }
            } @else {
                g { title { (step.groove) " is not read" } (mark(MarkShape::Cross, "cross", x + width / 2, zero)) }
            }
            (label("small", x + width / 2, top + 201, "middle", step.groove))
        }
    }
}
