//! A property its node does not have.

use crate::finding::Grade;
use crate::finding::names;
use crate::rules::{Cure, Rule, RuleGroup};

pub(crate) static RULE: Rule = Rule {
    name: names::UNKNOWN_PROPERTY,
    group: RuleGroup::Text,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "Every property is one its node knows.",
    why: "A misspelt property is passed over, and what it says is not judged.",
    limits: &[],
    source: "schema/language.md",
    wrong: r#"
machine m {
    axis X {
        rail a datun=left { segment 1200 }
    }
}
"#,
    right: r#"
machine m {
    axis X {
        rail a datum=left { segment 1200 }
    }
}
"#,
    never_conceded: true,
    ..Rule::PLAIN
};
