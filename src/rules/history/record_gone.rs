//! No record goes.

use crate::finding::{Grade, names};
use crate::rules::{Cure, Rule, RuleGroup};

pub(crate) static RULE: Rule = Rule {
    name: names::RECORD_GONE,
    group: RuleGroup::History,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "A record that others have is there still, in any file of its ledger. Of identical ones one may go, and so may a copy of a record of another ledger.",
    why: "What is withdrawn stays in the text with the reason, so that anybody can see what was read and why it does not count.",
    source: "common practice, no source",
    before: r#"
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 { light none; UL 0 -> 0.01; UR 0 -> 0 }
"#,
    wrong: r#"
machine m { axis X { rail a { segment 1200; segment 1200 } } }
"#,
    right: r#"
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 { light none; UL 0 -> 0.01; UR 0 -> 0 }
void inspect X.a.J1 of="2026-04-15" date="2026-04-16" by=engineer-1 reason="read on the wrong joint"
"#,
    never_conceded: true,
    never_stands: true,
    ..Rule::PLAIN
};
