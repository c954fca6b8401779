//! Supports stand no further apart than is allowed.

use crate::finding::{Grade, Measure, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::RailId;
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("support-spacing"),
    group: RuleGroup::Layout,
    grade: Grade::Nonconformity,
    cure: Cure::UntilBuilt,
    what: "From one support to the next is no more than the rulebook allows.",
    why: "Between two supports the rail is a beam: it sags under the block, eight times as much over twice the span.",
    limits: &[LimitName::SupportSpacing],
    holds: &[LimitName::SupportSpacing],
    source: "none until the shop or machine states one: it follows from rail, load and beam",
    wrong: r#"
machine m {
    rulebook { support-spacing most=250 reason="sag under the head" }
    axis X { rail a { segment 1200; supports S first=120 pitch=240 count=5 { omit S3 } } }
}
"#,
    right: r#"
machine m {
    rulebook { support-spacing most=250 reason="sag under the head" }
    axis X { rail a { segment 1200; supports S first=120 pitch=240 count=5 } }
}
"#,
    checks: &[Check::Supports(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, index: usize, findings: &mut Findings) -> Verdict {
    let Some((most, limit)) = case.rulebook.most::<Length>(LimitName::SupportSpacing) else {
        return Verdict::NotRequired;
    };
    let supports = &case.machine.rail(id).supports;
    // The first of a rail follows none.
    let Some(before) = index.checked_sub(1) else { return Verdict::NotRequired };
    let (a, b) = (&supports[before], &supports[index]);
    let apart = b.at - a.at;
    if apart <= most {
        return Verdict::Conforms(b.place);
    }
    let mut finding = findings
        .finding(
            case.machine.support_address(id, index),
            b.place,
            format!("{} stands {apart} from {}, {} too far", b.name, a.name, apart - most),
        )
        .here(format!("{} at {}", b.name, b.at))
        .found(Measure::too_large(apart))
        .limit(limit)
        .next("put a support between them, or move them together");
    if a.place != b.place {
        finding = finding.also(a.place, format!("{} at {}", a.name, a.at));
    }
    findings.add(finding);
    Verdict::Broken
}
