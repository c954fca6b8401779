//! Supports and readings lie on the axis.

use crate::finding::{Grade, Limit, Measure, Place, RuleName};
use crate::ledger::{Body, RailId};
use crate::quantity::Length;
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("place-off-axis"),
    group: RuleGroup::Fitting,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "No support, no station of a survey and no reading of the running force lies off the axis: before the first end of its rails and run, or behind the last. Where the stroke is described, no running force is read beyond it and its overtravel. One finding a record or rail.",
    why: "There is nothing there that could be read or bolted: a digit too many, another unit, or another axis.",
    limits: &[],
    source: "geometry",
    wrong: r#"
machine m { axis X { rail a { segment 1200; segment 1200 } } }
running-force X date="2026-04-19" by=inspector-1 { at 600 14; at 24000 19 }
"#,
    right: r#"
machine m { axis X { rail a { segment 1200; segment 1200 } } }
running-force X date="2026-04-19" by=inspector-1 { at 600 14; at 2400 19 }
"#,
    never_conceded: true,
    checks: &[Check::Records(of_record), Check::Rails(of_rail)],
    ..Rule::PLAIN
};

/// What is known of where an axis lies.
#[derive(Clone, Copy)]
struct Extent {
    from: Length,
    to: Length,
    /// What tells its last end.
    place: Place,
    what: &'static str,
    source: &'static str,
}

/// Where the middle of the carriage can be; nothing where its stroke is not described.
fn stroke(case: &Case, axis: usize) -> Option<Extent> {
    let stroke = case.ledger.machine.axes[axis].stroke.as_ref()?;
    let over = stroke.overtravel.map_or(Length::ZERO, |over| over.value);
    let (from, to) = (*stroke.from - over, *stroke.to + over);
    Some(Extent { from, to, place: stroke.place, what: "stroke", source: "the stroke of the axis with its overtravel" })
}

/// From the first end of rails and run to the last; nothing where neither is described.
fn extent(case: &Case, axis: usize) -> Option<Extent> {
    let axis = &case.ledger.machine.axes[axis];
    let run = axis.run.iter().map(|run| (run.from, run.to, run.place));
    let rails = axis.rails.iter().filter_map(|rail| Some((rail.from, rail.to(), rail.segments.last()?.place)));
    run.chain(rails).fold(None, |known: Option<Extent>, (from, to, place)| {
        Some(match known {
            None => Extent { from, to, place, what: "axis", source: "the run and the rails of the axis" },
            Some(known) => Extent {
                from: known.from.min(from),
                to: known.to.max(to),
                place: if to > known.to { place } else { known.place },
                ..known
            },
        })
    })
}

const UNKNOWN: &str = "neither a run nor a segment of its axis is described";

/// The places of something that lie off the axis.
#[derive(Default)]
struct Off {
    /// The one farthest off: how far, and where it is told.
    farthest: Option<(Length, Length, Place)>,
    count: usize,
}

impl Off {
    fn take(&mut self, extent: &Extent, position: Length, place: Place) {
        let off = (extent.from - position).max(position - extent.to);
        if off > Length::ZERO {
            self.count += 1;
            if self.farthest.is_none_or(|(most, ..)| off > most) {
                self.farthest = Some((off, position, place));
            }
        }
    }
}

fn of_record(case: &Case, index: usize, findings: &mut Findings) -> Verdict {
    let record = &case.records[index];
    let Some(target) = record.target else { return Verdict::NotRequired };
    let mut off = Off::default();
    let axis = target.axis();
    let (what, extent) = match &record.body {
        Body::RunningForce(run) if !run.rows.is_empty() => {
            let Some(extent) = stroke(case, axis).or_else(|| extent(case, axis)) else {
                return Verdict::NotJudged(UNKNOWN);
            };
            run.rows.iter().for_each(|row| off.take(&extent, *row.position, row.position.place));
            ("the force is read", extent)
        }
        Body::Survey(survey) => {
            // What is read at a support lies where that does.
            let begins = survey.angles.iter().map(|steps| &steps.from);
            let rows = survey.stations.iter().chain(&survey.closure).chain(begins);
            let mut rows = rows.filter(|row| row.support.is_none()).peekable();
            if rows.peek().is_none() {
                return Verdict::NotRequired;
            }
            let Some(extent) = extent(case, axis) else { return Verdict::NotJudged(UNKNOWN) };
            rows.for_each(|row| off.take(&extent, row.position, row.place));
            ("a station is read", extent)
        }
        _ => return Verdict::NotRequired,
    };
    let address = record.address();
    match report(findings, address, extent, what, &off, Cure::Writing) {
        true => Verdict::Broken,
        false => Verdict::Conforms(record.place),
    }
}

fn of_rail(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    let rail = case.machine.rail(id);
    let Some(first) = rail.supports.first() else { return Verdict::NotRequired };
    let Some(extent) = extent(case, id.axis) else { return Verdict::NotJudged(UNKNOWN) };
    let mut off = Off::default();
    rail.supports.iter().for_each(|support| off.take(&extent, support.at, support.place));
    let address = case.machine.rail_address(id);
    match report(findings, &address, extent, "a support lies", &off, Cure::UntilBuilt) {
        true => Verdict::Broken,
        false => Verdict::Conforms(first.place),
    }
}

/// Whether there was something to report.
fn report(findings: &mut Findings, address: &str, extent: Extent, what: &str, off: &Off, cure: Cure) -> bool {
    let Some((far, position, place)) = off.farthest else { return false };
    let more = match off.count - 1 {
        0 => String::new(),
        more => format!("; {more} more lie off it"),
    };
    let limit = Limit {
        entry: None,
        text: format!("from {} to {}", extent.from, extent.to),
        source: extent.source.into(),
        set_at: Some(extent.place),
    };
    findings.add(
        findings
            .finding(address, place, format!("{what} at {position}, {far} off the {}{more}", extent.what))
            .here(format!("off the {}", extent.what))
            .found(Measure::too_large(far))
            .limit(limit)
            .next("correct the position or its unit, or the description of the axis")
            .cured(cure),
    );
    true
}
