//! A fastener that states a torque window of its own says all that the window can be judged by.

use crate::finding::{Grade, Measure, RuleName};
use crate::ledger::Fastener;
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("fastener-unfinished"),
    group: RuleGroup::Fitting,
    grade: Grade::Observation,
    cure: Cure::Writing,
    what: "A fastener of the shop that states a torque window of its own states both, snug and full, and its thread, class, head, friction, and what it is screwed into; where it states the most torque that its thread stands, that is enough. It is asked before a rail uses it.",
    why: "A window is only as good as the bolt it is for. Without the class nobody can tell whether 22 N·m hold, stretch or break it, and one window without the other leaves the bolts without a torque to begin or to end with.",
    limits: &[],
    source: "VDI 2230-1: what the tightening torque of a bolt is computed from",
    wrong: r#"
shop { fastener b thread=M8 head=hexagon into=steel { friction 0.12 0.14; full least=20 most=22 reason="drawing 118-3"; snug least=2 most=4 reason="drawing 118-3" } }
machine m { axis X { rail a { segment 1200 } } }
"#,
    right: r#"
shop { fastener b thread=M8 class="8.8" head=hexagon into=steel { friction 0.12 0.14; full least=20 most=22 reason="drawing 118-3"; snug least=2 most=4 reason="drawing 118-3" } }
machine m { axis X { rail a { segment 1200 } } }
"#,
    checks: &[Check::Machine(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, findings: &mut Findings) -> Verdict {
    let mut verdict = Verdict::NotRequired;
    for fastener in case.shop.fasteners.iter() {
        if fastener.full.is_none() && fastener.snug.is_none() {
            continue;
        }
        let lacking = lacking(fastener);
        if lacking.is_empty() {
            verdict = Verdict::Conforms(fastener.name.place);
            continue;
        }
        let name = fastener.name.as_str();
        findings.add(
            findings
                .finding(
                    "",
                    fastener.name.place,
                    format!("`{name}` states a torque window of its own, and not its {}", lacking.join(", ")),
                )
                .here("this fastener")
                .found(Measure::too_large(lacking.len()))
                .next("add what the drawing or the maker's sheet says; where the maker states the most torque of the thread, most-torque=…"),
        );
    }
    verdict
}

/// What a fastener does not state of that which its windows are judged by.
fn lacking(fastener: &Fastener) -> Vec<&'static str> {
    let by_maker = fastener.most_torque.is_some();
    let stated = [
        ("full window", fastener.full.is_some()),
        ("snug window", fastener.snug.is_some()),
        ("thread", by_maker || fastener.thread.is_some()),
        ("class", by_maker || fastener.class.is_some()),
        ("head", by_maker || fastener.head.is_some()),
        ("friction", by_maker || fastener.friction.is_some()),
        ("threaded part (into)", by_maker || fastener.into.is_some()),
    ];
    stated.into_iter().filter(|(_, stated)| !stated).map(|(what, _)| what).collect()
}
