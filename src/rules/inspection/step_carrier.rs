//! The block that carried the gauge stayed on one rail.

use crate::calc::carrier::{most_across, shows_whole_step, visible};
use crate::calc::grooves::Pattern;
use crate::finding::{Finding, Grade, Limit, Measure, RuleName};
use crate::ledger::{RailId, Spanned};
use crate::quantity::Length;
use crate::rules::{About, Case, Check, Cure, Findings, Ground, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("step-carrier"),
    group: RuleGroup::Inspection,
    grade: Grade::Nonconformity,
    cure: Cure::AtMachine,
    what: "Between the readings on either side of a joint, the carrying block travels less than the stylus reaches ahead of it, so that it stays on one rail.",
    why: "A block that rides over the joint climbs the step itself and takes the gauge along. With a tenth of it across, half of a height step is hidden.",
    limits: &[],
    source: "geometry; what stays visible is computed for a block on four even rows of springs",
    wrong: r#"
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 { carrier reach=40 travel=48; UL 0 -> 0.01 }
"#,
    right: r#"
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 { carrier reach=40 travel=15; UL 0 -> 0.01 }
"#,
    about: About::Taking,
    follows_from: &[Ground::Part],
    checks: &[Check::Joints(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, joint: usize, findings: &mut Findings) -> Verdict {
    let mut verdict = Verdict::from(case.steps_shown(id, joint));
    let (mut seen, mut untold) = (Vec::new(), Vec::new());
    for reading in case.joint_state(id, joint).grooves.into_iter().flatten() {
        let (Some(reach), Some(travel)) = (reading.inspect.reach, reading.inspect.travel) else {
            verdict = verdict.and(Verdict::Awaits("no reach and travel of the gauge are recorded"));
            if !untold.contains(&reading.record) && case.latest_stands(id, joint, reading.record) {
                untold.push(reading.record);
                findings.add(unsaid(case, findings, id, joint, reading.record));
            }
            continue;
        };
        let whole = shows_whole_step(reach.nm(), travel.nm());
        if whole || seen.contains(&reading.record) || !case.latest_stands(id, joint, reading.record) {
            continue;
        }
        seen.push(reading.record);
        findings.add(rode_over(case, findings, id, joint, reach, travel));
    }
    verdict
}

/// The grooves were read, and nobody knows whether the gauge could ride over the joint.
fn unsaid(case: &Case, findings: &Findings, id: RailId, joint: usize, record: usize) -> Finding {
    let name = &case.machine.rail(id).joints[joint].name;
    let message =
        format!("nothing says how the gauge was carried over {name}, so nobody knows whether it shows whole steps");
    let mut finding = findings
        .finding(case.machine.joint_address(id, joint), case.records[record].place, message)
        .here("no carrier")
        .next("add to the record how far the stylus reaches ahead of the carrier's blocks, and its travel: carrier reach=… travel=…; where the gauge is always carried so, once at the gauge in the shop file");
    finding.grade = Grade::Outstanding;
    finding
}

fn rode_over(
    case: &Case,
    findings: &Findings,
    id: RailId,
    joint: usize,
    reach: Spanned<Length>,
    travel: Spanned<Length>,
) -> Finding {
    let block = crate::rules::layout::longest_block(case.ledger, id).filter(|block| block.nm() > 0);
    let here = match block {
        Some(block) => {
            let across = most_across(reach.nm(), travel.nm(), block.nm());
            let shown = visible(Pattern::Height, across, reach.nm() as f64 / block.nm() as f64);
            let hidden = ((1.0 - shown) * 100.0).round().clamp(0.0, 100.0);
            format!("up to {hidden:.0} % of a height step is hidden, with a block of {block}")
        }
        None => "the block may have ridden over the joint".to_string(),
    };
    findings
        .finding(
            case.machine.joint_address(id, joint),
            travel.place,
            format!("the block travelled {} and the stylus reached only {} ahead of it", *travel, *reach),
        )
        .here(here)
        .also(reach.place, "reach")
        .found(Measure::too_large(*travel))
        .limit(Limit {
            entry: None,
            text: format!("less than the reach of {}", *reach),
            source: "geometry".into(),
            set_at: Some(reach.place),
        })
        .next("read the four grooves again with the block wholly on one rail for both readings")
}
