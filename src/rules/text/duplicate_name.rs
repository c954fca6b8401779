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
    what: "Names are unique among their kind. No two machines of a shop that are judged together have one name; it is told of the one whose folder comes later. Nor do two persons or two instruments have names that nobody can tell apart by eye, which is an observation; for persons case and separators make no difference. It is one too where an entry of a shop file says otherwise than the one of its name in a file above, and so hides it.",
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
    let persons =
        shop.persons.iter().flat_map(|person| person_keys(&person.name).map(|key| (key, "person", &person.name)));
    let gauges = shop.gauges.iter().map(|gauge| (look(&gauge.name), "gauge", &gauge.name));
    let wrenches = shop.wrenches.iter().map(|wrench| (look(&wrench.name), "wrench", &wrench.name));
    // A doubt names an instrument, be it a gauge or a wrench.
    let kinds: [Vec<(String, &str, &Spanned<Name>)>; 2] = [persons.collect(), gauges.chain(wrenches).collect()];
    for names in kinds {
        let mut first: BTreeMap<String, (&str, &Spanned<Name>)> = BTreeMap::new();
        let mut told: Vec<(&str, &Name)> = Vec::new();
        for (key, kind, name) in names {
            let (of, other) = *first.entry(key).or_insert((kind, name));
            if (of, &other.value) == (kind, &name.value) || told.contains(&(kind, &name.value)) {
                continue;
            }
            told.push((kind, &name.value));
            let same = other.value == name.value;
            let what = match same {
                true => format!("the {kind} `{}` has the name of a {of}", **name),
                false => format!("the {kind} `{}` looks like the {of} `{}`", **name, **other),
            };
            let mut finding =
                findings.finding("", name.place, what).here("looks the same").also(other.place, "as this one").next(
                    match same {
                        true => "give one of them another name",
                        false => "give one of them a name that differs to the eye; where they are one, keep one row",
                    },
                );
            finding.grade = Grade::Observation;
            findings.add(finding);
        }
    }
}
