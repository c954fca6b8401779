//! What is stated of a fastener is what a fastener can have.

use super::shown;
use crate::finding::{Grade, Measure, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{Fastener, TorqueWindow};
use crate::rules::quotient::{Quotient, WHOLE};
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("fastener-implausible"),
    group: RuleGroup::Fitting,
    grade: Grade::Observation,
    cure: Cure::Writing,
    what: "The torque windows that a fastener states itself are narrow enough to hold something, the snug torque lies below the full torque, and its friction coefficients are those of bolts. It is asked of every fastener of the shop, used or not.",
    why: "A window of 2 to 22 N·m lets nearly every torque pass. What a slipped decimal point did to a fastener is seen here, before the first bolt is tightened by it.",
    limits: &[LimitName::WindowSpan, LimitName::BoltFriction],
    source: "common practice, no source; friction classes of VDI 2230-1, from memory",
    wrong: r#"
shop { fastener b thread=M8 class="8.8" { full least=2 most=22 reason="drawing 118-3" } }
machine m { axis X { rail a { segment 1200 } } }
"#,
    right: r#"
shop { fastener b thread=M8 class="8.8" { full least=20 most=22 reason="drawing 118-3" } }
machine m { axis X { rail a { segment 1200 } } }
"#,
    checks: &[Check::Machine(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, findings: &mut Findings) -> Verdict {
    let mut verdict = Verdict::NotRequired;
    for fastener in case.shop.fasteners.iter() {
        for window in [&fastener.full, &fastener.snug].into_iter().flatten() {
            verdict = Verdict::Conforms(window.place);
            span(case, fastener, window, findings);
        }
        if let (Some(full), Some(snug)) = (&fastener.full, &fastener.snug)
            && snug.most > full.least
        {
            findings.add(
                findings
                    .finding(
                        "",
                        snug.place,
                        format!("the snug torque of `{}` reaches {}, above its least full torque", *fastener.name, shown(snug.most)),
                    )
                    .here("snug")
                    .also(full.place, format!("full from {}", shown(full.least)))
                    .found(Measure::too_large(snug.most))
                    .next("correct the window that is wrong: snug pulls the rail to its datum faces, full torque comes after"),
            );
        }
        friction(case, fastener, findings);
    }
    verdict
}

fn span(case: &Case, fastener: &Fastener, window: &TorqueWindow, findings: &mut Findings) {
    let quotient = Quotient { of: window.most.0, per: window.least.0 };
    let Some((found, limit)) = quotient.beyond(case.rulebook, LimitName::WindowSpan) else { return };
    let (least, most) = (shown(window.least), shown(window.most));
    findings.add(
        findings
            .finding(
                "",
                window.place,
                format!("the window of `{}` from {least} to {most} holds nothing", *fastener.name),
            )
            .here("this window")
            .found(found)
            .limit(limit)
            .next("correct the end that slipped, or narrow the window"),
    );
}

fn friction(case: &Case, fastener: &Fastener, findings: &mut Findings) {
    let Some((low, high)) = fastener.friction else { return };
    for value in [low, high] {
        let quotient = Quotient { of: value.0.into(), per: WHOLE };
        let Some((found, limit)) = quotient.beyond(case.rulebook, LimitName::BoltFriction) else { continue };
        findings.add(
            findings
                .finding(
                    "",
                    value.place,
                    format!("a friction of {} is none of a bolt, at `{}`", *value, *fastener.name),
                )
                .here("stated here")
                .found(found)
                .limit(limit)
                .next("correct the coefficient; dry and oiled steel lie between 0.08 and 0.20"),
        );
    }
}
