//! What must be described before anything can be judged is described.

use crate::finding::{Grade, Place, RuleName};
use crate::ledger::RailId;
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("not-described"),
    group: RuleGroup::Layout,
    grade: Grade::Outstanding,
    cure: Cure::UntilBuilt,
    what: "An axis has rails, and each rail its segments and its supports. A machine without an axis lacks a part: missing-part.",
    why: "Joints, holes and bolts follow from segments and supports. Where these are not described there is nothing to judge, and silence proves nothing.",
    limits: &[],
    source: "judgement: an empty description has no fault that could be found",
    wrong: r#"
machine m { axis X { rail a { supports S first=240 pitch=240 count=4 } } }
"#,
    right: r#"
machine m { axis X { rail a { segment 1200; supports S first=240 pitch=240 count=4 } } }
"#,
    checks: &[Check::Axes(axis), Check::Rails(rail)],
    ..Rule::PLAIN
};

fn axis(case: &Case, axis: usize, findings: &mut Findings) -> Verdict {
    let it = &case.machine.axes[axis];
    let Some(rail) = it.rails.first() else {
        let next = "describe each rail with its segments and supports: rail left { segment 2400; supports S first=… pitch=… count=… }";
        lacks(findings, it.name.to_string(), it.place, "rails", next);
        return Verdict::Outstanding;
    };
    Verdict::Conforms(rail.place)
}

fn rail(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    let rail = case.machine.rail(id);
    let (what, next) = match (rail.segments.first(), rail.supports.is_empty()) {
        (Some(segment), false) => return Verdict::Conforms(segment.place),
        (None, true) => (
            "segments and no supports",
            "write one line a bar in order along the axis, as `segment 2400`, and the supports, as `supports S first=240 pitch=240 count=9`",
        ),
        (None, false) => (
            "segments",
            "write one line a bar in order along the axis, as `segment 2400`; `wayledger layout` plans them from stock",
        ),
        (Some(_), true) => ("supports", "write where the rail is held, as `supports S first=240 pitch=240 count=9`"),
    };
    lacks(findings, case.machine.rail_address(id), rail.place, what, next);
    Verdict::Outstanding
}

fn lacks(findings: &mut Findings, address: String, place: Place, what: &str, next: &str) {
    let finding = findings.finding(address, place, format!("no {what} are described"));
    findings.add(finding.here("nothing to judge yet").next(next));
}
