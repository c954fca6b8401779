//! What the four steps of a joint have in common, and what cures it.

use crate::calc::exact::Surd;
use crate::calc::grooves::{
    Culprit, FlankSide, GrooveGeometry, GroovePosition, Pattern, Patterns, RailEnd, StepRemedy, cure, judge_dominance,
    rigid_causes,
};
use crate::facts::steps::{FourSteps, Latest, datum, four_steps, mean_step};
use crate::facts::survey::reference;
use crate::finding::{Grade, Measure, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{GrooveReading, RailId};
use crate::quantity::Length;
use crate::rules::{Case, Check, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("joint-step-cause"),
    group: RuleGroup::Inspection,
    grade: Grade::Observation,
    cure: crate::rules::Cure::AtMachine,
    what: "Where a step is beyond the limit, the four steps are taken apart into height, side, twist and size. What stands out is named with its cure, and what perfect alignment would leave. Which way a step to the side is cured hangs on the side of the datum face: where it is not described for such a step, or for one rail of a pair and not for the other, it is not judged.",
    why: "Four numbers do not say which way to push. Their pattern does, and it says when no pushing can help.",
    limits: &[LimitName::JointStep],
    source: "geometry of four grooves at 45°; what stands out holds more than half of the squared steps, common practice, no source",
    wrong: r#"
shop { gauge DI-4 graduation=0.002 plus=outward; profile R20 contact=outward }
machine m { axis X { rail a profile=R20 { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 gauge=DI-4 {
    light none; UL 0 -> 0.03; UR 0 -> 0.028; LL 0 -> -0.03; LR 0 -> -0.026
}
"#,
    right: r#"
shop { gauge DI-4 graduation=0.002 plus=outward; profile R20 contact=outward }
machine m { axis X { rail a profile=R20 { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 gauge=DI-4 {
    light none; UL 0 -> 0.004; UR 0 -> 0.004; LL 0 -> -0.006; LR 0 -> -0.002
}
"#,
    checks: &[Check::Joints(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, joint: usize, findings: &mut Findings) -> Verdict {
    let Some((most, limit)) = case.rulebook.most::<Length>(LimitName::JointStep) else { return Verdict::NotRequired };
    let steps = case.joint_state(id, joint).grooves;
    let over = |of: &&Latest<&GrooveReading>| mean_step(of).is_some_and(|step| step.over(most.nm()));
    if !steps.iter().flatten().filter(over).any(|of| case.latest_stands(id, joint, of.record)) {
        return match half_stated(case, id) {
            true => Verdict::NotJudged(
                "of a pair of rails the side of one datum face is described and not that of the other",
            ),
            false => case.steps_shown(id, joint).into(),
        };
    }
    let Some(four) = four_steps(case.ledger, id, joint) else {
        return Verdict::Awaits("the four grooves are not all read, with one stylus and one sense of the gauge");
    };
    // A joint whose steps conform needs no cure, however its steps are made up.
    let dominance = judge_dominance(&four.steps, four.contact_or_outward(), most.nm());
    let patterns = four.steps.patterns(four.contact_or_outward());
    if let Some(dominance) = dominance.filter(|dominance| dominance.over_limit)
        && let Some((message, found)) = named(&four, dominance.culprit, &patterns)
    {
        let (groove, _) = four.steps.largest();
        let mut finding = findings
            .finding(case.machine.joint_address(id, joint), four.readings[groove as usize].what.place, message)
            .here("the largest of the four")
            .found(Measure::too_large(found))
            .next(next(case, id, &four, dominance.culprit, &patterns, most));
        for other in GroovePosition::ALL.into_iter().filter(|other| *other != groove) {
            let step = Length(four.steps.step(other).away_from_zero_nm());
            finding = finding.also(four.readings[other as usize].what.place, format!("step {step}"));
        }
        findings.add(finding.limit(limit));
        if dominance.culprit == Culprit::Pattern(Pattern::Side) && datum(case.ledger, id).is_none() {
            return Verdict::NotJudged("the side of the datum face of its rail is not described");
        }
    }
    Verdict::Awaits("the steps are not within their limit")
}

/// Whether the other rail of a pair says on which side its datum face lies, and this one does not.
fn half_stated(case: &Case, id: RailId) -> bool {
    let pair = |other: RailId| reference(case.ledger, id) == Some(other) || reference(case.ledger, other) == Some(id);
    datum(case.ledger, id).is_none()
        && case.rails().any(|(other, ..)| datum(case.ledger, other).is_some() && pair(other))
}

/// What stands out, in words, and how large it is as a groove step.
fn named(four: &FourSteps, culprit: Culprit, patterns: &Patterns) -> Option<(String, Length)> {
    let pattern = match culprit {
        Culprit::OneGroove(groove) => {
            let step = told(four.steps.step(groove));
            return Some((format!("one groove alone makes the step: {} by {step}", word(groove)), step));
        }
        Culprit::Mixed => return None,
        Culprit::Pattern(pattern) => pattern,
    };
    let amplitude = patterns.amplitude(pattern);
    let ahead = amplitude.signum() > 0;
    // Without the gauge's sense only the pattern is known, and without the contact no height from its sign.
    let signed = four.signed && (pattern != Pattern::Height || four.contact.is_some());
    let text = match (pattern, signed) {
        (Pattern::Height, true) => format!(
            "the steps are one of height: the far rail stands {} {}",
            told(patterns.height_offset()),
            if ahead { "high" } else { "low" }
        ),
        (Pattern::Height, false) => format!("the steps are one of height, of {}", told(patterns.height_offset())),
        (Pattern::Side, true) => format!(
            "the steps are one to the side: the far rail stands {} to the {}",
            told(patterns.side_offset()),
            if ahead { "right" } else { "left" }
        ),
        (Pattern::Side, false) => format!("the steps are one to the side, of {}", told(patterns.side_offset())),
        (Pattern::Twist, _) => format!("the steps are a twist of {} at each groove", told(amplitude)),
        (Pattern::Size, true) => format!(
            "the steps are one of size: the {} profile is larger by {} at each groove",
            if ahead { "far" } else { "near" },
            told(amplitude)
        ),
        (Pattern::Size, false) => format!("the steps are one of size, of {} at each groove", told(amplitude)),
    };
    Some((text, Length(amplitude.abs().away_from_zero_nm())))
}

/// The size of a length to the nearest micrometre: what is told here is for setting by hand, and judged by nothing.
fn told(surd: Surd) -> Length {
    Length::um((surd.abs().away_from_zero_nm() + 500) / 1000)
}

fn word(groove: GroovePosition) -> &'static str {
    match groove {
        GroovePosition::UpperLeft => "UL",
        GroovePosition::UpperRight => "UR",
        GroovePosition::LowerLeft => "LL",
        GroovePosition::LowerRight => "LR",
    }
}

fn end(end: RailEnd) -> &'static str {
    match end {
        RailEnd::Near => "near",
        RailEnd::Far => "far",
    }
}

fn side(side: FlankSide) -> &'static str {
    match side {
        FlankSide::Left => "left",
        FlankSide::Right => "right",
    }
}

fn next(case: &Case, id: RailId, four: &FourSteps, culprit: Culprit, patterns: &Patterns, most: Length) -> String {
    let sure = four.signed && (culprit != Culprit::Pattern(Pattern::Height) || four.contact.is_some());
    let mut text = match cure(culprit, patterns, datum(case.ledger, id)) {
        _ if !sure && matches!(culprit, Culprit::Pattern(Pattern::Height | Pattern::Side)) => {
            "state plus=… of the gauge and contact=… of the profile, to know which end and which way".to_string()
        }
        Some(StepRemedy::LevelSeat { high, by }) => {
            let low = if high == RailEnd::Far { RailEnd::Near } else { RailEnd::Far };
            format!(
                "clean the seat under the {} end, or shim {} under the {} one; snug again",
                end(high),
                told(by),
                end(low)
            )
        }
        Some(StepRemedy::PushToDatum { end: which, towards, by }) => format!(
            "loosen the {} end, push it {} {} to its datum face, and snug again",
            end(which),
            told(by),
            side(towards)
        ),
        Some(StepRemedy::BringOver { far_towards, by }) => format!(
            "the far end has to come {} to the {}, or the near end the other way; state the rail's datum to know which",
            told(by),
            side(far_towards)
        ),
        Some(StepRemedy::SquareSeat) => {
            format!("look whether seat and support are square{}", roll(case, id, four, patterns))
        }
        Some(StepRemedy::MatchEnds { .. }) => {
            "look for a burr or dirt on an end; else the segments are no matched pair, and no alignment cures it"
                .to_string()
        }
        Some(StepRemedy::CleanGroove { groove }) => {
            format!("clean and deburr groove {} at both ends, and read again", word(groove))
        }
        None => "read the four grooves again".to_string(),
    };
    let (aligned, squared) = (patterns.remaining(false), patterns.remaining(true));
    if squared.cmp_magnitude(most.nm()).is_gt() {
        text = format!("{text}; perfect alignment would still leave {}", told(squared));
    } else if aligned.cmp_magnitude(most.nm()).is_gt() && culprit != Culprit::Pattern(Pattern::Twist) {
        text = format!("{text}; unless the seat is squared as well, {} would be left", told(aligned));
    }
    text
}

/// How far the far rail is turned, where the profile's section is known.
fn roll(case: &Case, id: RailId, four: &FourSteps, patterns: &Patterns) -> String {
    let profile = case.machine.rail(id).profile.as_ref().and_then(|name| case.shop.profile(name));
    let causes = profile.and_then(|profile| {
        let geometry = GrooveGeometry {
            half_width_nm: profile.groove_half_width?.nm(),
            half_height_nm: profile.groove_half_height?.nm(),
            seat_depth_nm: profile.seat_depth?.nm(),
        };
        rigid_causes(patterns, geometry, four.contact.filter(|_| four.signed)?)
    });
    causes.map_or(String::new(), |causes| {
        let way = if causes.roll > 0.0 { "clockwise" } else { "anticlockwise" };
        format!(
            ": the far rail is turned {way} by {:.2} mm per m, seen along increasing position",
            causes.roll.abs() * 1000.0
        )
    })
}
