//! The gap is proven to change no faster along the axis than the machine allows.

use super::local_proven::proven;
use crate::finding::{Grade, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{RailId, SurveyKind};
use crate::rules::{About, Case, Check, Cure, Findings, Ground, ReadingKind, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("gap-local-unproven"),
    group: RuleGroup::Gap,
    grade: Grade::Observation,
    cure: Cure::AtMachine,
    what: "In the last survey of the gap, as verified, or as fitted where no shim follows, two stations no farther apart than the length that the local limit holds over differ by less than it by at least the guard band. Repeats narrow the guard band. Where the rulebook requires proof of the gap, it is a nonconformity if they do not, and outstanding where nothing says how sure the gauge is.",
    why: "A difference close to its limit may be beyond it: the gauge is not exact. A step between neighbours hangs on two readings alone.",
    limits: &[LimitName::GapLocal, LimitName::GuardBand, LimitName::Proof, LimitName::ProofOfGap],
    source: "ILAC-G8:09/2019 for w = U; U = k u with u from the gauge's error once, its scatter and graduation twice (GUM 4.3.7, F.2.2.1) and half of what a closure may be; k by GUM G.4 and table G.2",
    wrong: r#"
shop { gauge DI-6 graduation=0.01 local-error=0.005 }
machine m {
    rulebook { gap-local most=0.05 over=500 reason="drawing 118-1" }
    axis X { rail a; rail b follows=a { supports S first=100 pitch=240 count=4 } }
}
survey gap X.b date="2026-04-18" by=inspector-1 gauge=DI-6 stage=verification { at S1 0; at S2 -0.05; at S3 -0.02; at S4 -0.02 }
"#,
    right: r#"
shop { gauge DI-6 graduation=0.01 local-error=0.005 }
machine m {
    rulebook { gap-local most=0.05 over=500 reason="drawing 118-1" }
    axis X { rail a; rail b follows=a { supports S first=100 pitch=240 count=4 } }
}
survey gap X.b date="2026-04-18" by=inspector-1 gauge=DI-6 stage=verification { at S1 0; at S2 -0.03; at S3 -0.02; at S4 -0.02 }
"#,
    judges: &[ReadingKind::Gap],
    about: About::Certainty,
    follows_from: &[Ground::Described, Ground::Instrument],
    checks: &[Check::Rails(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    proven(case, id, SurveyKind::Gap, findings)
}
