//! How straight a rail lies: how far each station is off the line of the minimum zone, against the limit.

use super::MarkShape;
use super::along::{Along, Series, millimetres};
use super::rail_joints;
use crate::views::paper::Figure;
use crate::views::report::{RailReport, Straightness};

/// The picture; nothing where no zone is known.
pub(crate) fn picture(rail: &RailReport, survey: &Straightness) -> Option<Figure> {
    let zone = survey.zone?;
    let stations = || survey.stations.iter().filter_map(|station| Some((station, station.off_zone?)));
    // The stations lie on one side of the line.
    let to_the_right = stations().any(|(_, off)| off.nm() < 0);
    let edge = survey.most.map(|most| if to_the_right { -most } else { most });
    let against = survey.most.map_or("no limit is in force".to_string(), |most| format!("limit {most}"));
    let plus = if survey.is_upright { "above" } else { "to the left of" };
    let along = Along {
        title: format!(
            "Straightness of {} along the axis{}",
            rail.address,
            if survey.is_upright { ", upright" } else { "" }
        ),
        text: format!(
            "{}: how far each station lies {plus} the line of the minimum zone, in mm. The zone is {zone} wide; {against}.",
            rail.address
        ),
        unit: "mm",
        number: millimetres,
        places: stations().map(|(station, _)| (station.at, station.name.as_str())).collect(),
        joints: rail_joints(rail),
        series: vec![Series {
            name: if survey.is_upright { "above the line" } else { "to the left of the line" },
            class: "after",
            mark: MarkShape::Dot,
            values: stations().map(|(station, off)| (station.at, off.nm().into())).collect(),
        }],
        limit: edge.map(|edge| (edge.nm().into(), format!("within {} of the line", edge.abs()))),
        room: 1000,
        is_shape: false,
    };
    along.picture()
}
