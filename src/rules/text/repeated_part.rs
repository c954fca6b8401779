//! A part that may stand only once, twice.

use crate::finding::Grade;
use crate::finding::names;
use crate::rules::{Cure, Rule, RuleGroup};

pub(crate) static RULE: Rule = Rule {
    name: names::REPEATED_PART,
    group: RuleGroup::Text,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "What may be said once is said once.",
    why: "Of two answers nobody knows which one counts.",
    limits: &[],
    source: "schema/language.md",
    wrong: r#"
machine m { axis X { rail a datum=left datum=right { segment 1200 } } }
"#,
    right: r#"
machine m { axis X { rail a datum=left { segment 1200 } } }
"#,
    never_conceded: true,
    ..Rule::PLAIN
};
