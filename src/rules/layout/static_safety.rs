//! No block is loaded too near to its static rating.

use crate::calc::life;
use crate::facts::FactError;
use crate::facts::carriage::{block_type, loaded};
use crate::facts::life::{newtons, safety};
use crate::finding::{Grade, Measure, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::Axis;
use crate::quantity::{Amount, Ratio};
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("static-safety"),
    group: RuleGroup::Layout,
    grade: Grade::Nonconformity,
    cure: Cure::UntilBuilt,
    what: "The static rating of each block over its greatest load on perfect joints is at least what the rulebook asks for. The report tells the static safety on the measured joints beside it.",
    why: "A ball pressed too hard leaves a dent in the groove, and the block knocks there from then on.",
    limits: &[LimitName::StaticSafety],
    source: "ISO 14728-2 for the ratio; block loads from statics of a rigid carriage",
    wrong: r#"
shop { block B20 length=78 C0=(kN)2 }
machine m {
    rulebook { static-safety least=4 reason="impacts of the head" }
    axis X {
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
shop { block B20 length=78 C0=(kN)29.5 }
machine m {
    rulebook { static-safety least=4 reason="impacts of the head" }
    axis X {
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
    let Some((least, limit)) = case.rulebook.least::<Ratio>(LimitName::StaticSafety) else {
        return Verdict::NotRequired;
    };
    let axis = &case.machine.axes[axis];
    let Some(carriage) = &axis.carriage else { return Verdict::NotJudged("no carriage is described") };
    let worst = match weakest(case, axis) {
        Ok(Some(worst)) => worst,
        Ok(None) => return Verdict::NotJudged("no block of the carriage carries a load"),
        Err(lacking) => {
            super::lacking(findings, axis, lacking, "the static safety of the blocks");
            return Verdict::Outstanding;
        }
    };
    let block = &carriage.blocks[worst.block];
    let safety = safety(worst.safety);
    if safety >= least {
        return Verdict::Conforms(block.place);
    }
    let rail = block.rail.map_or("", |rail| axis.rails[rail].name.as_str());
    let needed = (worst.load * least.to_f64()).ceil();
    findings.add(
        findings
            .finding(
                axis.name.as_str(),
                block.place,
                format!(
                    "the block on {rail} at {} has a static safety of {} on perfect joints",
                    *block.at,
                    safety.number()
                ),
            )
            .here(format!("carries up to {} N", newtons(worst.load)))
            .found(Measure::too_small(safety))
            .limit(limit)
            .next(format!("a block with C0 of {needed:.0} N or more would do, or take load off")),
    );
    Verdict::Broken
}

struct Worst {
    block: usize,
    load: f64,
    safety: f64,
}

/// The block with the least static safety.
fn weakest(case: &Case, axis: &Axis) -> Result<Option<Worst>, FactError> {
    let (Some(loaded), Some(carriage)) = (loaded(case.ledger, axis)?, &axis.carriage) else { return Ok(None) };
    let mut worst: Option<Worst> = None;
    for (&block, load) in loaded.blocks.iter().zip(loaded.greatest()) {
        let kind = block_type(case.ledger, &carriage.blocks[block])?;
        let rating = kind.static_.ok_or_else(|| {
            let what = format!("block `{}` states no static load rating", *kind.name);
            FactError::new(kind.name.place, what, "add C0=… from its maker's catalogue")
        })?;
        // A block without load is safe.
        let Ok(safety) = life::static_safety(rating.value.to_f64(), load) else { continue };
        if worst.as_ref().is_none_or(|worst| safety < worst.safety) {
            worst = Some(Worst { block, load, safety });
        }
    }
    Ok(worst)
}
