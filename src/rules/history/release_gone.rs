//! A release is withdrawn in words.

use crate::finding::{Grade, names};
use crate::rules::{Cure, Rule, RuleGroup};

pub(crate) static RULE: Rule = Rule {
    name: names::RELEASE_GONE,
    group: RuleGroup::History,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "A release that others have is there still as it was written, with its seal. It is withdrawn by `void`.",
    why: "Work elsewhere rests on it. A release that can vanish, or be written anew in its old place, was never one.",
    source: "common practice, no source",
    before: r#"
machine m { axis X { rail a { segment 1200; segment 1200 } } }
release X date="2026-04-20" by=engineer-1
"#,
    wrong: r#"
machine m { axis X { rail a { segment 1200; segment 1200 } } }
"#,
    right: r#"
machine m { axis X { rail a { segment 1200; segment 1200 } } }
release X date="2026-04-20" by=engineer-1
void release X of="2026-04-20" date="2026-05-02" by=engineer-2 reason="a wrong drawing"
"#,
    never_conceded: true,
    never_stands: true,
    ..Rule::PLAIN
};
