//! The running force is read where it would show something: at both ends of the stroke and over every joint.

use crate::facts::running_force::{self, ForceAtPosition};
use crate::finding::{Grade, Measure, RuleName};
use crate::language::rulebook::LimitName;
use crate::quantity::{Force, Length};
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("force-places"),
    group: RuleGroup::Inspection,
    grade: Grade::Observation,
    cure: Cure::AtMachine,
    what: "Where the running force is read, it is read with the carriage at both ends of its stroke and over each joint that it passes, so that some part of the carriage stands there. Where a limit of it is stated, a place that was not read is outstanding.",
    why: "A carriage runs heavily where two rails come together or a joint lifts a block. A force that was read between the joints says nothing of them.",
    limits: &[LimitName::RunningForce],
    source: "common practice, no source",
    wrong: r#"
machine m {
    axis X {
        stroke from=200 to=2200
        rail a { segment 1200; segment 1200 }
        carriage length=300
    }
}
running-force X date="2026-04-16" by=inspector-1 { at 200 14; at 2200 15 }
"#,
    right: r#"
machine m {
    axis X {
        stroke from=200 to=2200
        rail a { segment 1200; segment 1200 }
        carriage length=300
    }
}
running-force X date="2026-04-16" by=inspector-1 { at 200 14; at 1200 15; at 2200 15 }
"#,
    checks: &[Check::Axes(check)],
    ..Rule::PLAIN
};

/// More places than this are counted and not named.
const MOST_NAMED: usize = 6;

fn check(case: &Case, axis: usize, findings: &mut Findings) -> Verdict {
    let of = &case.machine.axes[axis];
    let readings = running_force::latest(case, axis);
    let Some(first) = readings.first() else { return Verdict::NotRequired };
    let reaches = |reading: &ForceAtPosition, at| running_force::reaches(of, *reading.row.position, at);
    if of.stroke.is_none() || reaches(first, Length::ZERO).is_none() {
        return Verdict::NotRequired;
    }
    let read = |at: Length| readings.iter().any(|reading| reaches(reading, at) == Some(true));
    let mut places = running_force::places(of);
    places.retain(|place| !read(place.at));
    let place = case.records[first.record].place;
    let Some(first) = places.first() else { return Verdict::Conforms(place) };
    let mut names: Vec<String> =
        places.iter().take(MOST_NAMED).map(|place| format!("{} ({})", place.what, place.at)).collect();
    if let Some(more) = places.len().checked_sub(MOST_NAMED).filter(|more| *more > 0) {
        names.push(format!("{more} more"));
    }
    let next = format!(
        "push the carriage over these places too, with its middle first at {}, and record the force at each",
        first.at
    );
    let mut finding = findings
        .finding(of.name.to_string(), place, format!("the running force is not read at {}", names.join(", ")))
        .here("this record")
        .also(first.described, "not read here")
        .found(Measure::too_large(places.len()))
        .next(next);
    if let Some((_, limit)) = case.rulebook.most::<Force>(LimitName::RunningForce) {
        finding = finding.limit(limit);
        finding.grade = Grade::Outstanding;
    }
    findings.add(finding);
    Verdict::Conforms(place)
}
