//! The gap changes no faster along the axis than the machine allows.

use super::local;
use crate::finding::{Grade, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{RailId, SurveyKind};
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, ReadingKind, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("gap-local"),
    group: RuleGroup::Gap,
    grade: Grade::Nonconformity,
    cure: Cure::AtMachine,
    what: "In the last verification survey of the gap, and in each partial one since, two stations no farther apart than the length that the limit holds over differ by no more than it. Where neighbouring stations lie farther apart than half that length it is not judged. A later survey clears an earlier one where it reads again every station that one read, or is tied to it (station-missing). A later survey that does not count clears nothing, and stations beside a support that was loosened, or first tightened, since are left out.",
    why: "A gap that changes by its whole range within a block or two forces them against each other, where the same change over metres only leads the carriage aside.",
    limits: &[LimitName::GapLocal],
    holds: &[LimitName::GapLocal],
    source: "none until the shop or machine states a limit",
    wrong: r#"
machine m {
    rulebook { gap-local most=0.02 over=500 reason="drawing 118-1" }
    axis X { rail a; rail b follows=a shims=widen { supports S first=100 pitch=240 count=4 } }
}
survey gap X.b date="2026-04-18" by=inspector-1 stage=verification { at S1 0; at S2 -0.01; at S3 -0.03; at S4 -0.03 }
"#,
    right: r#"
machine m {
    rulebook { gap-local most=0.02 over=500 reason="drawing 118-1" }
    axis X { rail a; rail b follows=a shims=widen { supports S first=100 pitch=240 count=4 } }
}
survey gap X.b date="2026-04-18" by=inspector-1 stage=verification { at S1 0; at S2 -0.01; at S3 -0.02; at S4 -0.03 }
"#,
    judges: &[ReadingKind::Gap],
    about_each_place: true,
    checks: &[Check::Rails(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    local::judged(case, id, SurveyKind::Gap, case.rulebook.most::<Length>(LimitName::GapLocal), findings)
}
