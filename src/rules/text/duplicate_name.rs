//! Two things of one name.

use crate::finding::Grade;
use crate::finding::names;
use crate::rules::{Cure, Ground, Rule, RuleGroup};

pub(crate) static RULE: Rule = Rule {
    name: names::DUPLICATE_NAME,
    group: RuleGroup::Text,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "Names are unique among their kind.",
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
    ..Rule::PLAIN
};
