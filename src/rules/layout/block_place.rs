//! The blocks of a carriage stand in places of their own, and face each other.

use crate::finding::{Finding, Grade, Limit, Measure, RuleName};
use crate::ledger::{Block, Carriage, RailId};
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("block-place"),
    group: RuleGroup::Layout,
    grade: Grade::Nonconformity,
    cure: Cure::UntilBuilt,
    what: "No two blocks of a carriage stand in one place of a rail. Blocks on one rail that have no counterpart on another at the same place along the carriage are an observation, and so is a rail without any, or a block that lies wholly beyond the end of its carriage.",
    why: "Two blocks in one place are one block, and what was computed for two is wrong. A carriage whose blocks do not face each other racks when it is pushed; mostly a sign or a digit slipped.",
    limits: &[],
    source: "geometry; that blocks face each other is common practice, no source",
    wrong: r#"
shop { block B20 length=80 }
machine m { axis X { rail a; carriage { block a at=-20 type=B20; block a at=20 type=B20 } } }
"#,
    right: r#"
shop { block B20 length=80 }
machine m { axis X { rail a; carriage { block a at=-120 type=B20; block a at=120 type=B20 } } }
"#,
    checks: &[Check::Axes(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, axis: usize, findings: &mut Findings) -> Verdict {
    let of = &case.machine.axes[axis];
    let Some(carriage) = of.carriage.as_ref().filter(|carriage| !carriage.blocks.is_empty()) else {
        return Verdict::NotRequired;
    };
    let on: Vec<Vec<&Block>> = (0..of.rails.len()).map(|rail| along(carriage, rail)).collect();
    let mut apart = true;
    for (rail, blocks) in on.iter().enumerate() {
        for pair in blocks.windows(2) {
            if let Some(finding) = overlap(case, findings, RailId { axis, rail }, pair[0], pair[1]) {
                findings.add(finding);
                apart = false;
            }
        }
    }
    outside(case, findings, axis, carriage);
    // What stands in another's place faces nothing.
    if apart && on.len() > 1 {
        facing(case, findings, axis, carriage, &on);
    }
    Verdict::Conforms(carriage.blocks[0].place)
}

/// Tells of the first block that lies wholly beyond the ends of the carriage.
fn outside(case: &Case, findings: &mut Findings, axis: usize, carriage: &Carriage) {
    let Some(length) = carriage.length else { return };
    let over = |block: &&Block| {
        let own = block.length.map_or(0, |length| length.nm());
        2 * block.at.abs().nm() - own > length.nm()
    };
    let Some(block) = carriage.blocks.iter().find(over) else { return };
    let message = format!("the block at {} lies beyond the end of a carriage that is {} long", *block.at, *length);
    let mut finding = findings
        .finding(case.machine.axes[axis].name.to_string(), block.place, message)
        .here("this block")
        .also(length.place, "the carriage")
        .found(Measure::too_large(block.at.abs()))
        .next("correct the place of the block or the length of the carriage");
    finding.grade = Grade::Observation;
    findings.add(finding);
}

/// The blocks on a rail, in order along the carriage.
fn along(carriage: &Carriage, rail: usize) -> Vec<&Block> {
    let mut blocks: Vec<&Block> = carriage.blocks.iter().filter(|block| block.rail == Some(rail)).collect();
    blocks.sort_by_key(|block| *block.at);
    blocks
}

fn overlap(case: &Case, findings: &Findings, id: RailId, near: &Block, far: &Block) -> Option<Finding> {
    let length = |block: &Block| block.length.map_or(0, |length| length.nm());
    let apart = *far.at - *near.at;
    // Half of each lies between their middles; of blocks without a length only those in one place are told.
    let least = Length((length(near) + length(far)) / 2);
    let meet = apart < least || apart == Length::ZERO;
    meet.then(|| {
        let rail = &case.machine.rail(id).name;
        let message = format!("two blocks on rail `{}` stand {apart} apart, and are {least} long", **rail);
        findings
            .finding(case.machine.rail_address(id), far.place, message)
            .here(format!("at {}", *far.at))
            .also(near.place, format!("at {}", *near.at))
            .found(Measure::too_small(apart))
            .limit(Limit { entry: None, text: format!("at least {least}"), source: "geometry".into(), set_at: None })
            .next("correct the place of one of them, or its sign")
    })
}

/// Tells of the blocks that do not face one on every other rail: of that with the fewest counterparts, and of the others
/// by their number.
fn facing(case: &Case, findings: &mut Findings, axis: usize, carriage: &Carriage, on: &[Vec<&Block>]) {
    let rails = |block: &Block| on.iter().filter(|blocks| blocks.iter().any(|other| *other.at == *block.at)).count();
    let lone = || carriage.blocks.iter().filter(|block| block.rail.is_some() && rails(block) < on.len());
    let Some(block) = lone().min_by_key(|block| (rails(block), block.place)) else { return };
    let has = |rail: &usize| on[*rail].iter().any(|other| *other.at == *block.at);
    let Some(bare) = (0..on.len()).find(|rail| !has(rail)) else { return };
    let name = |rail: usize| case.machine.axes[axis].rails[rail].name.to_string();
    let own = block.rail.map_or(String::new(), name);
    let more = match lone().count() - 1 {
        0 => String::new(),
        more => format!(", and so {more} more"),
    };
    let message = format!("the block on rail `{own}` at {} faces none on rail `{}`{more}", *block.at, name(bare));
    let mut finding = findings
        .finding(case.machine.axes[axis].name.to_string(), block.place, message)
        .here("this block")
        .next("correct its place or add the one that faces it; where the carriage is built so, nothing is to be done");
    finding.grade = Grade::Observation;
    findings.add(finding);
}
