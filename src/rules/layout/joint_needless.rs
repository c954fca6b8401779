//! A rail has no more joints than its stock makes necessary.

use std::collections::BTreeSet;

use crate::calc::layout::FewestAnswer;
use crate::calc::layout::holes::{MOST_SEGMENTS, fewest_segments};
use crate::finding::{Grade, Limit, Measure, RuleName, counted};
use crate::language::rulebook::LimitName;
use crate::ledger::{EndCut, EventKind, Profile, RailId};
use crate::quantity::{Amount, Length};
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("joint-needless"),
    group: RuleGroup::Layout,
    grade: Grade::Observation,
    cure: Cure::UntilBuilt,
    what: "No choice of bars from the stock makes up the rail with fewer joints. Told until the rail is bolted down, and where a layout with fewer joints keeps every layout rule; where the description is too thin to plan one, by the lengths alone, and then seams and stagger may ask for more. Where the search ends before it is known, it is not judged.",
    why: "Every joint has to be supported, aligned, inspected and kept. The best joint is the one that is not there.",
    limits: &[LimitName::SawnEnds],
    source: "common practice, no source",
    wrong: r#"
shop { profile R20 hole-pitch=60 end-distance=30 { stock 1200 2400 } }
machine m { axis X { rail a profile=R20 { segment 1200; segment 1200; segment 1200 } } }
"#,
    right: r#"
shop { profile R20 hole-pitch=60 end-distance=30 { stock 1200 2400 } }
machine m { axis X { rail a profile=R20 { segment 2400; segment 1200 } } }
"#,
    checks: &[Check::Rails(check)],
    ..Rule::PLAIN
};

/// The search looks at every sum of bars; where they have no common measure, there are too many. Beyond this much work
/// nothing is judged.
const MOST_WORK: i128 = 3_000_000;

fn check(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    let rail = case.machine.rail(id);
    let [.., segment] = rail.segments.as_slice() else { return Verdict::Awaits("no segments are described") };
    let pinned = || rail.segments.iter().any(|segment| segment.owned);
    let bolted = || case.history(id).supports.all().iter().any(|event| event.what == EventKind::Full);
    let Some((profile, bar)) = super::profile(case, rail).and_then(|it| Some((it, it.stock.first()?.0))) else {
        return Verdict::NotJudged("no stock of its profile is described");
    };
    if rail.segments.len() < 2 || pinned() || bolted() {
        return Verdict::NotRequired;
    }
    // A limited count of bars makes lengths alone say too little.
    if profile.stock.iter().any(|(_, count)| count.is_some()) {
        return Verdict::NotRequired;
    }
    let stock = ProfileBars::for_profile(case, profile);
    let run = (rail.to() - rail.from).nm();
    let Some(fewest) = stock.fewest(run) else {
        return Verdict::NotJudged("no choice of bars for it could be worked out");
    };
    if fewest < rail.segments.len() {
        let (fewest, message, next) = match planned(case, id) {
            PlannedSegments::Fewer(rails) => {
                let fewest = rails[id.rail].len();
                let message = format!("{fewest} would do with every layout rule kept");
                let spelt = |lengths: &[i64]| {
                    let lengths: Vec<String> = lengths.iter().map(|length| Length(*length).number()).collect();
                    lengths.join(" + ")
                };
                let mut next = format!("try {} mm", spelt(&rails[id.rail]));
                // The joints of one rail are kept clear of those of the others.
                for other in (0..rails.len()).filter(|other| *other != id.rail && differs(case, id, *other, rails)) {
                    let name = &*case.machine.axes[id.axis].rails[other].name;
                    next += &format!(", with {} mm on {name}", spelt(&rails[other]));
                }
                (fewest, message, next)
            }
            PlannedSegments::NoFewer => return Verdict::Conforms(segment.place),
            // Neither is known. It is rare, a line an axis, and over once the rail is bolted down.
            PlannedSegments::Unsettled => {
                return Verdict::NotJudged(
                    "the lint's search for fewer joints ended first; `wayledger layout` searches longer",
                );
            }
            PlannedSegments::Unasked => {
                let next = format!("try {}, unless seams or stagger ask for more", stock.choice(run, fewest));
                (fewest, format!("by length alone, {fewest} would do"), next)
            }
        };
        findings.add(
            findings
                .finding(
                    case.machine.rail_address(id),
                    segment.place,
                    format!("{} segments make up the rail; {message}", rail.segments.len()),
                )
                .here(format!("number {}", rail.segments.len()))
                .found(Measure::too_large(rail.segments.len() - 1))
                .limit(Limit {
                    entry: None,
                    text: counted(fewest - 1, "joint", "joints"),
                    source: format!("stock of profile `{}`", *profile.name),
                    set_at: Some(bar.place),
                })
                .next(next),
        );
    }
    Verdict::Conforms(segment.place)
}

/// What the planner says of the segments of a rail.
enum PlannedSegments<'c> {
    /// A layout of the axis has fewer joints, and these segments, rail by rail.
    Fewer(&'c [Vec<i64>]),
    /// Proven: no layout of the axis has fewer joints, or the one with the fewest saves them on other rails.
    NoFewer,
    /// Neither was found out.
    Unsettled,
    /// The axis cannot be planned, is not described whole, or no layout keeps all rules.
    Unasked,
}

/// The planner weighs all rails of an axis against each other, and tells by the sum of their joints what is best.
fn planned<'c>(case: &'c Case, id: RailId) -> PlannedSegments<'c> {
    let rails = &case.machine.axes[id.axis].rails;
    let joints: usize = rails.iter().map(|rail| rail.segments.len().saturating_sub(1)).sum();
    if rails.iter().any(|rail| rail.segments.is_empty()) {
        return PlannedSegments::Unasked;
    }
    let needed = |at_least: u32| joints <= at_least as usize;
    match case.fewest_joints(id.axis) {
        None | Some(FewestAnswer::Infeasible) => PlannedSegments::Unasked,
        Some(FewestAnswer::Found { at_least, .. } | FewestAnswer::Unsettled { at_least }) if needed(*at_least) => {
            PlannedSegments::NoFewer
        }
        Some(FewestAnswer::Found { at_least, segments }) => {
            let found = segments.iter().map(|of| of.len() - 1).sum::<usize>();
            let (fewer, fewest) = (found < joints, found <= *at_least as usize);
            match &segments[id.rail] {
                own if fewer && own.len() < rails[id.rail].segments.len() => {
                    let bolted = |other: usize| {
                        let id = RailId { rail: other, ..id };
                        case.history(id).supports.all().iter().any(|event| event.what == EventKind::Full)
                    };
                    let of_bolted = (0..rails.len()).any(|it| differs(case, id, it, segments) && bolted(it));
                    if of_bolted { PlannedSegments::Unasked } else { PlannedSegments::Fewer(segments) }
                }
                _ if fewer && fewest => PlannedSegments::NoFewer,
                _ => PlannedSegments::Unsettled,
            }
        }
        Some(FewestAnswer::Unsettled { .. }) => PlannedSegments::Unsettled,
    }
}

/// Whether a layout has other segments on a rail than lie there.
fn differs(case: &Case, id: RailId, rail: usize, planned: &[Vec<i64>]) -> bool {
    let there = case.machine.axes[id.axis].rails[rail].segments.iter().map(|segment| segment.length.nm());
    !there.eq(planned[rail].iter().copied())
}

/// The bars of a profile and how they may be cut, in nm.
struct ProfileBars {
    bars: BTreeSet<i64>,
    cut: Option<(i64, usize)>,
}

impl ProfileBars {
    fn for_profile(case: &Case, profile: &Profile) -> ProfileBars {
        let bars = profile.stock.iter().map(|(bar, _)| bar.nm()).collect();
        // A sawn end belongs at an end of the axis, and there are two of those.
        let sawn = profile.cut_ends().is_none_or(|ends| *ends == EndCut::Sawn);
        let cuts = if sawn && case.rulebook.choice(LimitName::SawnEnds) == "forbidden" { 2 } else { MOST_SEGMENTS };
        let grid = profile.cut_grid().map_or(1, |grid| grid.nm().max(1));
        ProfileBars { bars, cut: profile.cutting_allowed().then_some((grid, cuts)) }
    }

    /// The fewest segments that make up a run, where the search is small enough.
    fn fewest(&self, run: i64) -> Option<usize> {
        let (&shortest, &longest) = (self.bars.first()?, self.bars.last()?);
        let measure = self.bars.iter().fold(0, |a: i64, b| gcd(a, *b));
        if run <= 0 || shortest <= 0 || measure <= 0 {
            return None;
        }
        let sums = i128::from(run / measure) + 1;
        let rounds = i128::from(run / longest) + 3;
        if sums * rounds * self.bars.len() as i128 > MOST_WORK {
            return None;
        }
        let lengths: Vec<i64> = self.bars.iter().copied().collect();
        fewest_segments(run, &lengths, self.cut)
    }

    /// One choice of so many segments, the longest whole bars first: `3000 + 2400 + 1800 (cut) mm`.
    fn choice(&self, run: i64, segments: usize) -> String {
        let (mut rest, mut left) = (run, segments);
        let mut parts = Vec::new();
        while left > 0 {
            let whole = self.bars.iter().rev().find(|bar| {
                let after = rest - **bar;
                if left == 1 { after == 0 } else { after > 0 && self.fewest(after).is_some_and(|f| f < left) }
            });
            let Some(bar) = whole else { break };
            parts.push(Length(*bar).number());
            rest -= bar;
            left -= 1;
        }
        match left {
            0 => {}
            1 => parts.push(format!("{} (cut)", Length(rest).number())),
            _ => parts.push(format!("{left} cut pieces of {} together", Length(rest).number())),
        }
        format!("{} mm", parts.join(" + "))
    }
}

fn gcd(mut a: i64, mut b: i64) -> i64 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a
}
