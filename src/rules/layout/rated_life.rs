//! The blocks last as long as the axis must.

use crate::calc::joint_life::{BlockLife, Joint, JointOffset, MODEL, Stroke, joint_life};
use crate::calc::life::{Life, Reliability, ReliabilityTable};
use crate::finding::{Grade, Limit, Measure};
use crate::ledger::{Axis, LifeRequired, RailId};
use crate::quantity::{Amount, Travel};
use crate::rules::{Case, Check, Findings, Group, Rule};
use crate::worked::Lacking;
use crate::worked::carriage::{Loaded, block_type, loaded, riders};
use crate::worked::steps::four_steps;

pub static RULE: Rule = Rule {
    name: "rated-life",
    group: Group::Layout,
    grade: Grade::Nonconformity,
    what: "The rated life of each block under its mean load is at least the distance the axis must last. Where only the measured steps of the joints bring it below, that is an observation.",
    why: "Life goes with the third power of the load: a quarter more load halves it.",
    limits: &[],
    source: "ISO 14728-1; the cost of joints by our own model",
    wrong: r#"
shop { block B20 length=78 C=(kN)3 }
machine m {
    axis X {
        life-required (km)20000
        rail a
        rail b
        carriage mass=80 {
            block a at=-180 type=B20
            block a at=180 type=B20
            block b at=-180 type=B20
            block b at=180 type=B20
            rail-at a y=-300
            rail-at b y=300
            load (N)2000 x=100
        }
    }
}
"#,
    right: r#"
shop { block B20 length=78 C=(kN)18.1 }
machine m {
    axis X {
        life-required (km)20000
        rail a
        rail b
        carriage mass=80 {
            block a at=-180 type=B20
            block a at=180 type=B20
            block b at=-180 type=B20
            block b at=180 type=B20
            rail-at a y=-300
            rail-at b y=300
            load (N)2000 x=100
        }
    }
}
"#,
    check: Check::Ledger(check),
};

fn check(case: &Case, findings: &mut Findings) {
    for (index, axis) in case.machine.axes.iter().enumerate() {
        let Some(required) = &axis.life_required else { continue };
        match lives(case, index, axis, required) {
            Ok((loaded, lives)) => judge(case, findings, axis, required, &loaded, &lives),
            Err(lacking) => super::lacking(findings, axis, lacking, "the life of the blocks"),
        }
    }
}

/// The lives of all blocks, on perfect joints and on those measured.
fn lives(case: &Case, index: usize, axis: &Axis, required: &LifeRequired) -> Result<(Loaded, Vec<BlockLife>), Lacking> {
    let lacking = || Lacking::new(required.place, "no carriage with blocks is described", "describe the carriage");
    let loaded = loaded(case.ledger, axis)?.ok_or_else(lacking)?;
    let riders = riders(case.ledger, axis, &loaded)?;
    let percent = required.reliability.map_or(90.0, |share| share.value.to_f64() * 100.0);
    let reliability =
        Reliability::new(if percent.fract() == 0.0 { percent as u8 } else { 0 }, ReliabilityTable::Iso14728).map_err(
            |_| {
                let what = format!("there is no life factor for a reliability of {percent} %");
                Lacking::new(required.place, what, "choose 90, 95, 96, 97, 98 or 99 %")
            },
        )?;
    let joints = if loaded.stiff && axis.stroke.is_some() { measured(case, index, axis) } else { Vec::new() };
    let stroke = match axis.stroke {
        Some(stroke) => Stroke { from_mm: stroke.from.to_f64(), to_mm: stroke.to.to_f64() },
        // Without joints, one stretch is like another.
        None => Stroke { from_mm: 0.0, to_mm: 1.0 },
    };
    let lives = joint_life(&loaded.carriage, &riders, &loaded.cases, &joints, stroke, reliability);
    let place = axis.carriage.as_ref().map_or(required.place, |carriage| carriage.place);
    let lives = lives.map_err(|why| Lacking::new(place, why.to_string(), "check loads, shares and stroke"))?;
    Ok((loaded, lives))
}

/// The joints whose four steps are known.
fn measured(case: &Case, axis: usize, of: &Axis) -> Vec<Joint> {
    let mut joints = Vec::new();
    for (rail, it) in of.rails.iter().enumerate() {
        for (joint, at) in it.joints.iter().enumerate() {
            let Some(four) = four_steps(case.ledger, RailId { axis, rail }, joint).filter(|four| four.signed) else {
                continue;
            };
            let patterns = four.steps.patterns(four.contact_or_outward());
            let mm = |nm: f64| nm / 1e6;
            let offset = JointOffset {
                up: mm(patterns.height_offset().to_f64()),
                right: mm(patterns.side_offset().to_f64()),
                twist: mm(patterns.twist.to_f64()),
                size: mm(patterns.size.to_f64()),
            };
            joints.push(Joint { rail, at_mm: at.position.to_f64(), offset });
        }
    }
    joints
}

/// Rounded down to a whole kilometre; never shown or judged longer than it is.
fn travel(life: Life) -> Travel {
    Travel((life.kilometres.floor().clamp(0.0, 4e12) as i64).saturating_mul(1_000_000))
}

fn judge(
    case: &Case,
    findings: &mut Findings,
    axis: &Axis,
    required: &LifeRequired,
    loaded: &Loaded,
    lives: &[BlockLife],
) {
    let Some(carriage) = &axis.carriage else { return };
    let shortest = |of: fn(&BlockLife) -> Option<Life>| {
        let all = lives.iter().enumerate().filter_map(|(block, lives)| Some((block, travel(of(lives)?))));
        all.min_by_key(|(_, life)| *life)
    };
    let (Some(without), Some(with)) = (shortest(|lives| lives.without), shortest(|lives| lives.with)) else { return };
    let by_joints = without.1 >= *required.distance;
    let (at, life) = if by_joints { with } else { without };
    if life >= *required.distance {
        return;
    }
    let block = &carriage.blocks[loaded.blocks[at]];
    let rail = block.rail.map_or("", |rail| axis.rails[rail].name.as_str());
    let which = format!("the block on {rail} at {}", *block.at);
    let load = if by_joints { lives[at].load_with_n } else { lives[at].load_without_n };
    let rating = block_type(case.ledger, block).ok().and_then(|kind| kind.dynamic).map_or(0.0, |c| c.value.to_f64());
    let message = if by_joints {
        format!("the measured joints bring the life of {which} down to {life}, from {}", without.1)
    } else {
        format!("{which} has a rated life of {life}")
    };
    // L goes with C³.
    let needed = rating * (required.distance.to_f64() / life.to_f64().max(1e-9)).cbrt();
    let next = if by_joints {
        "lower the steps of the joints it passes, or take a larger block".to_string()
    } else {
        format!("a block with C of {:.0} N or more would do, or take load off", needed.ceil())
    };
    let mut here = format!("mean load {load:.0} N");
    if load > rating / 2.0 {
        here += ", more than half its rating: the formula is not to be trusted here";
    }
    let mut finding = findings
        .finding(axis.name.as_str(), block.place, message)
        .here(here)
        .also(required.place, "the life it must reach")
        .found(Measure::too_small(life))
        .limit(Limit {
            entry: None,
            text: format!("at least {}", *required.distance),
            source: if by_joints {
                format!("life-required of the axis; {MODEL}")
            } else {
                "life-required of the axis".into()
            },
            set_at: Some(required.place),
        })
        .next(next);
    if by_joints {
        finding.grade = Grade::Observation;
    }
    findings.add(finding);
}
