//! A limit became narrower since an axis was released: whether what was released would meet it.

use crate::finding::{Finding, Grade, Measure, RuleName, counted, within};
use crate::language::rulebook::{ENTRIES, LimitEntry, LimitType, Rulebook};
use crate::ledger::seal::sealed_limits;
use crate::rules::holding::HoldingRules;
use crate::rules::{Case, Check, Coverage, Cure, Findings, Judge, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("limit-tightened"),
    group: RuleGroup::Keeping,
    grade: Grade::Observation,
    cure: Cure::AtMachine,
    what: "What a released axis was released with would meet the limits that became narrower since. The axis stays judged by those of its seal.",
    why: "A limit is tightened because something was learnt, and machines that are out already may have the same fault.",
    limits: &[],
    source: "our own choice",
    wrong: r#"
machine m {
    rulebook { joint-step most=0.015 reason="chatter on the first machines" }
    axis X { rail a { segment 1200; segment 1200 } }
}
inspect X.a.J1 date="2026-04-15" by=inspector-1 { light none; UL 0 -> 0.018; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }
release X date="2026-04-20" by=engineer-1 {
    sealed "limits" digest="" { fact "joint-step most" "0.02" }
}
"#,
    right: r#"
machine m {
    rulebook { joint-step most=0.015 reason="chatter on the first machines" }
    axis X { rail a { segment 1200; segment 1200 } }
}
inspect X.a.J1 date="2026-04-15" by=inspector-1 { light none; UL 0 -> 0.012; UR 0 -> 0; LL 0 -> 0; LR 0 -> 0 }
release X date="2026-04-20" by=engineer-1 {
    sealed "limits" digest="" { fact "joint-step most" "0.02" }
}
"#,
    never_conceded: true,
    checks: &[Check::Again(check)],
    ..Rule::PLAIN
};

/// So many places are named.
const MOST_NAMED: usize = 3;

fn check(case: &Case, findings: &mut Findings, judge: &Judge) -> Verdict {
    if case.anew {
        return Verdict::NotRequired;
    }
    let mut verdict = Verdict::NotRequired;
    let today = &case.ledger.rulebook;
    let mut anew: Option<(Vec<Finding>, Coverage)> = None;
    for (index, axis) in case.machine.axes.iter().enumerate() {
        let Some(sealed) = sealed_limits(case.ledger, index) else { continue };
        for entry in ENTRIES.iter().filter(|entry| is_tightened(sealed, today, entry)) {
            let holding = HoldingRules::of(entry, today, judge.rules());
            if holding.is_empty() {
                continue;
            }
            // Few ledgers have such a limit: only they are judged once more.
            let (by_today, coverage) = anew.get_or_insert_with(|| (judge.anew)(case));
            let missed = |finding: &&Finding| {
                within(&finding.address, &axis.name) && finding.is_broken() && holding.miss(finding)
            };
            let is_known = |finding: &Finding| {
                let same = |of: &Finding| (of.rule, &of.address) == (finding.rule, &finding.address);
                findings.all.iter().any(|of| of.is_broken() && same(of))
            };
            let missed: Vec<&Finding> = by_today.iter().filter(missed).filter(|finding| !is_known(finding)).collect();
            let told = told(findings, &axis.name, entry, today, &missed);
            // What nothing was held against conforms to nothing.
            if let Some(change) = sealed.sealed(entry.limit).filter(|_| {
                told.is_some() || holding.judged(coverage, Some(index)).any(|row| row.conforms + row.broken > 0)
            }) {
                verdict = verdict.and(Verdict::Conforms(change.place));
            }
            if let Some(finding) = told {
                findings.add(finding);
            }
        }
    }
    verdict
}

/// Whether a limit lets less pass today than the seal did.
fn is_tightened(sealed: &Rulebook, today: &Rulebook, entry: &LimitEntry) -> bool {
    sealed.sealed(entry.limit).is_some() && sealed.is_wider(today, entry)
}

fn told(findings: &Findings, axis: &str, entry: &LimitEntry, today: &Rulebook, missed: &[&Finding]) -> Option<Finding> {
    let first = missed.first()?;
    let worst = missed.iter().filter_map(|of| of.found).reduce(|a, b| if a.no_worse_than(&b) { b } else { a });
    let named: Vec<&str> = missed.iter().take(MOST_NAMED).map(|of| of.address.as_str()).collect();
    let more = missed.len() - named.len();
    let more = if more > 0 { format!(" and {more} more") } else { String::new() };
    let message = format!(
        "{axis} is released, and {} of it would not meet today's {}: {}{more}",
        counted(missed.len(), "place", "places"),
        entry.name,
        named.join(", ")
    );
    let mut finding = findings.finding(axis, first.at.place, message).here(first.at.text.clone());
    for of in missed.iter().skip(1).take(MOST_NAMED - 1) {
        finding = finding.also(of.at.place, of.at.text.clone());
    }
    finding.found = worst.or(Some(Measure::too_large(missed.len())));
    finding.limit.clone_from(&first.limit);
    if let LimitType::Choice(_) = entry.holds {
        let text = today.choice(entry.limit).to_string();
        let set_at = today.change(entry.limit).map(|change| change.place);
        finding.limit =
            Some(crate::finding::Limit { entry: Some(entry.name), text, source: today.source(entry), set_at });
        finding.found = Some(Measure::too_large(missed.len()));
    }
    Some(finding.next("decide whether the machine is to meet it; where it is, `hold` the axis and put it right"))
}
