//! A limit became narrower since an axis was released: whether what was released would meet it.

use crate::facts::proof::required_by;
use crate::finding::{Finding, Grade, Measure, RuleName, counted, within};
use crate::language::rulebook::{ENTRIES, LimitEntry, LimitType, Rulebook};
use crate::ledger::seal::sealed_limits;
use crate::rules::{About, Case, Check, Coverage, Cure, Findings, Judge, Rule, RuleGroup, Verdict};

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
            let holding = HoldingRules::of(entry, today, judge);
            if holding.rules.is_empty() {
                continue;
            }
            // Few ledgers have such a limit: only they are judged once more.
            let (by_today, coverage) = anew.get_or_insert_with(|| (judge.anew)(case));
            let missed = |finding: &&Finding| {
                within(&finding.address, &axis.name) && finding.is_broken() && holding.miss(finding, entry)
            };
            let is_known = |finding: &Finding| {
                let same = |of: &Finding| (of.rule, &of.address) == (finding.rule, &finding.address);
                findings.all.iter().any(|of| of.is_broken() && same(of))
            };
            let missed: Vec<&Finding> = by_today.iter().filter(missed).filter(|finding| !is_known(finding)).collect();
            let told = told(findings, &axis.name, entry, today, &missed);
            // What nothing was held against conforms to nothing.
            if let Some(change) =
                sealed.sealed(entry.limit).filter(|_| told.is_some() || holding.judged(coverage, index, entry))
            {
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

/// The rules that find what misses a limit.
struct HoldingRules {
    rules: Vec<&'static Rule>,
    /// Their findings name the entry; they do not where it is a word, or a part of how sure a reading must be.
    name_it: bool,
}

impl HoldingRules {
    /// Those that hold what was described, done or read against an entry, and not that what was read with is too coarse
    /// for it; where none does, those that hold how it was read, or how sure that is where proof is required.
    fn of(entry: &LimitEntry, today: &Rulebook, judge: &Judge) -> HoldingRules {
        let holds = |rule: &&Rule| {
            let breaks = match rule.about {
                About::Certainty => required_by(today, rule.limits),
                About::Facts | About::Taking => rule.grade == Grade::Nonconformity,
            };
            // How a record is written was never released.
            let of_writing = rule.never_conceded && !matches!(entry.holds, LimitType::Choice(_));
            breaks && !of_writing && rule.limits.contains(&entry.limit)
        };
        let mut rules: Vec<&'static Rule> = judge.rules().filter(holds).collect();
        let of_facts = rules.iter().any(|rule| rule.about == About::Facts);
        let is_word = matches!(entry.holds, LimitType::Choice(_));
        if of_facts && !is_word {
            rules.retain(|rule| rule.about == About::Facts);
        }
        let certain = |rule: &&Rule| rule.about == About::Certainty;
        HoldingRules { name_it: !is_word && !rules.iter().all(certain), rules }
    }

    fn miss(&self, finding: &Finding, entry: &LimitEntry) -> bool {
        let names_it = || finding.limit.as_ref().is_some_and(|limit| limit.entry == Some(entry.name));
        self.rules.iter().any(|rule| rule.name == finding.rule) && (!self.name_it || names_it())
    }

    /// Whether one of them judged something of an axis by it.
    fn judged(&self, coverage: &Coverage, axis: usize, entry: &LimitEntry) -> bool {
        let by_it = |of: &Rule| match self.name_it {
            true => of.is_direct(entry.limit),
            false => true,
        };
        let own = |of: &Rule| by_it(of) && self.rules.iter().any(|rule| rule.name == of.name);
        coverage.rows().any(|(of, row)| of == Some(axis) && row.conforms + row.broken > 0 && own(row.rule))
    }
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
