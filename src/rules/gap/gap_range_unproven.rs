//! The gap's range lies inside its limit by enough to be sure.

use crate::facts::proof::ProvenQuantity;
use crate::finding::{Grade, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{RailId, SurveyKind};
use crate::quantity::Length;
use crate::rules::{About, Case, Check, Cure, Findings, Ground, ReadingKind, Rule, RuleGroup, Verdict};

use super::not_surveyed;
use super::range_proven::{RangeAsked, proven};
use super::reading::length;

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("gap-range-unproven"),
    group: RuleGroup::Gap,
    grade: Grade::Observation,
    cure: Cure::AtMachine,
    what: "The range of the gap in the last survey lies inside its limit by at least the guard band: as verified, or as fitted where no shim follows. Repeats narrow the guard band. Where the rulebook requires proof, it is a nonconformity if it does not, and outstanding where nothing says how sure the gauge is.",
    why: "A range close to its limit may be beyond it: the gauge is not exact. The range of many stations is rather too large than too small, because noise adds to it.",
    limits: &[LimitName::GapRange, LimitName::GuardBand, LimitName::Proof, LimitName::ProofOfGap],
    source: "ILAC-G8:09/2019 for w = U; U = k u with u from the gauge's error once, its scatter and graduation twice (GUM 4.3.7, F.2.2.1) and half of what a closure may be; k by GUM G.4 and table G.2",
    wrong: r#"
shop { gauge DI-6 graduation=0.01 local-error=0.005 }
machine m { axis X { rail a; rail b follows=a { supports S first=100 pitch=240 count=3 } } }
survey gap X.b date="2026-04-18" by=inspector-1 gauge=DI-6 stage=verification { at S1 0; at S2 -0.05; at S3 -0.02 }
"#,
    right: r#"
shop { gauge DI-6 graduation=0.01 local-error=0.005 }
machine m { axis X { rail a; rail b follows=a { supports S first=100 pitch=240 count=3 } } }
survey gap X.b date="2026-04-18" by=inspector-1 gauge=DI-6 stage=verification { at S1 0; at S2 -0.035; at S3 -0.02 }
"#,
    judges: &[ReadingKind::Gap],
    about: About::Certainty,
    follows_from: &[Ground::Described, Ground::Instrument],
    checks: &[Check::Rails(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    let Some((most, limit)) = case.rulebook.most::<Length>(LimitName::GapRange) else { return Verdict::NotRequired };
    let required = case.must_prove(ProvenQuantity::Gap);
    let standing = case.standing(id, SurveyKind::Gap);
    let verdict = match standing.latest().and_then(|record| case.state(record)) {
        Some(readings) if readings.verifies || length(readings.range()) <= most => {
            case.survey_shown(id, readings).into()
        }
        Some(_) => Verdict::Awaits("no verification survey of the gap"),
        None => not_surveyed(case, id, "no gap survey"),
    };
    let ask = RangeAsked {
        kind: SurveyKind::Gap,
        most,
        limit,
        required,
        shims_move_it: true,
        // One as it was fitted is the final one where no shim follows and none is needed.
        judged: |readings, within| readings.verifies || within,
        varies: "the gap varies",
        ends: ["the narrowest place", "the widest place"],
    };
    proven(case, id, &ask, standing.now(), verdict, findings)
}
