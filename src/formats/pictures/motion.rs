//! The carriage along its stroke: the rails as measured, what it is off by, and what its blocks bear.

use super::along::{Along, Series, millimetres};
use super::{MarkShape, joints_of_rails};
use crate::quantity::{Amount, Length};
use crate::views::motion::{CourseRow, MotionRun, OffThere, RailPlace};
use crate::views::paper::Figure;

/// More places than a picture has points side by side show nothing more.
const MOST_DRAWN: usize = 1000;

/// How series are told apart.
const LINES: [(&str, MarkShape); 6] = [
    ("after", MarkShape::Dot),
    ("before", MarkShape::Ring),
    ("expected", MarkShape::Diamond),
    ("after", MarkShape::Square),
    ("before", MarkShape::Triangle),
    ("expected", MarkShape::Cross),
];

/// The rails, paths, angles, and the loads of the blocks of each rail; nothing where every place is alike.
pub(crate) fn pictures(run: &MotionRun) -> Vec<Figure> {
    if run.same_everywhere {
        return Vec::new();
    }
    let mut all = rails(run, "sideways", "plus is to the left", |place| place.to_left);
    all.extend(rails(run, "upright", "plus is up", |place| place.up));
    let path = |off: &OffThere| Some(i128::from(off.offset?.nm()));
    let tenths = |off: &OffThere| Some((off.turned.as_ref()?.parse::<f64>().ok()? * 10.0).round() as i128);
    all.extend(errors(run, "Path", "mm", millimetres, 1000, path));
    all.extend(errors(
        run,
        "Turns",
        "µrad",
        |tenths| Length(i64::try_from(tenths * 100_000).unwrap_or(0)).number(),
        10,
        tenths,
    ));
    let mut rails: Vec<&str> = Vec::new();
    for block in &run.life.blocks {
        if !rails.contains(&block.rail.as_str()) {
            rails.push(&block.rail);
        }
    }
    for rail in rails {
        all.extend(loads(run, rail));
    }
    all
}

/// The rails as measured in one plane.
fn rails(run: &MotionRun, plane: &str, plus: &str, off: impl Fn(&RailPlace) -> Option<Length>) -> Vec<Figure> {
    let values = |places: &[RailPlace]| places.iter().filter_map(|it| Some((it.at, off(it)?.nm().into()))).collect();
    let all: Vec<(&str, Vec<(Length, i128)>)> =
        run.rails.iter().map(|rail| (rail.rail.as_str(), values(&rail.places))).collect();
    let read: Vec<_> = all.into_iter().filter(|(_, values)| !values.is_empty()).collect();
    let joints = || {
        joints_of_rails(run.rails.iter().map(|rail| {
            let own = rail.joints.iter().map(|joint| (joint.at, joint.name.clone()));
            (rail.rail.as_str(), own.collect())
        }))
    };
    let drawn = read.chunks(LINES.len()).filter_map(|lines| {
        let names: Vec<&str> = lines.iter().map(|(name, _)| *name).collect();
        let along = Along {
            title: format!("Rails of {} as measured, {plane}", run.axis),
            text: format!(
                "The rails as they lie {plane}, {}: by the surveys that count, the steps of the joints and the shims put in since, in mm; {plus}. Every place was read but the ends of segments; between them a rail bends as a beam on its supports does. The joints of all rails are marked.",
                names.join(", ")
            ),
            unit: "mm",
            number: millimetres,
            places: Vec::new(),
            joints: joints(),
            series: series(lines),
            limit: None,
            room: 1000,
            is_shape: true,
        };
        along.picture()
    });
    drawn.collect()
}

fn errors(
    run: &MotionRun,
    what: &str,
    unit: &'static str,
    number: fn(i128) -> String,
    room: i128,
    of: impl Fn(&OffThere) -> Option<i128>,
) -> Vec<Figure> {
    let values = |nth: usize| drawn(run).filter_map(|row| Some((row.at, of(row.off.get(nth)?)?))).collect();
    let all: Vec<(&str, Vec<(Length, i128)>)> =
        run.life.motion.iter().enumerate().map(|(nth, error)| (error.name.as_str(), values(nth))).collect();
    let told: Vec<_> = all.into_iter().filter(|(_, values)| !values.is_empty()).collect();
    let drawn = told.chunks(LINES.len()).filter_map(|lines| {
        let names: Vec<&str> = lines.iter().map(|(name, _)| *name).collect();
        let from = if unit == "mm" { "from its least-squares line" } else { "from its value at the first place" };
        let along = Along {
            title: format!("{what} of the carriage of {}", run.axis),
            text: format!("{} along the stroke, in {unit}, each {from}.", names.join(", ")),
            unit,
            number,
            places: Vec::new(),
            joints: Vec::new(),
            series: series(lines),
            limit: None,
            room,
            is_shape: false,
        };
        along.picture()
    });
    drawn.collect()
}

/// As many places as can be seen, both ends among them.
fn drawn(run: &MotionRun) -> impl Iterator<Item = &CourseRow> {
    let last = run.course.len() - 1;
    let nth = run.course.len() / MOST_DRAWN + 1;
    run.course
        .iter()
        .enumerate()
        .filter(move |(index, _)| index.is_multiple_of(nth) || *index == last)
        .map(|(_, row)| row)
}

fn loads(run: &MotionRun, rail: &str) -> Vec<Figure> {
    let own: Vec<(usize, String)> = run
        .life
        .blocks
        .iter()
        .enumerate()
        .filter(|(_, block)| block.rail == rail)
        .map(|(nth, block)| (nth, format!("block at {}", block.at)))
        .collect();
    let load = |row: &CourseRow, nth: usize| {
        let there = row.loads.get(nth)?;
        Some((row.at, i128::from(there.load_as_measured.unwrap_or(there.load_nominal))))
    };
    let lines: Vec<(&str, Vec<(Length, i128)>)> =
        own.iter().map(|(nth, name)| (name.as_str(), drawn(run).filter_map(|row| load(row, *nth)).collect())).collect();
    let drawn = lines.chunks(LINES.len()).filter_map(|lines| {
        let along = Along {
            title: format!("Loads of the blocks on {rail} of {}", run.axis),
            text: format!(
                "Equivalent load of each block on {rail} in N, by where the carriage stands, in the case that loads it most."
            ),
            unit: "N",
            number: |newtons| newtons.to_string(),
            places: Vec::new(),
            joints: Vec::new(),
            series: series(lines),
            limit: None,
            room: 10,
            is_shape: false,
        };
        along.picture()
    });
    drawn.collect()
}

fn series<'a>(lines: &'a [(&'a str, Vec<(Length, i128)>)]) -> Vec<Series<'a>> {
    let told = lines.iter().zip(LINES).map(|((name, values), (class, mark))| Series {
        name,
        class,
        mark,
        values: values.clone(),
    });
    told.collect()
}
