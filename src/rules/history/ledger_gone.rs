//! A ledger goes with all it holds, or not at all.

use crate::finding::{Grade, names};
use crate::rules::{Cure, Rule, RuleGroup};

pub(crate) static RULE: Rule = Rule {
    name: names::LEDGER_GONE,
    group: RuleGroup::History,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "A ledger with records that others have is a ledger still, or was moved with all its records; and no ledger inside a released one takes files from it.",
    why: "A folder whose `machine.kdl` is gone or has another name is no ledger any more, and nothing in it is checked.",
    source: "common practice, no source",
    before: r#"
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 { light none; UL 0 -> 0.01; UR 0 -> 0 }
"#,
    wrong: r#"
// file: MACHINE.kdl
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 { light none; UL 0 -> 0.01; UR 0 -> 0 }
"#,
    right: r#"
// a remark
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 { light none; UL 0 -> 0.01; UR 0 -> 0 }
"#,
    never_conceded: true,
    never_stands: true,
    ..Rule::PLAIN
};
