//! No segment is shorter than its maker or the shop allows.

use crate::finding::{Grade, Limit, Measure, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{Profile, RailId};
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("segment-short"),
    group: RuleGroup::Layout,
    grade: Grade::Nonconformity,
    cure: Cure::UntilBuilt,
    what: "Each segment is at least as long as the rulebook asks for, or else as long as its profile's maker allows.",
    why: "A short piece stands on few bolts and turns under the block; its two joints lie within one carriage.",
    limits: &[LimitName::SegmentLength],
    holds: &[LimitName::SegmentLength],
    source: "makers differ: none until the profile, the shop or the machine states one",
    wrong: r#"
shop { profile R20 hole-pitch=60 end-distance=30 least-segment=240 }
machine m { axis X { rail a profile=R20 { segment 2400; segment 180 } } }
"#,
    right: r#"
shop { profile R20 hole-pitch=60 end-distance=30 least-segment=240 }
machine m { axis X { rail a profile=R20 { segment 2340; segment 240 } } }
"#,
    checks: &[Check::Segments(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, index: usize, findings: &mut Findings) -> Verdict {
    let rail = case.machine.rail(id);
    let length = rail.segments[index].length;
    let stated = case.rulebook.least::<Length>(LimitName::SegmentLength);
    let profile = super::profile(case, rail);
    let of_maker = || profile.and_then(|profile| Some(profile.least_segment?.value));
    let Some(least) = stated.map(|(least, _)| least).or_else(of_maker) else { return Verdict::NotRequired };
    if *length >= least {
        return Verdict::Conforms(length.place);
    }
    let limit = match (stated, profile) {
        (Some((_, limit)), _) => limit.words(),
        (None, Some(profile)) => makers(case, profile, least),
        (None, None) => return Verdict::NotRequired,
    };
    findings.add(
        findings
            .finding(
                case.machine.segment_address(id, index),
                length.place,
                format!("the segment is {}, {} too short", *length, least - *length),
            )
            .here("too short")
            .found(Measure::too_small(*length))
            .limit(limit)
            .next(format!("lengthen it by {} and shorten a neighbour", least - *length)),
    );
    Verdict::Broken
}

/// What a finding says of the least length that the maker of a profile allows.
fn makers(case: &Case, profile: &Profile, least: Length) -> Limit {
    let maker = format!("the maker's, by profile `{}`", *profile.name);
    let limit = case.rulebook.computed_from(LimitName::SegmentLength, format!("at least {least}"), maker);
    Limit { set_at: profile.least_segment.map(|least| least.place), ..limit }
}
