//! The running force along the axis, against its limit.

use super::MarkShape;
use super::along::{Along, Series};
use super::{joints_of_rails, rail_joints};
use crate::finding::counted;
use crate::quantity::{Amount, Force, Length};
use crate::views::paper::Figure;
use crate::views::report::{AxisReport, RunningForceReport};

/// The picture; nothing with fewer than two places.
pub(crate) fn picture(axis: &AxisReport, run: &RunningForceReport) -> Option<Figure> {
    if run.readings.len() < 2 {
        return None;
    }
    let joints = joints_of_rails(axis.rails.iter().map(|rail| (rail.name.as_str(), rail_joints(rail))));
    let greatest = run.greatest_running_force.map_or(String::new(), |most| format!(", the greatest {most}"));
    let against = run.most.map_or("no limit is in force".to_string(), |most| format!("limit {most}"));
    let mut values: Vec<(Length, i128)> = run.readings.iter().map(|it| (it.at, micronewtons(it.force))).collect();
    values.sort_unstable();
    let ends = [values.first(), values.last()].into_iter().flatten().map(|(at, _)| *at);
    let level = run.expected_running_force.map(|expected| ends.map(|at| (at, micronewtons(expected))).collect());
    let mut series = vec![Series { name: "read", class: "after", mark: MarkShape::Dot, values }];
    series.extend(level.map(|values| Series {
        name: "preload and seals, by maker",
        class: "expected",
        mark: MarkShape::Diamond,
        values,
    }));
    let along = Along {
        title: format!("Running force of axis {}", axis.name),
        text: format!(
            "Running force of axis {} at {} in N{greatest}; {against}. The joints of all rails are marked.",
            axis.name,
            counted(run.readings.len(), "place", "places")
        ),
        unit: "N",
        number: |micro| Force::of_micronewtons(i64::try_from(micro).unwrap_or(0)).number(),
        places: Vec::new(),
        joints,
        series,
        limit: run.most.map(|most| (micronewtons(most), format!("at most {most}"))),
        room: 100_000,
        is_shape: false,
    };
    along.picture()
}

/// Enough for a picture.
fn micronewtons(force: Force) -> i128 {
    force.0 / Force::of_micronewtons(1).0
}
