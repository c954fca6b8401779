//! The segments of a rail make up the run.

use crate::facts::expansion::beam;
use crate::finding::{Grade, Limit, Measure, RuleName};
use crate::ledger::{Beam, RailId, Segment, Stretch};
use crate::quantity::{Amount, Length};
use crate::rules::{Case, Check, Cure, Findings, Ground, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("run-length"),
    group: RuleGroup::Layout,
    grade: Grade::Nonconformity,
    cure: Cure::UntilBuilt,
    what: "The segments of each rail add up to the run of its axis, and the pieces of its beam reach as far as the rail.",
    why: "A rail that ends short lets the carriage run off; one that stands over has nothing under it.",
    limits: &[],
    source: "geometry",
    wrong: r#"
machine m {
    axis X {
        run from=0 to=3600
        rail a { segment 1200; segment 2340 }
    }
}
"#,
    right: r#"
machine m {
    axis X {
        run from=0 to=3600
        rail a { segment 1200; segment 2400 }
    }
}
"#,
    follows_from: &[Ground::Described, Ground::Lengths],
    checks: &[Check::Rails(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    let (axis, rail) = (&case.machine.axes[id.axis], case.machine.rail(id));
    let Some(last) = rail.segments.last() else { return Verdict::Awaits("no segments are described") };
    if let Some(run) = axis.run {
        ends(case, findings, id, last, run);
    }
    let beam = beam(axis, rail).filter(|beam| !beam.pieces.is_empty());
    if let Some(beam) = beam {
        on_beam(case, findings, id, last, beam);
    }
    if axis.run.is_none() {
        Verdict::NotJudged("no run of the axis is described")
    } else if rail.beam.is_some() && beam.is_none() {
        Verdict::NotJudged("no pieces of its beam are described")
    } else {
        Verdict::Conforms(last.place)
    }
}

/// Both ends of a rail against the run.
fn ends(case: &Case, findings: &mut Findings, id: RailId, last: &Segment, run: Stretch) {
    let rail = case.machine.rail(id);
    let plain =
        |text: String| Limit { entry: None, text, source: "the run of the axis".into(), set_at: Some(run.place) };
    if rail.from != run.from {
        findings.add(
            findings
                .finding(
                    case.machine.rail_address(id),
                    rail.place,
                    format!("the rail begins at {}, the run at {}", rail.from, run.from),
                )
                .here("begins elsewhere")
                .also(run.place, "the run")
                .limit(plain(format!("begins at {}", run.from)))
                .found(Measure::too_large((rail.from - run.from).abs()))
                .next(format!("give the rail from={} or change the run", run.from.number())),
        );
    }
    let off = rail.to() - run.to;
    if off != Length::ZERO {
        let (way, cure) = if off > Length::ZERO { ("beyond", "too long") } else { ("short of", "too short") };
        findings.add(
            findings
                .finding(
                    case.machine.rail_address(id),
                    last.place,
                    format!("the rail ends at {}, {} {way} the end of the run", rail.to(), off.abs()),
                )
                .here(format!("ends at {}", rail.to()))
                .also(run.place, format!("the run ends at {}", run.to))
                .limit(plain(format!("ends at {}", run.to)))
                .found(Measure::too_large(off.abs()))
                .next(format!("the segments together are {} {cure}: change their lengths or the run", off.abs())),
        );
    }
}

/// The rail against the beam under it.
fn on_beam(case: &Case, findings: &mut Findings, id: RailId, last: &Segment, beam: &Beam) {
    let rail = case.machine.rail(id);
    let over = (beam.from - rail.from).max(rail.to() - beam.to());
    if over > Length::ZERO {
        findings.add(
            findings
                .finding(
                    case.machine.rail_address(id),
                    last.place,
                    format!("the rail stands {over} over the end of beam `{}`", *beam.name),
                )
                .here(format!("the rail runs from {} to {}", rail.from, rail.to()))
                .also(beam.place, format!("the beam runs from {} to {}", beam.from, beam.to()))
                .limit(Limit { entry: None, text: "0 mm".into(), source: "geometry".into(), set_at: None })
                .found(Measure::too_large(over))
                .next("lengthen the beam or shorten the rail"),
        );
    }
}
