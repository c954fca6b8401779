//! A node the language does not have.

use crate::finding::Grade;
use crate::finding::names;
use crate::rules::{Cure, Rule, RuleGroup};

pub(crate) static RULE: Rule = Rule {
    name: names::UNKNOWN_NODE,
    group: RuleGroup::Text,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "Every node is one the language knows at its place.",
    why: "A misspelt node is passed over, and what it says is not judged.",
    limits: &[],
    source: "schema/language.md",
    wrong: r#"
machine m {
    axis X {
        rail a { segmnet 1200 }
    }
}
"#,
    right: r#"
machine m {
    axis X {
        rail a { segment 1200 }
    }
}
"#,
    never_conceded: true,
    ..Rule::PLAIN
};
