//! Every bolt of a support finds a hole in the rail.

use crate::finding::{Grade, Measure, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{Rail, RailId};
use crate::quantity::{Amount, Length};
use crate::rules::{Case, Check, Cure, Findings, Group, Rule};

pub static RULE: Rule = Rule {
    name: RuleName::new("bolt-off-hole"),
    group: Group::Layout,
    grade: Grade::Nonconformity,
    cure: Cure::UntilBuilt,
    what: "Each bolt of a support lies at a hole of the rail, and each support has at least one.",
    why: "A support without a hole over it holds nothing, and a bolt beside its hole does not go in.",
    limits: &[LimitName::BoltHoleOffset],
    source: "geometry",
    wrong: r#"
shop { profile R20 hole-pitch=60 end-distance=30 }
machine m {
    axis X {
        rail a profile=R20 { segment 1200; support E1 at=120 { bolts -20 20 } }
    }
}
"#,
    right: r#"
shop { profile R20 hole-pitch=60 end-distance=30 }
machine m {
    axis X {
        rail a profile=R20 { segment 1200; support E1 at=120 { bolts -30 30 } }
    }
}
"#,
    checks: &[Check::Ledger(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, findings: &mut Findings) {
    let Some((most, limit)) = case.rulebook.most::<Length>(LimitName::BoltHoleOffset) else { return };
    for (id, _, rail) in case.rails() {
        bare(case, findings, id, rail);
        for (index, support) in rail.supports.iter().enumerate() {
            let Some(bolts) = &support.bolts else { continue };
            if bolts.iter().all(|bolt| bolt.off <= most) {
                continue;
            }
            let Some((number, bolt)) =
                bolts.iter().enumerate().max_by_key(|(number, bolt)| (bolt.off, std::cmp::Reverse(*number)))
            else {
                continue;
            };
            let wrong = bolts.iter().filter(|bolt| bolt.off > most).count();
            findings.add(
                findings
                    .finding(
                        case.machine.support_address(id, index),
                        support.place,
                        format!(
                            "{wrong} of {} bolts are off their holes, bolt {} by {}",
                            bolts.len(),
                            number + 1,
                            bolt.off
                        ),
                    )
                    .here(format!("bolt {} at {}", number + 1, bolt.position))
                    .found(Measure::too_large(bolt.off))
                    .limit(limit)
                    .next(format!("the nearest hole is {} mm away: move the support or its bolts", bolt.off.number())),
            );
        }
    }
}

/// Supports without any hole over them: one finding for each row they are described in.
fn bare(case: &Case, findings: &mut Findings, id: RailId, rail: &Rail) {
    let bare: Vec<usize> = (0..rail.supports.len())
        .filter(|index| rail.supports[*index].bolts.as_ref().is_some_and(|bolts| bolts.is_empty()))
        .collect();
    for together in bare.chunk_by(|a, b| rail.supports[*a].place == rail.supports[*b].place) {
        let first = &rail.supports[together[0]];
        let names = case.ranges(id, together);
        let address = match together {
            [one] => case.machine.support_address(id, *one),
            _ => case.machine.rail_address(id),
        };
        findings.add(
            findings
                .finding(address, first.place, format!("no hole of the rail lies over {names}"))
                .here(format!("{} covers {} to {}", first.name, first.from(), first.to()))
                .next("move the supports to holes, or let them cover more"),
        );
    }
}
