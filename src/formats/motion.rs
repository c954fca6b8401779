//! The carriage along its stroke: as a paper, and as a table for other programs.

use super::flat::{defused, written};
use super::pictures;
use super::report::life;
use crate::quantity::{Amount, Length};
use crate::views::motion::{CourseRow, MotionRun, OffThere};
use crate::views::paper::{Paper, TableCell};
use crate::world::shown_path;

/// The paper. The whole stroke first, then place by place; the places in tables lie at most so many mm apart.
pub(crate) fn paper(run: &MotionRun, every: f64) -> Paper {
    let course = run.at_most(every);
    let called = run.name.as_deref().unwrap_or(shown_path(&run.path));
    let mut paper = Paper { state: Some(run.state), ..Paper::new(format!("{called}: motion of axis {}", run.axis)) };
    let body = &mut paper.body;
    body.facts(vec![
        ("Machine", TableCell::given(run.name.clone())),
        ("Ledger", shown_path(&run.path).into()),
        ("Axis", run.axis.as_str().into()),
        ("Judged by the day", run.judged_on.as_str().into()),
        ("State", TableCell::State(run.state)),
    ]);
    body.heading(2, "Over the whole stroke");
    life(body, &run.axis, &run.life);
    let rows = run.weights.iter().map(|weight| {
        vec![
            weight.name.as_str().into(),
            weight.rail.as_str().into(),
            weight.station.as_str().into(),
            TableCell::Number(weight.by_a_hundredth.clone()),
        ]
    });
    body.table(
        "The readings that weigh most in each motion error: by how much it changes, in its unit, where one reads 0.01 mm more",
        &["Name", "Rail", "Station", "Changes by"],
        rows.collect(),
    );
    body.heading(2, "Place by place");
    if run.same_everywhere {
        body.say("No rail is known to lie wrong or to yield: what stands here is the same all along the stroke.");
    }
    if run.life.motion.is_empty() {
        body.say("How the carriage moves cannot be said: see why above.");
    }
    for figure in pictures::motion::pictures(run) {
        body.figure(Some(figure));
    }
    let motion: Vec<String> = std::iter::once("At, mm".into())
        .chain(
            run.life
                .motion
                .iter()
                .map(|error| format!("{}, {}", error.name, if error.is_turn { "µrad" } else { "mm" })),
        )
        .collect();
    let rows = course.iter().filter(|row| !row.off.is_empty()).map(|row| {
        let off = row.off.iter().map(|off| TableCell::number(shown(off)));
        at(run, row).chain(off).collect()
    });
    let head: Vec<&str> = motion.iter().map(String::as_str).collect();
    body.table(
        "What the carriage is off by: paths from their least-squares line, angles from their value at the first place",
        &head,
        rows.collect(),
    );
    let blocks: Vec<String> = std::iter::once("At, mm".into())
        .chain(run.life.blocks.iter().map(|block| format!("{} {}, N", block.rail, block.at.number())))
        .collect();
    let rows = course.iter().map(|row| {
        let loads = row
            .loads
            .iter()
            .map(|load| TableCell::Number(load.load_as_measured.unwrap_or(load.load_nominal).to_string()));
        at(run, row).chain(loads).collect()
    });
    let peaks = run.peaks.iter().map(|peak| format!("{} at {}", peak.greatest_load, rounded(peak.at)));
    let rows = rows.chain([std::iter::once("greatest".into()).chain(peaks.map(TableCell::Number)).collect()]);
    let head: Vec<&str> = blocks.iter().map(String::as_str).collect();
    let measured = run.life.blocks.iter().all(|block| block.mean_load_as_measured.is_some());
    let on = if measured { "on the rails as measured" } else { "nominal, on rails that lie where they should" };
    body.table(
        format!(
            "Equivalent load of each block, by its rail and place on the carriage, in the case that loads it most; {on}"
        ),
        &head,
        rows.collect(),
    );
    body.cautions();
    paper
}

fn at<'r>(run: &MotionRun, row: &'r CourseRow) -> impl Iterator<Item = TableCell> + use<'r> {
    let anywhere = run.same_everywhere;
    std::iter::once_with(move || if anywhere { "anywhere".into() } else { TableCell::Number(rounded(row.at)) })
}

/// A place to a tenth of a millimetre: nobody looks for it nearer.
fn rounded(at: Length) -> String {
    const TENTH: i64 = 100_000;
    Length((at.nm() + TENTH / 2).div_euclid(TENTH) * TENTH).number()
}

fn shown(off: &OffThere) -> Option<String> {
    off.offset.map(Amount::number).or_else(|| off.turned.clone())
}

/// One row a place, RFC 4180, names first.
pub(crate) fn csv(run: &MotionRun) -> Result<String, csv::Error> {
    let mut out = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    let mut head = vec!["position_mm".to_string()];
    head.extend(
        run.life.motion.iter().map(|error| format!("{}_{}", error.name, if error.is_turn { "urad" } else { "mm" })),
    );
    for block in &run.life.blocks {
        let name = format!("{}_{}", block.rail, block.at.number());
        head.extend(["nominal", "as_measured"].map(|on| format!("load_{name}_{on}_N")));
    }
    out.write_record(head.iter().map(|name| defused(name).into_owned()))?;
    for row in &run.course {
        let mut cells = vec![row.at.number()];
        cells.extend(row.off.iter().map(|off| shown(off).unwrap_or_default()));
        for load in &row.loads {
            cells.push(load.load_nominal.to_string());
            cells.push(load.load_as_measured.map_or(String::new(), |load| load.to_string()));
        }
        out.write_record(&cells)?;
    }
    written(out)
}
