//! A hold on what conforms again can be lifted.

use std::collections::{BTreeMap, BTreeSet};

use crate::finding::{Finding, Grade, RuleName};
use crate::ledger::{Body, Record};
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
    // The last work at each address and at what it is a part of, and where something is still open.
    let mut done: BTreeMap<&str, usize> = BTreeMap::new();
    for (index, record) in case.in_order().filter(|(_, record)| is_work(record)) {
        done.extend(record.on.iter().flat_map(|on| wholes(on)).map(|whole| (whole, index)));
    }
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
        let Some(last) = done.get(address.as_str()).filter(|last| case.after(**last, on.record)) else { continue };
        if open.contains(address.as_str()) || case.is_damaged(address) {
            continue;
        }
        let message = format!("{} is still on hold, and nothing is broken or outstanding there any more", **address);
        findings.add(
            findings
                .finding(address.value.clone(), record.place, message)
                .here("this hold")
                .also(case.ledger.records[*last].place, "done since")
                .next(format!("lift {} date=\"…\" by=… disposition=rework reason=\"…\"", **address)),
        );
    }
    Verdict::Conforms(case.records[first.record].place)
}

/// An address and all that it is a part of: `X.a.J1`, `X.a`, `X`.
fn wholes(address: &str) -> impl Iterator<Item = &str> {
    std::iter::successors(Some(address), |part| part.rsplit_once('.').map(|(whole, _)| whole))
}

fn is_work(record: &Record) -> bool {
    matches!(
        record.body,
        Body::Fasten(_) | Body::Inspect(_) | Body::Survey(_) | Body::Shim(_) | Body::RunningForce(_) | Body::Receive(_)
    )
}
