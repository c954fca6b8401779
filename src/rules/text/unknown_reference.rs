//! A name that nothing has.

use crate::finding::Grade;
use crate::finding::names;
use crate::rules::{Cure, Rule, RuleGroup};

pub(crate) static RULE: Rule = Rule {
    name: names::UNKNOWN_REFERENCE,
    group: RuleGroup::Text,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "Every name that is cited is described: axes, rails, joints, supports, gauges, wrenches, profiles, withdrawn records.",
    why: "A record about a support that does not exist proves nothing about the one that was meant.",
    limits: &[],
    source: "schema/language.md",
    wrong: r#"
machine m { axis X { rail a { segment 1200 } } }
loosen X.b date="2026-04-14" by=fitter-2
"#,
    right: r#"
machine m { axis X { rail a { segment 1200 } } }
loosen X.a date="2026-04-14" by=fitter-2
"#,
    never_conceded: true,
    ..Rule::PLAIN
};
