//! A rail is proven to be straight within each stretch of a length.

use super::local_proven::proven;
use crate::finding::{Grade, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{RailId, SurveyKind};
use crate::rules::{About, Case, Check, Cure, Findings, Ground, ReadingKind, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("straightness-local-unproven"),
    group: RuleGroup::Gap,
    grade: Grade::Observation,
    cure: Cure::AtMachine,
    what: "Within each stretch of the length that the local limit holds over, a rail is straight within it by at least the guard band, in each plane that was read. Where the rulebook requires proof of the straightness, it is a nonconformity if it is not, and outstanding where nothing says how sure the gauge is.",
    why: "The straightness of a short stretch hangs on three readings close to each other. Each may be off.",
    limits: &[LimitName::StraightnessLocal, LimitName::GuardBand, LimitName::Proof, LimitName::ProofOfStraightness],
    source: "ILAC-G8:09/2019 for w = U; u² (1 + a² + (1 − a)²) by GUM 5.1.2 for the three contacts of the minimum zone of ISO 12780-1; k by GUM G.4 and table G.2",
    wrong: r#"
shop { gauge LA-1 graduation=0.001 permissible-error=0.005 plus=right }
machine m {
    rulebook { straightness-local most=0.05 over=500 reason="drawing 118-1" }
    axis X { rail a { supports S first=100 pitch=240 count=4 } }
}
survey straightness X.a date="2026-04-15" by=inspector-1 gauge=LA-1 stage=as-fitted { at S1 0; at S2 0.05; at S3 0; at S4 0 }
"#,
    right: r#"
shop { gauge LA-1 graduation=0.001 permissible-error=0.005 plus=right }
machine m {
    rulebook { straightness-local most=0.05 over=500 reason="drawing 118-1" }
    axis X { rail a { supports S first=100 pitch=240 count=4 } }
}
survey straightness X.a date="2026-04-15" by=inspector-1 gauge=LA-1 stage=as-fitted { at S1 0; at S2 0.03; at S3 0; at S4 0 }
"#,
    judges: &[ReadingKind::Straightness],
    about: About::Certainty,
    follows_from: &[Ground::Described, Ground::Instrument],
    checks: &[Check::Rails(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    proven(case, id, SurveyKind::Straightness, findings)
}
