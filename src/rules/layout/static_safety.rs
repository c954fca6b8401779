//! No block is loaded too near to its static rating.

use crate::calc::motion::run::{BlockJourney, GreatestLoad};
use crate::facts::FactError;
use crate::facts::carriage::block_type;
use crate::facts::motion::{BorneLoads, MODEL, block_name, block_safety, newtons};
use crate::finding::{Grade, Limit, Measure, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::Axis;
use crate::quantity::{Amount, Ratio};
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("static-safety"),
    group: RuleGroup::Layout,
    grade: Grade::Nonconformity,
    cure: Cure::UntilBuilt,
    what: "The static rating of each block over its greatest load on rails that lie where they should is at least what the rulebook asks for. Where only the rails as they were measured bring it below, that is an observation.",
    why: "A ball pressed too hard leaves a dent in the groove, and the block knocks there from then on.",
    limits: &[LimitName::StaticSafety],
    holds: &[LimitName::StaticSafety],
    source: "ISO 14728-2 for the ratio; block loads by our own model of a rigid carriage on springs",
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

fn check(case: &Case, index: usize, findings: &mut Findings) -> Verdict {
    let Some((least, limit)) = case.rulebook.least::<Ratio>(LimitName::StaticSafety) else {
        return Verdict::NotRequired;
    };
    let axis = &case.machine.axes[index];
    let Some(carriage) = &axis.carriage else { return Verdict::NotJudged("no carriage is described") };
    let borne = match case.borne(index) {
        Ok(borne) => borne,
        Err(_) if carriage.blocks.iter().all(|block| block.rail.is_none()) => {
            return Verdict::NotJudged("no block of the carriage carries a load");
        }
        Err(lacking) => return outstanding(findings, axis, lacking),
    };
    let worst = match weakest(case, axis, borne, |of| of.nominal.static_load) {
        Ok(Some(worst)) => worst,
        Ok(None) => return Verdict::NotJudged("no block of the carriage carries a load"),
        Err(lacking) => return outstanding(findings, axis, lacking),
    };
    let by_rails = worst.safety >= least;
    let worst = match weakest(case, axis, borne, |of| of.measured.static_load) {
        Ok(Some(measured)) if by_rails && borne.unjudged(axis).is_none() => measured,
        _ => worst,
    };
    let block = &carriage.blocks[worst.block];
    if worst.safety >= least {
        return Verdict::Conforms(block.place);
    }
    let on = if by_rails { "on the rails as measured" } else { "on rails that lie where they should" };
    let needed = (worst.at.load * least.to_f64()).ceil();
    let next = if by_rails {
        format!("straighten the rails there, or take a block with C0 of {needed:.0} N or more")
    } else {
        format!("a block with C0 of {needed:.0} N or more would do, or take load off")
    };
    let mut here = format!("carries up to {} N", newtons(worst.at.load));
    if borne.differs_along(by_rails) {
        here += &format!(", with the carriage at {} mm", worst.at.at.round());
    }
    let mut limit: Limit = limit.into();
    if by_rails {
        limit.source = format!("{}; {MODEL}", limit.source);
    }
    let mut finding = findings
        .finding(
            axis.name.as_str(),
            block.place,
            format!("{} has a static safety of {} {on}", block_name(axis, block), worst.safety.number()),
        )
        .here(here)
        .found(Measure::too_small(worst.safety))
        .limit(limit)
        .next(next);
    if by_rails {
        finding.grade = Grade::Observation;
    }
    findings.add(finding);
    if by_rails { Verdict::Conforms(block.place) } else { Verdict::Broken }
}

fn outstanding(findings: &mut Findings, axis: &Axis, lacking: FactError) -> Verdict {
    super::lacking(findings, axis, lacking, "the static safety of the blocks");
    Verdict::Outstanding
}

struct Worst {
    block: usize,
    at: GreatestLoad,
    safety: Ratio,
}

/// The block with the least static safety under one of its greatest loads.
fn weakest(
    case: &Case,
    axis: &Axis,
    borne: &BorneLoads,
    load: fn(&BlockJourney) -> GreatestLoad,
) -> Result<Option<Worst>, FactError> {
    let mut worst: Option<Worst> = None;
    for of in borne.blocks(axis) {
        let kind = block_type(case.ledger, of.block)?;
        let rating = kind.static_.ok_or_else(|| {
            let what = format!("block `{}` states no static load rating", *kind.name);
            FactError::new(kind.name.place, what, "add C0=… from its maker's catalogue")
        })?;
        // A block without load is safe.
        let at = load(of.journey);
        let Some(safety) = block_safety(rating.value.to_f64(), at.load) else { continue };
        if worst.as_ref().is_none_or(|worst| safety < worst.safety) {
            worst = Some(Worst { block: of.index, at, safety });
        }
    }
    Ok(worst)
}
