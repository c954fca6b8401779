//! What a record stated it states still.

use crate::finding::{Grade, names};
use crate::rules::{Cure, Rule, RuleGroup};

pub(crate) static RULE: Rule = Rule {
    name: names::RECORD_ALTERED,
    group: RuleGroup::History,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "What a record stated that others have, it states still. It may grow: a blank is filled, a row, a repeat, a note or a property that was not stated is added, its day gets a time; it may move to another file of its ledger; text that could not be read may be mended. A change by which a broken verdict is gone is none of these.",
    why: "A record is evidence of what was done and read. Who could rewrite it could make any machine conform. A wrong one is corrected by another record, and both stay.",
    source: "common practice, no source",
    before: r#"
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 { light none; UL 0 -> 0.01; UR 0 -> 0 }
"#,
    wrong: r#"
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 { light none; UL 0 -> 0.001; UR 0 -> 0 }
"#,
    right: r#"
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15T09:10" by=inspector-1 { light none; note "seat still warm"; UL 0 -> 0.01; UR 0 -> 0 }
"#,
    never_conceded: true,
    never_stands: true,
    ..Rule::PLAIN
};
