//! A lift lifts something.

use std::collections::BTreeSet;

use crate::finding::{Grade, RuleName};
use crate::language::schema::nearest;
use crate::ledger::Body;
use crate::rules::{Case, Check, Cure, Findings, Group, Rule};

pub static RULE: Rule = Rule {
    name: RuleName::new("lift-idle"),
    group: Group::Keeping,
    grade: Grade::Observation,
    cure: Cure::Writing,
    what: "Every `lift` is about something that was held until then: it names the address as the hold does.",
    why: "A lift at another address leaves the hold in force, and its author thinks otherwise.",
    limits: &[],
    source: "our own choice",
    wrong: r#"
machine m { axis X { rail a } }
hold X.a date="2026-04-15" by=inspector-1 reason="a chip at the near end"
lift X date="2026-04-20" by=inspector-1 disposition=rework reason="the chip is ground out"
"#,
    right: r#"
machine m { axis X { rail a } }
hold X.a date="2026-04-15" by=inspector-1 reason="a chip at the near end"
lift X.a date="2026-04-20" by=inspector-1 disposition=rework reason="the chip is ground out"
"#,
    checks: &[Check::Ledger(check)],
    ..Rule::PLAIN
};

/// With more holds in force than that, a lift that fits none is compared with these only.
const MOST_COMPARED: usize = 64;

fn check(case: &Case, findings: &mut Findings) {
    let lifting: BTreeSet<usize> = case.holds.iter().filter_map(|on| on.lifted).collect();
    let held = case.holds.iter().filter(|on| on.in_force()).filter_map(|on| {
        let record = &case.ledger.records[on.record];
        Some((record.on.as_ref()?, record.place))
    });
    let held: Vec<_> = held.take(MOST_COMPARED).collect();
    for (index, record) in case.in_order() {
        let (Body::Lift(_), Some(address)) = (&record.body, &record.on) else { continue };
        if lifting.contains(&index) {
            continue;
        }
        let start = findings
            .finding(address.value.clone(), record.place, format!("nothing was on hold at {}", **address))
            .here("lifts nothing");
        let near = nearest(address, held.iter().map(|(on, _)| on.as_str())).or(match &held[..] {
            [(only, _)] => Some(only.as_str()),
            _ => None,
        });
        findings.add(match held.iter().find(|(on, _)| Some(on.as_str()) == near) {
            Some((on, place)) if on.value == address.value => {
                start.also(*place, "held later, or nobody knows which came first").next("give both records a time")
            }
            Some((on, place)) => start.also(*place, "held here").next(format!("name what is held: lift {}", ***on)),
            None => start.next("take it out: there is nothing on hold"),
        });
    }
}
