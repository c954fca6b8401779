//! No reading of the running force stands out of its record like a slip of the pen.

use crate::finding::{Grade, Measure, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{Body, ForceRow};
use crate::quantity::Force;
use crate::rules::quotient::Quotient;
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("force-jump"),
    group: RuleGroup::Inspection,
    grade: Grade::Observation,
    cure: Cure::Writing,
    what: "Each running force of a record of three places or more is near the middle one of that record: not many times it, not a small part of it, and no single one of the other sign. One finding a record.",
    why: "140 N between 14 N and 15 N is a slipped decimal point, or a carriage that is squeezed at that place. 1.4 N hides the place.",
    limits: &[LimitName::ForceJump],
    source: "our own choice",
    wrong: r#"
machine m { axis X { rail a { segment 2400 } } }
running-force X date="2026-04-16" by=inspector-1 { at 300 14; at 600 1.4; at 900 15 }
"#,
    right: r#"
machine m { axis X { rail a { segment 2400 } } }
running-force X date="2026-04-16" by=inspector-1 { at 300 14; at 600 14; at 900 15 }
"#,
    checks: &[Check::Records(check)],
    ..Rule::PLAIN
};

/// Of fewer places nobody knows which one stands out.
const FEWEST: usize = 3;

fn check(case: &Case, index: usize, findings: &mut Findings) -> Verdict {
    let record = &case.records[index];
    let Body::RunningForce(run) = &record.body else { return Verdict::NotRequired };
    if run.rows.len() < FEWEST {
        return Verdict::NotRequired;
    }
    let mut sizes: Vec<Force> = run.rows.iter().map(ForceRow::size).collect();
    sizes.sort_unstable();
    let middle = sizes[sizes.len() / 2];
    let mut backward = run.forces().filter(|force| force.0 < 0);
    let mut forward = run.forces().filter(|force| force.0 > 0);
    let lone = match (forward.next(), forward.next(), backward.next(), backward.next()) {
        (_, Some(_), Some(one), None) | (Some(one), None, _, Some(_)) => Some(one.place),
        _ => None,
    };
    let mut first = None;
    let mut count = 0;
    for row in &run.rows {
        let (size, of) = (row.size().0, middle.0);
        let (above, below) = (Quotient { of: size, per: of }, Quotient { of, per: size });
        let beyond = above.beyond(case.rulebook, LimitName::ForceJump);
        let far = beyond.or_else(|| below.beyond(case.rulebook, LimitName::ForceJump)).map(|(_, limit)| limit);
        let alone = row.forces.iter().find(|force| lone == Some(force.place)).map(|force| (force.value, force.place));
        // What stands out of repeats is their mean.
        let mean = || match &row.forces[..] {
            [one] => (one.value, one.place),
            _ => (row.told(), row.place),
        };
        if let Some(force) = alone.or_else(|| far.is_some().then(mean)) {
            count += 1;
            first.get_or_insert((row.position, force, far));
        }
    }
    if let Some((position, (force, place), far)) = first {
        let more = if count > 1 { format!("; {} more stand out", count - 1) } else { String::new() };
        let address = record.address();
        let message = format!("{} at {}, where half of the record lies at {middle} or above{more}", force, *position);
        let mut finding = findings
            .finding(address, place, message)
            .here("stands out of its record")
            .found(Measure::too_large(force.abs()))
            .next(
                "correct the force; where it is right, see what squeezes or frees the blocks there, and read it again",
            );
        if let Some(limit) = far {
            finding = finding.limit(limit);
        }
        findings.add(finding);
    }
    Verdict::Conforms(record.place)
}
