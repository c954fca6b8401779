//! A part lies where its records found it.

use crate::finding::{Grade, names};
use crate::rules::{Cure, Rule, RuleGroup};

pub(crate) static RULE: Rule = Rule {
    name: names::PART_ALTERED,
    group: RuleGroup::History,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "A support lies where it lay when its bolts were tightened, it was read in a survey or its shims were laid, and a segment is the one that was tightened and read there, unless they were slackened since. On a released axis the seal says so.",
    why: "A position or a serial number changed under a record makes it speak of a place that nobody touched.",
    source: "common practice, no source",
    before: r#"
machine m { axis X { rail a { segment 1200 serial=K-1; support S1 at=240 length=80 } } }
fasten X.a date="2026-04-14" by=fitter-2 wrench=TW-1 stage=full setting=10.5 { clicked S1 }
"#,
    wrong: r#"
machine m { axis X { rail a { segment 1200 serial=K-1; support S1 at=360 length=80 } } }
fasten X.a date="2026-04-14" by=fitter-2 wrench=TW-1 stage=full setting=10.5 { clicked S1 }
"#,
    right: r#"
machine m { axis X { rail a { segment 1200 serial=K-1; support S1 at=360 length=80 } } }
fasten X.a date="2026-04-14" by=fitter-2 wrench=TW-1 stage=full setting=10.5 { clicked S1 }
loosen X.a.S1 date="2026-05-02" by=fitter-2 reason="the support was moved"
"#,
    never_conceded: true,
    never_stands: true,
    ..Rule::PLAIN
};
