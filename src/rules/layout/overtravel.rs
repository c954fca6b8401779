//! The carriage stays on its rails.

use crate::finding::{Grade, Limit, Measure, RuleName};
use crate::ledger::{Axis, Block, Rail, Stroke};
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, Ground, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("overtravel"),
    group: RuleGroup::Layout,
    grade: Grade::Nonconformity,
    cure: Cure::UntilBuilt,
    what: "At both ends of the stroke, with the overtravel stated, every block stands wholly on its rail and the carriage inside the run.",
    why: "A block that runs over the rail's end loses its balls, and on a vertical axis the carriage falls.",
    limits: &[],
    source: "geometry",
    wrong: r#"
shop { block B20 length=80 }
machine m {
    axis X {
        stroke from=200 to=1100
        rail a { segment 1200 }
        carriage { block a at=-100 type=B20; block a at=100 type=B20 }
    }
}
"#,
    right: r#"
shop { block B20 length=80 }
machine m {
    axis X {
        stroke from=200 to=1000
        rail a { segment 1200 }
        carriage { block a at=-100 type=B20; block a at=100 type=B20 }
    }
}
"#,
    follows_from: &[Ground::Described, Ground::Lengths],
    checks: &[Check::Axes(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, axis: usize, findings: &mut Findings) -> Verdict {
    let axis = &case.machine.axes[axis];
    let Some(carriage) = &axis.carriage else { return Verdict::NotJudged("no carriage is described") };
    let Some(stroke) = axis.stroke else { return Verdict::NotJudged("no stroke is described") };
    let mut lacking = carriage.blocks.is_empty().then_some("no block of the carriage is described");
    for block in &carriage.blocks {
        match (block.rail.map(|rail| &axis.rails[rail]), block.length) {
            (Some(rail), Some(_)) if rail.segments.is_empty() => {
                lacking = Some("no segments of a block's rail are described");
            }
            (Some(rail), Some(length)) => over_an_end(findings, axis, stroke, block, length.value, rail),
            _ => lacking = Some("a block's rail or length is not described"),
        }
    }
    let (Some(run), Some(length)) = (axis.run, carriage.length) else {
        return Verdict::NotJudged(lacking.unwrap_or("the run or the carriage's length is not described"));
    };
    let (from, to) = reach(stroke);
    let half = Length(length.nm() / 2);
    let over = (run.from - (from - half)).max(to + half - run.to);
    if over > Length::ZERO {
        findings.add(
            findings
                .finding(axis.name.value.clone(), stroke.place, format!("the carriage reaches {over} beyond the run"))
                .here("the stroke")
                .also(run.place, format!("the run is {} to {}", run.from, run.to))
                .also(carriage.place, format!("the carriage is {} long", length.value))
                .found(Measure::too_large(over))
                .limit(geometry())
                .next(format!("shorten the stroke by {over} or lengthen the run")),
        );
    }
    lacking.map_or(Verdict::Conforms(stroke.place), Verdict::NotJudged)
}

fn overtravel(stroke: Stroke) -> Length {
    stroke.overtravel.map_or(Length::ZERO, |extra| extra.value)
}

/// From where to where the carriage's middle comes.
fn reach(stroke: Stroke) -> (Length, Length) {
    let extra = overtravel(stroke);
    (stroke.from.value - extra, stroke.to.value + extra)
}

fn geometry() -> Limit {
    Limit { entry: None, text: "0 mm".into(), source: "geometry".into(), set_at: None }
}

/// A block at both ends of the stroke against the ends of its rail, which has segments.
fn over_an_end(findings: &mut Findings, axis: &Axis, stroke: Stroke, block: &Block, length: Length, rail: &Rail) {
    let (from, to) = reach(stroke);
    let half = Length(length.nm() / 2);
    let before = rail.from - (from + block.at.value - half);
    let beyond = (to + block.at.value + half) - rail.to();
    for (over, end, stop, place) in [
        (before, "near", stroke.from, rail.segments[0].place),
        (beyond, "far", stroke.to, rail.segments[rail.segments.len() - 1].place),
    ] {
        if over <= Length::ZERO {
            continue;
        }
        let extra = overtravel(stroke);
        let message =
            format!("at the {end} end of the stroke a block stands {over} over the end of rail `{}`", *rail.name);
        findings.add(
            findings
                .finding(axis.name.value.clone(), stop.place, message)
                .here(if extra > Length::ZERO { format!("with {extra} of overtravel") } else { "this end".into() })
                .also(block.place, "the block")
                .also(place, format!("the rail's {end} end"))
                .found(Measure::too_large(over))
                .limit(geometry())
                .next(format!(
                    "shorten the stroke there by {over} or more, and check the stops before anyone moves the carriage"
                )),
        );
    }
}
