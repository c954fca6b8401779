//! The distance that a carriage has travelled only grows.

use crate::finding::{Grade, Limit, Measure, RuleName};
use crate::ledger::{Body, Target};
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("travel-backwards"),
    group: RuleGroup::Keeping,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "From one service record of an axis to the next the distance travelled does not get less. It counts from nothing again when the axis is released.",
    why: "A distance that ran backwards is a slip of the pen or a counter that was changed, and what is due by distance hangs on it.",
    limits: &[],
    source: "a distance travelled only grows",
    wrong: r#"
machine m { axis X { rail a { segment 1200 } } }
service X date="2026-06-01" by=fitter-2 task=lubricate travelled=(km)480
service X date="2026-07-01" by=fitter-2 task=lubricate travelled=(km)52
"#,
    right: r#"
machine m { axis X { rail a { segment 1200 } } }
service X date="2026-06-01" by=fitter-2 task=lubricate travelled=(km)480
service X date="2026-07-01" by=fitter-2 task=lubricate travelled=(km)520
"#,
    never_conceded: true,
    checks: &[Check::Axes(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, axis: usize, findings: &mut Findings) -> Verdict {
    let mut verdict = Verdict::NotRequired;
    // The last reading since the release, with its record.
    let mut before = None;
    for (index, record) in case.in_order().filter(|(_, record)| record.target == Some(Target::Axis(axis))) {
        let service = match &record.body {
            Body::Release(_) => {
                before = None;
                continue;
            }
            Body::Service(service) => service,
            _ => continue,
        };
        let Some(now) = service.travelled else { continue };
        match before.replace((index, now)) {
            Some((earlier, then)) if *now < *then && case.timeline.certain(&case.records, earlier, index) => {
                findings.add(
                    findings
                        .finding(
                            case.machine.axes[axis].name.as_str(),
                            now.place,
                            format!("{} travelled, and {} before: {} less", *now, *then, *then - *now),
                        )
                        .here("less than before")
                        .also(then.place, "before")
                        .found(Measure::too_small(*now))
                        .limit(Limit {
                            entry: None,
                            text: format!("at least {}", *then),
                            source: "the record before".into(),
                            set_at: Some(then.place),
                        })
                        .next(
                            "correct the one that is wrong; after a counter was changed, add what the old one showed",
                        ),
                );
                verdict = Verdict::Broken;
            }
            _ => verdict = verdict.and(Verdict::Conforms(now.place)),
        }
    }
    verdict
}
