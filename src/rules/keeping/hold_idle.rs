//! A hold on what conforms again can be lifted.

use std::collections::BTreeSet;

use super::work::wholes;
use crate::finding::{Finding, Grade, RuleName};
use crate::ledger::{Body, Disposition, Keyword, lift_line};
use crate::rules::{Case, Check, Cure, Findings, Ground, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("hold-idle"),
    group: RuleGroup::Keeping,
    grade: Grade::Observation,
    cure: Cure::Writing,
    what: "No hold is left in force where work or readings were recorded since, and nothing is broken or outstanding any more.",
    why: "A hold that is forgotten keeps a good axis from release.",
    limits: &[],
    source: "our own choice",
    wrong: r#"
shop { wrench TW-2 kind=setting least=1 most=20 { calibrated "2026-02-02" due="2027-02-02" } }
machine m { axis X { rail a { segment 600; support S1 at=240 } } }
fasten X.a date="2026-04-14T08:00" by=fitter-2 wrench=TW-2 stage=snug setting=1.5 { clicked S1 }
fasten X.a date="2026-04-14T09:00" by=fitter-2 wrench=TW-2 stage=full setting=12 { clicked S1 }
hold X.a date="2026-04-14T09:00" by=fitter-2 reason="the wrench was set so"
fasten X.a date="2026-04-14T10:00" by=fitter-2 wrench=TW-2 stage=full setting=10.5 { clicked S1 }
"#,
    right: r#"
shop { wrench TW-2 kind=setting least=1 most=20 { calibrated "2026-02-02" due="2027-02-02" } }
machine m { axis X { rail a { segment 600; support S1 at=240 } } }
fasten X.a date="2026-04-14T08:00" by=fitter-2 wrench=TW-2 stage=snug setting=1.5 { clicked S1 }
fasten X.a date="2026-04-14T09:00" by=fitter-2 wrench=TW-2 stage=full setting=12 { clicked S1 }
hold X.a date="2026-04-14T09:00" by=fitter-2 reason="the wrench was set so"
fasten X.a date="2026-04-14T10:00" by=fitter-2 wrench=TW-2 stage=full setting=10.5 { clicked S1 }
lift X.a date="2026-04-14T10:00" by=fitter-2 disposition=rework reason="tightened anew"
"#,
    follows_from: &[Ground::Records],
    never_conceded: true,
    checks: &[Check::Afterwards(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, findings: &mut Findings) -> Verdict {
    let Some(first) = case.holds.iter().find(|on| on.in_force()) else { return Verdict::NotRequired };
    let counts = |finding: &&Finding| {
        finding.grade != Grade::Observation
            && finding.conceded.is_none()
            && finding.rule != super::hold_in_force::RULE.name
    };
    let open: BTreeSet<String> =
        findings.all.iter().filter(counts).flat_map(|finding| wholes(&finding.address)).map(str::to_owned).collect();
    for on in case.holds.iter().filter(|on| on.in_force()) {
        let record = &case.ledger.records[on.record];
        let (Some(address), Body::Hold(_)) = (&record.on, &record.body) else { continue };
        let Some(last) = case.worked_within(address).filter(|last| case.after(*last, on.record)) else { continue };
        if open.contains(address.as_str()) || case.is_damaged(address) {
            continue;
        }
        let message = format!("{} is still on hold, and nothing is broken or outstanding there any more", **address);
        findings.add(
            findings
                .finding(address.value.clone(), record.place, message)
                .here("this hold")
                .also(case.ledger.records[last].place, "done since")
                .next(lift_line(address, Disposition::Rework.word())),
        );
    }
    Verdict::Conforms(case.records[first.record].place)
}
