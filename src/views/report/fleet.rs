//! Many ledgers at once: their states, how often joints were right at the first inspection, how large their steps are,
//! which leaves went in, and what is due.

use std::collections::BTreeMap;

use jiff::civil::Date;
use schemars::JsonSchema;
use serde::Serialize;

use super::{
    Attention, Deadline, DesignReport, Horizon, MachineReport, Report, RevisionRow, ShopRow, State, StockLine,
    due_ahead, fleet_rows, standing, stock,
};
use crate::facts::steps::{Latest, mean_step};
use crate::judging::lint::Judged;
use crate::language::rulebook::LimitName;
use crate::ledger::seal::limits_applying;
use crate::ledger::{Body, Groove, Inspect};
use crate::quantity::Length;
use crate::rules::Case;
use crate::world::shown_path;

/// The shape of the JSON, counted up when it changes.
pub(crate) const FORMAT: &str = "wayledger-fleet-5";

/// A report on many ledgers.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Fleet {
    #[schemars(extend("const" = FORMAT))]
    pub(crate) format: &'static str,
    /// The day it was judged by.
    pub judged_on: String,
    /// What needs a person.
    pub(crate) attention: Attention,
    /// By shop file and design.
    pub(crate) shops: Vec<ShopRow>,
    /// By design and revision.
    pub(crate) revisions: Vec<RevisionRow>,
    pub(crate) machines: Vec<MachineReport>,
    pub(crate) first_pass: FirstPass,
    #[serde(rename = "step_shares")]
    pub(crate) steps: Vec<StepShare>,
    /// By thickness.
    #[serde(rename = "leaf_counts")]
    pub leaves: Vec<LeavesUsed>,
    /// What is left of what shop files count.
    pub(crate) stock: Vec<StockLine>,
    /// What is overdue or due soon, the most urgent first.
    pub(crate) dues: Vec<Deadline>,
    /// The limits that seals of released axes hold otherwise than today's.
    pub sealed_limits: Vec<SealedLimit>,
}

/// Joints that conformed at their first inspection.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub(crate) struct FirstPass {
    /// Joints with a first inspection of all four grooves.
    #[serde(rename = "joints_inspected")]
    pub inspected: usize,
    /// Of these, those within every limit and without light.
    pub conforming: usize,
    /// Joints whose first inspection leaves a groove out: it says nothing.
    pub incomplete: usize,
}

impl FirstPass {
    /// In percent, rounded down.
    pub(crate) fn percent(&self) -> Option<usize> {
        (self.conforming * 100).checked_div(self.inspected)
    }
}

/// How many groove steps of today's state lie in one share of their machine's limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub(crate) struct StepShare {
    /// In percent of the limit: beyond this …
    pub above: u8,
    /// … up to this; nothing for the last.
    pub up_to: Option<u8>,
    pub count: usize,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[schemars(rename = "Leaves")]
pub struct LeavesUsed {
    pub thickness: Length,
    pub count: usize,
    /// Under how many supports.
    #[serde(rename = "under_supports")]
    pub supports: usize,
}

/// A limit that a released axis is judged by, which is another one today.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct SealedLimit {
    /// The machine's path, as in the table of machines.
    #[serde(rename = "path")]
    pub machine: String,
    pub axis: String,
    /// The entry with its axis: `joint-step for axis X`.
    pub entry: String,
    #[serde(rename = "limit_text")]
    pub limit: String,
    /// Where it comes from, and today's limit with its own source.
    #[serde(rename = "limit_source")]
    pub source: String,
}

/// The ends of the shares, in percent of the limit.
const SHARES: [(u8, Option<u8>); 5] = [(0, Some(25)), (25, Some(50)), (50, Some(75)), (75, Some(100)), (100, None)];

impl Fleet {
    /// A fleet without a machine yet, on a day.
    pub fn new(today: Date) -> Fleet {
        Fleet {
            format: FORMAT,
            judged_on: today.to_string(),
            attention: Attention::default(),
            shops: Vec::new(),
            revisions: Vec::new(),
            machines: Vec::new(),
            first_pass: FirstPass::default(),
            steps: SHARES.iter().map(|&(above, up_to)| StepShare { above, up_to, count: 0 }).collect(),
            leaves: Vec::new(),
            stock: Vec::new(),
            dues: Vec::new(),
            sealed_limits: Vec::new(),
        }
    }

    /// Takes one ledger up.
    pub fn add(&mut self, judged: &Judged, horizon: impl Into<Horizon>) {
        let horizon = horizon.into();
        let report = standing(judged, horizon);
        self.attention.add(report.state, &due_ahead(judged, horizon, &report), horizon.today);
        stock::add(&mut self.stock, judged, &Case::new(&judged.ledger, horizon.today));
        let joints = || report.axes.iter().flat_map(|axis| &axis.rails).flat_map(|rail| &rail.joints);
        let machine = MachineReport {
            path: report.path.clone(),
            title: report.called().to_string(),
            design: report.design.as_ref().map(DesignReport::called),
            state: report.state,
            counts: report.counts,
            axes: report.axes.len(),
            released: report.axes.iter().filter(|axis| axis.release.is_some()).count(),
            joints: joints().count(),
            joints_conforming: joints().filter(|joint| joint.state >= State::Conceded).count(),
            needs_somebody: report.state < State::Conceded || report.dues.iter().any(|due| !due.of_instrument),
        };
        let deviates = report.design.as_ref().is_some_and(|design| !design.deviations.is_empty());
        fleet_rows::add((&mut self.shops, &mut self.revisions), &machine, deviates, judged);
        self.machines.push(machine);
        for joint in joints() {
            let Some(most) = joint.most_step else { continue };
            for step in joint.steps.iter().filter_map(|step| step.step) {
                let size = i128::from(step.nm().abs()) * 100;
                let share = SHARES
                    .iter()
                    .position(|(_, up_to)| up_to.is_none_or(|up_to| size <= i128::from(up_to) * i128::from(most.nm())));
                self.steps[share.unwrap_or(SHARES.len() - 1)].count += 1;
            }
        }
        self.first_inspections(judged);
        self.shims(&report);
        self.due(&report);
        self.sealed(&report);
    }

    fn first_inspections(&mut self, judged: &Judged) {
        let ledger = &judged.ledger;
        for (id, _, rail) in ledger.machine.rails() {
            let limits = limits_applying(ledger, id.axis);
            let Some((most, _)) = limits.most::<Length>(LimitName::JointStep) else { continue };
            let light = limits.most::<Length>(LimitName::LightGap).map_or(Length::ZERO, |(most, _)| most);
            for joint in 0..rail.joints.len() {
                let Some(&record) = ledger.history(id).inspections[joint].first() else { continue };
                let Body::Inspect(inspect) = &ledger.records[record].body else { continue };
                match first_pass(record, inspect, most, light) {
                    None => self.first_pass.incomplete += 1,
                    Some(conforming) => {
                        self.first_pass.inspected += 1;
                        self.first_pass.conforming += usize::from(conforming);
                    }
                }
            }
        }
    }

    fn shims(&mut self, report: &Report) {
        for shimmed in report.axes.iter().flat_map(|axis| &axis.rails).flat_map(|rail| &rail.shims) {
            let mut counts: BTreeMap<Length, usize> = BTreeMap::new();
            for leaf in &shimmed.leaves {
                *counts.entry(*leaf).or_default() += 1;
            }
            for (thickness, count) in counts {
                match self.leaves.binary_search_by_key(&thickness, |leaves| leaves.thickness) {
                    Ok(at) => {
                        self.leaves[at].count += count;
                        self.leaves[at].supports += 1;
                    }
                    Err(at) => self.leaves.insert(at, LeavesUsed { thickness, count, supports: 1 }),
                }
            }
        }
    }

    fn sealed(&mut self, report: &Report) {
        let sealed = report.limits.iter().filter_map(|limit| Some((limit.axis.as_ref()?, limit)));
        self.sealed_limits.extend(sealed.map(|(axis, limit)| SealedLimit {
            machine: shown_path(&report.path).to_string(),
            axis: axis.clone(),
            entry: limit.entry.clone(),
            limit: limit.limit.clone(),
            source: limit.source.clone(),
        }));
    }

    fn due(&mut self, report: &Report) {
        for due in &report.dues {
            // One wrench is calibrated once, however many machines were tightened with it.
            let same = |known: &&mut Deadline| (&known.due, &known.task, &known.of) == (&due.due, &due.task, &due.of);
            match self.dues.iter_mut().filter(|_| due.of_instrument).find(same) {
                Some(known) => known.machines.extend(due.machines.iter().cloned()),
                None => self.dues.push(due.clone()),
            }
        }
        self.dues.sort();
    }
}

/// Whether the first inspection of a joint found it right; nothing where it leaves a groove out.
fn first_pass(record: usize, inspect: &Inspect, most: Length, light: Length) -> Option<bool> {
    // Where some light may show, a feeler says how much does.
    let narrow = || light > Length::ZERO && inspect.feeler.is_some_and(|feeler| feeler.value <= light);
    let mut within = inspect.light.is_none_or(|seen| !*seen || narrow());
    for groove in Groove::ALL {
        let what = inspect.grooves.iter().find(|reading| reading.groove == groove)?;
        within &= !mean_step(&Latest { record, inspect, what })?.over(most.nm());
    }
    Some(within)
}
