//! The state of a ledger as plain data: what a report, a fleet table or a trace prints. Nothing here judges anew: states
//! come from the findings, numbers from `facts` and `calc`.

mod attention;
mod dues;
mod evidence;
mod fleet;
mod fleet_rows;
mod gap;
mod gather;
mod horizon;
mod instruments;
mod joints;
mod judged;
mod life;
mod limits;
mod model;
mod rails;
mod records;
mod serial;
mod state;
mod stock;
mod torque;
mod trace;
mod trial;

use attention::Attention;
pub(crate) use fleet::FORMAT as FLEET_FORMAT;
pub use fleet::Fleet;
pub(crate) use fleet_rows::{MachineCounts, MachineReport, RevisionRow, ShopRow};
pub(crate) use horizon::Horizon;
pub(crate) use life::life;
pub use model::*;
pub(crate) use records::holds;
pub(crate) use state::State;
use stock::StockLine;
pub(crate) use trace::TracedRank;
pub(crate) use trace::gravest_first;
pub use trace::{Traced, Tracing, trace};
pub(crate) use trial::FORMAT as TRIAL_FORMAT;
pub(crate) use trial::{AxisTried, LimitTrial, Meets};

use gather::{ReportBuilder, text};

use crate::finding::{Finding, Grade, Locator};
use crate::judging::lint::Judged;
use crate::ledger::{Machine, RailId};
use crate::rules::Case;
use crate::views::folded::in_order;
use crate::views::remarks::remarks;

/// Gathers the state of a judged ledger on a day.
pub fn report(judged: &Judged, horizon: impl Into<Horizon>) -> Report {
    let horizon = horizon.into();
    let gather = ReportBuilder { case: Case::new(&judged.ledger, horizon.today), findings: &judged.findings, horizon };
    Report { judged: gather.judged(), ..standing(judged, horizon) }
}

/// The same without what each rule judged and rests on: to say that, the rules are asked once more.
fn standing(judged: &Judged, horizon: Horizon) -> Report {
    let today = horizon.today;
    let case = Case::new(&judged.ledger, today);
    let machine = &judged.ledger.machine;
    let gather = ReportBuilder { case, findings: &judged.findings, horizon };
    let mut report = Report {
        format: FORMAT,
        path: judged.path.0.clone(),
        name: text(&machine.name),
        title: text(&machine.title),
        design: design(machine),
        judged_on: today.to_string(),
        state: State::from_findings(&judged.findings).min(State::read(&judged.ledger, "")),
        counts: FindingCounts::from_findings(&judged.findings),
        axes: (0..machine.axes.len()).map(|axis| gather.axis(axis)).collect(),
        instruments: gather.instruments(),
        limits: gather.limits(),
        concessions: gather.concessions(),
        holds: holds(&judged.ledger, &judged.findings),
        remarks: remarks(&judged.ledger, None),
        dues: Vec::new(),
        judged: Vec::new(),
        findings: gather.findings(),
    };
    report.dues = gather.deadlines(&report);
    report
}

/// All that has to be done by a day, however far ahead.
fn due_ahead(judged: &Judged, horizon: Horizon, report: &Report) -> Vec<Deadline> {
    let case = Case::new(&judged.ledger, horizon.today);
    ReportBuilder { case, findings: &judged.findings, horizon }.all_deadlines(report)
}

/// The design that a machine is built to now, and where the machine departs from it.
fn design(machine: &Machine) -> Option<DesignReport> {
    let built = machine.built_to.iter().rfind(|it| it.described.is_some())?;
    // One that is history, or could not be carried out, departs from nothing.
    let departing = machine.deviations.iter().filter(|it| it.went.is_none() && !it.departs.is_empty());
    let deviations = departing.map(|it| DeviationReport {
        on: Some(it.on.to_string()),
        departs: it.departs.join("; "),
        signed: Signed { date: it.date.map(|date| date.to_string()), by: text(&it.by) },
        reason: text(&it.reason),
    });
    Some(DesignReport {
        name: built.design.to_string(),
        revision: *built.revision,
        since: built.since.map(|since| since.to_string()),
        deviations: deviations.collect(),
    })
}

impl ReportBuilder<'_> {
    /// An axis by the limits that it is judged by: those of its seal, where it is released.
    fn axis(&self, index: usize) -> AxisReport {
        let case = Case::of_axis(self.case.ledger, self.case.today, index);
        ReportBuilder { case, findings: self.findings, horizon: self.horizon }.axis_by_limits(index)
    }

    fn axis_by_limits(&self, index: usize) -> AxisReport {
        let axis = &self.case.ledger.machine.axes[index];
        let rails = (0..axis.rails.len()).map(|rail| self.rail(RailId { axis: index, rail })).collect();
        AxisReport {
            name: axis.name.to_string(),
            state: self.state(&axis.name),
            release: self.release(index),
            run: axis.run.map(|run| StretchReport { from: run.from, to: run.to }),
            stroke: axis.stroke.map(|stroke| StretchReport { from: *stroke.from, to: *stroke.to }),
            beams: axis
                .beams
                .iter()
                .map(|beam| BeamReport {
                    name: beam.name.to_string(),
                    from: beam.from,
                    to: beam.to(),
                    seams: beam.seams.iter().map(|seam| seam.position).collect(),
                })
                .collect(),
            rails,
            carriage: self.carriage(axis),
            running_force: self.running_force(index),
            life: self.life(index),
            dues: self.dues(index),
        }
    }

    fn carriage(&self, axis: &crate::ledger::Axis) -> Option<CarriageReport> {
        let carriage = axis.carriage.as_ref()?;
        let blocks = carriage.blocks.iter().filter_map(|block| {
            let rail = axis.rails.get(block.rail?)?;
            Some(BlockReport {
                rail: rail.name.to_string(),
                at: *block.at,
                length: block.length.map(|length| *length),
                kind: text(&block.kind),
            })
        });
        Some(CarriageReport { length: carriage.length.map(|length| *length), blocks: blocks.collect() })
    }

    /// The state of an address and all that is part of it.
    fn state(&self, address: &str) -> State {
        State::at(self.case.ledger, self.findings, address)
    }

    fn findings(&self) -> Vec<ReportedFinding> {
        let locator = Locator::new(&self.case.ledger.sources);
        in_order(self.case.ledger, self.findings)
            .into_iter()
            .map(|finding| {
                let at = locator.locate(finding.at.place);
                ReportedFinding {
                    rule: finding.rule.as_str(),
                    grade: finding.grade.name(),
                    address: finding.address.clone(),
                    message: finding.message.clone(),
                    limit: finding.limit.as_ref().map(|limit| limit.text.clone()),
                    limit_source: finding.limit.as_ref().map(|limit| limit.source.clone()),
                    next: finding.next.clone(),
                    file: at.file.to_string(),
                    line: at.line,
                    is_held: finding.held.is_some(),
                    conceded_by: finding.conceded.as_ref().map(|conceded| conceded.by.clone()),
                }
            })
            .collect()
    }
}

impl FindingCounts {
    fn from_findings(findings: &[Finding]) -> FindingCounts {
        let open = |grade| findings.iter().filter(|f| f.grade == grade && f.conceded.is_none()).count();
        FindingCounts {
            nonconformities: open(Grade::Nonconformity),
            outstanding: open(Grade::Outstanding),
            not_judged: open(Grade::NotJudged),
            observations: open(Grade::Observation),
            conceded: findings.iter().filter(|of| of.conceded.is_some() && of.grade != Grade::NotJudged).count(),
            not_applicable: findings.iter().filter(|of| of.conceded.is_some() && of.grade == Grade::NotJudged).count(),
            held: findings.iter().filter(|finding| finding.held.is_some()).count(),
        }
    }
}
