//! The blocks last as long as the axis must.

use crate::calc::life::Rating;
use crate::calc::motion::run::{BlockJourney, Borne};
use crate::facts::motion::{BearingBlock, BorneLoads, MODEL, block_name, rated, travel};
use crate::finding::{Grade, Limit, Measure, RuleName};
use crate::ledger::LifeRequired;
use crate::quantity::Amount;
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("rated-life"),
    group: RuleGroup::Layout,
    grade: Grade::Nonconformity,
    cure: Cure::UntilBuilt,
    what: "The rated life of each block under its mean load is at least the distance the axis must last. Where only the rails as they were measured bring it below, that is an observation.",
    why: "Life goes with the third power of the load: a quarter more load halves it.",
    limits: &[],
    source: "ISO 14728-1; block loads and the cost of rails as measured by our own model",
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
    match rated(case.ledger, axis).and_then(|()| case.borne(axis)) {
        Ok(worked) => judge(case, findings, axis, required, worked),
        Err(lacking) => {
            super::lacking(findings, &case.machine.axes[axis], lacking, "the life of the blocks");
            Verdict::Outstanding
        }
    }
}

fn judge(case: &Case, findings: &mut Findings, axis: usize, required: &LifeRequired, worked: &BorneLoads) -> Verdict {
    let axis = &case.machine.axes[axis];
    let shortest = |of: fn(&BlockJourney) -> &Borne| {
        let lives = worked.blocks(axis).filter_map(|block| Some((block, travel(of(block.journey).life?))));
        lives.min_by_key(|(_, life)| *life)
    };
    let (Some(nominal), Some(measured)) = (shortest(|of| &of.nominal), shortest(|of| &of.measured)) else {
        return Verdict::NotJudged("no block of the carriage carries a load");
    };
    let by_rails = nominal.1 >= *required.distance && worked.unjudged(axis).is_none();
    let (BearingBlock { block, wearing, journey, .. }, life) = if by_rails { measured } else { nominal };
    if life >= *required.distance {
        return Verdict::Conforms(block.place);
    }
    let which = block_name(axis, block);
    let load = if by_rails { journey.measured.mean } else { journey.nominal.mean };
    let message = if by_rails {
        let from = journey.nominal.life.map_or(String::new(), |life| format!(", from {}", travel(life)));
        format!("the rails as measured bring the life of {which} down to {life}{from}")
    } else {
        format!("{which} has a rated life of {life}")
    };
    // L goes with a power of C.
    let rating = wearing.rating.map_or(0.0, Rating::dynamic_n);
    let needed = rating * wearing.rolling.root(required.distance.to_f64() / life.to_f64().max(1e-9));
    let next = if by_rails {
        "straighten the rails and lower the steps of the joints, or take a larger block".to_string()
    } else {
        format!("a block with C of {:.0} N or more would do, or take load off", needed.ceil())
    };
    let mut here = format!("mean load {load:.0} N");
    if wearing.rating.is_some_and(|rating| rating.is_beyond_half(load)) {
        here += ", more than half its rating for 100 km: the formula is not to be trusted here";
    }
    let mut finding = findings
        .finding(axis.name.as_str(), block.place, message)
        .here(here)
        .also(required.place, "the life it must reach")
        .found(Measure::too_small(life))
        .limit(Limit {
            entry: None,
            text: format!("at least {}", *required.distance),
            source: if by_rails {
                format!("life-required of the axis; {MODEL}")
            } else {
                "life-required of the axis".into()
            },
            set_at: Some(required.place),
        })
        .next(next);
    if by_rails {
        finding.grade = Grade::Observation;
    }
    findings.add(finding);
    Verdict::Conforms(block.place)
}
