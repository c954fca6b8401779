//! Why there is no layout: requirements that cannot be met together, each with its figures and the way out.

use super::sheet::title;
use crate::calc::layout::plan::Contradiction;
use crate::calc::layout::requirement::Requirement;
use crate::facts::layout_plan::LayoutPlan;
use crate::ledger::Ledger;
use crate::quantity::{Amount, Length};
use crate::views::paper::{ListItem, Paper};
use crate::views::requirement_rule::rule_of;

/// No layout meets what is asked.
pub(crate) fn refusal(ledger: &Ledger, plan: &LayoutPlan, why: &Contradiction) -> Paper {
    let mut paper = Paper::new(title(ledger, plan));
    let body = &mut paper.body;
    body.say("No layout meets all that is required.");
    body.say(match (&why.requirements[..], why.irreducible) {
        ([_], _) => "This alone cannot be met:",
        (_, true) => "These cannot be met together; with any one of them eased there is a layout:",
        (_, false) => "These cannot be met together; perhaps some of them are not needed for that:",
    });
    let lines = why.requirements.iter().flat_map(|requirement| {
        let (what, cure) = told(ledger, plan, requirement);
        [ListItem::new(0, format!("{}: {what}", rule_of(requirement))), ListItem::new(1, cure)]
    });
    body.list(lines.collect());
    if let Some((below, above)) = why.nearest {
        let lengths: Vec<String> = [below, above].into_iter().flatten().map(|run| Length(run).to_string()).collect();
        body.say(match &lengths[..] {
            [] => "No run near this one can be made from these bars.".to_string(),
            lengths => format!("The nearest runs that these bars make up: {}.", lengths.join(" and ")),
        });
    }
    paper
}

/// A requirement in words, and what eases it.
pub(crate) fn told(ledger: &Ledger, plan: &LayoutPlan, requirement: &Requirement) -> (String, String) {
    let task = &plan.task;
    let mm = |nm: i64| Length(nm).to_string();
    let address = |rail: usize| ledger.machine.rail_address(plan.rail(rail));
    let pair = |(a, b): (usize, usize)| {
        if a == b { address(a) } else { format!("{} and {}", address(a), address(b)) }
    };
    let name = |rail: usize| &plan.profiles[task.rails[rail].profile];
    let supports = |rail: usize| &task.rails[rail].supports;
    let covers = |rail: usize| supports(rail).joint_covers.map_or(String::new(), &mm);
    match *requirement {
        Requirement::Stock { rail } => {
            let bars: Vec<String> = task.profile_of(rail).stock.iter().map(|bar| Length(bar.length).number()).collect();
            let cut = task.profile_of(rail).cutting.map_or(", which may not be cut".to_string(), |cutting| {
                format!(", cut at steps of {}", Length(cutting.grid))
            });
            (
                format!(
                    "{}: the run of {} is made of bars of {} mm{cut}",
                    address(rail),
                    mm(task.run()),
                    bars.join(", ")
                ),
                "change the run, or have other bars or cuts".into(),
            )
        }
        Requirement::StockCount { profile, bar } => {
            let bar = task.profiles[profile].stock[bar];
            let count = bar.count.unwrap_or(0);
            (
                format!(
                    "profile {}: there {} of {}",
                    plan.profiles[profile],
                    if count == 1 { "is 1 bar".into() } else { format!("are {count} bars") },
                    mm(bar.length)
                ),
                "get more of them".into(),
            )
        }
        Requirement::Owned { owned } => {
            let (rail, segment) = plan.owned[owned];
            let what = ledger.machine.segment_address(plan.rail(rail), segment);
            (
                format!("{what}: the owned bar of {} is used", mm(task.owned[owned].length)),
                "take out owned=#true".into(),
            )
        }
        Requirement::LeastSegment { rail } => (
            format!("{}: no segment is shorter than {}", address(rail), mm(task.profile_of(rail).least_segment)),
            "have bars that leave no short rest, or change segment-length with a reason".into(),
        ),
        Requirement::EndDistance { rail } => (
            format!("{}: end distances at the ends of the axis keep their limits", address(rail)),
            "change them".into(),
        ),
        Requirement::HolePitch { rail } => (
            format!(
                "{}: the holes of {} carry on across a joint at {}, within {}",
                address(rail),
                name(rail),
                mm(task.profile_of(rail).pitch),
                mm(task.profile_of(rail).pattern_tolerance)
            ),
            "have bars whose two end distances add up to one pitch".into(),
        ),
        Requirement::SawnEnd { rail } => (
            format!("{}: no sawn end lies in a joint", address(rail)),
            "have cut ends ground (cutting ends=ground), or allow sawn-ends with a reason".into(),
        ),
        Requirement::Seam { rail } => {
            let seams: Vec<String> = task.rails[rail].seams.iter().map(|seam| Length(*seam).number()).collect();
            (
                format!(
                    "{}: joints keep {} from the beam's seams at {}",
                    address(rail),
                    mm(task.rails[rail].seam_clearance),
                    seams.join(", ")
                ),
                "move a seam, shorten the joint support, or change seam-clearance with a reason".into(),
            )
        }
        Requirement::JointSupport { rail } => (
            format!(
                "{}: the joint support covers {} and holds {} bolts of each end, {} from its own end",
                address(rail),
                covers(rail),
                supports(rail).joint_bolts,
                mm(supports(rail).edge)
            ),
            "let the joint support cover more".into(),
        ),
        Requirement::SupportOverlap { rail } => (
            format!("{}: the joint support, {} long, overlaps no support that stays", address(rail), covers(rail)),
            "shorten it, or change the row of supports".into(),
        ),
        Requirement::SupportBolts { rail } => (
            format!("{}: every support has a hole of the rail over it", address(rail)),
            "move the supports to holes, or let them cover more".into(),
        ),
        Requirement::SupportSpacing { rail } => (
            format!("{}: supports stand at most {} apart", address(rail), mm(supports(rail).most_spacing.unwrap_or(0))),
            "put the row of supports closer, or change support-spacing with a reason".into(),
        ),
        Requirement::Stagger { rails } => (
            format!("{}: joints stand at least {} apart", pair(rails), mm(task.stagger.unwrap_or(0))),
            "have more bar lengths, or change stagger with a reason".into(),
        ),
        Requirement::Meeting { rails } => {
            let margin = task.carriage.as_ref().map_or(0, |carriage| carriage.margin);
            let more = if margin > 0 { format!(", {} to spare", mm(margin)) } else { String::new() };
            (
                format!("{}: no two blocks of the carriage meet joints together{more}", pair(rails)),
                "space the blocks otherwise, shorten the stroke, or have more bar lengths".into(),
            )
        }
    }
}
