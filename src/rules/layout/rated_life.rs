//! The blocks last as long as the axis must.

use crate::calc::joint_life::{BlockLife, MODEL};
use crate::calc::life::Life;
use crate::facts::carriage::block_type;
use crate::facts::life::{Lives, lives, travel};
use crate::finding::{Grade, Limit, Measure, RuleName};
use crate::ledger::LifeRequired;
use crate::quantity::Amount;
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("rated-life"),
    group: RuleGroup::Layout,
    grade: Grade::Nonconformity,
    cure: Cure::UntilBuilt,
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
            track a y=-300
            track b y=300
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
            track a y=-300
            track b y=300
            load (N)2000 x=100
        }
    }
}
"#,
    checks: &[Check::Axes(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, axis: usize, findings: &mut Findings) -> Verdict {
    let Some(required) = &case.machine.axes[axis].life_required else { return Verdict::NotRequired };
    match lives(case.ledger, axis) {
        Ok(worked) => judge(case, findings, axis, required, &worked),
        Err(lacking) => {
            super::lacking(findings, &case.machine.axes[axis], lacking, "the life of the blocks");
            Verdict::Outstanding
        }
    }
}

fn judge(case: &Case, findings: &mut Findings, axis: usize, required: &LifeRequired, worked: &Lives) -> Verdict {
    let Lives { loaded, lives, .. } = worked;
    let axis = &case.machine.axes[axis];
    let Some(carriage) = &axis.carriage else { return Verdict::NotJudged("no carriage is described") };
    let shortest = |of: fn(&BlockLife) -> Option<Life>| {
        let all = lives.iter().enumerate().filter_map(|(block, lives)| Some((block, travel(of(lives)?))));
        all.min_by_key(|(_, life)| *life)
    };
    let (Some(without), Some(with)) = (shortest(|lives| lives.without), shortest(|lives| lives.with)) else {
        return Verdict::NotJudged("no block of the carriage carries a load");
    };
    let by_joints = without.1 >= *required.distance;
    let (at, life) = if by_joints { with } else { without };
    let block = &carriage.blocks[loaded.blocks[at]];
    if life >= *required.distance {
        return Verdict::Conforms(block.place);
    }
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
    Verdict::Conforms(block.place)
}
