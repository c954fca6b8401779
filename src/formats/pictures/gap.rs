//! The gap along the axis, or the height: before shims, as they lead to expect, and after, each from its own zero, against
//! the band that the limit leaves.

use super::MarkShape;
use super::along::{Along, Series, millimetres};
use super::rail_joints;
use crate::formats::report::gap_in_words;
use crate::quantity::Length;
use crate::views::paper::Figure;
use crate::views::report::{Gap, GapStation, RailReport};

/// The picture; nothing without stations.
pub(crate) fn picture(rail: &RailReport, gap: &Gap) -> Option<Figure> {
    // The band in which a survey conforms that is counted from its own zero.
    let edge = gap.most.map(|most| if gap.zero == "narrowest" { most } else { -most });
    let series = |name, class, mark, of: fn(&GapStation) -> Option<Length>| {
        let values = gap.stations.iter().filter_map(|station| Some((station.at, of(station)?.nm().into())));
        Series { name, class, mark, values: values.collect() }
    };
    let along = Along {
        title: format!("{} of {} along the axis", if gap.kind == "height" { "Height" } else { "Gap" }, rail.address),
        text: format!(
            "{} In mm, each survey counted from its own {} place, so that it conforms where it stays within the hatched band.",
            gap_in_words(rail, gap),
            gap.zero
        ),
        unit: "mm",
        number: millimetres,
        places: gap.stations.iter().map(|station| (station.at, station.name.as_str())).collect(),
        joints: rail_joints(rail),
        series: vec![
            series("before", "before", MarkShape::Ring, |station| station.before),
            series("to be expected with the shims", "expected", MarkShape::Diamond, |station| station.predicted),
            series("after", "after", MarkShape::Dot, |station| station.after),
        ],
        limit: edge.map(|edge| (edge.nm().into(), format!("within {} of the {} place", edge.abs(), gap.zero))),
        room: 1000,
        is_shape: false,
    };
    along.picture()
}
