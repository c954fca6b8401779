//! The carriage runs as lightly as is stated.

use crate::facts::running_force::{self, ForceAtPosition};
use crate::finding::{Finding, Grade, Measure, RuleName};
use crate::language::rulebook::LimitName;
use crate::quantity::Force;
use crate::rules::facts::Shown;
use crate::rules::{Case, Check, Cure, Findings, ReadingKind, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("running-force"),
    group: RuleGroup::Inspection,
    grade: Grade::Nonconformity,
    cure: Cure::AtMachine,
    what: "The force that it takes to push the carriage is within the limit at every place where it was read, whichever way it pulls. Of repeats at a place the mean of their sizes is held against it. At each place the latest reading counts, so that a later record of fewer places clears only those, and one that does not count clears none.",
    why: "A carriage that runs heavily at one place is squeezed there: the blocks wear, and the drive has less left for its work.",
    limits: &[LimitName::RunningForce],
    holds: &[LimitName::RunningForce],
    source: "none until the shop or machine states a limit",
    wrong: r#"
machine m {
    rulebook { running-force most=20 reason="drive sized for 20 N" }
    axis X { rail a { segment 1200; supports S first=120 pitch=240 count=5 } }
}
running-force X date="2026-04-16" by=inspector-1 { at 300 14; at 600 40 }
"#,
    right: r#"
machine m {
    rulebook { running-force most=20 reason="drive sized for 20 N" }
    axis X { rail a { segment 1200; supports S first=120 pitch=240 count=5 } }
}
running-force X date="2026-04-16" by=inspector-1 { at 300 14; at 600 20 }
"#,
    judges: &[ReadingKind::RunningForce],
    checks: &[Check::Axes(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, axis: usize, findings: &mut Findings) -> Verdict {
    let Some((most, limit)) = case.rulebook.most::<Force>(LimitName::RunningForce) else { return Verdict::NotRequired };
    let mut verdict = Verdict::Awaits("the running force is not read");
    // At each place the last that is over, back to the one that counts.
    let places = running_force::since(case, axis, |record| case.counts(record));
    // Mostly all places are of one record.
    let mut known: Option<(usize, Shown)> = None;
    for (number, all) in places.values().enumerate() {
        let over = |reading: &&ForceAtPosition| reading.size > most && stands(case, axis, reading.record);
        if let Some(reading) = all.iter().rev().find(over) {
            findings.add(heavy(case, findings, axis, reading, most).limit(limit));
        }
        let Some(latest) = all.last() else { continue };
        let shown = match known {
            Some((record, shown)) if record == latest.record => shown,
            _ => shown(case, axis, latest.record),
        };
        known = Some((latest.record, shown));
        let own = Verdict::from(shown);
        verdict = if number == 0 { own } else { verdict.and(own) };
    }
    verdict
}

/// No support of the axis got its first full torque after a record.
fn stands(case: &Case, axis: usize, record: usize) -> bool {
    let mut rails = case.rails().filter(|(id, ..)| id.axis == axis);
    !rails.any(|(id, _, rail)| case.tightened_since(id, 0..rail.supports.len(), record))
}

/// What a record read counts, and says how the carriage runs now.
pub(super) fn shown(case: &Case, axis: usize, record: usize) -> Shown {
    let mut rails = case.rails().map(|(id, ..)| id).filter(|id| id.axis == axis);
    if !case.counts(record) {
        Err("a place is not read with a gauge that can vouch for it")
    } else if rails.any(|id| case.slackened_since(id, record)) || !stands(case, axis, record) {
        Err("a place is not read since a support was loosened or first tightened")
    } else {
        Ok(case.records[record].place)
    }
}

/// What is said of a number that is the mean of repeats.
pub(super) fn mean(reading: &ForceAtPosition) -> String {
    match reading.row.forces.len() {
        1 => String::new(),
        many => format!(", the mean of {many} readings,"),
    }
}

fn heavy(case: &Case, findings: &Findings, axis: usize, reading: &ForceAtPosition, most: Force) -> Finding {
    let found = reading.row.told();
    let at = *reading.row.position;
    findings
        .finding(
            case.machine.axes[axis].name.to_string(),
            reading.row.forces[0].place,
            format!("it takes {found}{} to push the carriage at {at}, {} over the limit", mean(reading), found - most),
        )
        .here("read here")
        .also(case.records[reading.record].place, "in this record")
        .found(Measure::too_large(found))
        .next(format!(
            "see what squeezes the blocks about {at}: joint, gap and height there; then read the force again at all places"
        ))
}
