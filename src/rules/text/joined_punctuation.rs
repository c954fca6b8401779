//! Punctuation that became part of a word.

use crate::finding::Grade;
use crate::finding::names;
use crate::rules::{Cure, Rule, RuleGroup};

pub(crate) static RULE: Rule = Rule {
    name: names::JOINED_PUNCTUATION,
    group: RuleGroup::Text,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "No name or value ends in a comma or colon or has curly quotes.",
    why: "KDL reads `J1,` as a name of three letters. It looks right and means something else.",
    limits: &[],
    source: "KDL 2.0.0: commas, colons and curly quotes may be part of a word",
    wrong: r#"
machine m { axis X { rail a { segment 1200 } } }
loosen X.a, date="2026-04-14" by=fitter-2
"#,
    right: r#"
machine m { axis X { rail a { segment 1200 } } }
loosen X.a date="2026-04-14" by=fitter-2
"#,
    never_conceded: true,
    ..Rule::PLAIN
};
