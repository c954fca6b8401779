//! Two things of one name.

use crate::finding::Grade;
use crate::finding::names;
use crate::rules::{Case, Check, Cure, Findings, Ground, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: names::DUPLICATE_NAME,
    group: RuleGroup::Text,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "Names are unique among their kind. No two machines of a shop that are judged together have one name; it is told of the one whose folder comes later.",
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
