//! The carriage runs as lightly as is stated.

use crate::facts::running_force;
use crate::finding::{Grade, Measure};
use crate::quantity::Force;
use crate::rules::{Case, Check, Cure, Findings, Group, Rule};

pub static RULE: Rule = Rule {
    name: "running-force",
    group: Group::Inspection,
    grade: Grade::Nonconformity,
    cure: Cure::AtMachine,
    what: "The force that it takes to push the carriage is within the limit at every place where it was read, whichever way it pulls. At each place the latest reading counts, so that a later record of fewer places clears only those, and one that does not count clears none.",
    why: "A carriage that runs heavily at one place is squeezed there: the blocks wear, and the drive has less left for its work.",
    limits: &["running-force"],
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
    check: Check::Ledger(check),
};

/// No support of the axis got its first full torque after a record.
fn stands(case: &Case, axis: usize, record: usize) -> bool {
    let mut rails = case.rails().filter(|(id, ..)| id.axis == axis);
    !rails.any(|(id, _, rail)| case.tightened_since(id, 0..rail.supports.len(), record))
}

fn check(case: &Case, findings: &mut Findings) {
    let Some((most, limit)) = case.rulebook.most::<Force>("running-force") else { return };
    for (index, axis) in case.machine.axes.iter().enumerate() {
        // At each place the last that is over, back to the one that counts.
        let over =
            |reading: &&running_force::Reading| reading.force.abs() > most && stands(case, index, reading.record);
        let places = running_force::since(case, index, |record| case.counts(record));
        for reading in places.values().filter_map(|all| all.iter().rev().find(over)) {
            let found = reading.force.abs();
            findings.add(
                findings
                    .finding(
                        axis.name.to_string(),
                        reading.force.place,
                        format!(
                            "it takes {found} to push the carriage at {}, {} over the limit",
                            *reading.position,
                            found - most
                        ),
                    )
                    .here("read here")
                    .also(case.records[reading.record].place, "in this record")
                    .found(Measure::too_large(found))
                    .limit(limit)
                    .next(format!(
                        "see what squeezes the blocks about {}: joint, gap and height there; then read the force again at all places",
                        *reading.position
                    )),
            );
        }
    }
}
