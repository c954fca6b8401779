//! A needed value or node that is not there.

use crate::finding::Grade;
use crate::finding::names;
use crate::rules::{Cure, Rule, RuleGroup};

pub(crate) static RULE: Rule = Rule {
    name: names::MISSING_PART,
    group: RuleGroup::Text,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "Every node has the parts it needs.",
    why: "Without them the record cannot be placed in the machine or in time.",
    limits: &[],
    source: "schema/language.md",
    wrong: r#"
machine m { axis X { rail a { segment 1200 } } }
loosen X.a by=fitter-2
"#,
    right: r#"
machine m { axis X { rail a { segment 1200 } } }
loosen X.a date="2026-04-14" by=fitter-2
"#,
    never_conceded: true,
    ..Rule::PLAIN
};
