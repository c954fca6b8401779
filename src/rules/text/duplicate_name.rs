//! Two things of one name.

use std::collections::BTreeMap;

use crate::finding::Grade;
use crate::finding::names;
use crate::ledger::{Name, Spanned, look, person_keys};
use crate::rules::{Case, Check, Cure, Findings, Ground, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: names::DUPLICATE_NAME,
    group: RuleGroup::Text,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "Names are unique among their kind. No two machines of a shop that are judged together have one name; it is told of the one whose folder comes later. Nor do two persons, gauges or wrenches have names that nobody can tell apart by eye, which is an observation; for persons case and separators make no difference. It is one too where an entry of a shop file says otherwise than the one of its name in a file above, and so hides it.",
    why: "A record would mean both.",
    limits: &[],
    source: "schema/language.md",
    wrong: r#"
machine m { axis X { rail a { segment 1200 }; rail a { segment 1200 } } }
"#,
    right: r#"
machine m { axis X { rail a { segment 1200 }; rail b { segment 1200 } } }
"#,
    follows_from: &[Ground::Described],
    never_conceded: true,
    checks: &[Check::Machine(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, findings: &mut Findings) -> Verdict {
    look_alikes(case, findings);
    let hidden = case.ledger.overridden.iter().filter(|finding| finding.rule == RULE.name);
    hidden.for_each(|finding| findings.add(finding.clone()));
    let Some(name) = &case.machine.name else { return Verdict::NotJudged("the machine has no name") };
    let Some(folder) = &case.elsewhere.name else { return Verdict::Conforms(name.place) };
    findings.add(
        findings
            .finding("", name.place, format!("the machine of the ledger {folder} is called `{}` too", **name))
            .here("the second one")
            .next("give one of them another name; where this folder is a copy, take it out"),
    );
    Verdict::Broken
}

/// Names of persons and instruments that nobody can tell apart by eye: they are only observed.
fn look_alikes(case: &Case, findings: &mut Findings) {
    let shop = &case.shop;
    fn things<'l>(all: impl Iterator<Item = &'l Spanned<Name>>) -> Vec<(String, &'l Spanned<Name>)> {
        all.map(|name| (look(name), name)).collect()
    }
    let persons = shop.persons.iter().flat_map(|person| person_keys(&person.name).map(|key| (key, &person.name)));
    let kinds = [
        ("person", persons.collect()),
        ("gauge", things(shop.gauges.iter().map(|gauge| &gauge.name))),
        ("wrench", things(shop.wrenches.iter().map(|wrench| &wrench.name))),
    ];
    for (kind, names) in kinds {
        let mut first: BTreeMap<String, &Spanned<Name>> = BTreeMap::new();
        let mut told: Vec<&Name> = Vec::new();
        for (key, name) in names {
            let other = *first.entry(key).or_insert(name);
            if other.value == name.value || told.contains(&&name.value) {
                continue;
            }
            told.push(&name.value);
            let mut finding = findings
                .finding("", name.place, format!("the {kind} `{}` looks like the {kind} `{}`", **name, **other))
                .here("looks the same")
                .also(other.place, "as this one")
                .next("give one of them a name that differs to the eye; where they are one, keep one row");
            finding.grade = Grade::Observation;
            findings.add(finding);
        }
    }
}
