//! What works on the carriage travels as straight as the machine states.

use crate::facts::motion::{MODEL, ToolPath, wandering};
use crate::finding::{Grade, Limit, Measure, RuleName};
use crate::ledger::{Axis, OnCarriage, Spanned, WorkingPoint};
use crate::quantity::Length;
use crate::rules::lacking::lacking;
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("tool-error"),
    group: RuleGroup::Gap,
    grade: Grade::Nonconformity,
    cure: Cure::AtMachine,
    what: "Over the stroke each tool stays between two parallel lines no farther apart than it states, sideways and upright, with the carriage on the rails as they were measured. Where a rail was not surveyed as it takes, that is not judged.",
    why: "What the machine makes is as true as the path of its tool, and a small turn of the carriage is a large error at the end of a long arm.",
    limits: &[],
    source: "none until a tool states one; lines by least squares as in ISO 230-1; the path by our own model of a rigid carriage on springs",
    wrong: r#"
shop {
    block B20 length=78 C=(kN)18.1 stiffness=("N/um")200 roll-stiffness=2 pitch-stiffness=2 yaw-stiffness=2 M-roll=200 M-pitch=200 M-yaw=200
    gauge DI-6 kind=dial-indicator graduation=0.002 range=5 permissible-error=0.005 local-error=0.003 { calibrated "2026-01-12" due="2027-01-12" certificate="Q-312" }
}
machine m {
    axis X {
        stroke from=150 to=450
        rail a { segment 600; supports S first=120 pitch=180 count=3 length=80 }
        carriage mass=80 {
            block a at=-100 type=B20
            block a at=100 type=B20
            track a y=0
            tool head most-side=0.01
        }
    }
}
fasten X.a date="2026-05-04" by=fitter-2 stage=full setting=10.5 { clicked S1..S3 }
survey straightness X.a date="2026-05-05" by=inspector-1 gauge=DI-6 plus=left stage=as-fitted { at S1 0; at S2 0.06; at S3 0 }
"#,
    right: r#"
shop {
    block B20 length=78 C=(kN)18.1 stiffness=("N/um")200 roll-stiffness=2 pitch-stiffness=2 yaw-stiffness=2 M-roll=200 M-pitch=200 M-yaw=200
    gauge DI-6 kind=dial-indicator graduation=0.002 range=5 permissible-error=0.005 local-error=0.003 { calibrated "2026-01-12" due="2027-01-12" certificate="Q-312" }
}
machine m {
    axis X {
        stroke from=150 to=450
        rail a { segment 600; supports S first=120 pitch=180 count=3 length=80 }
        carriage mass=80 {
            block a at=-100 type=B20
            block a at=100 type=B20
            track a y=0
            tool head most-side=0.1
        }
    }
}
fasten X.a date="2026-05-04" by=fitter-2 stage=full setting=10.5 { clicked S1..S3 }
survey straightness X.a date="2026-05-05" by=inspector-1 gauge=DI-6 plus=left stage=as-fitted { at S1 0; at S2 0.06; at S3 0 }
"#,
    checks: &[Check::Axes(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, index: usize, findings: &mut Findings) -> Verdict {
    let axis = &case.machine.axes[index];
    let tools = axis.carriage.as_ref().map_or(&[][..], |carriage| &carriage.tools);
    let mut limited: Vec<(ToolPath, Spanned<Length>)> = Vec::new();
    for (number, tool) in tools.iter().enumerate() {
        for (is_upright, most) in [false, true].into_iter().zip(tool.what.most) {
            limited.extend(most.map(|most| (ToolPath { tool: number, is_upright }, most)));
        }
    }
    if limited.is_empty() {
        return Verdict::NotRequired;
    }
    let borne = match case.borne(index) {
        Ok(borne) => borne,
        Err(why) => {
            lacking(findings, axis, why, "the path of the tools");
            return Verdict::Outstanding;
        }
    };
    if let Some(without) = borne.loaded.without {
        return Verdict::NotJudged(without);
    }
    if borne.loaded.lying.too_many_joints {
        return Verdict::NotJudged("the rails have more joints than are reckoned with");
    }
    if borne.blocks(axis).any(|block| block.journey.lifts.is_some()) {
        return Verdict::NotJudged("a block bears more than its preload holds: its rows lift");
    }
    let paths: Vec<ToolPath> = limited.iter().map(|(path, _)| *path).collect();
    let zones = match wandering(borne, axis, &paths) {
        Ok(zones) => zones,
        Err(why) => {
            lacking(findings, axis, why, "the path of the tools");
            return Verdict::Outstanding;
        }
    };
    let judged = limited.iter().zip(zones).map(|((path, most), zone)| match zone {
        Some(zone) => judge(axis, &tools[path.tool], path.is_upright, (zone, *most), findings),
        None => {
            Verdict::NotJudged("a rail was not surveyed as far as, or in a plane that, the path of the tool asks for")
        }
    });
    judged.reduce(Verdict::and).unwrap_or(Verdict::NotRequired)
}

fn judge(
    axis: &Axis,
    tool: &OnCarriage<WorkingPoint>,
    is_upright: bool,
    (zone, most): (Length, Spanned<Length>),
    findings: &mut Findings,
) -> Verdict {
    if zone <= *most {
        return Verdict::Conforms(tool.place);
    }
    let way = if is_upright { "upright" } else { "sideways" };
    findings.add(
        findings
            .finding(
                axis.name.as_str(),
                tool.place,
                format!("tool {} wanders {way} by {zone} over the stroke, {} too much", *tool.what.name, zone - *most),
            )
            .here("the zone about its least-squares line")
            .also(most.place, "what it states")
            .found(Measure::too_large(zone))
            .limit(Limit {
                entry: None,
                text: format!("at most {}", *most),
                source: format!("the tool; {MODEL}"),
                set_at: Some(most.place),
            })
            .next("`wayledger motion` shows where, how sure that is and which readings weigh most: straighten the rails there"),
    );
    Verdict::Broken
}
