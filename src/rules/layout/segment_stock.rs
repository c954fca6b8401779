//! Every segment can be had from the stock of its profile.

use crate::facts::bars::{scrapped, whole_bars};
use crate::finding::{Grade, Limit, Measure, RuleName};
use crate::ledger::{Profile, RailId, Segment};
use crate::quantity::{Amount, Length};
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("segment-stock"),
    group: RuleGroup::Layout,
    grade: Grade::Nonconformity,
    cure: Cure::UntilBuilt,
    what: "Each segment is a bar of its profile's stock, or can be cut from one on the cutting grid without cutting through a hole. There are as many bars as are needed, those of the shop's machines counted that are judged before in the order of their folders.",
    why: "A length nobody sells is found out when the order comes back, or worse, when the bar does not fit.",
    limits: &[],
    source: "the stock of the profile, as the shop file states it",
    wrong: r#"
shop { profile R20 hole-pitch=60 end-distance=30 { stock 1200 2400; cutting grid=60 } }
machine m { axis X { rail a profile=R20 { segment 2400; segment 1250 } } }
"#,
    right: r#"
shop { profile R20 hole-pitch=60 end-distance=30 { stock 1200 2400; cutting grid=60 } }
machine m { axis X { rail a profile=R20 { segment 2400; segment 1260 } } }
"#,
    checks: &[Check::Segments(check), Check::Machine(counted)],
    ..Rule::PLAIN
};

/// How a segment comes from the stock.
enum SegmentOrigin {
    Whole,
    Cut,
    /// It does not; the lengths next to it that do.
    Nothing(Vec<Length>),
    ThroughHole,
    /// It can be cut, and nothing says where its holes lie.
    CutAmongHoles,
}

fn check(case: &Case, id: RailId, index: usize, findings: &mut Findings) -> Verdict {
    let rail = case.machine.rail(id);
    let segment = &rail.segments[index];
    // A bar that is there already need not be sold.
    if segment.owned {
        return Verdict::NotRequired;
    }
    let Some(profile) = super::profile(case, rail).filter(|profile| !profile.stock.is_empty()) else {
        return Verdict::NotJudged("no stock of its profile is described");
    };
    match from_stock(profile, segment) {
        SegmentOrigin::Whole | SegmentOrigin::Cut => return Verdict::Conforms(segment.length.place),
        SegmentOrigin::CutAmongHoles => return Verdict::NotJudged("the end-distance of its profile is not stated"),
        SegmentOrigin::Nothing(near) => not_sold(case, findings, id, index, profile, &near),
        SegmentOrigin::ThroughHole => findings.add(
            findings
                .finding(
                    case.machine.segment_address(id, index),
                    segment.place,
                    format!("cutting it to {} goes through a hole", *segment.length),
                )
                .here("a hole lies where it would be cut")
                .limit(limit(profile))
                .next("choose a length between two holes, or another near-distance"),
        ),
    }
    Verdict::Broken
}

/// There are as many whole bars as are needed, where they are counted.
fn counted(case: &Case, findings: &mut Findings) -> Verdict {
    let mut bars = case.shop.profiles.iter().flat_map(|profile| &profile.stock);
    let Some((bar, _)) = bars.find(|(_, count)| count.is_some()) else { return Verdict::NotRequired };
    for ((name, length), segments) in whole_bars(case.ledger) {
        let Some(profile) = case.shop.profile(name) else { continue };
        too_many(case, findings, profile, length, &segments);
    }
    if let Some(folder) = &case.elsewhere.unjudged {
        let message =
            format!("the ledger {folder} of the same shop is not judged: nobody knows how many bars were left");
        let mut finding = findings.finding("", bar.place, message).here("bars are counted here");
        finding.grade = Grade::Outstanding;
        findings.add(finding.next("put right what is told of that ledger, and judge both together"));
        return Verdict::Outstanding;
    }
    Verdict::Conforms(bar.place)
}

fn from_stock(profile: &Profile, segment: &Segment) -> SegmentOrigin {
    let length = *segment.length;
    let lengths = || profile.stock.iter().map(|(bar, _)| bar.value);
    if lengths().any(|bar| bar == length) {
        return SegmentOrigin::Whole;
    }
    let longest = lengths().max().unwrap_or(Length::ZERO);
    let grid = profile.cut_grid().map_or(1, |grid| grid.nm().max(1));
    if profile.cutting_allowed() && length < longest && length.nm() % grid == 0 {
        return cut(profile, segment);
    }
    let below = lengths().filter(|bar| *bar < length).max();
    let above = lengths().filter(|bar| *bar > length).min();
    let (mut near_below, mut near_above) = (below, above);
    if profile.cutting_allowed() && length < longest {
        let down = Length(length.nm() / grid * grid);
        near_below = near_below.max((down > Length::ZERO).then_some(down));
        near_above = above.map(|above| above.min(Length(down.nm() + grid)));
    }
    SegmentOrigin::Nothing(near_below.into_iter().chain(near_above).collect())
}

/// Whether a hole's centre lies on the cut. The near end is the uncut one; where the far distance is stated, its author
/// has seen to it.
fn cut(profile: &Profile, segment: &Segment) -> SegmentOrigin {
    let (Some(pitch), None) = (profile.hole_pitch, segment.far_distance) else { return SegmentOrigin::Cut };
    let Some(near) = profile.first_hole(segment.near_distance) else { return SegmentOrigin::CutAmongHoles };
    let rest = segment.length.nm() - near.nm();
    match pitch.nm() > 0 && rest >= 0 && rest % pitch.nm() == 0 {
        true => SegmentOrigin::ThroughHole,
        false => SegmentOrigin::Cut,
    }
}

fn limit(profile: &Profile) -> Limit {
    let mut bars: Vec<String> = profile.stock.iter().map(|(bar, _)| bar.number()).collect();
    bars.dedup();
    let cut = match (profile.cutting_allowed(), profile.cut_grid()) {
        (false, _) => String::new(),
        (true, None) => ", or cut".to_string(),
        (true, Some(grid)) => format!(", or cut at steps of {}", *grid),
    };
    Limit {
        entry: None,
        text: format!("{} mm{cut}", bars.join(", ")),
        source: format!("stock of profile `{}`", *profile.name),
        set_at: profile.stock.first().map(|(bar, _)| bar.place),
    }
}

fn not_sold(case: &Case, findings: &mut Findings, id: RailId, index: usize, profile: &Profile, near: &[Length]) {
    let segment = &case.machine.rail(id).segments[index];
    let off = near.iter().map(|length| (*length - *segment.length).abs()).min().unwrap_or(Length::ZERO);
    let next = match near {
        [] => "the profile has no such bar: state what can be had as `stock`".to_string(),
        [one] => format!("the nearest that can be had is {one}"),
        [below, above, ..] => format!("the nearest that can be had are {below} and {above}"),
    };
    findings.add(
        findings
            .finding(
                case.machine.segment_address(id, index),
                segment.length.place,
                format!("a segment of {} is not in stock", *segment.length),
            )
            .here("cannot be had")
            .found(Measure::too_large(off))
            .limit(limit(profile))
            .next(next),
    );
}

/// More whole bars of one length are needed than there are, and no longer bar can be cut to it.
fn too_many(case: &Case, findings: &mut Findings, profile: &Profile, length: Length, segments: &[(RailId, usize)]) {
    let of_length = || profile.stock.iter().filter(|(bar, _)| **bar == length);
    if of_length().any(|(_, count)| count.is_none()) {
        return;
    }
    let have: usize = of_length().filter_map(|(_, count)| *count).map(|count| count.value as usize).sum();
    let grid = profile.cut_grid().map_or(1, |grid| grid.nm().max(1));
    let longer = profile.stock.iter().any(|(bar, _)| **bar > length);
    let key = (profile.name.value.clone(), length);
    let other = case.elsewhere.bars.get(&key).copied().unwrap_or(0);
    let scrapped = scrapped(case.ledger, profile.name.as_str(), length);
    let have = have.saturating_sub(scrapped);
    if segments.len() + other <= have || profile.cutting_allowed() && longer && length.nm() % grid == 0 {
        return;
    }
    // Those of other machines are counted only where this one alone does not need too many.
    let (other, first) = if segments.len() > have { (0, have) } else { (other, have.saturating_sub(other)) };
    let Some(&(id, index)) = segments.get(first) else { return };
    let segment = &case.machine.rail(id).segments[index];
    let needed = match segments.len() {
        1 => format!("1 segment of {length} is needed"),
        many => format!("{many} segments of {length} are needed"),
    };
    let there = if have == 1 { "there is 1 bar".to_owned() } else { format!("there are {have} bars") };
    let there = match scrapped {
        0 => there,
        _ => format!("{there} besides {scrapped} that went from this machine"),
    };
    let mut finding = findings
        .finding(
            case.machine.segment_address(id, index),
            segment.length.place,
            match other {
                0 => format!("{needed}, and {there}"),
                _ => format!("{needed} and {other} in other machines, and {there}"),
            },
        )
        .here(format!("number {} of that length", first + 1))
        .found(Measure::too_large(segments.len() + other))
        .next("order more bars, or choose other lengths");
    if let Some((bar, _)) = of_length().next() {
        finding = finding.limit(Limit {
            entry: None,
            text: format!("at most {have}"),
            source: format!("stock of profile `{}`", *profile.name),
            set_at: Some(bar.place),
        });
    }
    findings.add(finding);
}
