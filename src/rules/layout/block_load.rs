//! No block carries more than the machine allows.

use crate::calc::motion::run::{BlockJourney, Borne};
use crate::facts::motion::{BearingBlock, MODEL, block_name, force};
use crate::finding::{Grade, Limit, Measure, RuleName};
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("block-load"),
    group: RuleGroup::Layout,
    grade: Grade::Nonconformity,
    cure: Cure::UntilBuilt,
    what: "The greatest equivalent load of each block, on rails that lie where they should, is no more than the carriage states. Where only the rails as they were measured bring it above, that is an observation.",
    why: "Life and stiffness are promised by the maker up to some load; above it the balls dent their groove sooner than reckoned.",
    limits: &[],
    source: "none until the carriage states one: the maker's catalogue; block loads by our own model of a rigid carriage on springs",
    wrong: r#"
shop { block B20 length=78 C=(kN)18.1 }
machine m {
    axis X {
        rail a
        rail b
        carriage mass=80 most-block-load=(N)600 {
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
        rail a
        rail b
        carriage mass=80 most-block-load=(N)1200 {
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
    let axis = &case.machine.axes[index];
    let Some(carriage) = &axis.carriage else { return Verdict::NotRequired };
    let Some(most) = carriage.most_block_load else { return Verdict::NotRequired };
    let borne = match case.borne(index) {
        Ok(borne) => borne,
        Err(lacking) => {
            super::lacking(findings, axis, lacking, "the loads of the blocks");
            return Verdict::Outstanding;
        }
    };
    let heaviest = |of: fn(&BlockJourney) -> &Borne| {
        let load = |block: &BearingBlock| of(block.journey).greatest.load;
        // Of equal ones the first.
        borne.blocks(axis).min_by(|a, b| load(b).total_cmp(&load(a)))
    };
    let (Some(nominal), Some(measured)) = (heaviest(|of| &of.nominal), heaviest(|of| &of.measured)) else {
        return Verdict::NotJudged("no block of the carriage carries a load");
    };
    let loads = (force(nominal.journey.nominal.greatest.load), force(measured.journey.measured.greatest.load));
    let (Some(lying_well), Some(lying_so)) = loads else {
        return Verdict::NotJudged("the loads of the blocks are beyond reckoning");
    };
    let by_rails = lying_well <= *most;
    let unsure =
        borne.unjudged(axis).filter(|_| by_rails).map_or(String::new(), |why| format!("; not for certain: {why}"));
    let (BearingBlock { block, .. }, greatest, load) = match by_rails {
        true => (measured, measured.journey.measured.greatest, lying_so),
        false => (nominal, nominal.journey.nominal.greatest, lying_well),
    };
    if load <= *most {
        return Verdict::Conforms(block.place);
    }
    let on = if by_rails { "on the rails as measured" } else { "on rails that lie where they should" };
    let here = match borne.differs_along(by_rails) {
        true => format!("with the carriage at {} mm", greatest.at.round()),
        false => "all along the stroke".to_string(),
    };
    let mut finding = findings
        .finding(
            axis.name.as_str(),
            block.place,
            format!("{} carries up to {load} {on}, {} too much{unsure}", block_name(axis, block), load - *most),
        )
        .here(here)
        .also(most.place, "what it may carry")
        .found(Measure::too_large(load))
        .limit(Limit {
            entry: None,
            text: format!("at most {}", *most),
            source: if by_rails { format!("the carriage; {MODEL}") } else { "the carriage".into() },
            set_at: Some(most.place),
        })
        .next(match by_rails {
            true => "`wayledger motion` shows where: straighten the rails there",
            false => "take load off, set the blocks farther apart, or take larger ones",
        });
    if by_rails {
        finding.grade = Grade::Observation;
    }
    findings.add(finding);
    if by_rails { Verdict::Conforms(block.place) } else { Verdict::Broken }
}
