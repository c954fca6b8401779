//! The load ratings of a block fit together.

use crate::finding::{Grade, RuleName};
use crate::language::rulebook::LimitName;
use crate::rules::quotient::Quotient;
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("block-implausible"),
    group: RuleGroup::Layout,
    grade: Grade::Observation,
    cure: Cure::UntilBuilt,
    what: "The static load rating C0 of a block is its dynamic one C or some times that.",
    why: "Life grows with the third power of C. A decimal point that slipped in one of the two makes it a thousandfold, and the other one shows it.",
    limits: &[LimitName::LoadRatings],
    source: "from memory of makers' tables for profile rails; ISO 14728 for what the ratings mean",
    wrong: r#"
shop { block B20 C=(kN)181 C0=(kN)29.5 }
machine m { axis X { rail a { segment 1200 } } }
"#,
    right: r#"
shop { block B20 C=(kN)18.1 C0=(kN)29.5 }
machine m { axis X { rail a { segment 1200 } } }
"#,
    checks: &[Check::Machine(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, findings: &mut Findings) -> Verdict {
    let mut verdict = Verdict::NotRequired;
    for block in case.shop.blocks.iter() {
        let (Some(dynamic), Some(resting)) = (block.dynamic, block.static_) else { continue };
        verdict = Verdict::Conforms(resting.place);
        let quotient = Quotient { of: resting.0, per: dynamic.0 };
        let Some((found, limit)) = quotient.beyond(case.rulebook, LimitName::LoadRatings) else { continue };
        let message = format!("C0 of {} does not fit C of {} at block `{}`", *resting, *dynamic, *block.name);
        findings.add(
            findings
                .finding("", resting.place, message)
                .here("static")
                .also(dynamic.place, "dynamic")
                .found(found)
                .limit(limit)
                .next("read the maker's table again, and correct the one that slipped or its unit"),
        );
    }
    verdict
}
