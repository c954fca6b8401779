//! Every bolt of a support finds a hole in the rail.

use super::holes_lacking;
use crate::finding::{Grade, Measure, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::RailId;
use crate::quantity::{Amount, Length};
use crate::rules::{Case, Check, Cure, Findings, Ground, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("bolt-off-hole"),
    group: RuleGroup::Layout,
    grade: Grade::Nonconformity,
    cure: Cure::UntilBuilt,
    what: "Each bolt of a support lies at a hole of the rail, and each support has at least one. No two bolts of a support are in one place.",
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
    follows_from: &[Ground::Described, Ground::Part, Ground::Lengths, Ground::HolePitch],
    checks: &[Check::Rails(bare), Check::Supports(off)],
    ..Rule::PLAIN
};

/// Supports without any hole over them: one finding for each row they are described in.
fn bare(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    if case.rulebook.most::<Length>(LimitName::BoltHoleOffset).is_none() {
        return Verdict::NotRequired;
    }
    let supports = &case.machine.rail(id).supports;
    let is_bare = |index: &usize| supports[*index].bolts.as_ref().is_some_and(|bolts| bolts.is_empty());
    let bare: Vec<usize> = (0..supports.len()).filter(is_bare).collect();
    for together in bare.chunk_by(|a, b| supports[*a].place == supports[*b].place) {
        let first = &supports[together[0]];
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
    match supports.first() {
        None => Verdict::Awaits("no supports are described"),
        Some(support) if support.bolts.is_some() && holes_lacking(case, case.machine.rail(id)).is_none() => {
            Verdict::Conforms(support.place)
        }
        Some(_) => lacking(case, id),
    }
}

/// Why the bolts of a rail are not known: without segments there are no holes yet, whatever their pitch.
fn lacking(case: &Case, id: RailId) -> Verdict {
    match case.machine.rail(id).segments.is_empty() {
        true => Verdict::Awaits("no segments are described"),
        false => Verdict::NotJudged(
            holes_lacking(case, case.machine.rail(id)).unwrap_or("what its supports cover is not described"),
        ),
    }
}

/// Bolts of a support beside their holes.
fn off(case: &Case, id: RailId, index: usize, findings: &mut Findings) -> Verdict {
    let Some((most, limit)) = case.rulebook.most::<Length>(LimitName::BoltHoleOffset) else {
        return Verdict::NotRequired;
    };
    let support = &case.machine.rail(id).supports[index];
    let Some(bolts) = &support.bolts else { return lacking(case, id) };
    if bolts.is_empty() {
        // Its rail tells of the supports without a hole.
        return Verdict::Broken;
    }
    // Described bolts without a hole that is known.
    if bolts.iter().any(|bolt| bolt.hole.is_none()) {
        return lacking(case, id);
    }
    let worst = bolts.iter().enumerate().filter(|(_, bolt)| bolt.off > most);
    let Some((number, bolt)) = worst.max_by_key(|(number, bolt)| (bolt.off, std::cmp::Reverse(*number))) else {
        // The bolts stand in the order of their positions.
        let Some(two) = bolts.windows(2).find(|two| two[0].position == two[1].position) else {
            return Verdict::Conforms(support.place);
        };
        findings.add(
            findings
                .finding(
                    case.machine.support_address(id, index),
                    support.place,
                    format!("two bolts of {} are described in one place, at {}", support.name, two[0].position),
                )
                .here("this support")
                .next("correct the place of one of them, or its sign"),
        );
        return Verdict::Broken;
    };
    let wrong = bolts.iter().filter(|bolt| bolt.off > most).count();
    findings.add(
        findings
            .finding(
                case.machine.support_address(id, index),
                support.place,
                format!("{wrong} of {} bolts are off their holes, bolt {} by {}", bolts.len(), number + 1, bolt.off),
            )
            .here(format!("bolt {} at {}", number + 1, bolt.position))
            .found(Measure::too_large(bolt.off))
            .limit(limit)
            .next(format!("the nearest hole is {} mm away: move the support or its bolts", bolt.off.number())),
    );
    Verdict::Broken
}
