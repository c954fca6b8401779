//! No segment is shorter than its maker or the shop allows.

use crate::finding::{Grade, Limit, Measure, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::Rail;
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, Group, Rule};

pub static RULE: Rule = Rule {
    name: RuleName::new("segment-short"),
    group: Group::Layout,
    grade: Grade::Nonconformity,
    cure: Cure::UntilBuilt,
    what: "Each segment is at least as long as the rulebook asks for, or else as long as its profile's maker allows.",
    why: "A short piece stands on few bolts and turns under the block; its two joints lie within one carriage.",
    limits: &[LimitName::SegmentLength],
    source: "makers differ: none until the profile, the shop or the machine states one",
    wrong: r#"
shop { profile R20 hole-pitch=60 end-distance=30 least-segment=240 }
machine m { axis X { rail a profile=R20 { segment 2400; segment 180 } } }
"#,
    right: r#"
shop { profile R20 hole-pitch=60 end-distance=30 least-segment=240 }
machine m { axis X { rail a profile=R20 { segment 2340; segment 240 } } }
"#,
    checks: &[Check::Ledger(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, findings: &mut Findings) {
    for (id, _, rail) in case.rails() {
        let Some((least, limit)) = least(case, rail) else { continue };
        for (index, segment) in rail.segments.iter().enumerate().filter(|(_, segment)| *segment.length < least) {
            findings.add(
                findings
                    .finding(
                        case.machine.segment_address(id, index),
                        segment.length.place,
                        format!("the segment is {}, {} too short", *segment.length, least - *segment.length),
                    )
                    .here("too short")
                    .found(Measure::too_small(*segment.length))
                    .limit(limit.clone())
                    .next(format!("lengthen it by {} and shorten a neighbour", least - *segment.length)),
            );
        }
    }
}

fn least(case: &Case, rail: &Rail) -> Option<(Length, Limit)> {
    if let Some(stated) = case.rulebook.least::<Length>(LimitName::SegmentLength) {
        return Some((stated.0, stated.1.words()));
    }
    let profile = case.shop.profile(rail.profile.as_ref()?)?;
    let least = profile.least_segment?;
    let maker = format!("the maker's, by profile `{}`", *profile.name);
    let limit = case.rulebook.computed_from(LimitName::SegmentLength, format!("at least {}", *least), maker);
    Some((least.value, Limit { set_at: Some(least.place), ..limit }))
}
