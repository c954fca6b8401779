//! The carriage stays on its rails.

use crate::finding::{Grade, Limit, Measure, RuleName};
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, Group, Rule};

pub static RULE: Rule = Rule {
    name: RuleName::new("overtravel"),
    group: Group::Layout,
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
    checks: &[Check::Ledger(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, findings: &mut Findings) {
    for axis in &case.machine.axes {
        let (Some(stroke), Some(carriage)) = (axis.stroke, &axis.carriage) else { continue };
        let extra = stroke.overtravel.map_or(Length::ZERO, |extra| extra.value);
        let (from, to) = (stroke.from.value - extra, stroke.to.value + extra);
        let geometry = |text: &str| Limit { entry: None, text: text.into(), source: "geometry".into(), set_at: None };
        for block in &carriage.blocks {
            let (Some(rail), Some(length)) = (block.rail.map(|rail| &axis.rails[rail]), block.length) else { continue };
            if rail.segments.is_empty() {
                continue;
            }
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
                findings.add(
                    findings
                        .finding(
                            axis.name.value.clone(),
                            stop.place,
                            format!("at the {end} end of the stroke a block stands {over} over the end of rail `{}`", *rail.name),
                        )
                        .here(if extra > Length::ZERO { format!("with {extra} of overtravel") } else { "this end".into() })
                        .also(block.place, "the block")
                        .also(place, format!("the rail's {end} end"))
                        .found(Measure::too_large(over))
                        .limit(geometry("0 mm"))
                        .next(format!("shorten the stroke there by {over} or more, and check the stops before anyone moves the carriage")),
                );
            }
        }
        let (Some(run), Some(length)) = (axis.run, carriage.length) else { continue };
        let half = Length(length.nm() / 2);
        let over = (run.from - (from - half)).max(to + half - run.to);
        if over > Length::ZERO {
            findings.add(
                findings
                    .finding(
                        axis.name.value.clone(),
                        stroke.place,
                        format!("the carriage reaches {over} beyond the run"),
                    )
                    .here("the stroke")
                    .also(run.place, format!("the run is {} to {}", run.from, run.to))
                    .also(carriage.place, format!("the carriage is {} long", length.value))
                    .found(Measure::too_large(over))
                    .limit(geometry("0 mm"))
                    .next(format!("shorten the stroke by {over} or lengthen the run")),
            );
        }
    }
}
