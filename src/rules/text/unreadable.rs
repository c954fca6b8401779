//! Text that is not KDL.

use crate::finding::Grade;
use crate::finding::names;
use crate::rules::{Cure, Rule, RuleGroup};

pub(crate) static RULE: Rule = Rule {
    name: names::UNREADABLE,
    group: RuleGroup::Text,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "The text can be read as KDL 2.",
    why: "A place that cannot be read holds a fact that nobody sees. The rest of the file is still read and judged.",
    limits: &[],
    source: "KDL 2.0.0",
    wrong: r#"
machine m {
    axis X {
        rail a { segment 1200; segment 12OO }
    }
}
"#,
    right: r#"
machine m {
    axis X {
        rail a { segment 1200; segment 1200 }
    }
}
"#,
    never_conceded: true,
    ..Rule::PLAIN
};
