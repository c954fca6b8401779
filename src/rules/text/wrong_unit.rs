//! A unit that is unknown or of another dimension.

use crate::finding::Grade;
use crate::finding::names;
use crate::rules::{Cure, Rule, RuleGroup};

pub(crate) static RULE: Rule = Rule {
    name: names::WRONG_UNIT,
    group: RuleGroup::Text,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "Every type annotation is a unit of what is measured.",
    why: "A torque in an unknown unit cannot be compared with its window.",
    limits: &[],
    source: "schema/language.md; factors from the international yard and pound agreement and ISO 80000",
    wrong: r#"
machine m { axis X { rail a { segment (inch)48 } } }
"#,
    right: r#"
machine m { axis X { rail a { segment (in)48 } } }
"#,
    never_conceded: true,
    ..Rule::PLAIN
};
