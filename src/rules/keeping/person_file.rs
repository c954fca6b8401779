//! A file named after somebody holds what they wrote.

use std::collections::BTreeSet;

use crate::finding::{Grade, RuleName, SourceId};
use crate::ledger::Record;
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("person-file"),
    group: RuleGroup::Keeping,
    grade: Grade::Observation,
    cure: Cure::Writing,
    what: "A file that is named after a person whom the shop declares, as `2026-04-14-fitter-2.kdl`, holds records by them. What else files are called is free, and so is everything where the shop declares nobody. One observation a file.",
    why: "A record by another in somebody's own file is most often the name that was forgotten to be changed when the block was copied.",
    limits: &[],
    source: "judgement",
    wrong: r#"
shop { person machine; person fitter-2 }
machine m { axis X { rail a { segment 1200; supports S first=240 pitch=240 count=4 } } }
loosen X.a date="2026-05-02" by=fitter-2 reason="seat cleaned" { at S2 }
"#,
    right: r#"
shop { person fitter-2; person inspector-1 }
machine m { axis X { rail a { segment 1200; supports S first=240 pitch=240 count=4 } } }
loosen X.a date="2026-05-02" by=fitter-2 reason="seat cleaned" { at S2 }
"#,
    checks: &[Check::Machine(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, findings: &mut Findings) -> Verdict {
    if case.shop.persons.is_empty() {
        return Verdict::NotRequired;
    }
    let mut verdict = Verdict::NotRequired;
    let mut told: BTreeSet<SourceId> = BTreeSet::new();
    let mut names: Option<(SourceId, Vec<&str>)> = None;
    for record in case.records.iter().filter(|record| record.counts()) {
        let (Some(by), source) = (&record.by, record.place.source) else { continue };
        if names.as_ref().is_none_or(|(of, _)| *of != source) {
            names = Some((source, named_in(case, record)));
        }
        let Some((_, named)) = &names else { continue };
        verdict = verdict.and(Verdict::Conforms(by.place));
        let Some(first) = named.first().filter(|_| !named.contains(&by.as_str())) else { continue };
        if !told.insert(source) {
            continue;
        }
        findings.add(
            findings
                .finding(
                    record.address(),
                    by.place,
                    format!("a record by `{}` in a file that is named after `{first}`", **by),
                )
                .here("by somebody else")
                .next("see who did it; where it is right as it is, it stands better in a file of its own"),
        );
    }
    verdict
}

/// The persons of the shop after whom the file of a record is named.
fn named_in<'c>(case: &'c Case, record: &Record) -> Vec<&'c str> {
    let path = &case.sources.get(record.place.source).path;
    let stem = path.name().strip_suffix(".kdl").unwrap_or(path.name());
    let persons = case.ledger.shop.persons.iter().map(|person| person.as_str());
    persons.filter(|person| has_name(stem, person)).collect()
}

/// Whether a name stands in a text with nothing beside it that could belong to it.
fn has_name(text: &str, name: &str) -> bool {
    let part = |c: Option<char>| c.is_some_and(char::is_alphanumeric);
    !name.is_empty()
        && text
            .match_indices(name)
            .any(|(at, _)| !part(text[..at].chars().next_back()) && !part(text[at + name.len()..].chars().next()))
}
