//! An axis of a report: its joints, and what its carriage asks of them.

use super::{rail, signed};
use crate::finding::counted;
use crate::formats::paper::{Cell, Paper};
use crate::formats::pictures;
use crate::quantity::{Amount, Length};
use crate::views::report::{Axis, DueState, Joint, Life};

pub(super) fn axis(paper: &mut Paper, axis: &Axis) {
    paper.heading(2, format!("Axis {}", axis.name));
    let released = match &axis.release {
        None => "not released".to_string(),
        Some(release) => {
            let seal = release.seal.as_ref().map_or(String::new(), |seal| format!(", seal {seal}"));
            format!("released {}{seal}", signed(&release.signed))
        }
    };
    let stretch = |stretch: &Option<crate::views::report::Stretch>| {
        Cell::given(stretch.map(|stretch| format!("{} to {}", stretch.from.number(), stretch.to)))
    };
    paper.facts(vec![
        ("State", Cell::State(axis.state)),
        ("Release", released.into()),
        ("Run", stretch(&axis.run)),
        ("Stroke", stretch(&axis.stroke)),
    ]);
    paper.picture(pictures::axis::picture(axis));
    let rails = axis.rails.iter().map(|rail| {
        vec![
            rail.address.as_str().into(),
            Cell::State(rail.state),
            Cell::given(rail.beam.clone()),
            Cell::given(rail.profile.clone()),
            Cell::Number(rail.from.number()),
            Cell::Number(rail.to.number()),
            Cell::Number(rail.segments.len().to_string()),
            Cell::Number(rail.joints.len().to_string()),
            Cell::Number(rail.supports.len().to_string()),
        ]
    });
    paper.table(
        "Rails",
        &["Rail", "State", "Beam", "Profile", "From, mm", "To, mm", "Segments", "Joints", "Supports"],
        rails.collect(),
    );
    let segments = axis.rails.iter().flat_map(|rail| {
        rail.segments.iter().enumerate().map(|(at, segment)| {
            vec![
                format!("{}.seg{}", rail.address, at + 1).into(),
                Cell::Number(segment.from.number()),
                Cell::Number(segment.to.number()),
                Cell::Number((segment.to - segment.from).number()),
                Cell::given(segment.serial.clone()),
                Cell::given(segment.lot.clone()),
            ]
        })
    });
    paper.table("Segments", &["Segment", "From, mm", "To, mm", "Length, mm", "Serial", "Lot"], segments.collect());
    joints(paper, axis);
    for rail in &axis.rails {
        rail::straightness(paper, rail);
        if let Some(gap) = &rail.gap {
            rail::gap(paper, rail, gap);
        }
        rail::shims(paper, rail);
    }
    for rail in &axis.rails {
        rail::torques(paper, rail);
    }
    running_force(paper, axis);
    if let Some(life) = &axis.life {
        self::life(paper, axis, life);
    }
    let dues = axis.dues.iter().map(|due| {
        vec![
            due.task.as_str().into(),
            standing(due.standing),
            Cell::given(due.last.clone()),
            Cell::given(due.due.clone()),
            Cell::number(due.travelled.map(Amount::number)),
            Cell::number(due.due_travelled.map(Amount::number)),
        ]
    });
    let dues: Vec<Vec<Cell>> = dues.collect();
    if !dues.is_empty() {
        paper.heading(3, format!("Service of {}", axis.name));
    }
    paper.table("", &["Task", "Standing", "Last", "Due", "Travelled, km", "Due at, km"], dues);
}

fn standing(standing: DueState) -> Cell {
    match standing {
        DueState::Overdue => Cell::Wrong(standing.word().into()),
        _ => standing.word().into(),
    }
}

fn joints(paper: &mut Paper, axis: &Axis) {
    let all = || axis.rails.iter().flat_map(|rail| &rail.joints);
    if all().next().is_none() {
        return;
    }
    paper.heading(3, format!("Joints of {}", axis.name));
    paper.picture(pictures::steps::picture(axis));
    let step = |joint: &Joint, at: usize| match joint.steps.get(at).and_then(|step| Some((step.step?, step.over))) {
        Some((step, true)) => Cell::Wrong(format!("{} over", step.number())),
        Some((step, false)) => Cell::Number(step.number()),
        None => Cell::none(),
    };
    let rows = all().map(|joint| {
        let light = match joint.light {
            Some(true) => Cell::Wrong("seen".into()),
            Some(false) => "none".into(),
            None => Cell::none(),
        };
        vec![
            joint.address.as_str().into(),
            Cell::Number(joint.at.number()),
            Cell::State(joint.state),
            step(joint, 0),
            step(joint, 1),
            step(joint, 2),
            step(joint, 3),
            Cell::number(joint.most_step.map(Amount::number)),
            light,
            Cell::given(joint.inspected.as_ref().map(signed)),
            Cell::given(joint.gauge.clone()),
        ]
    });
    paper.table(
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
            Cell::Number(format!("{}{word}", length.abs().number()))
        };
        Some(vec![
            joint.address.as_str().into(),
            sense("high", "low", patterns.height_offset),
            sense("right", "left", patterns.side_offset),
            Cell::Number(patterns.twist_pattern.number()),
            Cell::Number(patterns.size_pattern.number()),
            Cell::given(joint.cause.clone().or_else(|| Some("no cause stands out".into()))),
            Cell::given(joint.cure.clone()),
        ])
    });
    paper.table(
        "What the steps split into, in mm: how far the far rail stands off for height and side, a groove step for twist and size",
        &["Joint", "Height", "Side", "Twist", "Size", "Cause", "Cure"],
        causes.collect(),
    );
    for joint in all() {
        if let Some(stale) = &joint.stale {
            paper.say(format!("{}: {stale}.", joint.address));
        }
    }
}

fn running_force(paper: &mut Paper, axis: &Axis) {
    let Some(run) = &axis.running_force else { return };
    paper.heading(3, format!("Running force of {}", axis.name));
    paper.facts(vec![
        ("Measured", signed(&run.signed).into()),
        ("Gauge", Cell::given(run.gauge.clone())),
        ("Limit", Cell::given(run.most.map(|most| format!("at most {most}")).or(Some("none".into())))),
    ]);
    let rows = run.readings.iter().map(|(at, force)| vec![Cell::Number(at.number()), Cell::Number(force.number())]);
    paper.table("", &["At, mm", "Force, N"], rows.collect());
}

fn life(paper: &mut Paper, axis: &Axis, life: &Life) {
    paper.heading(3, format!("Life of the blocks of {}", axis.name));
    let reliability =
        life.reliability.map_or("90 %, the rated life".to_string(), |share| format!("{} %", share.number()));
    paper.facts(vec![
        ("Required", Cell::given(life.required.map(|required| required.to_string()).or(Some("nothing stated".into())))),
        ("Reliability", reliability.into()),
        ("Without joints", "ISO 14728-1".into()),
        (
            "With joints",
            format!("{}; {}", life.model, counted(life.joints, "measured joint", "measured joints")).into(),
        ),
    ]);
    if let Some(lacking) = &life.lacking {
        paper.say(format!("Not computed: {lacking}."));
    }
    let rows = life.blocks.iter().map(|block| {
        vec![
            block.rail.as_str().into(),
            Cell::Number(block.at.number()),
            Cell::Number(block.load_without_joints.to_string()),
            Cell::Number(block.load_with_joints.to_string()),
            Cell::number(block.life_without_joints.map(Amount::number)),
            Cell::number(block.life_with_joints.map(Amount::number)),
            Cell::number(block.static_safety_without_joints.map(Amount::number)),
            Cell::number(block.static_safety_with_joints.map(Amount::number)),
        ]
    });
    paper.table(
        "Loads are cubic means",
        &[
            "Rail",
            "Block at, mm",
            "Load without joints, N",
            "Load with joints, N",
            "Life without joints, km",
            "Life with joints, km",
            "Static safety without joints",
            "Static safety with joints",
        ],
        rows.collect(),
    );
}
