//! An axis of a report: its joints, and what its carriage asks of them.

use super::rail;
use super::words::signed;
use crate::finding::counted;
use crate::formats::pictures;
use crate::quantity::{Amount, Length};
use crate::views::paper::{Content, TableCell};
use crate::views::report::{AxisReport, DueState, JointReport, LifeReport, ReleaseReport, SignatureReport};

/// With which key a release is signed.
fn signature(release: &ReleaseReport) -> String {
    match &release.signature {
        None => ", not signed".to_owned(),
        Some(SignatureReport { valid: true, key: Some(key), person: Some(person), .. }) => {
            format!(", signed by {person} with {key}")
        }
        Some(SignatureReport { key: Some(key), .. }) => format!(", signed with {key}, which does not count"),
        Some(_) => ", with a signature that does not hold".to_owned(),
    }
}

pub(super) fn axis(body: &mut Content, axis: &AxisReport) {
    body.heading(2, format!("Axis {}", axis.name));
    let released = match &axis.release {
        None => "not released".to_string(),
        Some(release) => {
            let seal = release.seal.as_ref().map_or(String::new(), |seal| format!(", seal {seal}"));
            format!("released {}{seal}{}", signed(&release.signed), signature(release))
        }
    };
    let stretch = |stretch: &Option<crate::views::report::StretchReport>| {
        TableCell::given(stretch.map(|stretch| format!("{} to {}", stretch.from.number(), stretch.to)))
    };
    body.facts(vec![
        ("State", TableCell::State(axis.state)),
        ("Release", released.into()),
        ("Run", stretch(&axis.run)),
        ("Stroke", stretch(&axis.stroke)),
    ]);
    body.figure(pictures::axis::picture(axis));
    let rails = axis.rails.iter().map(|rail| {
        vec![
            rail.address.as_str().into(),
            TableCell::State(rail.state),
            TableCell::given(rail.beam.clone()),
            TableCell::given(rail.profile.clone()),
            TableCell::Number(rail.from.number()),
            TableCell::Number(rail.to.number()),
            TableCell::Number(rail.segments.len().to_string()),
            TableCell::Number(rail.joints.len().to_string()),
            TableCell::Number(rail.supports.len().to_string()),
        ]
    });
    body.table(
        "Rails",
        &["Rail", "State", "Beam", "Profile", "From, mm", "To, mm", "Segments", "Joints", "Supports"],
        rails.collect(),
    );
    let segments = axis.rails.iter().flat_map(|rail| {
        rail.segments.iter().enumerate().map(|(at, segment)| {
            vec![
                format!("{}.seg{}", rail.address, at + 1).into(),
                TableCell::Number(segment.from.number()),
                TableCell::Number(segment.to.number()),
                TableCell::Number((segment.to - segment.from).number()),
                TableCell::given(segment.serial.clone()),
                TableCell::given(segment.lot.clone()),
            ]
        })
    });
    body.table("Segments", &["Segment", "From, mm", "To, mm", "Length, mm", "Serial", "Lot"], segments.collect());
    joints(body, axis);
    for rail in &axis.rails {
        rail::straightness(body, rail);
        for gap in rail.gap.iter().chain(&rail.unmoved) {
            rail::gap(body, rail, gap);
        }
        rail::shims(body, rail);
    }
    for rail in &axis.rails {
        rail::torques(body, rail);
    }
    running_force(body, axis);
    if let Some(life) = &axis.life {
        self::life(body, &axis.name, life);
    }
    let dues = axis.dues.iter().map(|due| {
        vec![
            due.task.as_str().into(),
            standing(due.standing),
            TableCell::given(due.last.clone()),
            TableCell::given(due.due.clone()),
            TableCell::number(due.travelled.map(Amount::number)),
            TableCell::number(due.due_travelled.map(Amount::number)),
        ]
    });
    let dues: Vec<Vec<TableCell>> = dues.collect();
    if !dues.is_empty() {
        body.heading(3, format!("Service of {}", axis.name));
    }
    body.table("", &["Task", "Standing", "Last", "Due", "Travelled, km", "Due at, km"], dues);
}

fn standing(standing: DueState) -> TableCell {
    match standing {
        DueState::Overdue => TableCell::Wrong(standing.word().into()),
        _ => standing.word().into(),
    }
}

fn joints(body: &mut Content, axis: &AxisReport) {
    let all = || axis.rails.iter().flat_map(|rail| &rail.joints);
    if all().next().is_none() {
        return;
    }
    body.heading(3, format!("Joints of {}", axis.name));
    body.figure(pictures::steps::picture(axis));
    let step = |joint: &JointReport, at: usize| match joint.steps.get(at).and_then(|step| Some((step.step?, step.over)))
    {
        Some((step, true)) => TableCell::Wrong(format!("{} over", step.number())),
        Some((step, false)) => TableCell::Number(step.number()),
        None => TableCell::none(),
    };
    let rows = all().map(|joint| {
        let light = match joint.light {
            Some(true) => TableCell::Wrong("seen".into()),
            Some(false) => "none".into(),
            None => TableCell::none(),
        };
        vec![
            joint.address.as_str().into(),
            TableCell::Number(joint.at.number()),
            TableCell::State(joint.state),
            step(joint, 0),
            step(joint, 1),
            step(joint, 2),
            step(joint, 3),
            TableCell::number(joint.most_step.map(Amount::number)),
            light,
            TableCell::given(joint.inspected.as_ref().map(signed)),
            TableCell::given(joint.gauge.clone()),
        ]
    });
    body.table(
        "Groove steps in mm; plus: the far rail's groove stands proud",
        &["Joint", "At, mm", "State", "UL", "UR", "LL", "LR", "At most", "Light", "Inspected", "Gauge"],
        rows.collect(),
    );
    let causes = all().filter_map(|joint| {
        let patterns = joint.patterns?;
        let sense = |plus: &str, minus: &str, length: Length| {
            let word = if length == Length::ZERO || !patterns.signed {
                String::new()
            } else {
                format!(" {}", if length > Length::ZERO { plus } else { minus })
            };
            TableCell::Number(format!("{}{word}", length.abs().number()))
        };
        Some(vec![
            joint.address.as_str().into(),
            sense("high", "low", patterns.height_offset),
            sense("right", "left", patterns.side_offset),
            TableCell::Number(patterns.twist_pattern.number()),
            TableCell::Number(patterns.size_pattern.number()),
            TableCell::given(joint.cause.clone().or_else(|| Some("no cause stands out".into()))),
            TableCell::given(joint.cure.clone()),
        ])
    });
    body.table(
        "What the steps split into, in mm: how far the far rail stands off for height and side, a groove step for twist and size",
        &["Joint", "Height", "Side", "Twist", "Size", "Cause", "Cure"],
        causes.collect(),
    );
    for joint in all() {
        if let Some(stale) = &joint.stale {
            body.say(format!("{}: {stale}.", joint.address));
        }
    }
}

fn running_force(body: &mut Content, axis: &AxisReport) {
    let Some(run) = &axis.running_force else { return };
    body.heading(3, format!("Running force of {}", axis.name));
    body.figure(pictures::running_force::picture(axis, run));
    body.facts(vec![
        ("Measured", signed(&run.signed).into()),
        ("Gauge", TableCell::given(run.gauge.clone())),
        ("Limit", TableCell::given(run.most.map(|most| format!("at most {most}")).or(Some("none".into())))),
        ("Greatest", TableCell::given(run.greatest_running_force.map(|most| most.to_string()))),
        (
            "By preload and seals",
            TableCell::given(run.expected_running_force.map(|expected| {
                format!("{expected} by the makers of the blocks; the weight, the drive and the grease come on top")
            })),
        ),
        ("Grows along the axis", TableCell::given(run.running_force_slope.map(|slope| format!("by {slope} a metre")))),
    ]);
    let rows = run.readings.iter().map(|it| {
        let read: Vec<String> = it.read.iter().map(|force| force.number()).collect();
        let numbers = [it.at.number(), it.force.number(), read.join(", ")].map(TableCell::Number);
        numbers.into_iter().chain([TableCell::given(it.date.clone())]).collect()
    });
    body.table("", &["At, mm", "Force, N", "Read, N", "On"], rows.collect());
    let rows = run.at_joints.iter().map(|it| {
        let numbers = [it.at.number(), it.force_above_line.number()].map(TableCell::Number);
        std::iter::once(it.joint.as_str().into()).chain(numbers).collect()
    });
    body.table(
        "With the carriage at a joint, above the least-squares line through all readings",
        &["Joint", "At, mm", "Above, N"],
        rows.collect(),
    );
}

/// What a reader of loads and lives must know of them.
const OURS: &str = "The loads are by a model of our own: a rigid carriage, linear springs, rails as beams on their supports. The equivalent load under preload is makers' practice and in no standard; the terms for profiles of unlike size and for twist are our own. Friction, impacts, the twist of rails between joints and what the carriage itself yields are left out. A licensed engineer judges whether that holds for this machine.";

/// The life of the blocks of an axis, and how true its carriage moves.
pub(crate) fn life(body: &mut Content, axis: &str, life: &LifeReport) {
    body.heading(3, format!("Life of the blocks of {axis}"));
    let reliability =
        life.reliability.map_or("90 %, the rated life".to_string(), |share| format!("{} %", share.number()));
    body.facts(vec![
        (
            "Required",
            TableCell::given(life.required.map(|required| required.to_string()).or(Some("nothing stated".into()))),
        ),
        ("Reliability", reliability.into()),
        ("Life", "ISO 14728-1; of all blocks together by ISO 281".into()),
        ("Loads of the blocks", life.model.into()),
        (
            "Rails",
            if life.rails_yield {
                "yield between their supports"
            } else {
                "taken as stiff: loads from rails that lie wrong are upper bounds"
            }
            .into(),
        ),
        ("Joints in it", counted(life.joints, "measured joint", "measured joints").into()),
        (
            "All blocks together",
            TableCell::given(life.life_together_nominal.map(|nominal| match life.life_together_as_measured {
                Some(measured) => format!("{nominal} nominal, {measured} on the rails as measured"),
                None => format!("{nominal} nominal"),
            })),
        ),
    ]);
    if let Some(why) = &life.held_against_nothing {
        body.say(format!("Figures as measured are held against no limit: {why}."));
    }
    if let Some(lacking) = &life.lacking {
        body.say(format!("Not computed: {lacking}."));
    }
    let rows = life.blocks.iter().map(|block| {
        vec![
            block.rail.as_str().into(),
            TableCell::Number(block.at.number()),
            TableCell::Number(block.mean_load_nominal.to_string()),
            TableCell::number(block.mean_load_as_measured.map(|load| load.to_string())),
            TableCell::number(block.forced_load.map(|load| load.to_string())),
            TableCell::number(block.forced_load_uncertainty.map(|u| u.to_string())),
            TableCell::number(block.life_nominal.map(Amount::number)),
            TableCell::number(block.life_as_measured.map(Amount::number)),
            TableCell::number(block.static_safety_nominal.map(Amount::number)),
            TableCell::number(block.static_safety_as_measured.map(Amount::number)),
        ]
    });
    body.table(
        "Loads are means by the exponent of life; nominal is on rails that lie where they should. What the rails add is not resolved below twice its u, the standard uncertainty by the scatter of the readings",
        &[
            "Rail",
            "Block at, mm",
            "Load nominal, N",
            "Load as measured, N",
            "Most that the rails add, N",
            "u of it, N",
            "Life nominal, km",
            "Life as measured, km",
            "Static safety nominal",
            "Static safety as measured",
        ],
        rows.collect(),
    );
    body.figure(pictures::life::picture(axis, life));
    if !life.blocks.is_empty() {
        body.say(OURS);
    }
    motion(body, life);
}

/// How true the carriage moves, and what costs most.
fn motion(body: &mut Content, life: &LifeReport) {
    let rows = life.motion.iter().map(|error| {
        let found = match (error.zone, error.angle) {
            (Some(zone), _) => zone.to_string(),
            (None, Some(angle)) => format!("{angle} µrad"),
            _ => String::new(),
        };
        let resolved = match error.resolved {
            Some(true) => "yes",
            Some(false) => "no",
            None if found.is_empty() => "not surveyed",
            None => "not known",
        };
        vec![
            error.name.as_str().into(),
            error.what.as_str().into(),
            error.plus.into(),
            TableCell::number(Some(found).filter(|found| !found.is_empty())),
            TableCell::number(error.uncertainty.clone()),
            resolved.into(),
        ]
    });
    body.table(
        "How true the carriage moves: zones about the least-squares line over the stroke, angles from greatest to least; u in the same unit",
        &["Name", "What", "Plus", "Found", "u", "Resolved"],
        rows.collect(),
    );
    for cost in &life.costs {
        let way = if cost.by > Length::ZERO { "more" } else { "less" };
        body.say(format!(
            "At {} of {}, {} {way} would make the life of all blocks {} % longer, by the slope at hand.",
            cost.station,
            cost.rail,
            cost.by.abs(),
            cost.life_gained
        ));
    }
}
