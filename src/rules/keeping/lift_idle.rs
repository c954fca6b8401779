//! A lift lifts something.

use crate::finding::{Grade, RuleName};
use crate::language::schema::nearest;
use crate::ledger::Body;
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("lift-idle"),
    group: RuleGroup::Keeping,
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
    checks: &[Check::Records(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, index: usize, findings: &mut Findings) -> Verdict {
    let record = &case.records[index];
    let Body::Lift(_) = &record.body else { return Verdict::NotRequired };
    let Some(address) = &record.on else { return Verdict::NotJudged("nothing says what it lifts") };
    if let Some((_, hold)) = case.lifted_by(index).first() {
        return Verdict::Conforms(case.records[*hold].place);
    }
    let held = case.held_now();
    let start = findings
        .finding(address.value.clone(), record.place, format!("nothing was on hold at {}", **address))
        .here("lifts nothing");
    let near = nearest(address, held.iter().map(|(on, _)| on.as_str())).or(match held {
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
    // It is only observed: nothing is broken by a lift too many.
    Verdict::Conforms(record.place)
}
