//! A revision of a design says what it said when machines were built to it.

use crate::finding::{Grade, names};
use crate::rules::{Cure, Rule, RuleGroup};

pub(crate) static RULE: Rule = Rule {
    name: names::DESIGN_ALTERED,
    group: RuleGroup::History,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "A revision of a design that a machine with records is built to says what it said. What is to be otherwise is a new revision beside it, and a machine that was changed to it says since when. On a released axis the seal says so.",
    why: "Changed under machines that are built, a design makes their records speak of places that nobody touched.",
    source: "ISO 9001:2015, 8.3.6: changes of a design are identified and controlled; from memory",
    before: r#"
design d revision=1 { axis X { rail a { segment 1200; support S1 at=240 length=80 } } }
machine m { built-to d revision=1 }
fasten X.a date="2026-04-14" by=fitter-2 wrench=TW-1 stage=full setting=10.5 { clicked S1 }
"#,
    wrong: r#"
design d revision=1 { axis X { rail a { segment 1200; support S1 at=360 length=80 } } }
machine m { built-to d revision=1 }
fasten X.a date="2026-04-14" by=fitter-2 wrench=TW-1 stage=full setting=10.5 { clicked S1 }
"#,
    right: r#"
design d revision=1 { axis X { rail a { segment 1200; support S1 at=240 length=80 } } }
design d revision=2 { axis X { rail a { segment 1200; support S1 at=360 length=80 } } }
machine m { built-to d revision=1; built-to d revision=2 since="2026-05-02" }
fasten X.a date="2026-04-14" by=fitter-2 wrench=TW-1 stage=full setting=10.5 { clicked S1 }
"#,
    never_conceded: true,
    never_stands: true,
    ..Rule::PLAIN
};
