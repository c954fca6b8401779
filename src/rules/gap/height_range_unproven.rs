//! The height's range lies inside its limit by enough to be sure.

use crate::facts::proof::ProvenQuantity;
use crate::finding::{Grade, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{RailId, ShimSense, SurveyKind};
use crate::quantity::Length;
use crate::rules::{About, Case, Check, Cure, Findings, Ground, ReadingKind, Rule, RuleGroup, Verdict};

use super::not_surveyed;
use super::range_proven::{RangeAsked, proven};
use super::reading::SurveyReadings;

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("height-range-unproven"),
    group: RuleGroup::Gap,
    grade: Grade::Observation,
    cure: Cure::AtMachine,
    what: "The range of the height between two rails lies inside its limit by at least the guard band; where shims lift the rail, once they are verified. Where the rulebook requires proof, it is a nonconformity if it does not, and outstanding where nothing says how sure the gauge is.",
    why: "A height close to its limit may be beyond it: the gauge is not exact, and no two readings of it are quite alike.",
    limits: &[LimitName::HeightRange, LimitName::GuardBand, LimitName::Proof, LimitName::ProofOfHeight],
    source: "ILAC-G8:09/2019 for w = U; U = k u with u from the gauge's error once, its scatter and graduation twice (GUM 4.3.7, F.2.2.1); k by GUM G.4 and table G.2",
    wrong: r#"
shop { gauge HT-1 graduation=0.001 permissible-error=0.005 }
machine m {
    rulebook { height-range most=0.04 reason="drawing 118-1" }
    axis X { rail a; rail b follows=a { supports S first=100 pitch=240 count=3 } }
}
survey height X.b date="2026-04-15" by=inspector-1 gauge=HT-1 stage=as-fitted { at S1 0; at S2 0.04; at S3 0.01 }
"#,
    right: r#"
shop { gauge HT-1 graduation=0.001 permissible-error=0.005 }
machine m {
    rulebook { height-range most=0.04 reason="drawing 118-1" }
    axis X { rail a; rail b follows=a { supports S first=100 pitch=240 count=3 } }
}
survey height X.b date="2026-04-15" by=inspector-1 gauge=HT-1 stage=as-fitted { at S1 0; at S2 0.03; at S3 0.01 }
"#,
    judges: &[ReadingKind::Height],
    about: About::Certainty,
    follows_from: &[Ground::Described, Ground::Instrument],
    checks: &[Check::Rails(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    let Some((most, limit)) = case.rulebook.most::<Length>(LimitName::HeightRange) else { return Verdict::NotRequired };
    let lifts = case.machine.rail(id).shims.is_some_and(|sense| *sense == ShimSense::Lift);
    let standing = case.standing(id, SurveyKind::Height);
    let verdict = match standing.latest().and_then(|record| case.state(record)) {
        Some(readings) if readings.verifies || !lifts => case.survey_shown(id, readings).into(),
        Some(_) => Verdict::Awaits("no verification survey of the height"),
        None => not_surveyed(case, id, "no height survey"),
    };
    let any: fn(&SurveyReadings, bool) -> bool = |_, _| true;
    let ask = RangeAsked {
        kind: SurveyKind::Height,
        most,
        limit,
        required: case.must_prove(ProvenQuantity::Height),
        shims_move_it: lifts,
        judged: if lifts { |readings, within| readings.verifies || within } else { any },
        varies: "the height varies",
        ends: ["the lowest place", "the highest place"],
    };
    proven(case, id, &ask, standing.now(), verdict, findings)
}
