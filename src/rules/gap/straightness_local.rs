//! A rail is straight within each stretch of a length.

use super::local;
use crate::finding::{Grade, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{RailId, SurveyKind};
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, ReadingKind, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("straightness-local"),
    group: RuleGroup::Gap,
    grade: Grade::Nonconformity,
    cure: Cure::AtMachine,
    what: "Within each stretch of the length that the limit holds over the stations of the last straightness survey lie between two parallel lines no farther apart than it, in each plane that was read. Where neighbouring stations lie farther apart than half that length it is not judged. A later survey clears an earlier one where it reads again every station that one read, or is tied to it (station-missing). A later survey that does not count clears nothing, and stations beside a support that was loosened, or first tightened, since are left out.",
    why: "A rail may lie within its zone over many metres and have all of it in one short kink, which the blocks have to follow.",
    limits: &[LimitName::StraightnessLocal],
    holds: &[LimitName::StraightnessLocal],
    source: "ISO 12780-1: minimum zone; the length is the shop's or the machine's",
    wrong: r#"
machine m {
    rulebook { straightness-local most=0.02 over=500 reason="drawing 118-1" }
    axis X { rail a { supports S first=100 pitch=240 count=4 } }
}
survey straightness X.a date="2026-04-15" by=inspector-1 stage=as-fitted { at S1 0; at S2 0.03; at S3 0; at S4 0.01 }
"#,
    right: r#"
machine m {
    rulebook { straightness-local most=0.02 over=500 reason="drawing 118-1" }
    axis X { rail a { supports S first=100 pitch=240 count=4 } }
}
survey straightness X.a date="2026-04-15" by=inspector-1 stage=as-fitted { at S1 0; at S2 0.02; at S3 0; at S4 0.01 }
"#,
    judges: &[ReadingKind::Straightness],
    about_each_place: true,
    checks: &[Check::Rails(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    local::judged(
        case,
        id,
        SurveyKind::Straightness,
        case.rulebook.most::<Length>(LimitName::StraightnessLocal),
        findings,
    )
}
