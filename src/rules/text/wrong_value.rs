//! A value of the wrong kind.

use crate::finding::Grade;
use crate::finding::names;
use crate::rules::{Cure, Rule, RuleGroup};

pub(crate) static RULE: Rule = Rule {
    name: names::WRONG_VALUE,
    group: RuleGroup::Text,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "Every value is of the type, in the range and among the words its place allows. Of two ends of a span the lower one is not above the upper one.",
    why: "A value that cannot be read is a fact that is not there.",
    limits: &[],
    source: "schema/language.md",
    wrong: r#"
machine m {
    axis X {
        rail a datum=port { segment -1200 }
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
