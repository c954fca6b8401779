//! A lift lifts something.

use crate::finding::Grade;
use crate::ledger::Body;
use crate::rules::{Case, Check, Cure, Findings, Group, Rule};
use crate::schema::nearest;

pub static RULE: Rule = Rule {
    name: "lift-idle",
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
    check: Check::Ledger(check),
};

fn check(case: &Case, findings: &mut Findings) {
    for (index, record) in case.in_order() {
        let (Body::Lift(_), Some(address)) = (&record.body, &record.on) else { continue };
        if case.holds.iter().any(|on| on.lifted == Some(index)) {
            continue;
        }
        let held = case.holds.iter().filter(|on| on.in_force()).filter_map(|on| {
            let record = &case.ledger.records[on.record];
            Some((record.on.as_ref()?, record.place))
        });
        let held: Vec<_> = held.collect();
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
