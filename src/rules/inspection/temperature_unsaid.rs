//! Where one inspection of an axis says how warm the rails were, each does.

use crate::finding::{Grade, Measure, RuleName};
use crate::ledger::{Body, Target};
use crate::rules::{Case, Check, Cure, Findings, Ground, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("temperature-unsaid"),
    group: RuleGroup::Inspection,
    grade: Grade::Observation,
    cure: Cure::Writing,
    what: "Where an inspection of an axis states the temperature of the rails, every inspection of that axis does. One finding an axis.",
    why: "A joint that is tight in a warm hall stands open in a cold one. Inspections that are compared over the years need the temperature of each, and one that lacks it was forgotten.",
    limits: &[],
    source: "common practice, no source; lengths are at 20 °C after ISO 1",
    wrong: r#"
machine m { axis X { rail a { segment 1200; segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15T09:00" by=inspector-1 temperature=20.5 { light none }
inspect X.a.J2 date="2026-04-15T09:30" by=inspector-1 { light none }
"#,
    right: r#"
machine m { axis X { rail a { segment 1200; segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15T09:00" by=inspector-1 temperature=20.5 { light none }
inspect X.a.J2 date="2026-04-15T09:30" by=inspector-1 temperature=20.5 { light none }
"#,
    follows_from: &[Ground::Records],
    checks: &[Check::Axes(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, axis: usize, findings: &mut Findings) -> Verdict {
    let (mut told, mut first, mut count) = (None, None, 0);
    for (_, record) in case.in_order() {
        let Body::Inspect(inspect) = &record.body else { continue };
        // What is lacking where the text is at fault may stand there, misspelt.
        if record.damaged || record.is_aligning() || record.target.map(Target::axis) != Some(axis) {
            continue;
        }
        match inspect.temperature {
            Some(temperature) => told = Some(temperature.place),
            None => {
                count += 1;
                first.get_or_insert(record);
            }
        }
    }
    let Some(told) = told else { return Verdict::NotRequired };
    if let Some(record) = first {
        let more = if count > 1 { format!(", and so do {} more", count - 1) } else { String::new() };
        let address = record.address();
        findings.add(
            findings
                .finding(address, record.place, format!("this inspection states no temperature{more}, and others do"))
                .here("how warm were the rails?")
                .also(told, "stated here")
                .found(Measure::too_large(count))
                .next("add the temperature of the rails that was read: temperature=…"),
        );
    }
    Verdict::Conforms(told)
}
