//! A file of an edition of the language that is not known.

use crate::finding::{Grade, names};
use crate::rules::{Cure, Rule, RuleGroup};

pub(crate) static RULE: Rule = Rule {
    name: names::UNKNOWN_EDITION,
    group: RuleGroup::Text,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "Where a file states the edition of the ledger language that it is written in, this program knows that edition.",
    why: "The words of an edition that is not known may mean something else. Nothing in such a file is read, and nothing of its ledger is judged.",
    limits: &[],
    source: "the editions of the ledger language",
    wrong: r#"
edition 2
machine m { axis X { rail a { segment 1200 } } }
"#,
    right: r#"
edition 1
machine m { axis X { rail a { segment 1200 } } }
"#,
    never_conceded: true,
    ..Rule::PLAIN
};
