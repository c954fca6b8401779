//! What is stated of a person stays.

use crate::finding::{Grade, names};
use crate::rules::{Cure, Rule, RuleGroup};

pub(crate) static RULE: Rule = Rule {
    name: names::PERSON_ALTERED,
    group: RuleGroup::History,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "A person whom others know from the file of a shop is declared there still, with all that was stated of them: what they may do, and their keys, on the same days. More may be added, and the day until which something holds.",
    why: "What was signed under a name rests on it. Who may give the right to release to himself by a change of one word can release anything.",
    source: "common practice, no source",
    before: r#"
machine m { axis X { rail a { segment 1200; segment 1200 } } }
shop { person fitter-2; person engineer-1 { may release } }
"#,
    wrong: r#"
machine m { axis X { rail a { segment 1200; segment 1200 } } }
shop { person fitter-2 { may release }; person engineer-1 }
"#,
    right: r#"
machine m { axis X { rail a { segment 1200; segment 1200 } } }
shop { person fitter-2; person engineer-1 { may release until="2026-12-31" }; person engineer-2 { may release } }
"#,
    never_conceded: true,
    never_stands: true,
    ..Rule::PLAIN
};
