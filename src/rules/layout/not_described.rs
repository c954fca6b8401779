//! What must be described before anything can be judged is described.

use crate::finding::{Grade, Place, RuleName};
use crate::rules::{Case, Check, Cure, Findings, Group, Rule};

pub static RULE: Rule = Rule {
    name: RuleName::new("not-described"),
    group: Group::Layout,
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
    checks: &[Check::Ledger(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, findings: &mut Findings) {
    for axis in case.machine.axes.iter().filter(|axis| axis.rails.is_empty()) {
        let next = "describe each rail with its segments and supports: rail left { segment 2400; supports S first=… pitch=… count=… }";
        lacks(findings, axis.name.to_string(), axis.place, "rails", next);
    }
    for (id, _, rail) in case.rails() {
        let mut lack = |what: &str, next: &str| {
            lacks(findings, case.machine.rail_address(id), rail.place, what, next);
        };
        match (rail.segments.is_empty(), rail.supports.is_empty()) {
            (true, true) => lack(
                "segments and no supports",
                "write one line a bar in order along the axis, as `segment 2400`, and the supports, as `supports S first=240 pitch=240 count=9`",
            ),
            (true, false) => lack(
                "segments",
                "write one line a bar in order along the axis, as `segment 2400`; `wayledger layout` plans them from stock",
            ),
            (false, true) => {
                lack("supports", "write where the rail is held, as `supports S first=240 pitch=240 count=9`")
            }
            (false, false) => {}
        }
    }
}

fn lacks(findings: &mut Findings, address: String, place: Place, what: &str, next: &str) {
    let finding = findings.finding(address, place, format!("no {what} are described"));
    findings.add(finding.here("nothing to judge yet").next(next));
}
