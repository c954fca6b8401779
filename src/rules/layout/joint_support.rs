//! Under every joint stands a support that holds both rail ends.

use crate::calc::layout::clearance::joint_support_least;
use crate::finding::{Grade, Limit, Measure, RuleName, counted};
use crate::language::rulebook::LimitName;
use crate::ledger::{Rail, RailId, joint_support_line};
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, Ground, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("joint-support"),
    group: RuleGroup::Layout,
    grade: Grade::Nonconformity,
    cure: Cure::UntilBuilt,
    what: "Each joint has a joint support: centred under it, long enough, with enough bolts in each rail end. Where the profile states no bolt-edge, bolts count up to the very ends of the support: too few are told, and enough are not judged. Where the rail says `seat=continuous`, its joints lie on the bed and need none; one that is described all the same is judged.",
    why: "Two rail ends stay level only on one common seat that holds both. One bolt an end lets it turn.",
    limits: &[LimitName::JointBolts, LimitName::JointSupportOffset],
    holds: &[LimitName::JointBolts, LimitName::JointSupportOffset],
    source: "common practice, no source; the least length is geometry",
    wrong: r#"
shop { profile R20 hole-pitch=60 end-distance=30 }
machine m {
    axis X { rail a profile=R20 { segment 1200; segment 1200; joint-support J1 at=1200 length=80 } }
}
"#,
    right: r#"
shop { profile R20 hole-pitch=60 end-distance=30 bolt-edge=10 }
machine m {
    axis X { rail a profile=R20 { segment 1200; segment 1200; joint-support J1 at=1200 length=200 } }
}
"#,
    follows_from: &[Ground::Described, Ground::Part, Ground::Lengths, Ground::CountedHoles],
    checks: &[Check::Joints(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, joint: usize, findings: &mut Findings) -> Verdict {
    let rail = case.machine.rail(id);
    // A rail of which no support is described yet is not laid out yet.
    if rail.supports.is_empty() {
        return Verdict::Awaits("no supports are described");
    }
    let Some(support) = rail.joints[joint].support else {
        if let Some(seat) = rail.continuous_seat() {
            return Verdict::Conforms(seat);
        }
        missing(case, findings, id, rail, joint);
        return Verdict::Broken;
    };
    centred(case, findings, id, rail, joint, support);
    let before = rail.joints[joint].before;
    let some_missing = rail.segments[before..].iter().take(2).any(|segment| segment.holes.is_empty());
    if let Some(lacking) = some_missing.then(|| super::holes_lacking(case, rail)).flatten() {
        return Verdict::NotJudged(lacking);
    }
    bolts(case, findings, id, rail, joint, support);
    let under = &rail.supports[support];
    // Counted up to its very ends it holds the most bolts that it may: too few are too few, enough may be too many.
    let edge = super::profile(case, rail).and_then(|profile| profile.bolt_edge);
    match &under.bolts {
        Some(_) if under.bolts_counted && edge.is_none() => {
            Verdict::NotJudged("the bolt-edge of its profile is not stated")
        }
        Some(_) => Verdict::Conforms(under.place),
        None => Verdict::NotJudged("what the joint support covers is not described"),
    }
}

fn missing(case: &Case, findings: &mut Findings, id: RailId, rail: &Rail, joint: usize) {
    let it = &rail.joints[joint];
    findings.add(
        findings
            .finding(
                case.machine.joint_address(id, joint),
                it.place,
                format!("there is no support under joint {}", it.name),
            )
            .here(format!("joint {} at {}", it.name, it.position))
            .next(format!(
                "describe it: {}; where the rail lies on one machined bed, give it seat=continuous",
                joint_support_line(&it.name, Some(it.position.into()))
            )),
    );
}

fn centred(case: &Case, findings: &mut Findings, id: RailId, rail: &Rail, joint: usize, support: usize) {
    let Some((most, limit)) = case.rulebook.most::<Length>(LimitName::JointSupportOffset) else { return };
    let (it, under) = (&rail.joints[joint], &rail.supports[support]);
    let off = (under.at - it.position).abs();
    if off > most {
        findings.add(
            findings
                .finding(
                    case.machine.joint_address(id, joint),
                    under.place,
                    format!("the middle of the joint support lies {off} off its joint"),
                )
                .here(format!("its middle at {}", under.at))
                .also(it.place, format!("joint {} at {}", it.name, it.position))
                .found(Measure::too_large(off))
                .limit(limit)
                .next(format!("move it to {}", it.position)),
        );
    }
}

fn bolts(case: &Case, findings: &mut Findings, id: RailId, rail: &Rail, joint: usize, support: usize) {
    let Some((least, limit)) = case.rulebook.least_count(LimitName::JointBolts) else { return };
    let (it, under) = (&rail.joints[joint], &rail.supports[support]);
    let Some(bolts) = &under.bolts else { return };
    let held =
        |segment: usize| bolts.iter().filter(|bolt| bolt.hole.is_some_and(|(of, _)| of as usize == segment)).count();
    let (near, far) = (held(it.before), held(it.before + 1));
    let fewest = near.min(far);
    if fewest as i64 >= least {
        return;
    }
    let next = match needed(case, rail, joint, least) {
        Some(needed) if under.covers.is_some_and(|covers| covers < needed) => {
            format!("let the support cover {needed} or more: it must hold {least} bolts of each end")
        }
        _ => format!("move or lengthen the support until it holds {least} bolts of each end"),
    };
    findings.add(
        findings
            .finding(
                case.machine.joint_address(id, joint),
                under.place,
                format!(
                    "the joint support holds {} of the near rail end and {far} of the far one",
                    counted(near, "bolt", "bolts")
                ),
            )
            .here(format!("covers {} to {}", under.from(), under.to()))
            .also(it.place, format!("joint {} at {}", it.name, it.position))
            .found(Measure::too_small(fewest))
            .limit(Limit { text: format!("at least {least} of each end"), ..limit.words() })
            .next(next),
    );
}

/// The least length of the support: 2 × (end distance + the pitches between its bolts + the bolt's edge distance).
fn needed(case: &Case, rail: &Rail, joint: usize, bolts: i64) -> Option<Length> {
    let profile = case.shop.profile(rail.profile.as_ref()?)?;
    let it = &rail.joints[joint];
    let near = it.position - *rail.segments[it.before].holes.last()?;
    let far = *rail.segments[it.before + 1].holes.first()? - it.position;
    let edge = profile.bolt_edge.map_or(0, |edge| edge.nm());
    Some(Length(joint_support_least(near.max(far).nm(), profile.hole_pitch?.nm(), bolts, edge)))
}
